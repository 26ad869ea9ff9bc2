"""Weeks that hold next to no land, shown with a neighbour under the earlier day of the two."""

import numpy as np
from numpy.typing import NDArray

from spatial.raster.bands import NO_BAND
from spatial.raster.kinds import kinds_of

LEAST_SHARE = 0.01  # of the land mapped; common practice, no source
FEW_DAYS = 2.0  # that much land may be called earlier for the sake of a small first week


def without_small_weeks(
    weeks: NDArray[np.int32], days: NDArray[np.float64], land: NDArray[np.float64]
) -> NDArray[np.int32]:
    """Return the weeks (rows, columns) with each that has under LEAST_SHARE of the land in the week before it.

    The first week has none before it. Small, it takes in the next where that begins at most FEW_DAYS later; else it
    stays, for it is a place with an early freeze. No cell gets a later week. `days` are the cells' own.
    """
    found = weeks.copy()
    kinds, place = kinds_of(weeks)
    shares = np.bincount(place.ravel(), land.ravel(), minlength=len(kinds))
    known = kinds != NO_BAND
    kinds, shares = kinds[known], shares[known] / max(shares[known].sum(), np.finfo(float).tiny)
    before, small_before = NO_BAND, False
    for week, small in zip(kinds, shares < LEAST_SHARE, strict=True):
        if before != NO_BAND and (small or (small_before and _near(before, week, found, days))):
            found[found == week] = before
            small_before = small_before and small
        else:
            before, small_before = week, small
    return found


def _near(before: int, week: int, weeks: NDArray[np.int32], days: NDArray[np.float64]) -> bool:
    return bool(days[weeks == week].min() - days[weeks == before].min() <= FEW_DAYS)
