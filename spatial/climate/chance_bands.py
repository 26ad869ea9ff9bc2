"""The bands of a layer of chances, from the seasons of its cells: days, their errors, seasons, share without freeze."""

import numpy as np
from numpy.typing import NDArray

from spatial.climate.chances import quantile_errors
from spatial.climate.seasons import LEAST_SEASONS, chance_days
from spatial.raster.freeze_codes import NO_FREEZE, UNKNOWN
from spatial.values import NO_FREEZE_BAND, SEASONS_BAND, error_band

LAYER_CHANCES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
BAND_NAMES = (
    *(f"{chance:g}" for chance in LAYER_CHANCES),
    *map(error_band, LAYER_CHANCES),
    SEASONS_BAND,
    NO_FREEZE_BAND,
)
CELLS_AT_ONCE = 2**12  # worked at a time: their arrays are small enough to be used again and again


def chance_bands(days: NDArray[np.int16]) -> NDArray[np.float32]:
    """Return the bands BAND_NAMES of cells, (bands, rows, columns), from the `days` of their seasons.

    `days` is (seasons, rows, columns), each the days since the season's first day, NO_FREEZE or UNKNOWN. A day
    of a chance is +inf where the freeze has not come in that share of seasons; NaN is not known: the days and
    errors of a cell with fewer than LEAST_SEASONS valid seasons, and an error that leans on seasons without a
    freeze.
    """
    cells = days.reshape(len(days), -1)
    valid = np.count_nonzero(cells != UNKNOWN, axis=0)
    without = np.count_nonzero(cells == NO_FREEZE, axis=0)
    bands = np.full((len(BAND_NAMES), cells.shape[1]), np.nan, dtype=np.float32)
    bands[-2] = valid
    np.divide(without, valid, out=bands[-1], where=valid > 0, casting="unsafe")
    enough = np.flatnonzero(valid >= LEAST_SEASONS)
    for start in range(0, len(enough), CELLS_AT_ONCE):
        some = enough[start : start + CELLS_AT_ONCE]
        bands[:-2, some] = _days_and_errors(_floats(cells[:, some]))
    return bands.reshape(len(BAND_NAMES), *days.shape[1:])


def known_cells(bands: NDArray[np.float32]) -> int:
    """Return how many cells have chances, by their bands."""
    return int(np.count_nonzero(bands[BAND_NAMES.index(SEASONS_BAND)] >= LEAST_SEASONS))


def _floats(days: NDArray[np.int16]) -> NDArray[np.float64]:
    known = np.where(days == UNKNOWN, np.nan, days.astype(np.float64))
    known[days == NO_FREEZE] = np.inf
    return known


def _days_and_errors(days: NDArray[np.float64]) -> NDArray[np.float64]:
    reached = chance_days(days, LAYER_CHANCES)
    with np.errstate(invalid="ignore"):  # of a cell that never freezes the errors are none
        errors = quantile_errors(days, LAYER_CHANCES)
    return np.concatenate([reached, errors])
