"""Which days of a record each season of freeze has, which part of the year the record covers, and what is absent."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from spatial.climate.seasons import MOST_MISSING_DAYS, Season
from spatial.raster.freeze_codes import NO_FREEZE

LEAP_YEAR = 2000  # any year of 366 days
LEAP_YEAR_DAYS = 366
WHOLE_CALENDARS = ("standard", "gregorian", "proleptic_gregorian")  # which have every day there is


@dataclass(frozen=True)
class SeasonDays:
    """The days of a record that lie in one season.

    They begin at place `first` of the record; `day` is each one's number of days since the season's first day.
    `absent_before[d]` counts the days that should be there before day d and are not, and
    `absent_before[NO_FREEZE]` all of them.
    """

    season: Season
    first: int
    day: NDArray[np.int16]
    absent_before: NDArray[np.int16]


@dataclass(frozen=True)
class CoveredSeasons:
    """The seasons of a record, and its own part of the season as (month, day) and as days since its first day.

    `hopeless` are the seasons that begin too late in the record for anything to be known of their first freeze.
    """

    seasons: tuple[SeasonDays, ...]
    hopeless: tuple[int, ...]
    part: tuple[tuple[int, int], tuple[int, int]]
    part_days: tuple[int, int]


def covered_seasons(
    days: NDArray[np.datetime64], season_start: tuple[int, int], calendar: str
) -> CoveredSeasons:
    """Return the seasons that rising `days` reach into, each with what is absent from it.

    The record's own part of the season runs from the first to the last day of the year that at least half of
    its seasons have; a day of that part that a season lacks is a missing day. Where the calendar is not the
    common one only days that some season has are looked for. `season_start` is (month, day).
    """
    years, slots = _season_years(days, season_start)
    own_years, begin = np.unique(years, return_index=True)
    held = np.zeros((len(own_years), LEAP_YEAR_DAYS), dtype=bool)
    held[np.searchsorted(own_years, years), slots] = True
    first, last = _part(held)
    wanted = np.zeros(LEAP_YEAR_DAYS, dtype=bool)
    wanted[first : last + 1] = True
    if calendar not in WHOLE_CALENDARS:
        wanted &= held.any(axis=0)
    ends = [*begin[1:], len(days)]
    found = [
        _season(int(year), season_start, days[start:end], int(start), wanted)
        for year, start, end in zip(own_years, begin, ends, strict=True)
    ]
    known = tuple(one for one in found if one.absent_before[one.day[0]] <= MOST_MISSING_DAYS)
    hopeless = tuple(one.season.year for one in found if one.absent_before[one.day[0]] > MOST_MISSING_DAYS)
    part = (_month_day(first, season_start), _month_day(last, season_start))
    return CoveredSeasons(known, hopeless, part, (first, last))


def chosen_seasons(covered: CoveredSeasons, wanted: tuple[int, int] | None) -> tuple[SeasonDays, ...]:
    """Return the seasons from the first to the last wanted, or all of them."""
    if wanted is None:
        return covered.seasons
    return tuple(one for one in covered.seasons if wanted[0] <= one.season.year <= wanted[1])


def season_label(season: Season) -> str:
    """Return a season's name: 1991-92, or 1991 where it is a calendar year."""
    if (season.start.month, season.start.day) == (1, 1):
        return str(season.year)
    return f"{season.year}-{(season.year + 1) % 100:02d}"


def _season_years(
    days: NDArray[np.datetime64], season_start: tuple[int, int]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the season that each day is in, and its place in that season had it 366 days."""
    months = days.astype("datetime64[M]")
    years = days.astype("datetime64[Y]").astype(np.int64) + 1970
    month = months.astype(np.int64) % 12 + 1
    before = np.array([(date(LEAP_YEAR, m, 1) - date(LEAP_YEAR, 1, 1)).days for m in range(1, 13)])
    place = before[month - 1] + (days.astype("datetime64[D]") - months.astype("datetime64[D]")).astype(
        np.int64
    )
    start = _place(*season_start)
    return years - (place < start), (place - start) % LEAP_YEAR_DAYS


def _place(month: int, day: int) -> int:
    return (date(LEAP_YEAR, month, day) - date(LEAP_YEAR, 1, 1)).days


def _part(held: NDArray[np.bool_]) -> tuple[int, int]:
    """Return the first and the last place that at least half of the seasons have."""
    often = 2 * held.sum(axis=0) >= len(held)
    places = np.flatnonzero(often if often.any() else held.any(axis=0))
    return int(places[0]), int(places[-1])


def _month_day(slot: int, season_start: tuple[int, int]) -> tuple[int, int]:
    day = date(LEAP_YEAR, 1, 1) + timedelta(days=(slot + _place(*season_start)) % LEAP_YEAR_DAYS)
    return day.month, day.day


def _season(
    year: int,
    season_start: tuple[int, int],
    days: NDArray[np.datetime64],
    first: int,
    wanted: NDArray[np.bool_],
) -> SeasonDays:
    start = date(year, *season_start)
    every = np.arange(np.datetime64(start, "D"), np.datetime64(date(year + 1, *season_start), "D"))
    slots = _season_years(every, season_start)[1]
    absent = wanted[slots] & ~np.isin(every, days)
    before = np.full(NO_FREEZE + 1, absent.sum(), dtype=np.int16)
    before[: len(every)] = np.cumsum(absent) - absent
    day = (days - np.datetime64(start, "D")).astype(np.int16)
    return SeasonDays(Season(year, start), first, day, before)
