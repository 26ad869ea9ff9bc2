"""P, K and Mg in the words of a rating scheme: a lab test by its own, a mapped value only to ask for a sample."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import pandas as pd

from spatial.agronomy.soil.rating_schemes import (
    Rated,
    Sample,
    but_for_group,
    rated_sample,
    rating,
    scheme_for,
    value_column,
)
from spatial.reasons import Reason, once, reason
from spatial.soil import OLD_SAMPLE_DAYS
from spatial.values import NUTRIENTS, RatingScheme

SHORT = ("low", "medium")  # the classes that are flagged
SHALLOW_CM, DEEP_CM = 12.0, 22.0  # limits and lime rates are for 6 to 8 in; common practice, no source
COLUMNS = ("rating", "class", "scheme", "date", "flags")
NOTHING: tuple[Any, ...] = ("", "", "", pd.NaT, ())


@dataclass(frozen=True)
class _Field:
    """One nutrient in one field: the samples that stand for it, the rating of each, and that of the field."""

    nutrient: str
    grass: str
    samples: tuple[Sample, ...]
    ratings: tuple[Rated | None, ...]
    whole: Rated | None

    @property
    def sample_date(self) -> pd.Timestamp:
        days: list[pd.Timestamp] = [sample["sample_date"] for sample in self.samples]
        return min(days)


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
        for field_id, samples in _by_field(standing[nutrient]).items():
            if field_id in rows:
                rows[field_id] = _row(_field(nutrient, str(grasses[field_id]), samples, schemes), schemes, on)
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


def _by_field(standing: pd.DataFrame) -> dict[Any, list[Sample]]:
    # All rows at once: a table for each of thousands of fields takes minutes.
    found: dict[Any, list[Sample]] = {}
    for sample in standing.to_dict("records"):
        found.setdefault(sample["field_id"], []).append(sample)
    return found


def _field(nutrient: str, grass: str, samples: Sequence[Sample], schemes: Sequence[RatingScheme]) -> _Field:
    ratings = tuple(rated_sample(nutrient, grass, sample, schemes) for sample in samples)
    known = [rated for rated in ratings if rated is not None]
    whole = _whole(nutrient, samples, known) if len(known) == len(samples) else None
    return _Field(nutrient, grass, tuple(samples), ratings, whole)


def _whole(nutrient: str, samples: Sequence[Sample], ratings: Sequence[Rated]) -> Rated:
    """Return the word of the samples' mean where one table rates them all, else the lowest of their words."""
    scheme = ratings[0].scheme
    if not scheme.formula and all(one.scheme == scheme for one in ratings):
        column = value_column(scheme, nutrient)
        mean = sum(sample["weight_share"] * sample[column] for sample in samples)
        return Rated(scheme, rating(scheme, nutrient, mean))
    return min(ratings, key=lambda rated: rated.rank)


def _row(field: _Field, schemes: Sequence[RatingScheme], on: date) -> tuple[Any, ...]:
    flags = once(_flags(field, schemes, on))
    whole = field.whole
    if whole is None:
        return "", "", "", field.sample_date, flags
    return whole.word, whole.word_class, whole.scheme.name, field.sample_date, flags


def _flags(field: _Field, schemes: Sequence[RatingScheme], on: date) -> Iterator[Reason]:
    for sample, rated in zip(field.samples, field.ratings, strict=True):
        if rated is None:
            yield _unrated(field, sample, schemes)
    if field.whole is not None and field.whole.word_class in _told(field.nutrient):
        said = {
            "rating": field.whole.word,
            "scheme": field.whole.scheme.name,
            "sample_date": field.sample_date,
        }
        if _is_old(field, on):
            yield reason("nutrient_was", nutrient=field.nutrient, **said)
        else:
            yield reason(f"{field.nutrient}_{field.whole.word_class}", **said)
    yield from _zone_flags(field)
    yield from _sample_flags(field, on)


def _told(nutrient: str) -> tuple[str, ...]:
    return ("low",) if nutrient == "mg" else SHORT  # medium Mg asks for nothing


def _is_old(field: _Field, on: date) -> bool:
    return bool((pd.Timestamp(on) - field.sample_date).days > OLD_SAMPLE_DAYS[field.nutrient])


def _unrated(field: _Field, sample: Sample, schemes: Sequence[RatingScheme]) -> Reason:
    extractant = str(sample["extractant"]) or "an unnamed extractant"
    fitting = but_for_group(field.nutrient, field.grass, sample, schemes)
    groups = {scheme.soil_group for scheme in fitting} - {""}
    if groups:
        return reason("no_soil_group", extractant=extractant, soil_groups=tuple(sorted(groups)))
    if any(scheme_for(other, field.grass, sample, schemes) for other in NUTRIENTS):
        return reason("nutrient_unrated", nutrient=field.nutrient, extractant=extractant)
    for_any_grass = [replace(scheme, grasses=()) for scheme in schemes]
    if any(but_for_group(field.nutrient, field.grass, sample, for_any_grass)):
        return reason("no_scheme_for_grass", extractant=extractant)
    return reason("no_rating_scheme", extractant=extractant)


def _zone_flags(field: _Field) -> Iterator[Reason]:
    """Give the zone with the lowest rating, where that is short and lower than the field's."""
    zones = [
        (rated.rank, str(sample["zone"]), rated)
        for sample, rated in zip(field.samples, field.ratings, strict=True)
        if rated is not None and sample["zone"]
    ]
    if not zones:
        return
    rank, zone, lowest = min(zones, key=lambda one: one[:2])
    if lowest.word_class in SHORT and (field.whole is None or rank < field.whole.rank):
        yield reason("zone_low", nutrient=field.nutrient, zone=zone, rating=lowest.word)


def _sample_flags(field: _Field, on: date) -> Iterator[Reason]:
    for sample in field.samples:
        if not SHALLOW_CM <= sample["depth_cm"] <= DEEP_CM and pd.notna(sample["depth_cm"]):
            yield reason("sample_depth", depth_cm=sample["depth_cm"], sample_date=sample["sample_date"])
    if _is_old(field, on):
        yield reason("soil_test_old", sample_date=field.sample_date, nutrients=(field.nutrient,))


def _mapped(nutrient: str, row: Sample, schemes: Sequence[RatingScheme]) -> tuple[Any, ...]:
    head = f"mapped_{nutrient}"
    sample = {name: row[f"{head}_{name}"] for name in ("extractant", "soil_group")}
    sample[f"{nutrient}_mg_kg"] = row[f"{head}_mg_kg"]
    tables = [scheme for scheme in schemes if not scheme.formula]  # a formula asks for more than a map
    rated = rated_sample(nutrient, str(row["grass"]), sample, tables)
    if rated is None:
        return NOTHING
    flags: tuple[Reason, ...] = ()
    if rated.word_class in SHORT:
        share = row[f"{head}_cover_share"]
        said = {"nutrient": nutrient, "rating": rated.word, "scheme": rated.scheme.name}
        flags = (reason("sample_nutrient", cover_share=share, **said),)
    return rated.word, rated.word_class, rated.scheme.name, row[f"{head}_date"], flags
