"""Where weather stations stand: from their own file, from a table, or from the archive's list of stations."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from spatial.daily import Station
from spatial.errors import InputError, Problem
from spatial.inputs.checks import listed
from spatial.inputs.stations.cells import numbers_of
from spatial.inputs.stations.columns import Heading, find_columns
from spatial.inputs.stations.text import read_text, table_of
from spatial.units import M_PER_FOOT

# Fixed columns, counted from 1 (NOAA NCEI, readme of GHCN-Daily, format of the list of stations): ID 1-11,
# latitude 13-20, longitude 22-30 (degrees), elevation 32-37 (m, -999.9 missing), state 39-40, name 42-71.
LIST_LINE = re.compile(r"[A-Z0-9_-]{11} [ \d.-]{8} [ \d.-]{9} [ \d.-]{6}.*")
LIST_SLICES = {
    "station": (0, 11),
    "latitude": (12, 20),
    "longitude": (21, 30),
    "elevation": (31, 37),
    "state": (38, 40),
    "name": (41, 71),
}
NUMBERS = {"latitude": (-90.0, 90.0), "longitude": (-180.0, 180.0), "elevation": (-500.0, 9000.0)}


def read_places(path: Path) -> dict[str, Station]:
    """Return the stations of a table or list of stations, by their name; raises InputError.

    A table has station, latitude, longitude and, where known, elevation or elevation_m [m] or elevation_ft.
    """
    text = read_text(path)
    if LIST_LINE.match(text.lstrip("\r\n")):
        table, columns = _listed(text), {ours: Heading(ours) for ours in LIST_SLICES}
    else:
        table = table_of(text, path.name)
        columns = find_columns(list(table.columns), {}, path.name)
    _refuse_lacking(columns, path.name, list(table.columns))
    faults = [fault for ours in NUMBERS for fault in _number_faults(table, columns, ours, path.name)]
    ids = table[columns["station"].theirs]
    faults += _repeat_faults(table.drop(columns="state", errors="ignore"), ids, path.name)
    if faults:
        raise InputError(faults)
    known = table[ids != ""].drop_duplicates(columns["station"].theirs)
    return {
        str(name): place_of(str(name), row, columns) for name, row in known.groupby(columns["station"].theirs)
    }


def place_of(name: str, table: pd.DataFrame, columns: Mapping[str, Heading]) -> Station:
    """Return a station with the first place and name that its rows tell; what they do not tell is NaN."""
    words = table[columns["name"].theirs] if "name" in columns else pd.Series([], dtype=object)
    title = next((word for word in words if word and word != name), "")
    latitude, longitude, elevation = (_first_number(table, columns, ours) for ours in NUMBERS)
    factor = M_PER_FOOT if columns.get("elevation", Heading("")).unit == "ft" else 1.0
    return Station(name, title, latitude, longitude, elevation * factor)


def placed(station: Station, known: Mapping[str, Station]) -> Station:
    """Return a station with what its own file does not tell of its place filled from the known stations."""
    other = known.get(station.station)
    if other is None:
        return station
    own = np.isfinite([station.latitude_deg, station.longitude_deg, station.elevation_m])
    return replace(
        station,
        name=station.name or other.name,
        latitude_deg=station.latitude_deg if own[0] else other.latitude_deg,
        longitude_deg=station.longitude_deg if own[1] else other.longitude_deg,
        elevation_m=station.elevation_m if own[2] else other.elevation_m,
    )


def _listed(text: str) -> pd.DataFrame:
    lines = [line for line in text.splitlines() if line.strip()]
    return pd.DataFrame(
        {ours: [line[start:end].strip() for line in lines] for ours, (start, end) in LIST_SLICES.items()},
        dtype=object,
    )


def _refuse_lacking(columns: Mapping[str, Heading], file: str, heading: list[str]) -> None:
    absent = [ours for ours in ("station", "latitude", "longitude") if ours not in columns]
    if absent:
        has = f"The file has {listed('column', heading)}"
        raise InputError([Problem(file, "", f"has no {listed('column', absent)}", has)])


def _number_faults(
    table: pd.DataFrame, columns: Mapping[str, Heading], ours: str, file: str
) -> list[Problem]:
    if ours not in columns:
        return []
    values, bad = numbers_of(table[columns[ours].theirs])
    least, most = _limits(columns, ours)
    wrong = bad | (values < least) | (values > most)
    if not wrong.any():
        return []
    rows = listed("row", table.index[wrong] + 1)
    cause = f"{table[columns[ours].theirs][wrong].iloc[0]!r} is no {ours}"
    return [Problem(file, rows, cause, f"It lies between {least:.0f} and {most:.0f}")]


def _repeat_faults(table: pd.DataFrame, ids: pd.Series, file: str) -> list[Problem]:
    twice = ids[ids.duplicated(keep=False) & ~table.duplicated(keep=False) & (ids != "")]
    return [
        Problem(file, f"station {name!r}", "stands in two places", "Keep the right one")
        for name in sorted(set(twice))
    ]


def _first_number(table: pd.DataFrame, columns: Mapping[str, Heading], ours: str) -> float:
    if ours not in columns:
        return np.nan
    # A record has its place in every row: the first that can be one is enough.
    values = numbers_of(table[columns[ours].theirs])[0]
    known = values[values.between(*_limits(columns, ours))]
    return float(known.iloc[0]) if len(known) else np.nan


def _limits(columns: Mapping[str, Heading], ours: str) -> tuple[float, float]:
    """Return the least and the most that a number of a place can be, in the unit it is written in."""
    least, most = NUMBERS[ours]
    factor = M_PER_FOOT if columns[ours].unit == "ft" else 1.0
    return least / factor, most / factor
