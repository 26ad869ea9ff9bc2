"""A grid of pH in two depths, for the corner that the soil survey leaves out; its numbers are pH times ten."""

from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin

from sample.land import METRES, Floats, at_km, waves
from sample.write import WRITTEN_ON

CELL_M = 250.0
CORNER_KM, SIDE_CELLS = (41.0, 41.0), 56
UNKNOWN = 255


def write_soil_grid(shallow: Path, deep: Path) -> None:
    """Write the pH of 0-5 cm and of 5-15 cm, each as a GeoTIFF of whole numbers."""
    for path, more_acid in ((shallow, 0.0), (deep, 0.2)):
        _write(path, np.round(10 * (_ph() - more_acid)))


def _ph() -> Floats:
    left, bottom = at_km(*CORNER_KM)
    steps = CELL_M * (np.arange(SIDE_CELLS) + 0.5)
    x_m, y_m = np.meshgrid(left + steps, (bottom + steps)[::-1])
    return 5.75 + 0.35 * waves("soil grid", 9_000, 1_800, 12)(x_m, y_m)


def _write(path: Path, values: Floats) -> None:
    left, bottom = at_km(*CORNER_KM)
    with rasterio.open(
        path, "w", driver="GTiff", dtype="uint8", count=1, height=SIDE_CELLS, width=SIDE_CELLS, crs=METRES,
        transform=from_origin(left, bottom + SIDE_CELLS * CELL_M, CELL_M, CELL_M), nodata=UNKNOWN, compress="deflate",
        zlevel=9,
    ) as raster:  # fmt: skip
        raster.write(values.astype(np.uint8), 1)
        raster.update_tags(made=WRITTEN_ON[:10])
