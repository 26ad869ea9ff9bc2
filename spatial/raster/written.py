"""Layers written as GeoTIFF window by window, with what their bands and codes mean, and read back the same way."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from affine import Affine
from numpy.typing import NDArray
from rasterio.windows import Window as RasterWindow

from spatial.errors import InputError, Problem
from spatial.values import Grid, Window

SUFFIXES = (".tif", ".tiff")
TILE_CELLS = 256  # side of the squares a file is kept in
PREDICTOR = {"i": 2, "u": 2, "f": 3}  # TIFF's ways to pack whole and floating numbers

Put = Callable[[NDArray[Any], Window, int], None]


@dataclass(frozen=True)
class LayerForm:
    """What a layer is: its grid, a description for each band, how its cells are kept and what its tags say."""

    grid: Grid
    bands: tuple[str, ...]
    dtype: str
    nodata: float
    tags: Mapping[str, str] = field(default_factory=dict)


def check_targets(targets: Sequence[Path], sources: Sequence[Path]) -> None:
    """Raise InputError where a file to be written is no GeoTIFF by its name, or is one of those read."""
    read = {path.resolve() for path in sources}
    for target in targets:
        if target.suffix.lower() not in SUFFIXES:
            mend = "Give it a name that ends in .tif"
            raise InputError([Problem(str(target), "", "would be a GeoTIFF by another name", mend)])
        if target.resolve() in read:
            raise InputError([Problem(str(target), "", "is one of the files read", "Write to another name")])


@contextmanager
def written_layer(path: Path, form: LayerForm) -> Iterator[Put]:
    """Give a function that puts values (bands, rows, columns) into a window, from a band (1 is the first) on.

    The file is tiled and deflated and holds `form.nodata` wherever nothing is put. Raises OSError where it
    cannot be written.
    """
    with rasterio.open(path, "w", **_profile(form)) as raster:
        raster.update_tags(**form.tags)
        for band, text in enumerate(form.bands, start=1):
            raster.set_band_description(band, text)

        def put(values: NDArray[Any], window: Window, first_band: int) -> None:
            bands = list(range(first_band, first_band + len(values)))
            raster.write(values, indexes=bands, window=_raster_window(window))

        yield put


def stored_windows(path: Path) -> Iterator[tuple[Window, NDArray[Any]]]:
    """Yield each tile of a raster with all its bands, (bands, rows, columns), from the north-west on."""
    with rasterio.open(path) as raster:
        for window in tiles(raster.height, raster.width):
            yield window, raster.read(window=_raster_window(window))


def tiles(rows: int, columns: int) -> list[Window]:
    """Return the squares that a written layer of this size is kept in, those at its edges cut off."""
    return [
        Window(row, column, min(TILE_CELLS, rows - row), min(TILE_CELLS, columns - column))
        for row in range(0, rows, TILE_CELLS)
        for column in range(0, columns, TILE_CELLS)
    ]


def _profile(form: LayerForm) -> dict[str, Any]:
    grid = form.grid
    return {
        "driver": "GTiff",
        "height": grid.rows,
        "width": grid.columns,
        "count": len(form.bands),
        "dtype": form.dtype,
        "nodata": form.nodata,
        "crs": grid.crs.to_wkt(),
        "transform": Affine(grid.cell_width, 0, grid.left, 0, -grid.cell_height, grid.top),
        "tiled": True,
        "blockxsize": TILE_CELLS,
        "blockysize": TILE_CELLS,
        "interleave": "band",
        "compress": "deflate",
        "zlevel": 1,  # less than half the time of the usual 6, for 3 % more bytes of a layer of chances
        "predictor": PREDICTOR[np.dtype(form.dtype).kind],
        "bigtiff": "if_safer",
    }


def _raster_window(window: Window) -> RasterWindow:
    return RasterWindow(window.column, window.row, window.columns, window.rows)
