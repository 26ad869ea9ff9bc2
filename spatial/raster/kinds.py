"""The kinds among many whole numbers, found without sorting them."""

import numpy as np
from numpy.typing import NDArray


def kinds_of(values: NDArray[np.integer]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the distinct values, rising, and the place of each value among them, in its shape.

    As `np.unique` does, but in a time that grows with their number and their span, which should not be wide.
    """
    if not values.size:
        return np.empty(0, dtype=np.int64), np.empty(values.shape, dtype=np.int64)
    lowest = int(values.min())
    occurs = np.zeros(int(values.max()) - lowest + 1, dtype=bool)
    occurs[values - lowest] = True
    place = np.cumsum(occurs) - 1
    return np.flatnonzero(occurs) + lowest, place[values - lowest]
