"""Bands of a surface as polygons: specks cleared, edges laid where the surface crosses, neighbours edge on edge."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from rasterio.features import shapes
from scipy import ndimage

from spatial.raster.kinds import kinds_of
from spatial.raster.places import LON_LAT, lon_lat_of
from spatial.values import Grid

NO_BAND = -9999
LEAST_CELLS = 4  # a patch of fewer is a speck
NEAREST_EDGE, FARTHEST_EDGE = 0.2, 0.8  # share of the way from one cell's centre to the next
SIMPLE_CELLS = (
    0.15  # a vertex that spans less than the square of this [cells] is left out; no centre lies in so little
)
LONGEST_CELLS = 8.0  # of a line that is brought to longitude and latitude without a vertex between
CROSSING = 3  # edges that meet in a corner of cells
HALF_WAY = 0.5
DECIMALS = 6  # of a cell: a line split from either end must give the same vertices


def bands_of(surface: NDArray[np.float64], step: float) -> NDArray[np.int32]:
    """Return the band of each cell, the whole steps in its value; NO_BAND where it is NaN."""
    known = np.isfinite(surface)
    return np.where(known, np.floor(np.where(known, surface, 0) / step), NO_BAND).astype(np.int32)


def without_specks(bands: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return the bands (rows, columns) without patches under LEAST_CELLS cells; no cell gets a higher band.

    A speck that touches lower bands joins the highest of these; one amid higher bands is widened, so that a low
    place stays on the map. Only an island of fewer known cells stays as small as it is.
    """
    padded = np.pad(bands, 1, constant_values=NO_BAND)
    for band in kinds_of(bands[bands != NO_BAND])[0]:
        while _clear_once(padded, int(band)):
            pass
    return padded[1:-1, 1:-1].copy()


def band_polygons(
    bands: NDArray[np.int32], surface: NDArray[np.float64], step: float, grid: Grid
) -> gpd.GeoDataFrame:
    """Return one row a band, rising: `band` and its polygons in EPSG:4326, without overlaps or gaps.

    The edge between two cells lies where the line between their values crosses the limit of their bands, else half
    way: it is smooth where the surface is, and the centre of every cell stays in its own band. `bands` are those
    of the surface with this step, with or without specks.
    """
    found, values = _outlines(bands)
    moved = _moved(found, _edges(bands, surface, step))
    dense = shapely.segmentize(shapely.coverage_simplify(moved, SIMPLE_CELLS), LONGEST_CELLS)
    placed = shapely.transform(dense, lambda cells: lon_lat_of(grid, cells.round(DECIMALS)))
    order = np.argsort(values, kind="stable")
    own, place = np.unique(values[order], return_inverse=True)
    together = shapely.multipolygons(placed[order], indices=place) if len(own) else placed
    return gpd.GeoDataFrame({"band": own}, geometry=together, crs=LON_LAT)


def _clear_once(padded: NDArray[np.int32], band: int) -> bool:
    """Join or widen the specks of a band where they are, in a frame of NO_BAND; return whether any changed."""
    labels, count = ndimage.label(padded == band)
    small = np.bincount(labels.ravel(), minlength=count + 1) < LEAST_CELLS
    small[0] = False
    cells, flat = np.flatnonzero(small[labels]), padded.ravel()
    speck = labels.ravel()[cells]
    beside = cells[:, np.newaxis] + np.array([-padded.shape[1], padded.shape[1], -1, 1])
    lower = np.where(flat[beside] < band, flat[beside], NO_BAND).max(axis=1, initial=NO_BAND)
    joined = np.full(count + 1, NO_BAND)
    np.maximum.at(joined, speck, lower)
    stays = joined[speck] == NO_BAND
    taken = beside[stays].ravel()
    taken = taken[flat[taken] > band]
    flat[cells[~stays]] = joined[speck[~stays]]
    flat[taken] = band
    return bool(len(taken) or not stays.all())


def _outlines(bands: NDArray[np.int32]) -> tuple[NDArray[np.object_], NDArray[np.int32]]:
    """Return the patches of cells, as polygons in columns and rows, with their bands."""
    found = list(shapes(bands, mask=bands != NO_BAND, connectivity=4))
    patches = [shapely.Polygon(one["coordinates"][0], one["coordinates"][1:]) for one, _band in found]
    return np.array(patches, dtype=object), np.array([band for _one, band in found], dtype=np.int32)


@dataclass(frozen=True)
class _Edges:
    """The sides of cells: how far from the first centre to the second each is crossed; corners that stay in place."""

    upright: NDArray[np.float64]  # (rows, columns + 1), between a cell and the next to the east
    level: NDArray[np.float64]  # (rows + 1, columns), between a cell and the next to the south
    fixed: NDArray[
        np.bool_
    ]  # (rows + 1, columns + 1), where more than two edges meet, and the grid's own corners

    def crossing(self, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return where the sides from corner to corner, (sides, 2) as (column, row), are crossed."""
        column, row = np.minimum(first, second).T
        stands = first[:, 0] == second[:, 0]
        share = np.empty(len(first))
        share[stands] = self.upright[row[stands], column[stands]]
        share[~stands] = self.level[row[~stands], column[~stands]]
        across = np.where(stands, column - 0.5 + share, column + 0.5)
        down = np.where(stands, row + 0.5, row - 0.5 + share)
        return np.stack([across, down], axis=1)


def _edges(bands: NDArray[np.int32], surface: NDArray[np.float64], step: float) -> _Edges:
    framed, values = np.pad(bands, 1, constant_values=NO_BAND), np.pad(surface, 1, constant_values=np.nan)
    rows, columns = framed[1:-1], framed[:, 1:-1]
    upright, level = rows[:, :-1] != rows[:, 1:], columns[:-1] != columns[1:]
    meeting = np.zeros(np.add(bands.shape, 1), dtype=np.int8)
    meeting[:-1] += upright
    meeting[1:] += upright
    meeting[:, :-1] += level
    meeting[:, 1:] += level
    meeting[[0, 0, -1, -1], [0, -1, 0, -1]] = CROSSING
    return _Edges(
        _shares(rows[:, :-1], rows[:, 1:], values[1:-1, :-1], values[1:-1, 1:], step),
        _shares(columns[:-1], columns[1:], values[:-1, 1:-1], values[1:, 1:-1], step),
        meeting >= CROSSING,
    )


def _shares(
    band: NDArray[np.int32],
    other: NDArray[np.int32],
    value: NDArray[np.float64],
    next_value: NDArray[np.float64],
    step: float,
) -> NDArray[np.float64]:
    """Return the share of the way from one centre to the next at which the limit of their bands is crossed."""
    limit = step * (band + other + 1.0) / 2
    share = np.full(band.shape, HALF_WAY)
    np.divide(limit - value, next_value - value, out=share, where=next_value != value)
    crossed = (share >= 0) & (share <= 1) & (band != NO_BAND) & (other != NO_BAND)
    return np.where(crossed, np.clip(share, NEAREST_EDGE, FARTHEST_EDGE), HALF_WAY)


def _moved(patches: NDArray[np.object_], edges: _Edges) -> NDArray[np.object_]:
    """Return the patches with each side of a cell replaced by the place where it is crossed."""
    rings, owner = shapely.get_rings(patches, return_index=True)
    corners, ring = shapely.get_coordinates(shapely.segmentize(rings, 1.0), return_index=True)
    whole = corners.round().astype(np.int64)
    side = np.flatnonzero(ring[1:] == ring[:-1])
    first, second = whole[side], whole[side + 1]
    kept = np.stack([np.ones(len(side), dtype=bool), edges.fixed[second[:, 1], second[:, 0]]], axis=1)
    places = np.stack([edges.crossing(first, second), second.astype(np.float64)], axis=1)
    lines = shapely.linearrings(places[kept], indices=np.repeat(ring[side], 2).reshape(-1, 2)[kept])
    starts = np.flatnonzero(np.diff(owner, prepend=-1))
    parts = [shapely.Polygon(one[0], one[1:]) for one in np.split(lines, starts[1:])] if len(starts) else []
    return np.array(parts, dtype=object)
