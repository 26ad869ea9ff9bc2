"""Daily minima from a headed CSV table of any station program: its days, minima, maxima, stations and places."""

import re
from collections.abc import Mapping

import numpy as np
import pandas as pd

from spatial.daily import Station
from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report, listed
from spatial.inputs.stations.cells import days_of, days_of_parts, days_of_year, numbers_of
from spatial.inputs.stations.columns import TEMPERATURES, UNIT_ENDS, Heading, find_columns, plain
from spatial.inputs.stations.places import place_of
from spatial.inputs.stations.readings import UNITS, Readings, Unit
from spatial.inputs.stations.records import read_headed_readings, without_failed
from spatial.inputs.stations.text import table_of

ARCHIVE_ID = re.compile(r"(?<![A-Z0-9])[A-Z]{2}[A-Z0-9]{5}\d{4}(?![A-Z0-9])")
PARTS = ("year", "month", "day")
WAYS = {"month first": "month/day/year", "day first": "day/month/year"}
DATED = {"year first", "month first", "day first", "month named"}
GIVE_DAILY = "Give the daily record"


def read_headed(text: str, file: str, stem: str, said: Mapping[str, str], report: Report) -> Readings:
    """Return the readings of a headed table; `stem` is the file's name without its endings.

    `said` maps our names (date, year, month, day, tmin, tmin_f, tmin_c, tmax, station ...) to the file's. Raises
    InputError with all that is wrong with the table.
    """
    table = table_of(text, file)
    columns: Mapping[str, Heading] = find_columns(list(table.columns), said, file)
    if "element" in columns and "value" in columns and "tmin" not in columns:
        return read_headed_readings(table, columns, file, report)
    _refuse_lacking(table, columns, file)
    table, columns = _without_units(table, columns)
    tmin = _temperatures(table, columns, "tmin", file, report)
    table, tmin = _with_days(table, columns, tmin)
    dates = _dates(table, columns, file, report)
    tmax = _temperatures(table, columns, "tmax", file, report)
    ids = _ids(table, columns, stem)
    rows = pd.DataFrame({"station": ids, "date": dates, "tmin": tmin, "tmax": tmax, "row": table.index + 1})
    stations = {
        str(name): place_of(str(name), table.loc[part.index], columns)
        for name, part in rows.groupby("station")
    }
    by_file = "station" not in columns and ARCHIVE_ID.search(stem) is None
    return _readings(rows, stations, columns, file, named_by_file=by_file)


def _readings(
    rows: pd.DataFrame,
    stations: Mapping[str, Station],
    columns: Mapping[str, Heading],
    file: str,
    *,
    named_by_file: bool,
) -> Readings:
    low, high = columns["tmin"], columns.get("tmax", Heading(""))
    return Readings(
        rows.reset_index(drop=True),
        stations,
        low.theirs,
        high.theirs,
        _unit(low),
        low.said_by,
        _unit(high),
        file,
        named_by_file,
    )


def _refuse_lacking(table: pd.DataFrame, columns: Mapping[str, Heading], file: str) -> None:
    has = f"The file has {listed('column', table.columns)}"
    problems = []
    if "tmin" not in columns:
        mend = f"Say which it is, as --column tmin=NAME. {has}"
        problems.append(Problem(file, "TMIN", "has no column of daily minima", mend))
    by_year = "year" in columns and not set(columns).isdisjoint({"month", "day_of_year"})
    if "date" not in columns and not by_year:
        mend = f"Say which it is, as --column date=NAME. {has}"
        problems.append(Problem(file, "DATE", "has no column of days", mend))
    elif set(columns).isdisjoint({"date", "day", "day_of_year"}):
        problems.append(Problem(file, columns["month"].theirs, "is monthly: it has no day", GIVE_DAILY))
    if table.empty:
        problems = [Problem(file, "", "has a heading but no rows", "Get the file again")]
    if problems:
        raise InputError(problems)


def _dates(table: pd.DataFrame, columns: Mapping[str, Heading], file: str, report: Report) -> pd.Series:
    if "date" not in columns:
        return _dates_of_parts(table, columns, file)
    name = columns["date"].theirs
    days, way = days_of(table[name])
    if way == "months":
        raise InputError([Problem(file, f"column {name!r}", "has months, not days", GIVE_DAILY)])
    if way == "unclear":
        mend = "Write the days as year-month-day"
        raise InputError([Problem(file, f"column {name!r}", "may be month/day or day/month", mend)])
    if way == "short year":
        cause = f"has years of two digits, as {table[name].iloc[0]!r}"
        raise InputError([Problem(file, f"column {name!r}", cause, "Write the days as year-month-day")])
    _refuse_bad(table[name], days.isna(), f"column {name!r}", file, "is no day")
    if way in WAYS:
        report.tell(
            file, f"column {name!r}", f"is read as {WAYS[way]}", "Write year-month-day if that is wrong"
        )
    return days


def _dates_of_parts(table: pd.DataFrame, columns: Mapping[str, Heading], file: str) -> pd.Series:
    wanted = PARTS if {"month", "day"} <= set(columns) else ("year", "day_of_year")
    parts = [table[columns[part].theirs] for part in wanted]
    days = days_of_parts(*parts) if len(parts) == len(PARTS) else days_of_year(*parts)
    written = pd.concat(parts, axis=1).agg("-".join, axis=1)
    _refuse_bad(written, days.isna(), "date", file, "is no day")
    return days


def _without_units(
    table: pd.DataFrame, columns: Mapping[str, Heading]
) -> tuple[pd.DataFrame, Mapping[str, Heading]]:
    """Return a table without a first row of units, and its columns with the units that this row says."""
    cells = table.iloc[0]
    dated = [columns[ours].theirs for ours in ("date", "year") if ours in columns]
    if any(character.isdigit() for name in (*dated, columns["tmin"].theirs) for character in cells[name]):
        return table, columns
    units = {
        ours: UNIT_ENDS.get(plain(cells[columns[ours].theirs])) for ours in TEMPERATURES if ours in columns
    }
    if not any(units.values()):
        return table, columns
    said = {
        ours: Heading(columns[ours].theirs, unit, "the row of units") for ours, unit in units.items() if unit
    }
    return table.iloc[1:], {**columns, **said}


def _with_days(
    table: pd.DataFrame, columns: Mapping[str, Heading], tmin: pd.Series
) -> tuple[pd.DataFrame, pd.Series]:
    """Return a table without the rows of days that the calendar has not, where nothing stands in them either."""
    if "date" not in columns:
        return table, tmin
    days, way = days_of(table[columns["date"].theirs])
    kept = days.notna() | tmin.notna() | (way not in DATED)
    return table[kept], tmin[kept]


def _temperatures(
    table: pd.DataFrame, columns: Mapping[str, Heading], ours: str, file: str, report: Report
) -> pd.Series:
    if ours not in columns:
        return pd.Series(np.nan, index=table.index)
    name = columns[ours].theirs
    values, bad = numbers_of(table[name])
    _refuse_bad(table[name], bad, f"column {name!r}", file, "is no number")
    flags = next((other for other in table.columns if plain(other) == f"{plain(name)}_attributes"), None)
    if flags is None or ours == "tmax":
        return values
    # Flags in one cell, parted by commas: measurement, quality, source (NOAA NCEI, daily summaries).
    return without_failed(values, table[flags].str.split(",").str[1].fillna(""), file, report)


def _ids(table: pd.DataFrame, columns: Mapping[str, Heading], stem: str) -> pd.Series:
    found = ARCHIVE_ID.search(stem)
    own = found[0] if found else stem
    if "station" not in columns:
        return pd.Series(own, index=table.index)
    return table[columns["station"].theirs].replace("", own)


def _unit(column: Heading) -> Unit | None:
    return next((unit for unit in UNITS if unit == column.unit), None)


def _refuse_bad(cells: pd.Series, bad: pd.Series, place: str, file: str, cause: str) -> None:
    if bad.any():
        rows = listed("row", cells.index[bad] + 1)
        found = f"{cells[bad].iloc[0]!r} {cause}" if cells[bad].iloc[0] else "is empty"
        raise InputError([Problem(file, f"{place}, {rows}", found, "Mend or remove it")])
