"""Soil flags: pH, P, K and Mg from lab tests, else a word to sample where a mapped layer says low."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.agronomy.survey import survey_ph
from spatial.reasons import Reason, reason
from spatial.values import RatingScheme

NUTRIENTS = ("p", "k", "mg")
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
    newest = _newest(tests, on).reindex(fields.index)
    mapped = survey_ph(fields, survey, numbers["target_ph"])
    by_lab = newest["ph"].notna()
    rows = newest.join(mapped).join(numbers[["target_ph", "very_low_ph", "high_ph"]]).join(fields["grass"])
    known = not tests.empty or survey is not None
    flags = [_flags(row, schemes, on) if known else () for row in rows.itertuples()]
    return pd.DataFrame(
        {
            "soil_ph": newest["ph"].fillna(mapped["survey_ph"]),
            "soil_ph_origin": _origins(by_lab, mapped["survey_ph"].notna()),
            "soil_ph_date": newest["sample_date"].where(by_lab),
            "flags": pd.Series(flags, index=fields.index, dtype=object),
        }
    )


def rating(scheme: RatingScheme, nutrient: str, value_mg_kg: float) -> str:
    """Return the scheme's word for a soil test value [mg/kg]; its limits are upper and inclusive."""
    limits = scheme.limits_mg_kg[nutrient]
    # Half a thousandth of slack, or 60 lb/ac turned to 30.000000001 mg/kg would cross its own limit.
    over = sum(value_mg_kg > limit + 5e-4 for limit in limits)
    return scheme.ratings[over]


def _newest(tests: pd.DataFrame, on: date) -> pd.DataFrame:
    done = tests[(tests["field_id"] != "") & (tests["sample_date"] <= pd.Timestamp(on))]
    latest = done[done["sample_date"] == done.groupby("field_id")["sample_date"].transform("max")]
    how = {"ph": "mean", "p_mg_kg": "mean", "k_mg_kg": "mean", "mg_mg_kg": "mean"}
    what = {"sample_date": "first", "extractant": "first", "soil_group": "first", "lab": "first"}
    return latest.groupby("field_id").agg(how | what)


def _origins(by_lab: pd.Series, by_survey: pd.Series) -> pd.Series:
    origin = pd.Series("", index=by_lab.index, dtype=object)
    return origin.where(~by_survey, "survey").where(~by_lab, "lab")


def _flags(row: Any, schemes: tuple[RatingScheme, ...], on: date) -> tuple[Reason, ...]:
    flags = [*_ph_flags(row), *_nutrient_flags(row, schemes), *_old_flags(row, on)]
    return tuple(flags)


def _ph_flags(row: Any) -> Iterable[Reason]:
    if pd.notna(row.ph):
        values = {"ph": row.ph, "origin": "lab", "sample_date": row.sample_date}
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
    values = {nutrient: getattr(row, f"{nutrient}_mg_kg") for nutrient in NUTRIENTS}
    given = {nutrient: value for nutrient, value in values.items() if pd.notna(value)}
    if not given:
        return
    scheme = _scheme_for(row, schemes)
    if scheme is None:
        yield reason(
            "no_rating_scheme",
            extractant=row.extractant or "an unnamed extractant",
            soil_group=row.soil_group,
        )
        return
    for nutrient, value in given.items():
        if nutrient not in scheme.limits_mg_kg:
            continue
        word = rating(scheme, nutrient, value)
        level = "low" if word in LOW else "medium" if word in MEDIUM else ""
        if level:
            yield reason(f"{nutrient}_{level}", rating=word, scheme=scheme.name, sample_date=row.sample_date)


def _old_flags(row: Any, on: date) -> Iterable[Reason]:
    values = {"ph": row.ph, "k": row.k_mg_kg}
    for nutrient, oldest in OLD_DAYS.items():
        if pd.notna(values[nutrient]) and (pd.Timestamp(on) - row.sample_date).days > oldest:
            yield reason("soil_test_old", sample_date=row.sample_date, nutrient=nutrient)


def _scheme_for(row: Any, schemes: tuple[RatingScheme, ...]) -> RatingScheme | None:
    for scheme in schemes:
        if _plain(scheme.extractant) != _plain(row.extractant) or row.grass not in (
            scheme.grasses or (row.grass,)
        ):
            continue
        if scheme.soil_group in ("", _plain_group(row.soil_group)):
            return scheme
    return None


def _plain(text: str) -> str:
    return "".join(letter for letter in str(text).lower() if letter.isalnum())


def _plain_group(text: str) -> str:
    return "_".join(str(text).lower().replace("-", " ").replace("_", " ").split())
