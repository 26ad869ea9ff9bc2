"""The first freeze of every season at a station, and whether the season counts."""

from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.seasons import MOST_MISSING_DAYS
from spatial.values import COMMON_YEAR

SAME_READING_C = 1e-4  # a reading this near to the threshold is at it, rounded
NEVER = np.iinfo(np.int64).max  # a day that no season has

Days = NDArray[np.int64]  # counted from 1 January 1970, as numpy does


def station_seasons(
    tmin_c: pd.Series, threshold_c: float, season_start: tuple[int, int], seasons: tuple[int, int] | None
) -> pd.DataFrame:
    """Return the first day at or below the threshold in every season, on the season's first calendar year.

    `tmin_c` [deg C] is on a DatetimeIndex, which says how far the record goes; a day that is absent from it or
    NaN is missing. `season_start` is (month, day), and must exist in every year, else ValueError. `seasons` is
    the first and last season wanted, whether or not the record has them, in order, else ValueError; without it,
    those the record touches.

    Columns: freeze_day (days since the season's first day, +inf no freeze, NaN not known), freeze_date,
    freeze_tmin_c [deg C], missing_days (before the freeze, without one in the whole season), and state:
    "freeze"; "no_freeze"; "not_over", the record ends in it before a freeze; "not_valid", more than 10 days are
    missing (Utah Climate Center, freeze-date help). froze: a freeze was read, in a valid season or not.
    """
    days = pd.DatetimeIndex(tmin_c.index)
    years = _season_years(days, season_start, seasons)
    starts, ends = _first_days(years, season_start), _first_days(years + 1, season_start)
    until, froze, freeze_c, missing = _first_freezes(tmin_c.dropna().sort_index(), threshold_c, starts, ends)
    state = _states(froze, missing, _ends_inside(days, starts, ends))
    dated = state == "freeze"
    freeze_date = np.where(dated, until.astype("datetime64[D]"), np.datetime64("NaT"))
    columns = {
        "freeze_day": np.where(dated, until - starts, np.where(state == "no_freeze", np.inf, np.nan)),
        "freeze_date": freeze_date.astype("datetime64[s]"),
        "freeze_tmin_c": np.where(dated, freeze_c, np.nan),
        "missing_days": missing,
        "state": state,
        "froze": froze,
    }
    return pd.DataFrame(columns, index=pd.Index(years, name="season"))


def _season_years(
    days: pd.DatetimeIndex, season_start: tuple[int, int], seasons: tuple[int, int] | None
) -> Days:
    date(COMMON_YEAR, *season_start)
    if seasons is None:
        ends = [] if days.empty else [days.min(), days.max()]
        years = [day.year - ((day.month, day.day) < season_start) for day in ends]
    else:
        years = list(seasons)
    if sorted(years) != years:
        raise ValueError(f"the first season, {years[0]}, comes after the last, {years[1]}")
    return np.arange(years[0], years[1] + 1) if years else np.arange(0)


def _first_days(years: Days, season_start: tuple[int, int]) -> Days:
    month, day = season_start
    months = (years - 1970).astype("datetime64[Y]").astype("datetime64[M]") + (month - 1)
    return np.asarray(months.astype("datetime64[D]").astype(np.int64) + (day - 1))


def _first_freezes(
    known: pd.Series, threshold_c: float, starts: Days, ends: Days
) -> tuple[Days, NDArray[np.bool_], NDArray[np.float64], Days]:
    """Return the day of each season's freeze, else its end, whether it froze, the reading and the days missing."""
    read_days, read_c = _day_numbers(pd.DatetimeIndex(known.index)), known.to_numpy(np.float64)
    cold = read_c <= threshold_c + SAME_READING_C
    place = np.searchsorted(read_days[cold], starts)
    first_cold = np.append(read_days[cold], NEVER)[place]
    froze = first_cold < ends
    until = np.where(froze, first_cold, ends)
    read = np.searchsorted(read_days, until) - np.searchsorted(read_days, starts)
    return until, froze, np.append(read_c[cold], np.nan)[place], until - starts - read


def _day_numbers(days: pd.DatetimeIndex) -> Days:
    return np.asarray(days.to_numpy().astype("datetime64[D]").astype(np.int64))


def _ends_inside(days: pd.DatetimeIndex, starts: Days, ends: Days) -> NDArray[np.bool_]:
    """Return the season in which the record ends before the season does."""
    last = _day_numbers(days).max(initial=-NEVER)
    return np.asarray((starts <= last) & (last < ends - 1))


def _states(froze: NDArray[np.bool_], missing: Days, ends_inside: NDArray[np.bool_]) -> NDArray[np.object_]:
    valid = missing <= MOST_MISSING_DAYS
    # Without a freeze so far, an unfinished season is neither valid nor without a freeze.
    cases = [froze & valid, ~froze & ends_inside, ~froze & valid]
    return np.select(cases, ["freeze", "not_over", "no_freeze"], "not_valid").astype(object)
