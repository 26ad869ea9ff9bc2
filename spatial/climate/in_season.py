"""The outlook of a freeze that has not come yet: its chance within a week or two, and its middle date, given that."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.chances import FreezeChances
from spatial.climate.frost import SAME_CHANCE
from spatial.climate.seasons import EXACT_DAY, Season, chance_days, dates_of
from spatial.reasons import Reason, reason
from spatial.values import AVERAGE_CHANCE

COLUMNS = ("freeze_in_week_share", "freeze_in_two_weeks_share", "expected_freeze_date", "seasons_still_open")
LEAST_OPEN_SEASONS = 5  # fewer give no chance worth telling; common practice, no source
WEEK = 7
TWO_WEEKS = 14  # how far the outlook looks, so also how long before the earliest past freeze it begins


def freeze_outlook(fields: pd.DataFrame, chances: FreezeChances, season: Season, on: date) -> pd.DataFrame:
    """Return what the past seasons say of the freeze, given that none has come up to and including day `on`.

    With the share F of the seasons in which it has come by a day, F(d | > on) = (F(d) - F(on)) / (1 - F(on)).

    - `freeze_in_week_share`, `freeze_in_two_weeks_share`: chance that it comes within 7 and 14 days;
    - `expected_freeze_date`: by when it has come in half of the seasons still open; NaT: in half of them it never
      does, or the layer does not go that far;
    - `seasons_still_open`: in how many past seasons it had not come by `on`; <NA> for a layer of chances.

    `fields` has killing_freeze_recorded_date and green_up_date; where either is known nothing is said, nor before
    two weeks ahead of the field's earliest past freeze, when no past season had one within the two weeks. A layer
    of chances tells nothing outside its first and last day, nor of what it does not reach; where no past season is
    still open there are no shares and the count is 0. Nothing here is a forecast.
    """
    today = float((on - season.start).days)
    if chances.chance_days.columns.empty:
        found = _of_seasons(chances.season_days.to_numpy(np.float64).T, today)
    else:
        offered = chances.chance_days.columns.to_numpy(np.float64)
        found = _of_chances(chances.chance_days.to_numpy(np.float64).T, offered, today)
    over = (fields["killing_freeze_recorded_date"].notna() | fields["green_up_date"].notna()).to_numpy()
    week, two_weeks, middle, still_open = (np.where(over, np.nan, one) for one in found)
    expected = dates_of(middle, season).astype("datetime64[s]")
    values = (week, two_weeks, expected, pd.array(still_open, dtype="Int64"))
    return pd.DataFrame(dict(zip(COLUMNS, values, strict=True)), index=fields.index)


def outlook_reasons(fields: pd.DataFrame, chances: FreezeChances, on: date) -> pd.Series:
    """Return the outlook of each field as a tuple of reasons; `fields` has the columns of `freeze_outlook`."""
    outlook = fields[list(COLUMNS)].assign(
        seasons=chances.season_days.notna().sum(axis=1),
        never_seasons=np.isposinf(chances.season_days).sum(axis=1),
    )
    rows = [tuple(_said(row, on)) for row in outlook.itertuples()]
    return pd.Series(rows, index=fields.index, dtype=object)


def _of_seasons(days: NDArray[np.float64], today: float) -> tuple[NDArray[np.float64], ...]:
    """Return shares, middle day and count from the days of past seasons, (seasons, fields)."""
    whole = np.floor(days + EXACT_DAY)
    still = whole > today
    still_open = np.count_nonzero(still, axis=0).astype(np.float64)
    known = ~np.isnan(whole)
    earliest = np.where(known, whole, np.inf).min(axis=0, initial=np.inf)
    seasons = np.where((today >= earliest - TWO_WEEKS) & known.any(axis=0), still_open, np.nan)
    of = np.where(seasons > 0, seasons, np.nan)
    week, two_weeks = (
        np.count_nonzero(still & (whole <= today + ahead), axis=0) / of for ahead in (WEEK, TWO_WEEKS)
    )
    left = np.where(still & ~np.isnan(of), days, np.nan)
    middle = chance_days(left, [AVERAGE_CHANCE])[0] if len(left) else np.full(left.shape[1], np.nan)
    return week, two_weeks, middle, seasons


def _of_chances(
    days: NDArray[np.float64], offered: NDArray[np.float64], today: float
) -> tuple[NDArray[np.float64], ...]:
    """Return shares, middle day and no count from the days of a layer's chances `offered`, (chances, fields)."""
    # NaN stays NaN for every later chance: what is not known or not reached ends what the layer tells.
    rising = np.maximum.accumulate(np.where(np.isfinite(days), days, np.nan), axis=0)
    gone = _share_by(rising, offered, today)
    week, two_weeks = (
        (_share_by(rising, offered, today + ahead) - gone) / (1 - gone) for ahead in (WEEK, TWO_WEEKS)
    )
    middle = _day_of(rising, offered, gone + AVERAGE_CHANCE * (1 - gone))
    return week, two_weeks, middle, np.full(len(gone), np.nan)


def _share_by(days: NDArray[np.float64], offered: NDArray[np.float64], day: float) -> NDArray[np.float64]:
    """Return the share of seasons in which the freeze has come by `day`, (fields,); NaN where no chance tells."""
    come = np.count_nonzero(days <= day + EXACT_DAY, axis=0)
    below, above = np.maximum(come - 1, 0), np.minimum(come, len(offered) - 1)
    lower, upper = _pick(days, below), _pick(days, above)
    part = np.divide(day - lower, upper - lower, out=np.zeros(len(come)), where=upper > lower)
    found = offered[below] + np.clip(part, 0, 1) * (offered[above] - offered[below])
    told = (come > 0) & ((upper > lower) | (day - lower <= EXACT_DAY))
    return np.where(told, found, np.nan)


def _day_of(
    days: NDArray[np.float64], offered: NDArray[np.float64], share: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the day of each field's own share, (fields,); NaN where the chances do not go that far."""
    above = np.searchsorted(offered, share - SAME_CHANCE)
    upper = np.minimum(above, len(offered) - 1)
    lower = np.maximum(upper - 1, 0)
    gap = offered[upper] - offered[lower]
    part = np.divide(share - offered[lower], gap, out=np.ones(len(share)), where=gap > 0)
    day = _pick(days, lower) + part * (_pick(days, upper) - _pick(days, lower))
    return np.where((above > 0) & (above < len(offered)), day, np.nan)


def _pick(days: NDArray[np.float64], place: NDArray[np.int64]) -> NDArray[np.float64]:
    picked: NDArray[np.float64] = np.take_along_axis(days, place[np.newaxis], axis=0)[0]
    return picked


def _said(row: Any, on: date) -> Iterator[Reason]:
    if pd.notna(row.seasons_still_open):
        yield from _said_of_seasons(row, on)
    elif pd.notna(row.freeze_in_two_weeks_share):
        yield reason(
            "freeze_outlook_shares",
            week_share=row.freeze_in_week_share,
            two_weeks_share=row.freeze_in_two_weeks_share,
        )
    elif pd.notna(row.freeze_in_week_share):
        yield reason("freeze_outlook_week", week_share=row.freeze_in_week_share)
    few = pd.notna(row.seasons_still_open) and row.seasons_still_open < LEAST_OPEN_SEASONS
    if pd.notna(row.expected_freeze_date) and not few:
        yield reason("freeze_outlook_middle", expected_freeze_date=row.expected_freeze_date)


def _said_of_seasons(row: Any, on: date) -> Iterator[Reason]:
    seasons, still_open = int(row.seasons), int(row.seasons_still_open)
    if still_open == 0:
        yield reason("freeze_outlook_none_left", seasons=seasons)
        return
    if still_open < LEAST_OPEN_SEASONS:
        yield reason(
            "freeze_outlook_few", seasons=seasons, open_seasons=still_open, today_date=pd.Timestamp(on)
        )
        return
    yield reason(
        "freeze_outlook_seasons",
        seasons=seasons,
        open_seasons=still_open,
        week_seasons=round(row.freeze_in_week_share * still_open),
        two_weeks_seasons=round(row.freeze_in_two_weeks_share * still_open),
        today_date=pd.Timestamp(on),
    )
    if pd.isna(row.expected_freeze_date):
        yield reason("freeze_outlook_never", never_seasons=int(row.never_seasons))
