"""What people type for a temperature, a run of seasons and a day of the year, read or refused in one line."""

import re
from collections.abc import Sequence
from datetime import date

from spatial.errors import InputError, Problem
from spatial.units import WRITTEN
from spatial.values import COMMON_YEAR

DEGREES = re.compile(r"\s*([-+\u2212]?\d+(?:\.\d+)?)\s*(?:deg|°)?\s*([FfCc])\s*")
YEARS = re.compile(r"\s*(\d{4})\s*[-\u2013]\s*(\d{4})\s*")
LEAST_C, MOST_C = -20.0, 5.0  # a killing freeze lies between


def threshold_c_of(text: str) -> float:
    """Return the threshold [deg C] of text such as 28F or -2.2C; raises InputError for any other."""
    found = DEGREES.fullmatch(text)
    if found is None:
        raise _wrong("threshold", text, "Give a number with its unit, as 28F or -2.2C")
    number = float(found[1].replace("\u2212", "-"))  # the true minus sign, as people paste it
    _, factor, offset = WRITTEN["_f"] if found[2] in "Ff" else ("", 1.0, 0.0)
    threshold_c = number * factor + offset
    if not LEAST_C <= threshold_c <= MOST_C:
        raise _wrong("threshold", text, "A freeze lies between -4 and 41 F (-20 and 5 C)")
    return threshold_c


def season_range(text: str) -> tuple[int, int] | None:
    """Return the first and last season of text such as 1991-2020, None for "" ; raises InputError for any other."""
    if not text:
        return None
    found = YEARS.fullmatch(text)
    if found is None or int(found[1]) > int(found[2]):
        raise _wrong("seasons", text, "Give the first and the last by the year they begin in, as 1991-2020")
    return int(found[1]), int(found[2])


def season_start_of(text: str) -> tuple[int, int] | None:
    """Return (month, day) of text such as 08-01, None for ""; raises InputError for a day that not every year has."""
    if not text:
        return None
    try:
        day = date.fromisoformat(f"{COMMON_YEAR}-{text.strip()}")
    except ValueError as error:
        raise _wrong("season-start", text, "Give a month and a day that every year has, as 08-01") from error
    return day.month, day.day


def columns_of(pairs: Sequence[str]) -> dict[str, str]:
    """Return {ours: theirs} of texts such as tmin=LOW; raises InputError for a text without both."""
    found = {}
    for pair in pairs:
        ours, equals, theirs = (part.strip() for part in pair.partition("="))
        if not (ours and equals and theirs):
            raise _wrong("column", pair, "Give our name and yours, as tmin=LOW")
        found[ours.lower()] = theirs
    return found


def _wrong(option: str, text: str, mend: str) -> InputError:
    return InputError([Problem(f"--{option}", "", f"{text!r} is not understood", mend)])
