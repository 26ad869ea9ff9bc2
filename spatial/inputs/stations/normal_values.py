"""What a cell of the official normals says: a date, a share, or by a special value or flag why there is none."""

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from spatial.errors import InputError, Problem
from spatial.inputs.stations.cells import numbers_of

Kind = Literal["value", "unknown", "rounds to zero", "too rare", "year round"]
# NOAA NCEI, readme of the 1981-2010 supplemental normals, section V: -9999 missing, -8888 no such date, -7777 not
# zero but rounds to it, -6666 too infrequent to estimate dates, -4444 freezes all the year round.
SPECIAL: dict[float, Kind] = {
    -9999.0: "unknown",
    -8888.0: "unknown",
    -7777.0: "rounds to zero",
    -6666.0: "too rare",
    -4444.0: "year round",
}
# NOAA NCEI, readme of the 1991-2020 by-station files, measurement flags: M missing, V freezes all the year round,
# X not zero but rounds to it, Y too few values, Z at odds with other values.
FLAGS: dict[str, Kind] = {
    "M": "unknown",
    "V": "year round",
    "X": "rounds to zero",
    "Y": "unknown",
    "Z": "unknown",
}
MONTH_DAY = re.compile(r"(\d{1,2})/(\d{1,2})")
MONTH_STARTS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365)  # of a year of 365 days
AUGUST = 8
YEAR_DAYS = 365
LEAP_DAY = (2, 29)


@dataclass(frozen=True)
class Normal:
    """One value of the normals: its text, what kind it is, the years it is made of and how complete they are."""

    text: str
    kind: Kind
    years: int = 0
    completeness: str = ""


def normal_of(row: pd.Series, name: str) -> Normal:
    """Return the value of a variable, with what its special value and its flags say, in either form."""
    text, flag = _cell(row, name), _cell(row, f"meas_flag_{name}")
    complete = _cell(row, f"comp_flag_{name}") or _cell(row, f"{name}_ATTRIBUTES")
    years = _cell(row, f"years_{name}")
    number = pd.to_numeric(text, errors="coerce") if text else np.nan
    kind = SPECIAL.get(float(number)) or FLAGS.get(flag) or ("value" if text else "unknown")
    return Normal(text, kind, int(years) if years.isdecimal() else 0, complete)


def share_of(row: pd.Series, name: str, file: str) -> float:
    """Return the share of seasons in which an event comes, NaN where not known; raises InputError.

    Written in tenths of % in the form with *_ATTRIBUTES columns (1981-2010), else in %.
    """
    normal = normal_of(row, name)
    if normal.kind != "value":
        return 0.0 if normal.kind == "rounds to zero" else np.nan
    whole = 1000.0 if f"{name}_ATTRIBUTES" in row.index else 100.0
    share = float(numbers_of(pd.Series([normal.text]))[0].iloc[0]) / whole
    if not 0 <= share <= 1:
        cause = f"{normal.text!r} is no chance of 0 to {whole:g}"
        raise InputError([Problem(file, name, cause, "Get the file again")])
    return share


def days_since_august(normal: Normal, chance: float, freeze_share: float, file: str) -> float:
    """Return the day of a normal's date since 1 August in a year of 365 days; raises InputError for another text.

    +inf where the freeze is too rare to come at the chance, NaN where that is not known: too rare to date, yet
    said to come in more seasons than the chance, is not known. 29 February counts as the day before it.
    """
    if normal.kind == "value":
        return _day(normal.text, file)
    if normal.kind == "too rare":
        return np.nan if chance < freeze_share else np.inf
    return np.inf if chance > freeze_share else np.nan


def _day(text: str, file: str) -> float:
    found = MONTH_DAY.fullmatch(text)
    month, day = (int(found[1]), int(found[2])) if found else (0, 0)
    if (month, day) == LEAP_DAY:
        day -= 1
    if not 1 <= month < len(MONTH_STARTS) or not 1 <= day <= MONTH_STARTS[month] - MONTH_STARTS[month - 1]:
        raise InputError([Problem(file, "freeze dates", f"{text!r} is no month/day", "Get the file again")])
    return float((MONTH_STARTS[month - 1] + day - 1 - MONTH_STARTS[AUGUST - 1]) % YEAR_DAYS)


def _cell(row: pd.Series, name: str) -> str:
    return str(row[name]).strip() if name in row.index else ""
