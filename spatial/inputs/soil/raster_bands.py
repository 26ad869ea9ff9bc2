"""The bands of the raster files of one soil layer: their common grid, and their cells as they stand in the files."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rasterio.io import DatasetReader
from rasterio.windows import Window as RasterWindow

from spatial.inputs.checks import Report
from spatial.inputs.freeze import open_raster, raster_grid
from spatial.values import Grid, Window

SAME_CELL = 1e-6  # of a cell: grids whose corners lie nearer are one


@dataclass(frozen=True)
class SoilBand:
    """One band of a file: its number, from 1, and the scale and offset that the file states (1 and 0 for none)."""

    path: Path
    number: int
    scale: float
    offset: float


def open_bands(paths: Sequence[Path], crs: str, report: Report) -> tuple[tuple[SoilBand, ...], Grid | None]:
    """Return the bands of all files in their order, and the grid that they share.

    Files that do not say where they lie or hold no plain numbers, and grids that differ, are in the report; there
    is then no grid. Raises InputError where a file cannot be opened. `crs` serves only a file that states none.
    """
    bands: list[SoilBand] = []
    grids: list[Grid] = []
    for path in paths:
        with open_raster(path) as raster:
            grid = (
                raster_grid(path.name, raster, crs, report) if _is_plain(path.name, raster, report) else None
            )
            said = zip(raster.scales, raster.offsets, strict=True)
            bands += [SoilBand(path, number, *scaled) for number, scaled in enumerate(said, start=1)]
        if grid is None:
            return (), None
        grids.append(grid)
    for path, grid in zip(paths, grids, strict=True):
        if not _is_same(grid, grids[0]):
            cause = f"does not have the grid of {paths[0].name}"
            report.refuse(path.name, "", cause, "Warp all depths of a layer to one grid")
            return (), None
    return tuple(bands), grids[0]


def raw_cells(bands: Sequence[SoilBand], window: Window) -> NDArray[np.float64]:
    """Return the cells of a window, (bands, rows, columns), as they stand in the files; NaN for no data.

    Raises InputError where a file is damaged.
    """
    block = RasterWindow(window.column, window.row, window.columns, window.rows)
    found = np.empty((len(bands), window.rows, window.columns))
    for place, band in enumerate(bands):
        with open_raster(band.path) as raster:
            raw = raster.read(band.number, window=block, masked=True)
        found[place] = np.ma.filled(raw.astype(np.float64), np.nan)
    found[~np.isfinite(found)] = np.nan
    return found


def _is_plain(file: str, raster: DatasetReader, report: Report) -> bool:
    if any("complex" in kind for kind in raster.dtypes):
        report.refuse(file, "", "holds complex numbers", "Save it with plain numbers, as float32")
        return False
    return True


def _is_same(one: Grid, other: Grid) -> bool:
    """Return whether two grids have the same cells, but for rounding."""
    if one.crs != other.crs or (one.rows, one.columns) != (other.rows, other.columns):
        return False
    near = SAME_CELL * min(one.cell_width, one.cell_height)
    right, bottom = (
        (grid.left + grid.columns * grid.cell_width, grid.top - grid.rows * grid.cell_height)
        for grid in (one, other)
    )
    corners = (one.left, one.top, *right), (other.left, other.top, *bottom)
    return all(abs(own - theirs) <= near for own, theirs in zip(*corners, strict=True))
