"""Daily minima from a GeoTIFF, a band a day: when, where and in which numbers, and a way to read them."""

from calendar import isleap
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS
from pyproj.exceptions import ProjError
from rasterio.enums import Interleaving
from rasterio.io import DatasetReader
from rasterio.windows import Window as RasterWindow

from spatial.inputs.checks import Report, first_line
from spatial.inputs.freeze import open_raster
from spatial.inputs.grids.days import COMMON_YEAR_DAYS, dated_days, day_in, year_in
from spatial.inputs.grids.kind import refuse_other_kinds, to_deg_c, unit_of
from spatial.inputs.grids.part import GridPart, Layout, Packing, ReadRaw, refusal
from spatial.inputs.grids.place import west_first
from spatial.values import Grid, Window

UNIT_TAGS = ("units", "unit", "unittype")
TITLE_TAGS = ("long_name", "standard_name", "variable", "title")


def geotiff_part(path: Path, unit: str, first_day: date | None, report: Report) -> GridPart:
    """Return the daily minima of a GeoTIFF: its days from the bands' descriptions, its name, or `first_day`.

    Raises InputError with one line where the file is none, is damaged, or does not say what is needed.
    """
    with open_raster(path) as raster:
        tags = {key.lower(): value for key, value in (*raster.tags().items(), *raster.tags(1).items())}
        titles = [path.stem, raster.descriptions[0] or "", *(tags.get(key, "") for key in TITLE_TAGS)]
        refuse_other_kinds(path.name, "", titles, tags.get("cell_methods", ""))
        axis = dated_days(_days(path, raster, first_day, report))
        written = next((text for text in (raster.units[0], *map(tags.get, UNIT_TAGS)) if text), "")
        packing = _packing(raster, unit_of(path.name, written, unit), path.name)
        grid, layout = _place(raster, path.name)
        rows, columns = raster.block_shapes[0]
        # Where cells are kept with all their days, reading one day reads them all.
        days = raster.count if raster.interleaving == Interleaving.pixel else 1
        chunk = (days, min(rows, raster.height), min(columns, raster.width))
        item_bytes = max(np.dtype(one).itemsize for one in raster.dtypes)
    return GridPart(path.name, grid, axis, packing, layout, chunk, item_bytes, _reading(path))


def _days(path: Path, raster: DatasetReader, first_day: date | None, report: Report) -> list[date]:
    described = [day_in(text or "") for text in raster.descriptions]
    days = [day for day in described if day is not None]
    if len(days) == raster.count:
        return days
    named = day_in(path.stem)
    if raster.count == 1 and named is not None:
        return [named]
    if first_day is not None:
        return [first_day + timedelta(days=place) for place in range(raster.count)]
    year = year_in(path.stem)
    if year is not None and raster.count in {COMMON_YEAR_DAYS, COMMON_YEAR_DAYS + isleap(year)}:
        if raster.count < COMMON_YEAR_DAYS + isleap(year):
            cause = f"has {raster.count} bands for a leap year, taken for 1 January to 30 December"
            report.tell(
                path.name, "", cause, "Describe each band by its day where it is 29 February that lacks"
            )
        return [date(year, 1, 1) + timedelta(days=place) for place in range(raster.count)]
    cause = f"does not say which days its bands are, of which there are {raster.count}"
    mend = "Describe each band as 2001-09-14, or give --first-day, or a year's 365 or 366 bands with it in the name"
    raise refusal(path.name, "", cause, mend)


def _packing(raster: DatasetReader, unit: str, file: str) -> Packing:
    for what, values in (("scale", raster.scales), ("offset", raster.offsets)):
        if len(set(values)) > 1:
            raise refusal(file, what, "is not the same for all bands", "Save it with one for all")
    if raster.scales[0] == 0:
        raise refusal(file, "scale", "is 0", "Mend the file")
    missing = {float(code) for code in raster.nodatavals if code is not None and np.isfinite(code)}
    return Packing(*to_deg_c(unit, raster.scales[0], raster.offsets[0]), tuple(sorted(missing)))


def _place(raster: DatasetReader, file: str) -> tuple[Grid, Layout]:
    step = raster.transform
    if step.is_identity:
        raise refusal(file, "", "does not say where it lies", "Save it as GeoTIFF with its place")
    if step.b or step.d or step.a <= 0 or step.e >= 0:
        raise refusal(file, "", "is rotated or has north down", "Warp it to a north-up grid")
    if raster.crs is None:
        raise refusal(file, "", "does not say its coordinate system", "Save it as GeoTIFF with it")
    try:
        crs = CRS.from_user_input(raster.crs.to_wkt())
    except ProjError as error:
        cause = f"has a coordinate system that is not understood ({first_line(error)})"
        raise refusal(file, "", cause, "Save it in a known one, as EPSG:5070") from error
    left, first = step.c, 0
    if crs.is_geographic:
        left, first = west_first(left, step.a, raster.width, file)
    grid = Grid(crs, left, step.f, step.a, -step.e, raster.height, raster.width)
    return grid, Layout(first_column=first)


def _reading(path: Path) -> Callable[[], AbstractContextManager[ReadRaw]]:
    def read(days: slice, window: Window) -> NDArray[Any]:
        block = RasterWindow(window.column, window.row, window.columns, window.rows)
        with open_raster(path) as raster:
            values: NDArray[Any] = raster.read(
                indexes=list(range(days.start + 1, days.stop + 1)), window=block
            )
        return values

    @contextmanager
    def opened() -> Iterator[ReadRaw]:
        yield read

    return opened
