"""Freeze dates of stations as they are told: a document for programs, lines for people, a table for a spreadsheet."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from maps.freeze import words
from maps.labels import chance_words, day_in_year, sentence
from maps.spreadsheet import write_csv
from spatial.daily import StationDates, Trend
from spatial.units import farmer_units

NEVER = "never"
PERCENT = 100
CHANCE_WIDTH = 15  # of the words of a chance, so that the dates stand under one another


@dataclass(frozen=True)
class ChanceDate:
    """By when the freeze has come at a chance: `when` is None where it is never (+inf days) or not known (NaN)."""

    chance: float
    days: float
    error_days: float
    when: date | None


def stations_document(stations: Sequence[StationDates]) -> dict[str, Any]:
    """Return the freeze dates for programs, as values JSON can hold: null where unknown or not reached.

    Which chances are null because the freeze does not come so often stands in `not_reached`; why others are, in
    `told`.
    """
    return {"stations": [_entry(dates) for dates in stations]}


def station_lines(dates: StationDates, units: str) -> list[str]:
    """Return a station's freeze dates in plain lines, in `units` ("us" or "metric")."""
    head = words.HEAD.format(
        station=words.station_name(dates),
        threshold=words.degrees(dates.threshold_c, units),
        seasons=words.seasons_words(dates),
    )
    notes = [words.NOTE.format(note=sentence(why, units)) for why in dates.told]
    lines = [*_chance_lines(dates), *_season_lines(dates, units), *notes, words.CAUTION]
    return [head, *(f"  {line}" for line in lines)]


def station_rows(stations: Sequence[StationDates]) -> pd.DataFrame:
    """Return one row a station and threshold, as it stands in the CSV file.

    `freeze_10` is the month and day of chance 0.1, `day_10` the same as days since the season's first day, both
    "never" where the freeze does not come so often and empty where it is not known; `error_10` its standard
    error [days]. Places in degrees and metres.
    """
    return pd.DataFrame([_row(dates) for dates in stations])


def write_station_rows(stations: Sequence[StationDates], path: Path) -> None:
    """Write `station_rows` as CSV that a spreadsheet opens without running anything."""
    write_csv(station_rows(stations), path)


def chance_dates(dates: StationDates) -> list[ChanceDate]:
    """Return by when the freeze has come at each chance of a station."""
    return [
        ChanceDate(chance, float(days), float(error), words.season_date(float(days), dates.season_start))
        for chance, days, error in zip(dates.chances, dates.days, dates.error_days, strict=True)
    ]


def season_days(dates: StationDates) -> pd.Series:
    """Return the day of the freeze in each season (+inf none, NaN not valid), on the season's first calendar year."""
    return dates.seasons.get("freeze_day", pd.Series(dtype=np.float64)).astype(np.float64)


def _entry(dates: StationDates) -> dict[str, Any]:
    station = dates.station
    return {
        "id": station.station,
        "name": station.name,
        "latitude": _number(station.latitude_deg, 6),
        "longitude": _number(station.longitude_deg, 6),
        "elevation_m": _number(station.elevation_m, 1),
        "threshold_c": _number(dates.threshold_c, 4),
        "threshold_f": _fahrenheit(dates.threshold_c),
        "season_start": _season_start(dates),
        "origin": dates.origin,
        "seasons": None if words.no_period(dates) else list(dates.period),
        "valid_seasons": dates.valid_seasons,
        "invalid_seasons": dates.invalid_seasons,
        "invalid": list(_invalid(dates)),
        "no_freeze_share": _number(dates.no_freeze_share, 4),
        "no_freeze_seasons": _no_freeze_seasons(dates),
        "chances": {f"{one.chance:g}": _dated(one) for one in chance_dates(dates)},
        "not_reached": [f"{one.chance:g}" for one in chance_dates(dates) if math.isinf(one.days)],
        **_ends(dates),
        "trend": None if dates.trend is None else _trend(dates.trend),
        "told": [sentence(why, "us") for why in dates.told],
    }


def _dated(one: ChanceDate) -> dict[str, Any] | None:
    if one.when is None:
        return None
    return {
        "month_day": f"{one.when:%m-%d}",
        "day": _number(one.days, 1),
        "se_days": _number(one.error_days, 1),
    }


def _invalid(dates: StationDates) -> Iterator[dict[str, Any]]:
    days = season_days(dates)
    for season, row in dates.seasons[days.isna()].iterrows():
        missing = _number(row["missing_days"], 0)
        why = words.why_invalid(row["missing_days"], row.get("state", ""))
        yield {"season": int(str(season)), "missing_days": missing, "why": why}


def _no_freeze_seasons(dates: StationDates) -> list[int]:
    days = season_days(dates)
    return [int(year) for year in days.index[np.isposinf(days)]]


def _ends(dates: StationDates) -> dict[str, Any]:
    """Return the earliest and the latest first freeze with its temperature; of equal ones, the first that came."""
    ends: dict[str, Any] = {}
    for name, row in zip(("earliest", "latest"), _end_rows(dates), strict=True):
        low_c = math.nan if row is None else float(row["freeze_tmin_c"])
        ends[name] = None if row is None else f"{row['freeze_date']:%Y-%m-%d}"
        ends |= {f"{name}_tmin_c": _number(low_c, 2), f"{name}_tmin_f": _fahrenheit(low_c)}
    return ends


def _end_rows(dates: StationDates) -> tuple[pd.Series | None, pd.Series | None]:
    days = season_days(dates)
    froze = days[np.isfinite(days)]
    if froze.empty:
        return None, None
    return dates.seasons.loc[froze.idxmin()], dates.seasons.loc[froze.idxmax()]


def _trend(trend: Trend) -> dict[str, Any]:
    a_year = {
        "days_per_decade": trend.days_a_year,
        "low": trend.low_days_a_year,
        "high": trend.high_days_a_year,
    }
    return {name: _number(days * words.YEARS_PER_DECADE, 2) for name, days in a_year.items()} | {
        "seasons": trend.seasons
    }


def _chance_lines(dates: StationDates) -> Iterator[str]:
    for one in chance_dates(dates):
        yield chance_words(one.chance).ljust(CHANCE_WIDTH) + words.chance_line(
            one.chance, one.when, one.days, one.error_days
        )


def _season_lines(dates: StationDates, units: str) -> Iterator[str]:
    if dates.origin == "daily":
        yield _ends_line(dates, units)
    if dates.no_freeze_share > 0:
        yield words.NO_FREEZE.format(share=f"{PERCENT * dates.no_freeze_share:.0f} %")
    elif dates.no_freeze_share == 0:
        yield words.ALWAYS_FREEZE
    if dates.trend is not None:
        yield words.trend_line(dates.trend)


def _ends_line(dates: StationDates, units: str) -> str:
    first, last = _end_rows(dates)
    if first is None or last is None:
        return words.NO_DATE
    return words.ENDS.format(
        first=day_in_year(first["freeze_date"]),
        first_low=words.degrees(first["freeze_tmin_c"], units),
        last=day_in_year(last["freeze_date"]),
        last_low=words.degrees(last["freeze_tmin_c"], units),
    )


def _row(dates: StationDates) -> dict[str, Any]:
    ends = _ends(dates)
    return {
        "station": dates.station.station,
        "name": dates.station.name,
        "latitude": dates.station.latitude_deg,
        "longitude": dates.station.longitude_deg,
        "elevation_m": dates.station.elevation_m,
        "threshold_f": _fahrenheit(dates.threshold_c),
        "season_start": _season_start(dates),
        "first_season": "" if words.no_period(dates) else dates.period[0],
        "last_season": "" if words.no_period(dates) else dates.period[1],
        "valid_seasons": dates.valid_seasons,
        "invalid_seasons": dates.invalid_seasons,
        "no_freeze_share": _number(dates.no_freeze_share, 4),
        **_chance_cells(dates),
        "earliest_date": ends["earliest"] or "",
        "latest_date": ends["latest"] or "",
    }


def _chance_cells(dates: StationDates) -> dict[str, str]:
    chances = [(f"{PERCENT * one.chance:g}", one) for one in chance_dates(dates)]
    none = {name: NEVER if math.isinf(one.days) else "" for name, one in chances}
    cells = {f"freeze_{name}": f"{one.when:%m-%d}" if one.when else none[name] for name, one in chances}
    cells |= {f"day_{name}": f"{one.days:.1f}" if one.when else none[name] for name, one in chances}
    known = {name: one.error_days for name, one in chances}
    return cells | {
        f"error_{name}": f"{days:.1f}" if math.isfinite(days) else "" for name, days in known.items()
    }


def _season_start(dates: StationDates) -> str:
    month, day = dates.season_start
    return f"{month:02d}-{day:02d}"


def _fahrenheit(value_c: float) -> float | None:
    return _number(farmer_units(value_c, "_c", "_f"), 2)


def _number(value: float, decimals: int) -> float | None:
    """Return a number rounded, whole ones for 0 decimals; None where it is none."""
    if not math.isfinite(value):
        return None
    return round(float(value), decimals) + 0.0 if decimals else round(value)
