"""Streams that follow the land: where its water gathers, drawn as winding named lines."""

import heapq

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from sample.land import BOTTOM_M, LEFT_M, MARGIN_M, METRES, SIDE_M, Floats, box, height_m, smooth_line, waves

CELL_M = 300.0
STREAM_CELLS = 130  # a stream begins where this many cells drain, about 12 km2
LEAST_CELLS = 9
RIVER_KM = 29.0  # where the river comes in at the north edge
RIVER_CELLS = 20_000
NAMES = (
    "Ossamee River", "Tallow Creek", "Big Heron Creek", "Sawdust Creek", "Pinder Creek", "Lost Mule Creek",
    "Whetrock Creek", "Little Heron Creek", "Cane Bottom Branch", "Murdle Creek", "Fiddler Branch",
    "Copperhead Branch", "Gum Slough", "Old Ferry Branch", "Plum Thicket Branch", "Tanyard Branch",
    "Gourd Creek", "Cold Skillet Branch", "Widow's Branch", "Shoal Branch",
)  # fmt: skip


def streams() -> gpd.GeoDataFrame:
    """Return the streams of the district (`name`, `stream_class`, lines in metres), the river first."""
    heights, x_m, y_m = _grid()
    below, order = _ways_down(heights)
    gathered = _gathered(below, order, _river_cell(x_m))
    stems = _stems(below, gathered)
    cells = np.column_stack([np.tile(x_m, y_m.size), np.repeat(y_m, x_m.size)])
    lines = _drawn(stems, cells)
    classes = ["river" if gathered[stem[-2]] >= RIVER_CELLS else "creek" for stem in stems]
    table = gpd.GeoDataFrame({"stream_class": classes}, geometry=lines, crs=METRES)
    table["geometry"] = table.geometry.intersection(box())
    table = table[table.geometry.length > 2_500].reset_index(drop=True)
    table.insert(0, "name", [NAMES[i] if i < len(NAMES) else "" for i in range(len(table))])
    return table


def _grid() -> tuple[Floats, Floats, Floats]:
    """Return heights (rows from the north, columns from the west), and the columns' x and rows' y [m]."""
    half, reach = CELL_M / 2, SIDE_M + MARGIN_M
    x_m = np.arange(LEFT_M - MARGIN_M + half, LEFT_M + reach, CELL_M)
    y_m = np.arange(BOTTOM_M + reach - half, BOTTOM_M - MARGIN_M, -CELL_M)
    return height_m(x_m[None, :], y_m[:, None]), x_m, y_m


def _river_cell(x_m: Floats) -> int:
    return int(np.argmin(np.abs(x_m - (LEFT_M + 1_000 * RIVER_KM))))


def _ways_down(heights: Floats) -> tuple[NDArray[np.int64], list[int]]:
    """Return the cell that each cell drains to (-1 at the outlet) and all cells from the outlet up.

    Priority flood (Barnes, Lehman and Mulla 2014, Computers & Geosciences 62:117-127) from the south edge alone.
    """
    rows, columns = heights.shape
    flat = heights.ravel()
    below = np.full(flat.size, -2)
    heap = [(float(flat[cell]), cell) for cell in range((rows - 1) * columns, rows * columns)]
    below[(rows - 1) * columns :] = -1
    heapq.heapify(heap)
    order = []
    while heap:
        level, cell = heapq.heappop(heap)
        order.append(cell)
        for near in _neighbours(cell, rows, columns):
            if below[near] == -2:
                below[near] = cell
                heapq.heappush(heap, (max(level + 1e-3, float(flat[near])), near))
    return below, order


def _neighbours(cell: int, rows: int, columns: int) -> list[int]:
    row, column = divmod(cell, columns)
    return [
        (row + down) * columns + column + right
        for down in (-1, 0, 1)
        for right in (-1, 0, 1)
        if (down or right) and 0 <= row + down < rows and 0 <= column + right < columns
    ]


def _gathered(below: NDArray[np.int64], order: list[int], river_cell: int) -> NDArray[np.int64]:
    """Return how many cells drain through each cell; the river brings its own from the north."""
    gathered = np.ones(below.size, dtype=np.int64)
    gathered[river_cell] += RIVER_CELLS
    for cell in reversed(order):
        if below[cell] >= 0:
            gathered[below[cell]] += gathered[cell]
    return gathered


def _stems(below: NDArray[np.int64], gathered: NDArray[np.int64]) -> list[list[int]]:
    """Return each stream as its cells from head to mouth, a stream before those that run into it."""
    above: dict[int, list[int]] = {}
    for cell in np.flatnonzero(gathered >= STREAM_CELLS):
        above.setdefault(int(below[cell]), []).append(int(cell))
    stems = []
    waiting = [(-int(gathered[cell]), [cell]) for cell in above.get(-1, [])]
    heapq.heapify(waiting)
    while waiting:
        _, stem = heapq.heappop(waiting)
        while feeders := sorted(above.get(stem[-1], []), key=lambda cell: -gathered[cell]):
            for other in feeders[1:]:
                heapq.heappush(waiting, (-int(gathered[other]), [stem[-1], other]))
            stem.append(feeders[0])
        if len(stem) >= LEAST_CELLS:
            stems.append(stem[::-1])
    return stems


def _drawn(stems: list[list[int]], cells: Floats) -> list[shapely.LineString]:
    """Return the stems as smooth lines, each ending on the line it runs into."""
    east_m, north_m = waves("meander east", 4_000, 900), waves("meander north", 4_000, 900)
    lines: list[shapely.LineString] = []
    for stem in stems:
        points = cells[stem[::-1]][::2][::-1]
        x_m, y_m = points.T
        points = points + 170 * np.column_stack([east_m(x_m, y_m), north_m(x_m, y_m)])
        if lines:
            parent = min(lines, key=shapely.Point(cells[stem[-1]]).distance)
            if parent.distance(shapely.Point(points[-1])) < 2 * CELL_M:
                points[-1] = shapely.shortest_line(parent, shapely.Point(points[-1])).coords[0]
        lines.append(shapely.LineString(smooth_line(points)))
    return lines
