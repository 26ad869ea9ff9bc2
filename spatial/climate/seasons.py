"""Seasons of freeze: which one a day belongs to, the day by which a share of them froze, and its date."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.values import COMMON_YEAR, GROWING_MONTHS

MOST_MISSING_DAYS = (
    10  # more before the freeze, and a season is not valid: Utah Climate Center, freeze-date help
)
LEAST_SEASONS = 5  # valid ones, fewer say nothing of chances; common practice, no source
LAST_DAY_OF_YEAR = 366  # which only a leap year has; taken for 31 December
EXACT_STEP = 1e-9  # a rank this near to a whole one is that rank, rounded
EXACT_DAY = 1e-4  # likewise a day, which may have been stored in single precision


@dataclass(frozen=True)
class Season:
    """One season of freeze: the calendar year it begins in and its first day."""

    year: int
    start: date


def season_of(on: date, season_start: tuple[int, int]) -> Season:
    """Return the season whose fall a grower has in mind on day `on`.

    `season_start` is (month, day), and must exist in every year, else ValueError: (8, 1) in the northern
    hemisphere, (2, 1) in the southern. The growing year begins four months before the season's first day
    (common practice, no source), so 1 June and the 15 January after it both belong to the fall between them.
    """
    month, day = season_start
    date(COMMON_YEAR, month, day)
    growing_start = ((month - GROWING_MONTHS - 1) % 12 + 1, day)
    year = on.year if (on.month, on.day) >= growing_start else on.year - 1
    if month <= GROWING_MONTHS:
        year += 1
    return Season(year, date(year, month, day))


def growing_year(season: Season) -> pd.DatetimeIndex:
    """Return the 365 days of the growing year to which a season's fall belongs."""
    first = pd.Timestamp(season.start) - pd.DateOffset(months=GROWING_MONTHS)
    return pd.date_range(first, periods=365, freq="D")


def chance_days(
    days: NDArray[np.floating], chances: Sequence[float], a: float = 1 / 3
) -> NDArray[np.float64]:
    """Return the day by which the freeze has come in a given share of the seasons, (chances, ...).

    `days` is (seasons, ...), at least one season: days since the season's first day, +inf a season known to
    have no freeze, NaN a season that is not known. Of the N known seasons, sorted, the day has rank
    h = (N + 1 - 2a) chance + a, with linear interpolation between finite days only; +inf where the freeze has
    not come in that share of seasons, NaN where no season is known. A rank under 1 is the first day, one over
    N the last: a small chance of few seasons is never earlier than the earliest freeze seen.

    Plotting position `a`: 0 Weibull, 1/2 Hazen, 1/3 about median-unbiased (Hyndman and Fan 1996, The American
    Statistician 50:361-365, definition 8, from memory). Seasons without freeze as a part of a mixture: Thom
    1959, Monthly Weather Review 87:136-144 (from memory).
    """
    ordered = np.sort(days, axis=0).astype(np.float64)  # NaN sorts behind +inf
    known = np.count_nonzero(~np.isnan(days), axis=0)
    return np.stack([_at_rank(ordered, (known + 1 - 2 * a) * chance + a, known) for chance in chances])


def day_of_year_days(day_of_year: NDArray[np.floating], season: Season) -> NDArray[np.float64]:
    """Return days of the year as days since the first day of the season.

    Days of the year count a year of 365 days, so that 60 is 1 March in every year, whether or not the season
    has a 29 February; 366 is taken for 31 December. A fraction of a day is kept; NaN and +inf stay as they
    are. Raises ValueError for a day under 1 or over 366.
    """
    days = np.array(day_of_year, dtype=np.float64)
    dated = np.isfinite(days)
    whole = np.floor(days[dated]).astype(np.int64)
    if whole.size and not 1 <= whole.min() <= whole.max() <= LAST_DAY_OF_YEAR:
        raise ValueError(f"days of the year run from 1 to 366, not from {whole.min()} to {whole.max()}")
    days[dated] += _season_days(season)[whole - 1] - whole
    return days


def dates_of(days: NDArray[np.floating], season: Season) -> NDArray[np.datetime64]:
    """Return the dates of days since the first day of the season, as datetime64[D]; NaT for NaN and +inf.

    Part of a day is rounded down: the earlier date is the cautious one.
    """
    finite = np.isfinite(days)
    whole = np.floor(np.where(finite, days, 0) + EXACT_DAY).astype("timedelta64[D]")
    return np.where(finite, np.datetime64(season.start, "D") + whole, np.datetime64("NaT", "D"))


def _at_rank(
    ordered: NDArray[np.float64], rank: NDArray[np.float64], known: NDArray[np.int64]
) -> NDArray[np.float64]:
    nearest = np.round(rank)
    rank = np.where(np.abs(rank - nearest) < EXACT_STEP, nearest, rank)
    rank = np.maximum(np.minimum(rank, known), 1)
    below, above = _day_at(ordered, np.floor(rank)), _day_at(ordered, np.ceil(rank))
    day, finite = np.array(above), np.isfinite(above)
    step = above[finite] - below[finite]
    day[finite] = below[finite] + (rank - np.floor(rank))[finite] * step
    return day


def _day_at(ordered: NDArray[np.float64], rank: NDArray[np.float64]) -> NDArray[np.float64]:
    place = rank.astype(np.int64)[np.newaxis] - 1
    day: NDArray[np.float64] = np.take_along_axis(ordered, place, axis=0)[0]
    return day


def _season_days(season: Season) -> NDArray[np.float64]:
    # The days since the season's first day of the 365 days of a year, with 31 December once more at the end.
    first = date(COMMON_YEAR, 1, 1)
    year_days = [first + timedelta(days=step) for step in (*range(365), 364)]
    start = (season.start.month, season.start.day)
    years = [season.start.year + ((day.month, day.day) < start) for day in year_days]
    dated = [date(year, day.month, day.day) for year, day in zip(years, year_days, strict=True)]
    return np.array([(day - season.start).days for day in dated], dtype=np.float64)
