"""P, K and Mg in the words of a rating scheme: a lab test by its own, a mapped value only to ask for a sample."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from spatial.addons import add_on
from spatial.errors import InputError, Problem
from spatial.reasons import Reason, once, reason
from spatial.values import NUTRIENTS, RatingScheme

GROUP = "spatial.soil_ratings"
CLASS_OF = {
    **dict.fromkeys(("very low", "low"), "low"),
    "medium": "medium",
    **dict.fromkeys(("sufficient", "adequate", "optimum", "above optimum", "high", "very high"), "enough"),
}
ORDER = {"low": 0, "medium": 1, "enough": 2}
OLD_DAYS = {
    "k": 365,
    "p": 3 * 365,
    "mg": 3 * 365,
}  # K older than a season: from memory; P and Mg: common practice
SHALLOW_CM, DEEP_CM = 10.0, 20.0  # a scheme's limits are for 6 to 7 in; common practice, no source
COLUMNS = ("rating", "class", "scheme", "date", "flags")
NOTHING: tuple[Any, ...] = ("", "", "", pd.NaT, ())
SLACK = 5e-4  # or 60 lb/ac turned to 30.000000001 mg/kg would cross its own limit


@dataclass(frozen=True)
class _Rated:
    """One nutrient in one field: the word and class of the field, of each sample, and the samples themselves."""

    nutrient: str
    word: str
    scheme_name: str
    words: tuple[str, ...]
    samples: tuple[Mapping[Any, Any], ...]
    sample_date: pd.Timestamp

    @property
    def row(self) -> tuple[Any, ...]:
        return self.word, CLASS_OF.get(self.word, ""), self.scheme_name, self.sample_date


def rate_tests(
    fields: pd.DataFrame, standing: Mapping[str, pd.DataFrame], schemes: Sequence[RatingScheme], on: date
) -> pd.DataFrame:
    """Return soil_p_rating, .._class, .._scheme, .._date and .._flags (reasons) of each field, and so for k and mg.

    Rating and class ("low", "medium", "enough") are empty where no scheme fits the sample's extractant, soil group and
    unit and the field's grass; then the flags say so. `standing` has the tests of each nutrient with weight_share.
    Zones of one scheme are rated by their mean, of several by the lowest. Raises InputError where an add-on fails.
    """
    grasses = fields["grass"].to_dict()
    columns: dict[str, list[Any]] = {}
    for nutrient in NUTRIENTS:
        rows = dict.fromkeys(fields.index, NOTHING)
        for field_id, tests in standing[nutrient].groupby("field_id"):
            if field_id in rows:
                grass = str(grasses[field_id])
                rated = _rated(nutrient, grass, tests.to_dict("records"), schemes)
                rows[field_id] = (*rated.row, once(_flags(rated, grass, schemes, on)))
        columns |= _columns(nutrient, list(rows.values()))
    return pd.DataFrame(columns, index=fields.index)


def rate_mapped(fields: pd.DataFrame, mapped: pd.DataFrame, schemes: Sequence[RatingScheme]) -> pd.DataFrame:
    """Return the same columns from mapped values: rated where a scheme fits, and flagged only to be sampled."""
    rows = mapped.assign(grass=fields["grass"]).to_dict("records")
    columns: dict[str, list[Any]] = {}
    for nutrient in NUTRIENTS:
        known = f"mapped_{nutrient}_mg_kg" in mapped
        columns |= _columns(nutrient, [_mapped(nutrient, row, schemes) if known else NOTHING for row in rows])
    return pd.DataFrame(columns, index=fields.index)


def _columns(nutrient: str, rows: Sequence[tuple[Any, ...]]) -> dict[str, list[Any]]:
    return {f"soil_{nutrient}_{name}": [row[at] for row in rows] for at, name in enumerate(COLUMNS)}


def rating(scheme: RatingScheme, nutrient: str, value: float) -> str:
    """Return the scheme's word for a value [mg/kg, or the laboratory's index]; its limits are upper and inclusive."""
    over = sum(value > limit + SLACK for limit in scheme.limits_mg_kg[nutrient])
    return scheme.ratings[over]


def scheme_for(
    nutrient: str, grass: str, sample: Mapping[str, Any], schemes: Sequence[RatingScheme]
) -> RatingScheme | None:
    """Return the first scheme that fits the extractant, soil group and unit of a sample and the grass, or None."""
    return next(
        (
            scheme
            for scheme in _of_extractant(grass, str(sample["extractant"]), schemes)
            if scheme.soil_group in ("", _plain_group(str(sample["soil_group"])))
            and pd.notna(sample.get(f"{nutrient}_{_suffix(scheme)}"))
        ),
        None,
    )


def _of_extractant(grass: str, extractant: str, schemes: Sequence[RatingScheme]) -> Iterator[RatingScheme]:
    for scheme in schemes:
        if _plain(scheme.extractant) == _plain(extractant) and grass in (scheme.grasses or (grass,)):
            yield scheme


def _suffix(scheme: RatingScheme) -> str:
    return "index" if scheme.unit == "index" else "mg_kg"


def _rated(
    nutrient: str, grass: str, samples: Sequence[Mapping[Any, Any]], schemes: Sequence[RatingScheme]
) -> _Rated:
    fits = [scheme_for(nutrient, grass, sample, schemes) for sample in samples]
    words = [
        "" if scheme is None else _word(scheme, nutrient, sample, sample[f"{nutrient}_{_suffix(scheme)}"])
        for scheme, sample in zip(fits, samples, strict=True)
    ]
    known = [scheme for scheme in fits if scheme is not None]
    word = _of_field(nutrient, samples, fits, words) if len(known) == len(samples) else ""
    days = [sample["sample_date"] for sample in samples]
    name = known[0].name if word else ""
    return _Rated(nutrient, word, name, tuple(words), tuple(samples), min(days))


def _of_field(
    nutrient: str,
    samples: Sequence[Mapping[Any, Any]],
    fits: Sequence[RatingScheme | None],
    words: Sequence[str],
) -> str:
    """Return the word of the samples' mean where one table rates them all, else the lowest of their words."""
    scheme = fits[0]
    if scheme is not None and not scheme.formula and all(one == scheme for one in fits):
        column = f"{nutrient}_{_suffix(scheme)}"
        return rating(scheme, nutrient, sum(one["weight_share"] * one[column] for one in samples))
    return min(words, key=_rank)


def _rank(word: str) -> int:
    return ORDER.get(CLASS_OF.get(word, ""), len(ORDER))


def _word(scheme: RatingScheme, nutrient: str, sample: Mapping[Any, Any], value: float) -> str:
    """Return a scheme's word for one sample, by its table or by its add-on, which gets (nutrient, sample)."""
    if not scheme.formula:
        return rating(scheme, nutrient, value) if nutrient in scheme.limits_mg_kg else ""
    try:
        word = add_on(GROUP, scheme.formula, {})(nutrient, dict(sample))
    except InputError:
        raise
    except Exception as error:  # an add-on may fail in any way, and only its own run may suffer
        cause = f"failed on {nutrient} ({type(error).__name__}: {error})"
        raise InputError([Problem(GROUP, scheme.formula, cause, "Update or remove it")]) from error
    if word not in scheme.ratings:
        cause = f"said {word!r} of {nutrient}, which is none of the scheme's ratings"
        raise InputError([Problem(GROUP, scheme.formula, cause, f"Known: {', '.join(scheme.ratings)}")])
    return str(word)


def _flags(rated: _Rated, grass: str, schemes: Sequence[RatingScheme], on: date) -> Iterator[Reason]:
    for sample in rated.samples:
        if scheme_for(rated.nutrient, grass, sample, schemes) is None:
            yield _unrated(sample, grass, schemes)
    word_class = CLASS_OF.get(rated.word, "")
    if word_class in ("low", "medium"):
        yield reason(
            f"{rated.nutrient}_{word_class}",
            rating=rated.word,
            scheme=rated.scheme_name,
            sample_date=rated.sample_date,
        )
    yield from _zone_flags(rated)
    yield from _sample_flags(rated, on)


def _unrated(sample: Mapping[Any, Any], grass: str, schemes: Sequence[RatingScheme]) -> Reason:
    extractant = str(sample["extractant"])
    groups = {scheme.soil_group for scheme in _of_extractant(grass, extractant, schemes)} - {""}
    if groups and _plain_group(str(sample["soil_group"])) not in groups:
        return reason("no_soil_group", extractant=extractant, soil_groups=tuple(sorted(groups)))
    return reason("no_rating_scheme", extractant=extractant or "an unnamed extractant")


def _zone_flags(rated: _Rated) -> Iterator[Reason]:
    zones = [
        (_rank(word), str(sample["zone"]), word)
        for sample, word in zip(rated.samples, rated.words, strict=True)
    ]
    rank, zone, word = min(zones)
    if zone and rank < _rank(rated.word):
        yield reason("zone_low", nutrient=rated.nutrient, zone=zone, rating=word)


def _sample_flags(rated: _Rated, on: date) -> Iterator[Reason]:
    for sample in rated.samples:
        if not SHALLOW_CM <= sample["depth_cm"] <= DEEP_CM and pd.notna(sample["depth_cm"]):
            yield reason("sample_depth", depth_cm=sample["depth_cm"], sample_date=sample["sample_date"])
    if (pd.Timestamp(on) - rated.sample_date).days > OLD_DAYS[rated.nutrient]:
        yield reason("soil_test_old", sample_date=rated.sample_date, nutrients=(rated.nutrient,))


def _mapped(nutrient: str, row: Mapping[Any, Any], schemes: Sequence[RatingScheme]) -> tuple[Any, ...]:
    head = f"mapped_{nutrient}"
    sample = {name: row[f"{head}_{name}"] for name in ("extractant", "soil_group")}
    value = sample[f"{nutrient}_mg_kg"] = row[f"{head}_mg_kg"]
    scheme = scheme_for(nutrient, str(row["grass"]), sample, schemes)
    if (
        scheme is None or scheme.formula or nutrient not in scheme.limits_mg_kg
    ):  # a formula asks for more than a map
        return NOTHING
    word = rating(scheme, nutrient, value)
    flags: tuple[Reason, ...] = ()
    if CLASS_OF.get(word) in ("low", "medium"):
        share = row[f"{head}_cover_share"]
        flags = (
            reason("sample_nutrient", nutrient=nutrient, rating=word, scheme=scheme.name, cover_share=share),
        )
    return word, CLASS_OF.get(word, ""), scheme.name, row[f"{head}_date"], flags


def _plain(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalnum())


def _plain_group(text: str) -> str:
    return "_".join(text.lower().replace("-", " ").replace("_", " ").split())
