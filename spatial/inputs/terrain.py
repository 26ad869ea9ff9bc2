"""Heights of the ground, from any raster, in metres."""

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS
from rasterio.enums import Resampling
from rasterio.io import DatasetReader
from rasterio.windows import Window as RasterWindow

from spatial.daily import Terrain
from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.freeze import open_raster, refuse_unplaced
from spatial.units import M_PER_FOOT
from spatial.values import Grid

LEAST_M, MOST_M = -450.0, 9000.0  # the shore of the Dead Sea, and over the highest mountain
MOST_SPREAD_M = 6000.0  # between the lowest and the highest hundredth of a district
POLE_DEG, POLE_CELLS = 90.0, 0.51
US_SURVEY_FOOT_M = 1200 / 3937
UNIT_M = {
    "m": 1.0,
    "metre": 1.0,
    "metres": 1.0,
    "meter": 1.0,
    "meters": 1.0,
    "ft": M_PER_FOOT,
    "foot": M_PER_FOOT,
    "feet": M_PER_FOOT,
    "international foot": M_PER_FOOT,
    "us survey foot": US_SURVEY_FOOT_M,
    "us survey feet": US_SURVEY_FOOT_M,
    "us-ft": US_SURVEY_FOOT_M,
    "ftus": US_SURVEY_FOOT_M,
    "cm": 0.01,
    "centimetre": 0.01,
    "centimetres": 0.01,
    "centimeter": 0.01,
    "centimeters": 0.01,
    "dm": 0.1,
    "decimetre": 0.1,
    "decimeter": 0.1,
}
UNIT_TAGS = ("units", "unit", "unittype", "unit_type", "vertical_unit", "vertical_units", "zunit", "z_unit")
SAY_UNIT = "Say --dem-unit m, ft or cm"


def read_terrain(path: Path, report: Report, unit: str = "", most_cells: int = 4_000_000) -> Terrain:
    """Return the heights of a raster's first band [m], NaN where it has none.

    Their unit is `unit` if given, else that of the band, of a tag or of the vertical coordinates, else the metre.
    A raster of more than `most_cells` is averaged over whole blocks of cells, and that is told. What cannot be used
    is in the report; the terrain then has no cell.
    """
    own = Report()
    terrain = _nowhere(path.name)
    try:
        with open_raster(path) as raster:
            terrain = _terrain(path.name, raster, unit, most_cells, own)
    except InputError as error:
        own.wrong.extend(error.problems)
    report.wrong.extend(own.wrong)
    report.told.extend(own.told)
    return _nowhere(path.name) if own.wrong else terrain


def _nowhere(file: str) -> Terrain:
    return Terrain(Grid(CRS.from_epsg(4326), 0.0, 0.0, 1.0, 1.0, 0, 0), np.zeros((0, 0), np.float32), file)


def _terrain(file: str, raster: DatasetReader, unit: str, most_cells: int, report: Report) -> Terrain:
    _check_place(file, raster, report)
    unit_m = _unit_m(file, raster, unit, report)
    if report.wrong:
        return _nowhere(file)
    if raster.count > 1:
        report.tell(
            file, "", f"has {raster.count} bands; the first was read", "Nothing, if it is the heights"
        )
    block = math.ceil(math.sqrt(raster.height * raster.width / most_cells))
    if block > 1:
        cause = f"has {raster.height * raster.width:,} cells, averaged {block} by {block}"
        report.tell(file, "", cause, "Cut it to the district for finer dates")
    height_m = (_heights(raster, block) * unit_m).astype(np.float32)
    _check_heights(file, height_m, report)
    return Terrain(_grid(raster, block, height_m.shape), height_m, file)


def _check_place(file: str, raster: DatasetReader, report: Report) -> None:
    refuse_unplaced(file, raster, report)
    if not math.isfinite(sum(raster.transform)):
        report.refuse(file, "", "has a place that is no number", "Save it as GeoTIFF with its place")
    elif raster.crs is not None and raster.crs.is_geographic and _is_over_a_pole(raster):
        south, north = raster.bounds.bottom, raster.bounds.top
        cause = f"lies at latitudes from {south:g} to {north:g}, which are no places"
        report.refuse(file, "", cause, "Save it with its own coordinate system")
    if raster.crs is None:
        mend = "Save it with its coordinate system, as EPSG:4326"
        report.refuse(file, "", "does not say its coordinate system", mend)
    elif not (raster.crs.is_geographic or raster.crs.is_projected):
        mend = "Save it in a known one, as EPSG:5070"
        report.refuse(file, "", "has a coordinate system that leads to no place", mend)


def _is_over_a_pole(raster: DatasetReader) -> bool:
    # A raster of points round the globe has its outer rows half a cell beyond the poles.
    beyond = max(raster.bounds.top, -raster.bounds.bottom) - POLE_DEG
    return bool(beyond > POLE_CELLS * abs(raster.transform.e))


def _unit_m(file: str, raster: DatasetReader, unit: str, report: Report) -> float:
    said = unit or _unit_said(raster)
    factor = UNIT_M.get(" ".join(said.lower().replace("_", " ").split()), math.nan) if said else 1.0
    if math.isnan(factor):
        report.refuse(file, "unit", f"of the heights is {said!r}, which is not known", SAY_UNIT)
    return factor


def _unit_said(raster: DatasetReader) -> str:
    tags = {key.lower(): text for part in (raster.tags(), raster.tags(1)) for key, text in part.items()}
    found = [raster.units[0], *(tags.get(name) for name in UNIT_TAGS), _vertical_unit(raster)]
    return next((text for text in found if text), "")


def _vertical_unit(raster: DatasetReader) -> str:
    place = CRS.from_user_input(raster.crs.to_wkt()) if raster.crs is not None else None
    axes = place.axis_info if place is not None and place.is_compound else []
    return str(axes[-1].unit_name) if axes else ""


def _heights(raster: DatasetReader, block: int) -> NDArray[np.float64]:
    rows, columns = (max(size // block, 1) for size in (raster.height, raster.width))
    window = RasterWindow(0, 0, min(columns * block, raster.width), min(rows * block, raster.height))
    how = {"out_shape": (rows, columns), "resampling": Resampling.average, "out_dtype": np.float32}
    raw = raster.read(1, window=window, masked=True, **how)
    scale, offset = raster.scales[0], raster.offsets[0]
    heights: NDArray[np.float64] = np.ma.filled(raw.astype(np.float64), np.nan) * scale + offset
    return heights


def _check_heights(file: str, height_m: NDArray[np.float32], report: Report) -> None:
    known = height_m[np.isfinite(height_m)]
    if known.size == 0:
        report.refuse(file, "", "has no height in any cell", "Check its value for no data")
        return
    least, most = float(known.min()), float(known.max())
    low, high = np.percentile(known, (1, 99))
    if least < LEAST_M or most > MOST_M:
        cause = f"run from {least:,.0f} to {most:,.0f} m, which is no ground on this earth"
    elif high - low > MOST_SPREAD_M:
        cause = f"spread over {high - low:,.0f} m, which no district does"
    else:
        return
    report.refuse(file, "heights", cause, f"{SAY_UNIT}, or mend its value for no data")


def _grid(raster: DatasetReader, block: int, shape: tuple[int, ...]) -> Grid:
    step = raster.transform
    place = CRS.from_user_input(raster.crs.to_wkt())
    flat = CRS.from_user_input(place.sub_crs_list[0]) if place.is_compound else place
    return Grid(flat, step.c, step.f, step.a * block, -step.e * block, shape[0], shape[1])
