"""The last-cut dates of a raster's cells: each pair of latitude and freeze day is worked out once for all its cells."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.deadline import LIMITS
from spatial.raster.kinds import kinds_of

NO_FREEZE = 999  # of a whole freeze day, inside this module only
NOWHERE = -1


@dataclass(frozen=True)
class Pairs:
    """The pairs that occur: `freeze_day` and `latitude` [deg] of each, and `place`, the pair of each cell, -1 for none.

    Freeze days are whole, since the season's first day; +inf not reached.
    """

    freeze_day: NDArray[np.float64]
    latitude: NDArray[np.float64]
    place: NDArray[np.int64]


@dataclass(frozen=True)
class CellCuts:
    """The last cut of each cell: `days` since the season's first day, whole (NaN none), and what set it.

    `limit` is its place in `deadline.LIMITS`, -1 nothing; `low_cm` and `high_cm` are the canopy at the freeze after
    a cut on that day, by the lowest and the highest growth published.
    """

    days: NDArray[np.float64]
    limit: NDArray[np.int8]
    low_cm: NDArray[np.float64]
    high_cm: NDArray[np.float64]


def freeze_pairs(
    freeze_days: NDArray[np.float64], latitude: NDArray[np.float64], latitude_step_deg: float
) -> Pairs:
    """Return the pairs of whole freeze day and latitude that occur on some cells.

    Both are (rows, columns): days since the season's first day, whole, +inf not reached, NaN unknown; latitude
    [deg], NaN nowhere.
    """
    known = ~np.isnan(freeze_days) & np.isfinite(latitude)
    days = np.where(np.isposinf(freeze_days), NO_FREEZE, freeze_days)[known].astype(np.int64)
    steps = np.round(latitude[known] / latitude_step_deg).astype(np.int64)
    lowest = int(steps.min()) if steps.size else 0
    kinds, kind = kinds_of((steps - lowest) * (NO_FREEZE + 1) + days)
    place = np.full(freeze_days.shape, NOWHERE, dtype=np.int64)
    place[known] = kind
    step, day = np.divmod(kinds, NO_FREEZE + 1)
    return Pairs(
        np.where(day == NO_FREEZE, np.inf, day.astype(np.float64)), (step + lowest) * latitude_step_deg, place
    )


def on_cells(pairs: Pairs, cuts: pd.DataFrame, season_start: pd.Timestamp) -> CellCuts:
    """Return on the cells what `deadline.last_cuts` says of the pairs, one row a pair."""
    since = (cuts["last_cut_date"] - season_start) / pd.Timedelta(days=1)
    limit = cuts["last_cut_limit"].map({name: place for place, name in enumerate(LIMITS)}).fillna(NOWHERE)
    # The entry past the last is what place -1 finds.
    days, low_cm, high_cm = (
        np.append(column.to_numpy(), np.nan).astype(np.float64)[pairs.place]
        for column in (since, cuts["freeze_height_low_cm"], cuts["freeze_height_high_cm"])
    )
    limits = np.append(limit.to_numpy(), NOWHERE).astype(np.int8)
    return CellCuts(days, limits[pairs.place], low_cm, high_cm)
