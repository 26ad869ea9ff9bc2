"""Where stations and cells lie: on the globe for distances, on the grid for heights."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from pyproj import Transformer

from spatial.daily import Terrain
from spatial.values import Grid

EARTH_KM = 6371.0088  # mean radius, IUGG (from memory)
KM_PER_DEGREE = EARTH_KM * np.pi / 180
M_PER_KM = 1000.0
MOST_NODES = 40_000

Numbers = NDArray[np.float64]


def globe_km(latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Numbers:
    """Return points on a round earth in space, (n, 3) [km].

    A point without a place is the middle of the earth, far from all. The straight line between two of them is
    short of the way over the ground by 0.1 % at 1,000 km, knows no edge at 180 degrees, and keeps every covariance
    a valid one.
    """
    places = (np.where(np.isfinite(part), part, np.nan) for part in (latitude_deg, longitude_deg))
    north, east = (np.radians(part) for part in places)
    flat = np.cos(north)
    round_earth = np.stack([flat * np.cos(east), flat * np.sin(east), np.sin(north)], axis=-1)
    return EARTH_KM * np.where(np.isfinite(round_earth), round_earth, 0.0)


def cell_size_km(grid: Grid) -> tuple[float, float]:
    """Return the height and width of a cell in the middle of the grid [km]."""
    if not grid.crs.is_geographic:
        unit_km = grid.crs.axis_info[0].unit_conversion_factor / M_PER_KM
        return grid.cell_height * unit_km, grid.cell_width * unit_km
    middle = grid.top - grid.cell_height * grid.rows / 2
    return grid.cell_height * KM_PER_DEGREE, grid.cell_width * KM_PER_DEGREE * np.cos(np.radians(middle))


def nodes_of(grid: Grid) -> tuple[Numbers, Numbers]:
    """Return rows and columns of evenly spread nodes, from the first cell to the last, 40,000 at most."""
    step = max(1.0, np.sqrt(grid.rows * grid.columns / MOST_NODES))
    rows, columns = (min(size, int(size / step) + 1) for size in (grid.rows, grid.columns))
    return np.linspace(0, grid.rows - 1, rows), np.linspace(0, grid.columns - 1, columns)


def node_places(grid: Grid, nodes: tuple[Numbers, Numbers]) -> tuple[Numbers, Numbers]:
    """Return latitude and longitude [deg] of the middle of the cells at the nodes, each (rows, columns)."""
    x = grid.left + (nodes[1] + 0.5) * grid.cell_width
    y = grid.top - (nodes[0] + 0.5) * grid.cell_height
    east, north = np.meshgrid(x, y)
    longitude, latitude = Transformer.from_crs(grid.crs, 4326, always_xy=True).transform(east, north)
    return np.asarray(latitude), np.asarray(longitude)


def spread(values: Numbers, nodes: tuple[Numbers, Numbers], grid: Grid) -> Numbers:
    """Return values at the nodes brought to every cell by bilinear interpolation, (rows, columns)."""
    return _between(_between(values, nodes[0], grid.rows).T, nodes[1], grid.columns).T


def at_places(values: NDArray[np.floating], places: pd.DataFrame, grid: Grid) -> Numbers:
    """Return the value of the cell that each place lies in, NaN off the grid."""
    way = Transformer.from_crs(4326, grid.crs, always_xy=True)
    x, y = way.transform(places["longitude"].to_numpy(float), places["latitude"].to_numpy(float))
    row, column = np.floor((grid.top - y) / grid.cell_height), np.floor((x - grid.left) / grid.cell_width)
    inside = (row >= 0) & (row < grid.rows) & (column >= 0) & (column < grid.columns)
    row, column = (np.where(inside, part, 0).astype(np.int64) for part in (row, column))
    return np.where(inside, values[row, column], np.nan).astype(np.float64)


def known_heights(terrain: Terrain, places: pd.DataFrame) -> Numbers:
    """Return the terrain's heights at places [m], NaN off it."""
    return at_places(terrain.height_m, places, terrain.grid)


def _between(values: Numbers, nodes: Sequence[float] | Numbers, size: int) -> Numbers:
    place = np.linspace(0, len(values) - 1, size) if len(nodes) > 1 else np.zeros(size)
    low = np.minimum(place.astype(np.int64), max(len(values) - 2, 0))
    high = np.minimum(low + 1, len(values) - 1)
    share = (place - low)[:, None]
    found: Numbers = values[low] * (1 - share) + values[high] * share
    return found
