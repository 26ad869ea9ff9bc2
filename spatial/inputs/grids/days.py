"""The days of a grid: CF time in any common calendar, and a refusal of whatever does not go day by day."""

import re
from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from spatial.inputs.grids.part import DayAxis, GridPart, refusal
from spatial.values import COMMON_YEAR

COMMON_YEAR_DAYS = 365
CALENDARS = {
    **dict.fromkeys(("standard", "gregorian", "proleptic_gregorian"), "standard"),
    **dict.fromkeys(("noleap", "365_day"), "noleap"),
    **dict.fromkeys(("all_leap", "366_day"), "all_leap"),
    "360_day": "360_day",
}
LEAST_STEP, MOST_STEP = 0.75, 1.5  # days from one value to the next, in the middle of all
MONTH_STEPS = (27.0, 32.0)
COMPACT_DAY = re.compile(r"(?<!\d)(\d{4})([-_.]?)(\d{2})\2(\d{2})(?!\d)")
YEAR = re.compile(r"(?<!\d)(1[89]\d\d|20\d\d)(?!\d)")


def cf_days(dataset: xr.Dataset, time: str, file: str) -> DayAxis:
    """Return the days of CF coordinate `time`; where it has bounds, the day is the one at the middle of them.

    Raises InputError where it is not a CF time, has gaps of no time at all, runs backwards, or is in a calendar
    that has no dates of ours.
    """
    coordinate = dataset[time].variable
    if coordinate.size == 0:
        raise refusal(file, time, "holds no day", "Get the file again")
    calendar = CALENDARS.get(str(coordinate.attrs.get("calendar", "standard")).lower())
    if calendar is None:
        cause = f"is in the calendar {coordinate.attrs['calendar']!r}"
        raise refusal(file, time, cause, f"Use one of: {', '.join(CALENDARS)}")
    numbers = _numbers(coordinate, time, file)
    if (np.diff(numbers) < 0).any():
        place = int(np.flatnonzero(np.diff(numbers) < 0)[0]) + 2
        raise refusal(file, time, f"runs backwards at its value number {place}", "Sort the file by time")
    return _axis(_decoded(_middles(dataset, coordinate, numbers), coordinate, time, file), calendar)


def dated_days(days: Sequence[date]) -> DayAxis:
    """Return the days of a list of dates."""
    own = np.array([day.year * 10_000 + day.month * 100 + day.day for day in days], dtype=np.int64)
    return DayAxis(np.array(days, dtype="datetime64[D]"), own, np.zeros(len(own)), "standard")


def day_in(text: str) -> date | None:
    """Return the day written in a text as 2001-09-14 or 20010914, or None."""
    for year, _, month, day in COMPACT_DAY.findall(text):
        try:
            return date(int(year), int(month), int(day))
        except ValueError:
            continue
    return None


def year_in(text: str) -> int | None:
    """Return the one year written in a text, or None."""
    years = set(YEAR.findall(text))
    return int(years.pop()) if len(years) == 1 else None


def in_order(parts: Sequence[GridPart]) -> tuple[GridPart, ...]:
    """Return files in the order of their days.

    Raises InputError where all their days together do not go day by day, or a day stands in two places.
    """
    parts = sorted(parts, key=lambda part: int(part.axis.own[0]))
    one = parts[0]
    for part in parts[1:]:
        if part.axis.calendar != one.axis.calendar:
            cause = f"is in the calendar {part.axis.calendar}, and {one.name} in {one.axis.calendar}"
            raise refusal(part.name, "", cause, "Give files of one calendar")
    _refuse_other_steps(parts)
    for part in parts:
        again = np.flatnonzero(np.diff(part.axis.own) == 0)
        if again.size:
            raise refusal(part.name, _shown(part.axis.own[again[0]]), "stands in it twice", "Keep one")
    for before, part in pairwise(parts):
        if part.axis.own[0] <= before.axis.own[-1]:
            cause = f"lies within the days of {before.name}"
            raise refusal(part.name, _shown(part.axis.own[0]), cause, "Give each day once")
    return tuple(parts)


def _shown(own: np.int64) -> str:
    return f"{own // 10_000}-{own // 100 % 100:02d}-{own % 100:02d}"


def _numbers(coordinate: xr.Variable, time: str, file: str) -> NDArray[np.float64]:
    if coordinate.dtype.kind not in "iuf" or " since " not in str(coordinate.attrs.get("units", "")):
        raise refusal(file, time, "is not a CF time (as days since 1990-01-01)", "Give a file with CF time")
    raw = np.asarray(coordinate.values)
    absent = ~np.isfinite(raw.astype(np.float64))
    for key in ("_FillValue", "missing_value"):
        absent |= np.isin(raw, np.atleast_1d(coordinate.attrs.get(key, np.nan)))
    if absent.any():
        raise refusal(
            file, time, f"is missing for {absent.sum()} of {raw.size} values", "Mend the file's time"
        )
    return raw.astype(np.float64)


def _middles(
    dataset: xr.Dataset, coordinate: xr.Variable, numbers: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the middles of the time bounds where the file has them: a day may be stamped with its end."""
    bounds = dataset.variables.get(str(coordinate.attrs.get("bounds", "")))
    if bounds is None or bounds.shape != (len(numbers), 2) or bounds.dtype.kind not in "iuf":
        return numbers
    edges = bounds.values.astype(np.float64)
    rising = (
        np.isfinite(edges).all()
        and (np.diff(edges.mean(axis=1)) >= 0).all()
        and (edges[:, 1] > edges[:, 0]).all()
    )
    return edges.mean(axis=1) if rising else numbers


def _decoded(numbers: NDArray[np.float64], coordinate: xr.Variable, time: str, file: str) -> NDArray[Any]:
    kept = {key: coordinate.attrs[key] for key in ("units", "calendar") if key in coordinate.attrs}
    try:
        decoded = xr.coders.CFDatetimeCoder(use_cftime=True).decode(xr.Variable((time,), numbers, kept))
        return np.asarray(decoded.values)
    except (ValueError, OverflowError) as error:
        cause = f"has units that lead to no days: {kept['units']!r}"
        raise refusal(file, time, cause, "Write it as days since 1990-01-01") from error


def _axis(moments: NDArray[Any], calendar: str) -> DayAxis:
    """Return the days of moments in their own calendar; see DailyGrid for those that we do not have."""
    year, month, day = (
        np.array([getattr(one, part) for one in moments]) for part in ("year", "month", "day")
    )
    clock = np.array([(one.hour * 60 + one.minute) / 1440 for one in moments], dtype=np.float64)
    own = (year * 10_000 + month * 100 + day).astype(np.int64)
    if calendar == "360_day":
        share = ((month - 1) * 30 + day - 1) * COMMON_YEAR_DAYS // 360
        begin = np.datetime64(date(COMMON_YEAR, 1, 1), "D")
        month, day = _month_and_day(begin + share)
    if calendar == "all_leap":
        leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
        day = np.where((month == 2) & (day == 29) & ~leap, 28, day)  # noqa: PLR2004 - the calendar's own 29 February
    months = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    return DayAxis(months.astype("datetime64[D]") + (day - 1), own, clock, calendar)


def _month_and_day(days: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    months = days.astype("datetime64[M]")
    return months.astype(np.int64) % 12 + 1, (days - months.astype("datetime64[D]")).astype(np.int64) + 1


def _refuse_other_steps(parts: Sequence[GridPart]) -> None:
    moments = np.concatenate([part.axis.days.astype(np.int64) + part.axis.clock for part in parts])
    if len(moments) == 1:
        raise refusal(parts[0].name, "", "holds a single day", "Give the daily minima of several seasons")
    step = float(np.median(np.diff(moments)))
    if LEAST_STEP <= step <= MOST_STEP:
        return
    if step < LEAST_STEP:
        cause = "holds several values a day" if step > 0 else "holds the same day several times"
    elif MONTH_STEPS[0] <= step <= MONTH_STEPS[1]:
        cause = "holds monthly values"
    else:
        cause = f"holds a value every {step:g} days"
    raise refusal(parts[0].name, "", f"{cause}, not daily minima", "Give the minimum of every day")
