"""Cells of a field that lie side by side, and their outline on the globe."""

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from spatial.raster.cover import CellCover
from spatial.raster.places import lon_lat_of
from spatial.values import Grid

LONGEST_CELLS = 1.0  # of a line that is brought to longitude and latitude without a vertex between
NO_PATCH = -1


def patches_under(cover: CellCover, marked: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the patch of each touched cell, numbered from 0; NO_PATCH where it is not `marked`.

    Marked cells of one field are one patch where they share an edge, or are linked by such cells.
    """
    patch = np.full(len(marked), NO_PATCH)
    cells = np.flatnonzero(marked)
    if not len(cells):
        return patch
    row, column = cover.row[cells] - cover.row[cells].min(), cover.column[cells] - cover.column[cells].min()
    # One column and one row of room, so that neither the end of a row nor that of a field meets the next.
    rows, columns = int(row.max()) + 2, int(column.max()) + 2
    key = (cover.field[cells] * rows + row) * columns + column
    order = np.argsort(key)
    ends = [_neighbours(key[order], step) for step in (1, columns)]
    first, second = (np.concatenate([pair[end] for pair in ends]) for end in (0, 1))
    links = coo_array((np.ones(len(first), dtype=bool), (first, second)), shape=(len(cells), len(cells)))
    patch[cells[order]] = connected_components(links, directed=False)[1]
    return patch


def patch_outlines(cover: CellCover, patch: NDArray[np.int64], grid: Grid) -> NDArray[np.object_]:
    """Return the outline of every patch in longitude and latitude, in their order; whole cells, not cut to fields."""
    cells = np.flatnonzero(patch != NO_PATCH)
    order = cells[np.lexsort((cover.column[cells], cover.row[cells], patch[cells]))]
    row, column, own = cover.row[order], cover.column[order], patch[order]
    goes_on = (np.diff(own) == 0) & (np.diff(row) == 0) & (np.diff(column) == 1)
    starts = np.flatnonzero(np.concatenate([np.ones(min(len(order), 1), dtype=bool), ~goes_on]))
    ends = np.append(starts[1:], len(order)) - 1
    # Whole numbers of cells join without a gap; only their common outline is brought to the globe.
    runs = shapely.box(column[starts], row[starts], column[ends[: len(starts)]] + 1, row[starts] + 1)
    first = np.flatnonzero(np.diff(own[starts], prepend=-1))
    joined = [shapely.union_all(one) for one in np.split(runs, first[1:])] if len(first) else []
    dense = shapely.segmentize(np.array(joined, dtype=object), LONGEST_CELLS)
    placed: NDArray[np.object_] = shapely.transform(dense, lambda corners: lon_lat_of(grid, corners))
    return placed


def _neighbours(keys: NDArray[np.int64], step: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the places of the pairs of rising keys that lie a step apart."""
    place = np.searchsorted(keys, keys + step)
    found = np.flatnonzero(keys[np.minimum(place, len(keys) - 1)] == keys + step)
    return found, place[found]
