"""Where the cells of a grid lie on the globe, how much land each takes, and which part of a grid shapes need."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from spatial.values import Grid, Window

LON_LAT = 4326
HALF_TURN, TURN = 180.0, 360.0


@dataclass(frozen=True)
class CellPlaces:
    """The cells of a grid, (rows, columns): latitude of the centre [deg], and land in proportion to the others'.

    NaN and 0 where the grid's coordinate system leads to no place.
    """

    latitude: NDArray[np.float64]
    land: NDArray[np.float64]


def cell_places(grid: Grid) -> CellPlaces:
    """Return where the cells of a grid lie, whatever its coordinate system."""
    row, column = np.mgrid[0 : grid.rows + 1, 0 : grid.columns + 1].astype(np.float64)
    lon, lat = lon_lat_of(grid, np.stack([column.ravel(), row.ravel()], axis=1)).T
    lon, lat = (values.reshape(row.shape) for values in (lon, lat))
    latitude = (lat[:-1, :-1] + lat[1:, :-1] + lat[:-1, 1:] + lat[1:, 1:]) / 4
    # Half the cross product of the diagonals is the area of a four-sided figure; a degree east shrinks to the poles.
    down, up = (slice(None, -1), slice(None, -1)), (slice(1, None), slice(1, None))
    left, right = (slice(1, None), slice(None, -1)), (slice(None, -1), slice(1, None))
    east = [_turned(lon[up] - lon[down]), _turned(lon[right] - lon[left])]
    north = [lat[up] - lat[down], lat[right] - lat[left]]
    land = np.abs(east[0] * north[1] - east[1] * north[0]) / 2 * np.cos(np.deg2rad(latitude))
    return CellPlaces(latitude, np.where(np.isfinite(land), land, 0.0))


def lon_lat_of(grid: Grid, cells: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return longitude and latitude [deg], (n, 2), of places as (column, row) from the grid's corner; NaN nowhere."""
    to_globe = Transformer.from_crs(CRS.from_user_input(grid.crs), CRS.from_epsg(LON_LAT), always_xy=True)
    x, y = grid.left + cells[:, 0] * grid.cell_width, grid.top - cells[:, 1] * grid.cell_height
    found = np.stack(to_globe.transform(x, y), axis=1)
    return np.where(np.isfinite(found), found, np.nan)


def window_around(layers: Sequence[gpd.GeoSeries], grid: Grid) -> Window:
    """Return the cells that the box around some shapes (any CRS) touches; the whole grid where it touches none."""
    found = np.array([shapes.to_crs(grid.crs).total_bounds for shapes in layers]).reshape(-1, 4)
    bounds = found[np.isfinite(found).all(axis=1)]
    cell, corner, most = [grid.cell_width, grid.cell_height], [grid.left, grid.top], [grid.columns, grid.rows]
    first = (bounds[:, [0, 3]] - corner) / cell * [1, -1]
    last = (bounds[:, [2, 1]] - corner) / cell * [1, -1]
    low = np.clip(np.floor(first.min(axis=0, initial=np.inf)), 0, most).astype(int)
    high = np.clip(np.ceil(last.max(axis=0, initial=-np.inf)), 0, most).astype(int)
    if (high <= low).any():
        return Window(0, 0, grid.rows, grid.columns)
    return Window(int(low[1]), int(low[0]), int(high[1] - low[1]), int(high[0] - low[0]))


def part_of(grid: Grid, window: Window) -> Grid:
    """Return the grid of a window of a grid."""
    left = grid.left + window.column * grid.cell_width
    top = grid.top - window.row * grid.cell_height
    return Grid(grid.crs, left, top, grid.cell_width, grid.cell_height, window.rows, window.columns)


def _turned(lon: NDArray[np.float64]) -> NDArray[np.float64]:
    # A step over the date line is a small one.
    turned: NDArray[np.float64] = (lon + HALF_TURN) % TURN - HALF_TURN
    return turned
