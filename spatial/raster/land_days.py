"""The days that shares of an area's land have reached, over the cells of a raster."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from spatial.raster.cover import SINGLE_SHARE, CellCover


def land_days(
    days: NDArray[np.float64], cover: CellCover, land: NDArray[np.float64], shares: Sequence[float]
) -> NDArray[np.float64]:
    """Return for each share the day up to which that share of an area's known land lies, (shares, areas).

    `days` (rows, columns) are whole, NaN unknown and left out; `land` (rows, columns) is the land of a cell in
    proportion. It is the least such day, so that half an area with two days has the earlier. NaN where nothing of
    an area is known.
    """
    areas = len(cover.field_area_cells)
    found, weight = days[cover.row, cover.column], land[cover.row, cover.column] * cover.share_of_cell
    known = ~np.isnan(found)
    if not known.any():
        return np.full((len(shares), areas), np.nan)
    first = int(found[known].min())
    span = int(found[known].max()) - first + 1
    place = cover.field[known] * span + (found[known] - first).astype(np.int64)
    by_day = np.bincount(place, weight[known], minlength=areas * span).reshape(areas, span)
    upto = np.cumsum(by_day, axis=1)
    whole = upto[:, -1:]
    reached = upto >= (np.array(shares)[:, np.newaxis, np.newaxis] - SINGLE_SHARE) * whole
    return np.where(whole[:, 0] > 0, first + reached.argmax(axis=2).astype(np.float64), np.nan)
