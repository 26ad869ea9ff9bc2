"""The station archive's own forms: months in fixed columns (.dly), and one reading a line."""

import re
from calendar import monthrange
from collections.abc import Mapping

import numpy as np
import pandas as pd

from spatial.daily import Station
from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report, listed
from spatial.inputs.stations.cells import days_of, numbers_of
from spatial.inputs.stations.columns import Heading
from spatial.inputs.stations.readings import Readings
from spatial.inputs.stations.text import rows_of

# Fixed columns, counted from 1 (NOAA NCEI, readme of GHCN-Daily, section III, format of data files): ID 1-11,
# year 12-15, month 16-17, element 18-21; then for each of 31 days a value of 5 columns (tenths of deg C, -9999
# missing) and one column each for the measurement, quality and source flag: day 1 in 22-29, day 31 in 262-269.
MONTH_LINE = re.compile(r"[A-Z0-9_-]{11}[12]\d{3}(0[1-9]|1[0-2])[A-Z0-9]{4}[ \d-]{5}", re.IGNORECASE)
FIRST_VALUE, DAY_WIDTH, VALUE_WIDTH, QUALITY_AT, DAYS = 21, 8, 5, 6, 31
LINE_WIDTH = FIRST_VALUE + DAYS * DAY_WIDTH
ELEMENTS = ("TMIN", "TMAX")
# One reading a line (NOAA NCEI, readme of the by-year files): ID, YYYYMMDD, element, value, measurement,
# quality and source flag, time of observation.
READING_LINE = re.compile(r'"?[A-Z0-9_-]{11}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,"? *-?\d+"?(,.*)?', re.IGNORECASE)
READING_COLUMNS = ("station", "date", "element", "value", "measurement", "quality")


def is_months(text: str) -> bool:
    """Tell whether a text is in the fixed columns of the archive's months."""
    return MONTH_LINE.match(text.lstrip("\r\n")) is not None


def is_readings(text: str) -> bool:
    """Tell whether a text has one reading a line, without a heading."""
    return READING_LINE.fullmatch(text.splitlines()[0].strip()) is not None


def read_months(text: str, file: str, report: Report) -> Readings:
    """Return the minima and maxima of a file in fixed columns; raises InputError where a line is damaged."""
    lines = {n: line.upper() for n, line in enumerate(text.splitlines(), start=1) if line.strip()}
    cut = [n for n, line in lines.items() if not MONTH_LINE.match(line) or len(line) < _least_width(line)]
    if cut:
        mend = "Get the file again"
        raise InputError([Problem(file, listed("line", cut), "is damaged or cut short", mend)])
    days = [day for n, line in lines.items() if line[17:21] in ELEMENTS for day in _days(n, line)]
    table = pd.DataFrame(
        days, columns=["station", "date", "element", "value", "quality", "row"], dtype=object
    )
    return _paired(table, file, report)


def read_readings(text: str, file: str, report: Report) -> Readings:
    """Return the minima and maxima of a file of one reading a line without heading; raises InputError."""
    table = rows_of(text.upper(), file, len(READING_COLUMNS)).iloc[:, : len(READING_COLUMNS)]
    table.columns = pd.Index(READING_COLUMNS)
    return _paired(
        table[table["element"].isin(ELEMENTS)].assign(row=lambda rows: rows.index + 1), file, report
    )


def read_headed_readings(
    table: pd.DataFrame, columns: Mapping[str, Heading], file: str, report: Report
) -> Readings:
    """Return the minima and maxima of a headed table of one reading a line; raises InputError."""
    wanted = ("station", "date", "element", "value", "quality")
    absent = [ours for ours in wanted[:2] if ours not in columns]
    if absent:
        has = f"The file has {listed('column', table.columns)}"
        raise InputError([Problem(file, "", f"has no {listed('column', absent)}", has)])
    known = {ours: table[columns[ours].theirs] for ours in wanted if ours in columns}
    rows = pd.DataFrame(known, index=table.index).assign(row=table.index + 1)
    return _paired(rows[rows["element"].isin(ELEMENTS)], file, report)


def _paired(rows: pd.DataFrame, file: str, report: Report) -> Readings:
    """Return readings with the minimum and the maximum of a day side by side."""
    rows = rows.assign(day=days_of(rows["date"])[0])
    values, bad = numbers_of(rows["value"])
    _refuse_rows(rows[rows["day"].isna()], "date", "is no day", file)
    _refuse_rows(rows[bad], "value", "is no number", file)
    rows = rows.assign(value=without_failed(values, rows.get("quality"), file, report))
    low, high = (rows[rows["element"] == element] for element in ELEMENTS)
    if low.empty:
        raise InputError([Problem(file, "TMIN", "is not there: the file has no minima", "Give another file")])
    highs = high.drop_duplicates(["station", "day"]).set_index(["station", "day"])["value"]
    keys = pd.MultiIndex.from_frame(low[["station", "day"]])
    table = pd.DataFrame(
        {
            "station": low["station"].to_numpy(),
            "date": low["day"].to_numpy(),
            "tmin": low["value"].to_numpy(np.float64),
            "tmax": highs.reindex(keys).to_numpy(np.float64),
            "row": low["row"].to_numpy(),
        }
    )
    stations = {station: Station(station) for station in sorted(set(table["station"]))}
    return Readings(table, stations, "TMIN", "TMAX", "tenthsC", "its form", "tenthsC", file)


def without_failed(values: pd.Series, quality: pd.Series | None, file: str, report: Report) -> pd.Series:
    """Return values without those that a quality flag marks, and tell how many that were."""
    if quality is None:
        return values
    failed = (quality.str.strip() != "") & values.notna()
    if failed.any():
        count = int(failed.sum())
        cause = f"failed the archive's own checks in {count} reading{'s' * (count > 1)} (quality flag)"
        report.tell(file, "", cause, "They count as missing")
    return values.mask(failed)


def _days(number: int, line: str) -> list[tuple[str, str, str, str, str, int]]:
    line = line.ljust(LINE_WIDTH)
    found = []
    for day in range(1, DAYS + 1):
        start = FIRST_VALUE + (day - 1) * DAY_WIDTH
        value = line[start : start + VALUE_WIDTH].strip()
        if value in {"", "-9999"} and day > _month_days(line):
            continue
        date = f"{line[11:15]}{line[15:17]}{day:02d}"
        found.append((line[:11], date, line[17:21], value, line[start + QUALITY_AT], number))
    return found


def _month_days(line: str) -> int:
    return monthrange(int(line[11:15]), int(line[15:17]))[1]


def _least_width(line: str) -> int:
    # The blank flags at the end of a line may have been cut off; a value may not.
    return FIRST_VALUE + (_month_days(line) - 1) * DAY_WIDTH + VALUE_WIDTH


def _refuse_rows(rows: pd.DataFrame, column: str, cause: str, file: str) -> None:
    if len(rows):
        first = f"{column} {rows[column].iloc[0]!r} {cause}"
        raise InputError([Problem(file, listed("row", rows["row"]), first, "Mend or remove it")])
