"""Where a grid lies: CF coordinates and grid mapping turned into a north-up grid, longitudes from -180 to 180."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import ProjError

from spatial.inputs.checks import first_line
from spatial.inputs.grids.kind import plain_number
from spatial.inputs.grids.part import Layout, refusal
from spatial.values import Grid

LON_LAT = "EPSG:4326"
NORTHERN_SEASON, SOUTHERN_SEASON = (8, 1), (2, 1)
FULL_CIRCLE = 360.0
MOST_LATITUDE_DEG, MOST_LONGITUDE_DEG = 90.0, 2 * FULL_CIRCLE
UNEVEN_SHARE = 0.02  # of a cell, that a coordinate may lie off its place on an even grid
LONGITUDES = {"lon", "longitude", "long"}
WARP = "Warp it to a regular grid, as in EPSG:4326"
LENGTHS_M = {"m": 1.0, "meter": 1.0, "meters": 1.0, "metre": 1.0, "metres": 1.0, "km": 1000.0, "kilometer": 1000.0,
             "kilometers": 1000.0, "kilometre": 1000.0, "kilometres": 1000.0}  # fmt: skip
AXES = {
    "x": (
        {"longitude", "projection_x_coordinate", "grid_longitude"},
        {"lon", "longitude", "long", "x", "easting"},
    ),
    "y": ({"latitude", "projection_y_coordinate", "grid_latitude"}, {"lat", "latitude", "y", "northing"}),
}


def place_of(dataset: xr.Dataset, variable: str, x: str, y: str, file: str) -> tuple[Grid, Layout]:
    """Return the north-up grid of a variable on coordinates `x` and `y`, and how the file lies in it.

    Raises InputError where the grid is not regular, or the file does not say where on the globe it is.
    """
    mapping = _mapping(dataset, variable)
    _refuse_rotated(dataset, mapping, x, y, file)
    crs = _crs(dataset, mapping, x, file)
    factor = {axis: _to_crs_units(dataset[axis].attrs, crs, axis, file) for axis in (x, y)}
    at = {axis: _numbers(dataset[axis]) * factor[axis] for axis in (x, y)}
    if crs.is_geographic:
        _refuse_beyond(at, x, y, file)
        at[x] = np.unwrap(at[x], period=FULL_CIRCLE)
    east, north = (_evenly(at[axis], axis, file) for axis in (x, y))
    width, height = _steps(east, north, file)
    if width < 0:
        raise refusal(file, x, "runs from east to west", WARP)
    left, first_column = east[0] - width / 2, 0
    if crs.is_geographic:
        left, first_column = west_first(left, width, len(east), file)
    top = max(north[0], north[-1]) + abs(height) / 2
    grid = Grid(crs, float(left), float(top), float(width), float(abs(height)), len(north), len(east))
    return grid, Layout(height > 0, first_column)


def axis_of(dataset: xr.Dataset, name: str) -> str:
    """Return whether a dimension runs along "x" or "y" by its coordinate, or ""."""
    attrs = dataset[name].attrs if name in dataset.variables else {}
    for axis, (standard, names) in AXES.items():
        if attrs.get("standard_name") in standard or str(attrs.get("axis", "")).lower() == axis:
            return axis
        if name.lower() in names:
            return axis
    return ""


def refuse_without_place(dataset: xr.Dataset, dims: tuple[str, ...], file: str) -> None:
    """Raise InputError where dimensions of space have no coordinates of their own."""
    for name in dims:
        if name not in dataset.variables or dataset[name].ndim != 1 or dataset[name].dtype.kind not in "iuf":
            if any(axis_of(dataset, str(other)) and dataset[other].ndim > 1 for other in dataset.variables):
                raise refusal(file, name, "is a row of a curved grid, with a latitude for every cell", WARP)
            raise refusal(
                file, name, "has no coordinates, so nothing says where it lies", "Give a file with them"
            )


def season_start_at(grid: Grid, file: str) -> tuple[int, int]:
    """Return the first (month, day) of a season, by the side of the equator that the middle of a grid lies on.

    Raises InputError where its coordinate system leads to no place on the globe.
    """
    east = grid.left + grid.columns * grid.cell_width / 2
    north = grid.top - grid.rows * grid.cell_height / 2
    try:
        to_degrees = Transformer.from_crs(grid.crs, LON_LAT, always_xy=True)
        latitude_deg = to_degrees.transform(east, north, errcheck=True)[1]
    except ProjError as error:
        cause = f"has a coordinate system that leads to no place ({first_line(error)})"
        raise refusal(file, "", cause, "Save it in a known one, as EPSG:5070") from error
    return SOUTHERN_SEASON if latitude_deg < 0 else NORTHERN_SEASON


def west_first(left: float, width: float, columns: int, file: str) -> tuple[float, int]:
    """Return the western edge in -180 to 180, and which column lies there, of a grid in degrees.

    A grid that goes once round is cut where it crosses 180; a smaller one that does stays in one piece.
    """
    round_trip = columns * width
    if round_trip > FULL_CIRCLE + width / 2:
        raise refusal(
            file, "longitude", f"goes round {round_trip:g} degrees", "Leave the repeated columns out"
        )
    centers = left + width * (np.arange(columns) + 0.5)
    wrapped = (centers + FULL_CIRCLE / 2) % FULL_CIRCLE - FULL_CIRCLE / 2
    breaks = np.flatnonzero(np.diff(wrapped) < 0)
    if not breaks.size:
        return float(wrapped[0] - width / 2), 0
    if round_trip < FULL_CIRCLE - width / 2:
        return left, 0
    first = int(breaks[0]) + 1
    return float(wrapped[first] - width / 2), first


def _mapping(dataset: xr.Dataset, variable: str) -> Mapping[str, Any]:
    words = str(dataset[variable].attrs.get("grid_mapping", "")).replace(":", " ").split()
    found = next((word for word in words if word in dataset.variables), "")
    return dataset[found].attrs if found else {}


def _refuse_rotated(dataset: xr.Dataset, mapping: Mapping[str, Any], x: str, y: str, file: str) -> None:
    names = {dataset[axis].attrs.get("standard_name") for axis in (x, y)}
    if names & {"grid_longitude", "grid_latitude"} or "rotated" in str(mapping.get("grid_mapping_name", "")):
        raise refusal(file, "", "is on a grid with a rotated pole", WARP)


def _crs(dataset: xr.Dataset, mapping: Mapping[str, Any], x: str, file: str) -> CRS:
    degrees = _in_degrees(dataset[x])
    plain = not set(mapping) - {"grid_mapping_name", "long_name", "units"}
    if degrees and (not mapping or (mapping.get("grid_mapping_name") == "latitude_longitude" and plain)):
        return CRS.from_user_input(LON_LAT)
    if not mapping:
        cause = "does not say its coordinate system: no CF grid mapping"
        raise refusal(file, "", cause, "Add one to the file, or save it as GeoTIFF with its place")
    wkt = mapping.get("crs_wkt", mapping.get("spatial_ref"))
    try:
        crs = CRS.from_wkt(str(wkt)) if wkt else CRS.from_cf(dict(mapping))
    except (ProjError, KeyError, ValueError, TypeError) as error:
        cause = f"has a grid mapping that is not understood ({first_line(error)})"
        raise refusal(file, "", cause, "Give it as crs_wkt in the grid mapping") from error
    if degrees != crs.is_geographic:
        cause = (
            f"has coordinates in {dataset[x].attrs.get('units', 'no unit')!r} and the grid mapping {crs.name}"
        )
        raise refusal(file, "", cause, WARP)
    return crs


def _in_degrees(coordinate: xr.DataArray) -> bool:
    """Tell whether a coordinate is in degrees: by its unit or, where it has none, by its name and values."""
    unit = str(coordinate.attrs.get("units", "")).lower()
    if unit:
        return unit.startswith("degree")
    named = str(coordinate.name).lower() in LONGITUDES
    return named and bool((np.abs(coordinate.values) <= FULL_CIRCLE).all())


def _refuse_beyond(at: Mapping[str, NDArray[np.float64]], x: str, y: str, file: str) -> None:
    for axis, most in ((x, MOST_LONGITUDE_DEG), (y, MOST_LATITUDE_DEG)):
        beyond = at[axis][~(np.abs(at[axis]) <= most)]
        if beyond.size:
            cause = f"comes to {beyond[0]:g} degrees, which is no place"
            raise refusal(file, axis, cause, "Mend the file's coordinates")


def _to_crs_units(attrs: Mapping[str, Any], crs: CRS, axis: str, file: str) -> float:
    if crs.is_geographic:
        return 1.0
    written = str(attrs.get("units", "")).strip().lower() or "m"
    if written not in LENGTHS_M:
        raise refusal(file, axis, f"is in {written!r}", "Give it in m or km")
    return LENGTHS_M[written] / float(crs.axis_info[0].unit_conversion_factor)


def _numbers(coordinate: xr.DataArray) -> NDArray[np.float64]:
    scale, offset = (
        plain_number(coordinate.attrs.get(key, no)) for key, no in (("scale_factor", 1), ("add_offset", 0))
    )
    return coordinate.values.astype(np.float64) * scale + offset


def _evenly(at: NDArray[np.float64], axis: str, file: str) -> NDArray[np.float64]:
    """Return coordinates as an even row between the first and the last."""
    even = np.linspace(at[0], at[-1], len(at))
    step = abs(even[1] - even[0]) if len(at) > 1 else 1.0
    if not np.isfinite(at).all() or step == 0 or (np.abs(at - even) > UNEVEN_SHARE * step).any():
        raise refusal(file, axis, "has unequal steps", WARP)
    return even


def _steps(east: NDArray[np.float64], north: NDArray[np.float64], file: str) -> tuple[float, float]:
    """Return the step to the east and to the next row; a single row or column is as wide as the other way."""
    steps = [float(axis[1] - axis[0]) if len(axis) > 1 else 0.0 for axis in (east, north)]
    if not any(steps):
        raise refusal(file, "", "is a single cell", "Give a grid, or use it as a station's record")
    return steps[0] or abs(steps[1]), steps[1] or -abs(steps[0])
