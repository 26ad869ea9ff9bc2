"""Which raw values of a grid are a freeze and which are missing, with nothing turned into degrees."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spatial.daily import DailyGrid

SAME_TEMPERATURE_C = 1e-6  # a minimum this near to the threshold is at it

Sorted = tuple[NDArray[np.bool_], NDArray[np.bool_] | None]
Sorting = Callable[[NDArray[Any]], Sorted]


def raw_freeze(grid: DailyGrid, threshold_c: float) -> Sorting:
    """Return a function of raw values that gives which of them freeze, at or below `threshold_c` [deg C].

    It also gives which are missing, or None where none is. A packed value is at the threshold where its
    degrees are within a millionth; one kept in single or double precision also where it is the number that
    the threshold itself would be kept as.
    """
    rising = grid.scale > 0
    exact = (threshold_c - grid.offset) / grid.scale
    lenient = (threshold_c + SAME_TEMPERATURE_C - grid.offset) / grid.scale
    cold = np.less_equal if rising else np.greater_equal

    def told_apart(raw: NDArray[Any]) -> Sorted:
        limit = _limit(raw.dtype, exact, lenient, rising)
        missing = _missing(raw, grid.missing)
        frozen: NDArray[np.bool_] = cold(raw, limit)
        if missing is None or not missing.any():
            return frozen, None
        # A code for missing is most often a low number, and so a freeze by the line above.
        np.greater(frozen, missing, out=frozen)
        return frozen, missing

    return told_apart


def _limit(dtype: np.dtype[Any], exact: float, lenient: float, rising: bool) -> Any:
    nearer = max if rising else min
    if dtype.kind == "f":
        return nearer(dtype.type(exact), dtype.type(lenient))
    return math.floor(lenient) if rising else math.ceil(lenient)


def _missing(raw: NDArray[Any], codes: tuple[float, ...]) -> NDArray[np.bool_] | None:
    found: NDArray[np.bool_] | None = None
    if raw.dtype.kind == "f":
        found = np.isnan(raw)
    for code in codes:
        same: NDArray[np.bool_] = raw == (raw.dtype.type(code) if raw.dtype.kind == "f" else int(code))
        found = same if found is None else np.logical_or(found, same, out=found)
    return found
