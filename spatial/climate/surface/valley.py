"""Height of the ground above the floor of its own valley."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import minimum_filter

from spatial.climate.surface.places import cell_size_km
from spatial.daily import Terrain

LEAST_CELLS = 1.5  # cells to the side that a valley must take to be seen


def above_floor_m(terrain: Terrain, reach_km: float) -> NDArray[np.float32] | None:
    """Return how high each cell lies above the lowest ground about it [m], (rows, columns); NaN not known.

    The lowest ground is looked for in a square that reaches `reach_km` to each side. None where the cells are so
    large that the square holds little but the cell itself. Cold air gathers on the floor (Hocevar and Martsolf
    1971, Agricultural Meteorology 8:371-383).
    """
    size_km = cell_size_km(terrain.grid)
    if reach_km < LEAST_CELLS * max(size_km):
        return None
    sides = tuple(2 * round(reach_km / size) + 1 for size in size_km)
    known = np.isfinite(terrain.height_m)
    floor = minimum_filter(np.where(known, terrain.height_m, np.inf), size=sides, mode="nearest")
    return np.where(known, terrain.height_m - np.where(known, floor, 0), np.nan).astype(np.float32)
