"""Regrowth: how many days it takes, how tall a stand grows, and when it is ready again."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

DAY = np.timedelta64(1, "D")


def regrowth_days(numbers: pd.DataFrame) -> pd.Series:
    """Return the days to leave between the last cut and the killing freeze [days], whole, by the calendar.

    The grass's days go from its own stubble to its target height; a shorter stubble takes longer and a taller
    one less, in proportion to the growth still needed, and never under the least days.
    """
    usual_growth_cm = numbers["target_height_cm"] - numbers["usual_stubble_cm"]
    share = (numbers["target_height_cm"] - numbers["stubble_cm"]) / usual_growth_cm
    # Rounded before the ceiling, or inches turned to cm and back would add a day.
    days = np.ceil((numbers["usual_regrowth_days"] * share).round(6).to_numpy())
    least = numbers["least_regrowth_days"].to_numpy()
    return pd.Series(np.maximum(days, least), index=numbers.index, name="regrowth_days")


@dataclass(frozen=True)
class Growth:
    """Canopy growth of every field over one growing year.

    `days` datetime64[D] (days,); `group` (fields,) names each field's row of `grown_cm` (groups, days), the canopy
    grown from the year's first day to the end of each day; `ends` (fields,) datetime64[D], the last day of growth
    by day length.
    """

    index: pd.Index
    days: NDArray[np.datetime64]
    group: NDArray[np.int64]
    grown_cm: NDArray[np.float64]
    ends: NDArray[np.datetime64]

    def between_cm(self, first: pd.Series, last: pd.Series) -> pd.Series:
        """Return the canopy grown after day `first` until the end of day `last` [cm], never negative."""
        return (self._at(last) - self._at(first)).clip(lower=0)

    def day_grown(self, first: pd.Series, need_cm: pd.Series) -> pd.Series:
        """Return the first day by which `need_cm` has grown after day `first`; NaT where this year it does not."""
        wanted = self._at(first) + need_cm
        return self._find(wanted, lambda row, value: np.searchsorted(row, value - 1e-9, side="left"))

    def last_start(self, need_cm: pd.Series, end: pd.Series) -> pd.Series:
        """Return the last day after which `need_cm` still grows until the end of day `end`; NaT where none."""
        wanted = self._at(end) - need_cm
        return self._find(wanted, lambda row, value: np.searchsorted(row, value + 1e-9, side="right") - 1)

    def _at(self, dates: pd.Series) -> pd.Series:
        known = dates.notna().to_numpy()
        days = dates.fillna(pd.Timestamp(self.days[0])).to_numpy().astype("datetime64[D]")
        place = np.clip((days - self.days[0]) // DAY, 0, len(self.days) - 1)
        return pd.Series(np.where(known, self.grown_cm[self.group, place], np.nan), index=self.index)

    def _find(
        self, wanted_cm: pd.Series, search: Callable[[NDArray[np.float64], float], np.intp]
    ) -> pd.Series:
        found = np.full(len(self.index), np.datetime64("NaT"), dtype="datetime64[D]")
        for place, (group, value) in enumerate(zip(self.group, wanted_cm, strict=True)):
            step = int(search(self.grown_cm[group], value)) if np.isfinite(value) else -1
            if 0 <= step < len(self.days):
                found[place] = self.days[step]
        return pd.Series(found.astype("datetime64[ns]"), index=self.index)


def growth(
    numbers: pd.DataFrame, latitudes: pd.Series, daylight_h: pd.DataFrame, warmth_share: NDArray[np.float64]
) -> Growth:
    """Return the growth of each field's canopy, from day length and what the temperature allows of it.

    Each day grows `growth_cm_day_h` x (day length - `growth_day_length_h`) x `warmth_share` (days,) cm, until days
    are shorter than that limit or, at the latest, at the winter solstice. `daylight_h`: hours by latitude (rows)
    and day (columns) over the growing year; a field takes the nearest row. Day length as the main driver of fall
    growth: Burton et al. 1988, Agron. J. 80; the numbers of the line are in the rule files with their sources.
    """
    hours, days = daylight_h.to_numpy(), daylight_h.columns.to_numpy().astype("datetime64[D]")
    row = np.abs(latitudes.to_numpy()[:, None] - daylight_h.index.to_numpy()[None, :]).argmin(axis=1)
    keys = pd.DataFrame(
        {
            "row": row,
            "rate": numbers["growth_cm_day_h"].to_numpy(),
            "limit": numbers["growth_day_length_h"].to_numpy(),
        }
    )
    group, kinds = _groups(keys)
    spare_h = hours[kinds["row"]] - kinds["limit"].to_numpy()[:, None]
    growing = (spare_h > 0) & (np.arange(len(days)) <= hours[kinds["row"]].argmin(axis=1)[:, None])
    grown_cm = np.cumsum(
        np.where(growing, spare_h * warmth_share * kinds["rate"].to_numpy()[:, None], 0.0), axis=1
    )
    last = np.where(growing.any(axis=1), len(days) - 1 - growing[:, ::-1].argmax(axis=1), 0)
    return Growth(numbers.index, days, group, grown_cm, days[last][group])


def ready_dates(stands: pd.DataFrame, numbers: pd.DataFrame, grown: Growth) -> pd.Series:
    """Return the first day on which each stand is worth an early cut; NaT where this year it is not.

    `stands` has height_cm, height_date and previous_cut_date as known on the day of the plan. A measured height
    grows on to the grass's harvest height; without one the cutting interval counts from the previous cut; where
    nothing is known of this growing year it grows from the stubble on the year's first day.
    """
    need_cm = (numbers["harvest_height_cm"] - stands["height_cm"]).clip(lower=0)
    by_height = grown.day_grown(stands["height_date"], need_cm).where(need_cm > 0, stands["height_date"])
    interval = pd.to_timedelta(numbers["cutting_interval_days"], unit="D")
    first = pd.Series(pd.Timestamp(grown.days[0]), index=stands.index)
    from_start = grown.day_grown(first, (numbers["harvest_height_cm"] - numbers["stubble_cm"]).clip(lower=0))
    by_cut = (stands["previous_cut_date"] + interval).fillna(from_start)
    return by_cut.where(stands["height_cm"].isna(), by_height).rename("ready_date")


def canopy_cm(
    stands: pd.DataFrame,
    numbers: pd.DataFrame,
    grown: Growth,
    until: pd.Series,
    share: pd.Series | float = 1.0,
) -> pd.Series:
    """Return the canopy height expected at the end of day `until` [cm].

    It grows on from the height measured, else from the stubble of the previous cut; NaN where neither is known.
    `share` is that of the line which the grass may have grown.
    """
    from_height = stands["height_cm"] + share * grown.between_cm(stands["height_date"], until)
    from_cut = stands["cut_stubble_cm"].fillna(numbers["stubble_cm"]) + share * grown.between_cm(
        stands["previous_cut_date"], until
    )
    return from_height.fillna(from_cut)


def _groups(keys: pd.DataFrame) -> tuple[NDArray[np.int64], pd.DataFrame]:
    kinds = keys.drop_duplicates().reset_index(drop=True)
    numbered = kinds.assign(group=np.arange(len(kinds)))
    group = keys.merge(numbered, on=list(keys.columns), how="left")["group"].to_numpy()
    return group, kinds
