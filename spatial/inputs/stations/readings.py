"""Readings of weather stations as a file has them, before their unit and their sense are known."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import pandas as pd

from spatial.daily import Station

Unit = Literal["F", "C", "tenthsC"]
UNITS: tuple[Unit, ...] = ("F", "C", "tenthsC")
UNIT_WORDS: dict[Unit, str] = {"F": "deg F", "C": "deg C", "tenthsC": "tenths of deg C"}
FACTORS: dict[Unit, tuple[float, float]] = {
    "F": (5.0 / 9.0, -160.0 / 9.0),
    "C": (1.0, 0.0),
    "tenthsC": (0.1, 0.0),
}  # deg C = factor * written + offset


@dataclass(frozen=True)
class Readings:
    """The readings of one file, of one station or more.

    `table` has station, date (datetime64, a day), tmin and tmax in the file's own numbers (NaN missing) and row,
    the number of the file's line. `column` and `tmax_column` are the file's names for them; `unit` is None where
    neither the form of the file nor the name of its column says it.
    """

    table: pd.DataFrame
    stations: Mapping[str, Station]
    column: str
    tmax_column: str
    unit: Unit | None
    said_by: str  # what says the unit: "its form", "its name"
    tmax_unit: Unit | None
    file: str
    named_by_file: bool = False  # the station has no name but the file's


def to_celsius(values: pd.Series, unit: Unit) -> pd.Series:
    """Return temperatures written in `unit` in deg C."""
    factor, offset = FACTORS[unit]
    # Tenths are divided, so that -22 becomes exactly -2.2.
    return values / 10.0 if unit == "tenthsC" else values * factor + offset
