"""Stations with their freeze dates: a table, or what `lastcut freeze stations --json` prints."""

import json
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from spatial.columns import Column
from spatial.inputs.cells import MISSING
from spatial.inputs.checks import Report, Source, checked, first_line, listed, refuse_repeats
from spatial.inputs.tables import read_csv
from spatial.values import COMMON_YEAR, SAME_THRESHOLD_C

PERCENTS = (10, 20, 30, 40, 50, 60, 70, 80, 90)
NEVER, NEVER_CODE = "never", 999.0
LAST_DAY = 366.0
MONTH_DAY = re.compile(r"(\d{1,2})[-/](\d{1,2})")
DATE_HEADING = re.compile(r"\b(day|freeze)_\d\d\b")
YEAR_DAYS = 365
NORTHERN, SOUTHERN = "08-01", "02-01"

PLACE = (
    Column("station", "text", "name that no other station has", required=True, also=("id",)),
    Column("latitude", "number", "latitude", required=True, least=-90, most=90),
    Column("longitude", "number", "longitude", required=True, least=-180, most=180),
    Column("elevation_m", "number", "height above the sea", least=-450, most=9000),
    Column("coast_km", "number", "distance to the coast", least=0, most=5000),
    Column("threshold_c", "number", "temperature of the freeze", required=True, least=-20, most=5),
    Column("valid_seasons", "number", "seasons behind the dates", least=0, most=500),
    Column("no_freeze_share", "number", "share of seasons without a freeze", least=0, most=1),
    Column("season_start", "text", "first day of a season, as 08-01"),
)
ERRORS = tuple(
    Column(f"error_{percent}", "number", "standard error of the day", least=0, most=200)
    for percent in PERCENTS
)


def is_station_table(path: Path) -> bool:
    """Tell whether a file is a table or document of freeze dates, and not a record of daily minima."""
    if path.suffix.lower() == ".json":
        return True
    try:
        with path.open(encoding="utf-8-sig") as file:
            heading = file.readline().lower()
    except (OSError, UnicodeDecodeError):
        return False
    return DATE_HEADING.search(heading) is not None


def read_station_table(path: Path, report: Report) -> pd.DataFrame:
    """Return the stations sorted on index `station`.

    Columns: latitude, longitude [deg], elevation_m, coast_km, threshold_c, valid_seasons, no_freeze_share,
    season_start (as 08-01), and day_10 ... day_90 (days since the season's first day, +inf not reached, NaN not
    known) with error_10 ... error_90 [days]. All that is wrong is in the report.
    """
    raw = _from_json(path, report) if path.suffix.lower() == ".json" else read_csv(path, report)
    if raw is None:
        raw = pd.DataFrame({column.name: [] for column in PLACE}, dtype=object)
    elif raw.empty:
        report.refuse(path.name, "", "has no station", "Give 5 at least, better 30 and more")
    source = Source(path.name)
    table = checked(raw, PLACE + ERRORS, source, report, "station")
    refuse_repeats(table["station"], path.name, report)
    table["season_start"] = _season_starts(table, path.name, report)
    for percent in PERCENTS:
        table[f"day_{percent}"] = _days(raw, table, percent, path.name, report)
    _refuse_unfit(table, path.name, report)
    return table.assign(no_freeze_share=_shares(table, path.name, report)).set_index("station").sort_index()


def _from_json(path: Path, report: Report) -> pd.DataFrame | None:
    try:
        stations = json.loads(path.read_text("utf-8-sig"))["stations"]
        rows = [_row(station) for station in stations]
    except FileNotFoundError:
        report.refuse(path.name, "", "is not there", "Check its name")
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        cause = f"is not what lastcut freeze stations --json prints ({first_line(error)})"
        report.refuse(path.name, "", cause, "Print it again, or give a CSV table")
    else:
        return pd.DataFrame(rows, index=range(len(rows)), dtype=object)
    return None


def _row(station: Mapping[str, Any]) -> dict[str, object]:
    row: dict[str, object] = {"station": station["id"]}
    for column in PLACE[1:]:
        row[column.name] = _cell(station.get(column.name))
    never = {round(100 * float(chance)): NEVER for chance in station.get("not_reached", station["chances"])}
    for percent in PERCENTS:
        chances = {round(100 * float(chance)): found for chance, found in station["chances"].items()}
        if percent in chances:
            found = chances[percent]
            row[f"day_{percent}"] = never.get(percent, "") if found is None else _cell(found.get("day"))
            row[f"error_{percent}"] = "" if found is None else _cell(found.get("se_days"))
    return row


def _cell(value: object) -> object:
    return "" if value is None else str(value)


def _season_starts(table: pd.DataFrame, file: str, report: Report) -> pd.Series:
    """Return the first day of each station's seasons, by its half of the world where it is not said."""
    by_place = pd.Series(np.where(table["latitude"] < 0, SOUTHERN, NORTHERN), index=table.index, dtype=object)
    said = table["season_start"].where(table["season_start"] != "", by_place)
    for text in sorted({text for text in said if _day_of(text) is None}):
        report.refuse(file, f"season_start = {text!r}", "is no month and day", "Write it as 08-01")
    if len(set(said)) > 1:
        cause = f"is {' and '.join(sorted(set(said)))}"
        report.refuse(file, "season_start", cause, "Give stations whose seasons begin on one day")
    return said


def _days(raw: pd.DataFrame, table: pd.DataFrame, percent: int, file: str, report: Report) -> pd.Series:
    """Return the days of one chance, from its day_ column, else from its freeze_ column of month and day."""
    names = {str(name).strip().lower(): name for name in raw.columns}
    for kind, read in (("day", _day), ("freeze", _date)):
        name = names.get(f"{kind}_{percent}")
        if name is not None:
            cells = ["" if pd.isna(cell) else str(cell).strip().lower() for cell in raw[name]]
            found = [read(cell, start) for cell, start in zip(cells, table["season_start"], strict=True)]
            for station, cell, day in zip(table["station"], cells, found, strict=True):
                if day is None:
                    place = f"station {station!r}, {name} = {cell!r}"
                    mend = "Write a day of the season, a date as 11-01 in a freeze_ column, never, or leave it empty"
                    report.refuse(file, place, "is no day of a season", mend)
            return pd.Series(
                [np.nan if day is None else day for day in found], index=table.index, dtype=float
            )
    return pd.Series(np.nan, index=table.index)


def _day(cell: str, _start: str) -> float | None:
    if cell in MISSING:
        return np.nan
    if cell in {NEVER, "inf"}:
        return np.inf
    try:
        day = float(cell)
    except ValueError:
        return None
    if day == NEVER_CODE:
        return np.inf
    return day if 0 <= day <= LAST_DAY else None


def _date(cell: str, start: str) -> float | None:
    if cell in MISSING or cell == NEVER:
        return np.nan if cell in MISSING else np.inf
    day, first = _day_of(cell), _day_of(start)
    return None if day is None or first is None else float((day - first).days % YEAR_DAYS)


def _day_of(text: str) -> date | None:
    found = MONTH_DAY.fullmatch(text)
    month, day = (int(part) for part in found.groups()) if found else (0, 0)
    if (month, day) == (2, 29):
        day = 28
    try:
        return date(COMMON_YEAR, month, day)
    except ValueError:
        return None


def _refuse_unfit(table: pd.DataFrame, file: str, report: Report) -> None:
    """Refuse stations without a place or a date, dates out of order, and two thresholds."""
    days = table[[f"day_{percent}" for percent in PERCENTS]].to_numpy(float)
    lacks = table[["latitude", "longitude"]].isna().any(axis=1)
    steps = [np.diff(row[~np.isnan(row) & np.isfinite(row)]) for row in days]
    falls = np.array([bool((step < 0).any()) for step in steps], dtype=bool)
    for which, cause, mend in (
        (lacks.to_numpy(), "has no latitude or longitude", "Give its place, or leave it out"),
        (np.isnan(days).all(axis=1), "has no date for any chance", "Give day_10 to day_90, or leave it out"),
        (falls, "has an earlier date for a higher chance", "Check its dates"),
    ):
        if which.any():
            report.refuse(file, listed("station", table["station"][which]), cause, mend)
    found = table["threshold_c"].dropna()
    if found.max() - found.min() > SAME_THRESHOLD_C:
        shown = " and ".join(f"{value:.1f} deg C" for value in sorted({found.min(), found.max()}))
        report.refuse(file, "threshold", f"is {shown}", "Give stations with one threshold")


def _shares(table: pd.DataFrame, file: str, report: Report) -> pd.Series:
    """Return the share without a freeze; where it is not said, from the chances that are reached."""
    days = table[[f"day_{percent}" for percent in PERCENTS]].to_numpy(float)
    least = np.where(np.isfinite(days), PERCENTS, 0).max(axis=1, initial=0)
    first_never = np.where(np.isposinf(days), PERCENTS, 100).min(axis=1, initial=100)
    from_days = np.where(np.isposinf(days).any(axis=1), 1 - (least + first_never) / 200, 0.0)
    guessed = table["no_freeze_share"].isna() & (from_days > 0)
    if guessed.any():
        cause = "says no share without a freeze; it was taken from the chances that are not reached"
        report.tell(file, listed("station", table["station"][guessed]), cause, "Give no_freeze_share")
    return table["no_freeze_share"].fillna(pd.Series(from_days, index=table.index))
