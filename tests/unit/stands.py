"""Makes small tables of fields, grass numbers and growth for the agronomy tests."""

from datetime import date

import numpy as np
import pandas as pd

from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.regrowth import Growth, growth
from spatial.agronomy.warmth import warmth_shares
from spatial.climate.daylight import day_length_h
from spatial.climate.seasons import growing_year, season_of
from spatial.inputs.checks import Report
from spatial.inputs.rules import read_grasses, read_growth_rules

GRASSES = read_grasses(Report())
GROWTH_RULES = read_growth_rules()
NO_NORMALS = pd.DataFrame({"month": [], "mean_temperature_c": []})
SEASON = season_of(date(2026, 9, 8), (8, 1))


def fields_of(**columns: list[object]) -> pd.DataFrame:
    """Return fields named a, b, c, ... with these columns; what is not said is missing."""
    count = len(next(iter(columns.values())))
    plain: dict[str, object] = {
        "grass": "hybrid_bermudagrass", "stubble_cm": np.nan, "height_cm": np.nan, "height_date": pd.NaT,
        "previous_cut_date": pd.NaT, "cut_stubble_cm": np.nan, "area": "", "cold_offset_c": np.nan, "intent": "hay",
    }  # fmt: skip
    index = pd.Index(list("abcdefghijklmnopqrstuvwxyz"[:count]), name="field_id")
    table = pd.DataFrame(plain | columns, index=index)
    for name in ("height_date", "previous_cut_date"):
        table[name] = pd.to_datetime(table[name])
    return table


def numbers_of(fields: pd.DataFrame) -> pd.DataFrame:
    """Return the grass numbers of the fields, by the shipped rules."""
    return grass_numbers(fields, GRASSES)


def growth_at(fields: pd.DataFrame, latitude: float = 33.0, normals: pd.DataFrame = NO_NORMALS) -> Growth:
    """Return the growth of every field at one latitude, in the growing year of fall 2026."""
    days = growing_year(SEASON)
    hours = day_length_h(latitude, days, -83.0)[None, :]
    warmth = warmth_shares(normals, GROWTH_RULES, days)
    latitudes = pd.Series(latitude, index=fields.index)
    return growth(numbers_of(fields), latitudes, pd.DataFrame(hours, index=[latitude], columns=days), warmth)


def days_of(*texts: str | None) -> list[pd.Timestamp]:
    """Return dates of 2026 from texts as "11-10", None for none."""
    return [pd.Timestamp(f"2026-{text}") if text else pd.NaT for text in texts]
