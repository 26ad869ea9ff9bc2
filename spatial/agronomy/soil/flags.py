"""Soil flags: pH, P, K and Mg from lab tests, else a word to sample where a mapped layer says low."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.agronomy.soil.standing import newest_values
from spatial.agronomy.soil.mapped import survey_ph
from spatial.reasons import Reason, reason
from spatial.values import NUTRIENTS, RatingScheme

OLD_DAYS = {"ph": 3 * 365, "k": 365}  # older than three years, older than a season: from memory
LOW, MEDIUM = {"very low", "low"}, {"medium"}


def soil_flags(
    fields: gpd.GeoDataFrame,
    numbers: pd.DataFrame,
    tests: pd.DataFrame,
    survey: gpd.GeoDataFrame | None,
    schemes: tuple[RatingScheme, ...],
    on: date,
) -> pd.DataFrame:
    """Return soil_ph, soil_ph_origin ("lab", "survey" or empty), soil_ph_date and flags (tuple of reasons).

    `tests` has a `field_id` in each row that lies in a field. Lab goes before survey: the newest test counts, its
    repeats of the same day averaged. A survey value never sets more than "sample here"; without tests and survey
    there are no flags.
    """
    newest = newest_values(tests, on).reindex(fields.index)
    mapped = survey_ph(fields, survey, numbers["target_ph"])
    by_lab = newest["ph"].notna()
    rows = newest.join(mapped).join(numbers[["target_ph", "very_low_ph", "high_ph"]]).join(fields["grass"])
    known = not tests.empty or survey is not None
    flags = [_flags(row, schemes, on) if known else () for row in rows.itertuples()]
    return pd.DataFrame(
        {
            "soil_ph": newest["ph"].fillna(mapped["survey_ph"]),
            "soil_ph_origin": _origins(by_lab, mapped["survey_ph"].notna()),
            "soil_ph_date": newest["ph_date"].where(by_lab),
            "flags": pd.Series(flags, index=fields.index, dtype=object),
        }
    )


def rating(scheme: RatingScheme, nutrient: str, value_mg_kg: float) -> str:
    """Return the scheme's word for a soil test value [mg/kg]; its limits are upper and inclusive."""
    limits = scheme.limits_mg_kg[nutrient]
    # Half a thousandth of slack, or 60 lb/ac turned to 30.000000001 mg/kg would cross its own limit.
    over = sum(value_mg_kg > limit + 5e-4 for limit in limits)
    return scheme.ratings[over]


def _origins(by_lab: pd.Series, by_survey: pd.Series) -> pd.Series:
    origin = pd.Series("", index=by_lab.index, dtype=object)
    return origin.where(~by_survey, "survey").where(~by_lab, "lab")


def _flags(row: Any, schemes: tuple[RatingScheme, ...], on: date) -> tuple[Reason, ...]:
    flags = [*_ph_flags(row), *_nutrient_flags(row, schemes), *_old_flags(row, on)]
    return tuple(flags)


def _ph_flags(row: Any) -> Iterable[Reason]:
    if pd.notna(row.ph):
        values = {"ph": row.ph, "origin": "lab", "sample_date": row.ph_date}
        if row.ph < row.very_low_ph:
            yield reason("ph_very_low", target_ph=row.target_ph, **values)
        elif row.ph < row.target_ph:
            yield reason("ph_low", target_ph=row.target_ph, **values)
        elif row.ph > row.high_ph:
            yield reason("ph_high", **values)
    elif pd.isna(row.survey_ph):
        yield reason("sample_soil")
    elif row.survey_low_share > 0:
        yield reason("sample_ph", ph=row.survey_ph, target_ph=row.target_ph, cover_share=row.survey_low_share)


def _nutrient_flags(row: Any, schemes: tuple[RatingScheme, ...]) -> Iterable[Reason]:
    unrated = {}
    for nutrient in NUTRIENTS:
        value = getattr(row, f"{nutrient}_mg_kg")
        if pd.isna(value):
            continue
        extractant, soil_group, sampled = _test_of(row, nutrient)
        scheme = _scheme_for(row.grass, extractant, soil_group, schemes)
        if scheme is None:
            unrated[extractant, soil_group] = reason(
                "no_rating_scheme", extractant=extractant or "an unnamed extractant", soil_group=soil_group
            )
        elif nutrient in scheme.limits_mg_kg:
            yield from _rated(scheme, nutrient, value, sampled)
    yield from unrated.values()


def _rated(
    scheme: RatingScheme, nutrient: str, value_mg_kg: float, sampled: pd.Timestamp
) -> Iterable[Reason]:
    word = rating(scheme, nutrient, value_mg_kg)
    level = "low" if word in LOW else "medium" if word in MEDIUM else ""
    if level:
        yield reason(f"{nutrient}_{level}", rating=word, scheme=scheme.name, sample_date=sampled)


def _test_of(row: Any, nutrient: str) -> tuple[str, str, pd.Timestamp]:
    """Return the extractant, soil group and date of the test that a nutrient's value comes from."""
    return (
        getattr(row, f"{nutrient}_extractant"),
        getattr(row, f"{nutrient}_soil_group"),
        getattr(row, f"{nutrient}_date"),
    )


def _old_flags(row: Any, on: date) -> Iterable[Reason]:
    for nutrient, oldest in OLD_DAYS.items():
        sampled = getattr(row, f"{nutrient}_date")
        if pd.notna(sampled) and (pd.Timestamp(on) - sampled).days > oldest:
            yield reason("soil_test_old", sample_date=sampled, nutrient=nutrient)


def _scheme_for(
    grass: str, extractant: str, soil_group: str, schemes: tuple[RatingScheme, ...]
) -> RatingScheme | None:
    for scheme in schemes:
        if _plain(scheme.extractant) != _plain(extractant) or grass not in (scheme.grasses or (grass,)):
            continue
        if scheme.soil_group in ("", _plain_group(soil_group)):
            return scheme
    return None


def _plain(text: str) -> str:
    return "".join(letter for letter in str(text).lower() if letter.isalnum())


def _plain_group(text: str) -> str:
    return "_".join(str(text).lower().replace("-", " ").replace("_", " ").split())
