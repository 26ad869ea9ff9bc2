"""Which raster cells lie under each field, with how much of each, and what the cells say of a field."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

import geopandas as gpd
import numpy as np
import shapely
from exactextract import exact_extract
from exactextract.feature import FeatureSource, JSONFeature
from exactextract.raster import NumPyRasterSource
from numpy.typing import NDArray

from spatial.errors import InputError, Problem
from spatial.values import Grid, Window

TILE_CELLS = 1024  # side of the largest window read at once: 30 bands of it are 126 MB
DUST_SHARE = 1e-9  # of a field: less than this on a cell is a vertex rounded over the cell's edge
MOST_CELLS = 20_000_000  # under all fields at once: with their values these take about 1.8 GB
SINGLE_SHARE = 1e-6  # cell shares come in single precision, so half of a field is known to this


@dataclass(frozen=True)
class CellCover:
    """The cells that a series of fields touches: one entry for each field and cell, ordered by field.

    `field` is the position in the series, `row` and `column` are the cell's place in the grid and
    `share_of_cell` is the share of the cell that the field covers, 0 to 1 in single precision.
    `field_area_cells` has one entry for each field: its whole area [cells], on the grid or off it; 0 where
    there is no geometry.
    """

    field: NDArray[np.int64]
    row: NDArray[np.int64]
    column: NDArray[np.int64]
    share_of_cell: NDArray[np.float64]
    field_area_cells: NDArray[np.float64]


class Layer(Protocol):
    """Anything that gives values by window, (bands, rows, columns), NaN where unknown."""

    @property
    def read(self) -> Callable[[Window], NDArray[np.float32]]:
        """Return the call that takes a `Window` and gives its values."""


def cells_under(geometries: gpd.GeoSeries, grid: Grid, file: str = "raster layer") -> CellCover:
    """Return the cells under each field and the share of each cell that is covered.

    `geometries` are valid polygons in any CRS; their vertices are brought to the grid's CRS, the grid stays
    as it is. A missing or empty geometry, and a field off the grid, has no cells. Raises InputError, with the
    name of the `file`, where the grid is so fine that the cells would fill the memory.
    """
    shapes = _in_cells(geometries, grid)
    placed = np.isfinite(shapely.bounds(shapes)).all(axis=1)
    area_cells = np.zeros(len(shapes))
    area_cells[placed] = shapely.area(shapes[placed])
    fields = np.flatnonzero(area_cells > 0)
    _refuse_too_fine(shapes[fields], grid, file)
    field, cell, share = _shares(shapes, fields, grid)
    keep = share > DUST_SHARE * area_cells[field]
    row, column = np.divmod(cell[keep], grid.columns)
    return CellCover(field[keep], row, column, share[keep], area_cells)


def cell_values(layer: Layer, cover: CellCover) -> NDArray[np.float32]:
    """Return the layer's values on the touched cells, (bands, touched cells), in the order of the cover.

    Only tiles with a touched cell are read, all bands at once, each no further than its touched cells reach.
    """
    found: NDArray[np.float32] | None = None
    for window, inside in _windows(cover):
        block = layer.read(window)
        if found is None:
            found = np.empty((len(block), len(cover.row)), dtype=np.float32)
        found[:, inside] = block[:, cover.row[inside] - window.row, cover.column[inside] - window.column]
    if found is None:
        return np.empty((len(layer.read(Window(0, 0, 1, 1))), 0), dtype=np.float32)
    return found


def cover_share(
    cover: CellCover, valid: NDArray[np.bool_], field_area_cells: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the share of each field's area that lies on cells marked `valid`, 0 to 1.

    `valid` has an entry for each touched cell. A field without cells, and one without area, has share 0.
    """
    known = np.bincount(cover.field, cover.share_of_cell * valid, minlength=len(field_area_cells))
    share = np.divide(known, field_area_cells, out=np.zeros(len(known)), where=field_area_cells > 0)
    return np.minimum(share, 1.0)


def weighted_median(values: NDArray[np.floating], cover: CellCover, n: int) -> NDArray[np.float64]:
    """Return the area-weighted lower median of each of the `n` fields, NaN where it has no known value.

    That is the least value up to which the values take half of the field's known area; where two values halve
    it, the lower one, which for a freeze is the earlier and more cautious day. `values` has an entry for each
    touched cell: +inf counts as the highest value, NaN is left out.
    """
    known = np.flatnonzero(~np.isnan(values))
    ordered = known[np.lexsort((values[known], cover.field[known]))]
    field, reached = cover.field[ordered], _share_reached(cover, ordered, n)
    halved = np.flatnonzero(reached >= 0.5 - SINGLE_SHARE)
    fields_found, first = np.unique(field[halved], return_index=True)
    median = np.full(n, np.nan)
    median[fields_found] = values[ordered[halved[first]]]
    return median


def weighted_mean(values: NDArray[np.floating], cover: CellCover, n: int) -> NDArray[np.float64]:
    """Return the area-weighted mean of each of the `n` fields, NaN where it has no known value.

    `values` has an entry for each touched cell: NaN is left out.
    """
    known = ~np.isnan(values)
    field, share = cover.field[known], cover.share_of_cell[known]
    total = np.bincount(field, share * values[known], minlength=n)
    weight = np.bincount(field, share, minlength=n)
    mean = np.full(n, np.nan)
    np.divide(total, weight, out=mean, where=weight > 0)
    return mean


def least(values: NDArray[np.floating], cover: CellCover, n: int) -> NDArray[np.float64]:
    """Return the least value on the cells that each of the `n` fields touches, NaN where none is known.

    `values` has an entry for each touched cell: NaN is left out, +inf is later than any day.
    """
    lowest = np.full(n, np.nan)
    np.fmin.at(lowest, cover.field, values.astype(np.float64))
    return lowest


class _WkbFeature(JSONFeature):  # type: ignore[misc]  # the library carries no types
    """A feature that hands its geometry over as bytes, which is far quicker than as text."""

    def __init__(self, wkb: bytes) -> None:
        super().__init__()
        self.wkb = wkb

    def geometry(self) -> bytes:
        return self.wkb


class _WkbFeatures(FeatureSource):  # type: ignore[misc]  # the library carries no types
    """The features of a series, in its order."""

    def __init__(self, wkbs: NDArray[Any]) -> None:
        super().__init__()
        self.wkbs = wkbs

    def count(self) -> int:
        return len(self.wkbs)

    def __iter__(self) -> Iterator[_WkbFeature]:
        return (_WkbFeature(wkb) for wkb in self.wkbs)

    def srs_wkt(self) -> None:
        return None


def _in_cells(geometries: gpd.GeoSeries, grid: Grid) -> NDArray[np.object_]:
    # Columns east and rows south (negative) as coordinates: no cell edge is then blurred by rounding.
    shapes = np.asarray(geometries.to_crs(grid.crs).array, dtype=object)
    corner, cell = np.array([grid.left, grid.top]), np.array([grid.cell_width, grid.cell_height])
    moved: NDArray[np.object_] = shapely.transform(shapes, lambda xy: (xy - corner) / cell)
    return moved


def _refuse_too_fine(shapes: NDArray[np.object_], grid: Grid, file: str) -> None:
    """Raise InputError where the shapes, in cells, touch too many; counted before any is looked up."""
    bounds = shapely.bounds(shapes)
    ends = [0, -grid.rows], [grid.columns, 0]
    low, high = np.clip(np.floor(bounds[:, :2]), *ends), np.clip(np.ceil(bounds[:, 2:]), *ends)
    in_boxes = np.prod(high - low, axis=1)
    # A line of length 1 goes on into the next row, the next column, or both.
    within = shapely.area(shapes) + 2 * shapely.length(shapes) + 1
    cells = np.minimum(in_boxes, within).sum()
    if cells > MOST_CELLS:
        cause = f"is too fine: about {cells / 1e6:,.0f} million of its cells lie under the fields"
        raise InputError([Problem(file, "", cause, "Resample it to larger cells, of about 10 m or 30 m")])


def _shares(
    shapes: NDArray[np.object_], fields: NDArray[np.int64], grid: Grid
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    # One zero seen through a view as large as the grid: the library wants a raster, we only want its cells.
    view = np.broadcast_to(np.int8(0), (grid.rows, grid.columns))
    source = NumPyRasterSource(view, 0, -grid.rows, grid.columns, 0)
    features = _WkbFeatures(shapely.to_wkb(shapes[fields]))
    found = [feature["properties"] for feature in exact_extract(source, features, ["cell_id", "coverage"])]
    field = np.repeat(fields, [len(one["cell_id"]) for one in found])
    cell = np.concatenate([np.empty(0, dtype=np.int64), *(one["cell_id"] for one in found)])
    share = np.concatenate([np.empty(0), *(one["coverage"] for one in found)])
    return field, cell, share


def _windows(cover: CellCover) -> Iterator[tuple[Window, NDArray[np.int64]]]:
    across = int(cover.column.max(initial=0)) // TILE_CELLS + 1
    tiles = cover.row // TILE_CELLS * across + cover.column // TILE_CELLS
    _, tile_of = np.unique(tiles, return_inverse=True)
    order = np.argsort(tile_of, kind="stable")
    for inside in np.split(order, np.flatnonzero(np.diff(tile_of[order])) + 1):
        if len(inside):
            row, column = cover.row[inside], cover.column[inside]
            height, width = int(np.ptp(row)) + 1, int(np.ptp(column)) + 1
            yield Window(int(row.min()), int(column.min()), height, width), inside


def _share_reached(cover: CellCover, ordered: NDArray[np.int64], n: int) -> NDArray[np.float64]:
    # Shares of the field, not of the cell, are summed: small and large fields then keep the same precision.
    field, weight = cover.field[ordered], cover.share_of_cell[ordered]
    share = weight / np.bincount(field, weight, minlength=n)[field]
    upto = np.concatenate([[0.0], np.cumsum(share)])
    start = np.searchsorted(field, field, side="left")
    reached: NDArray[np.float64] = upto[1:] - upto[start]
    return reached
