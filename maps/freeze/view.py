"""A freeze layer as a picture shows it: the dates of one chance with their error, thinned, and where they lie."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Geod, Transformer
from rasterio.io import DatasetReader

from spatial.errors import InputError, Problem
from spatial.inputs.freeze import freeze_tags, open_raster
from spatial.inputs.freeze_bands import number_in
from spatial.units import WRITTEN
from spatial.values import error_band

MOST_CELLS = 1000  # of a side: finer than the picture
SAME_CHANCE = 1e-6
DEGREE_STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0)
EDGE_PLACES = 201
NORTH_STEP_M = 1000.0
NORTHERN_SEASON = (8, 1)
EARTH = Geod(ellps="WGS84")


@dataclass(frozen=True)
class LayerView:
    """The dates of one chance: days since the season's first day (+inf never, NaN not known) and their error [days].

    Both are (rows, columns); `extent` is left, right, bottom, top in `crs`, which is None where the file says none;
    `threshold_c` is NaN and `seasons` is "" where it says none.
    """

    days: NDArray[np.float64]
    error_days: NDArray[np.float64]
    extent: tuple[float, float, float, float]
    crs: CRS | None
    threshold_c: float
    season_start: tuple[int, int]
    seasons: str


def read_view(path: Path, chance: float) -> LayerView:
    """Return the dates of a chance from a layer of chances, of at most 1000 by 1000 cells.

    Raises InputError where the file cannot be read or has no band for the chance.
    """
    with open_raster(path) as raster:
        names = [(text or "").strip() for text in raster.descriptions]
        at = [place for place, name in enumerate(names) if abs((number_in(name) or 0) - chance) < SAME_CHANCE]
        if not at:
            cause = f"has no band for chance {chance:g}"
            raise InputError([Problem(path.name, "", cause, "Bring a layer of chances that goes as far")])
        days = _band(raster, at[0])
        error = error_band(chance)
        errors = _band(raster, names.index(error)) if error in names else np.full(days.shape, np.nan)
        place, tags = raster.bounds, raster.tags()
        return LayerView(
            days=days,
            error_days=np.where(np.isfinite(days) & np.isfinite(errors), errors, np.nan),
            extent=(place.left, place.right, place.bottom, place.top),
            crs=None if raster.crs is None else CRS.from_user_input(raster.crs.to_wkt()),
            threshold_c=_threshold_c(raster),
            season_start=_month_day(tags.get("season_start", "")),
            seasons=tags.get("seasons", ""),
        )


def size_m(view: LayerView) -> tuple[float, float]:
    """Return the width and height [m] of what a view shows, along its middle; in its own units without a place."""
    left, right, bottom, top = view.extent
    if view.crs is None:
        return right - left, top - bottom
    x, y = (left + right) / 2, (bottom + top) / 2
    return _length_m(view.crs, (left, y), (right, y)), _length_m(view.crs, (x, bottom), (x, top))


def north_turn(view: LayerView) -> float:
    """Return how far true north in the middle of a view is turned from straight up [rad, clockwise]."""
    left, right, bottom, top = view.extent
    to_degrees = Transformer.from_crs(view.crs, "EPSG:4326", always_xy=True)
    x, y = (left + right) / 2, (bottom + top) / 2
    lon, lat = to_degrees.transform(x, y)
    further_lon, further_lat, _back = EARTH.fwd(lon, lat, 0.0, NORTH_STEP_M)
    east, north = to_degrees.transform(further_lon, further_lat, direction="INVERSE")
    width, height = size_m(view)
    return math.atan2((east - x) * width / (right - left), (north - y) * height / (top - bottom))


def degree_ticks(
    view: LayerView, most_across: int, most_up: int
) -> tuple[dict[float, float], dict[float, float]]:
    """Return where round longitudes meet the lower edge and round latitudes the left one, as {place: degrees}."""
    left, right, bottom, top = view.extent
    to_degrees = Transformer.from_crs(view.crs, "EPSG:4326", always_xy=True)
    xs, ys = np.linspace(left, right, EDGE_PLACES), np.linspace(bottom, top, EDGE_PLACES)
    lons = to_degrees.transform(xs, np.full_like(xs, bottom))[0]
    lats = to_degrees.transform(np.full_like(ys, left), ys)[1]
    return _round_degrees(lons, xs, most_across), _round_degrees(lats, ys, most_up)


def places_of(view: LayerView, lons: NDArray[np.float64], lats: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return places in degrees as (2, places) in the coordinates of the view."""
    to_view = Transformer.from_crs("EPSG:4326", view.crs, always_xy=True)
    return np.array(to_view.transform(lons, lats))


def _band(raster: DatasetReader, place: int) -> NDArray[np.float64]:
    """Return a band thinned: +inf for the no-freeze code, NaN where it has no data."""
    thin = max(1, math.ceil(max(raster.height, raster.width) / MOST_CELLS))
    shape = (math.ceil(raster.height / thin), math.ceil(raster.width / thin))
    raw = raster.read(place + 1, out_shape=shape, masked=True)
    never = raw.data == freeze_tags(raster).get("no_freeze_value", math.inf)
    days: NDArray[np.float64] = raw.data.astype(np.float64) * raster.scales[place] + raster.offsets[place]
    days[np.ma.getmaskarray(raw)] = np.nan
    days[never] = np.inf
    return days


def _threshold_c(raster: DatasetReader) -> float:
    tags = freeze_tags(raster)
    if "threshold_c" in tags:
        return float(tags["threshold_c"])
    _inside, factor, offset = WRITTEN["_f"]
    return float(tags.get("threshold_f", math.nan)) * factor + offset


def _month_day(text: str) -> tuple[int, int]:
    month, _dash, day = text.partition("-")
    return (int(month), int(day)) if month.isdigit() and day.isdigit() else NORTHERN_SEASON


def _length_m(crs: CRS, one: tuple[float, float], other: tuple[float, float]) -> float:
    to_degrees = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    lons, lats = to_degrees.transform([one[0], other[0]], [one[1], other[1]])
    return float(EARTH.line_length(lons, lats))


def _round_degrees(
    degrees: NDArray[np.float64], places: NDArray[np.float64], most: int
) -> dict[float, float]:
    if not np.isfinite(degrees).all():  # the edge lies outside the world
        return {}
    span = float(degrees[-1] - degrees[0])
    step = next((one for one in DEGREE_STEPS if span / one <= most), DEGREE_STEPS[-1])
    numbers = range(math.ceil(degrees[0] / step), math.floor(degrees[-1] / step) + 1)
    return {float(np.interp(number * step, degrees, places)): number * step for number in numbers}
