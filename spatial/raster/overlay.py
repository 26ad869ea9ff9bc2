"""Which shapes of two layers share land, how much, and the land itself."""

import itertools
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from spatial.raster.places import LON_LAT

LARGE_VERTICES = 1000  # a shape of more is cut to the other's box before the two are laid over each other
ROOM_SHARE = 0.01  # of that box, on each side, so that no edge of the cut touches the other shape
DUST_SHARE = 1e-9  # of the left shape: less is an edge that both share, blurred by rounding
BLOCK_PAIRS = 2_000  # laid over each other at once: their shared parts are then let go
COLLECTION = 7  # shapely's number of the type
FARTHEST_LATITUDE = 89.0  # the plane has no width at a pole

Shapes = NDArray[np.object_]


@dataclass(frozen=True)
class Overlaps:
    """The pairs that share land: places in the left and the right series, ordered by both, and the shared m2.

    `left_area_m2` has one entry for each left shape, in the same plane; 0 where there is no shape.
    """

    left: NDArray[np.int64]
    right: NDArray[np.int64]
    area_m2: NDArray[np.float64]
    left_area_m2: NDArray[np.float64]


def overlaps(left: gpd.GeoSeries, right: gpd.GeoSeries) -> Overlaps:
    """Return the pairs of a left and a right shape that share land; those that only touch are no pair.

    Both are valid polygons, in any CRS; a missing or empty one has no pair. Areas are those of a plane that keeps
    areas at every distance, so a wide district is as right as a narrow one.
    """
    plane = equal_area_plane(left)
    near, found = _pairs_of_boxes(left, right)
    used, place = np.unique(found, return_inverse=True)
    ours, theirs = _in_plane(left, plane), _in_plane(gpd.GeoSeries(right.iloc[used]), plane)
    with ThreadPoolExecutor(os.cpu_count()) as threads:  # GEOS works without Python's lock
        shared = threads.map(lambda part: _shared_m2(ours[near[part]], theirs[place[part]]), _blocks(near))
        area_m2 = np.concatenate([np.empty(0), *shared])
    left_area_m2 = np.nan_to_num(shapely.area(ours))
    keep = area_m2 > DUST_SHARE * left_area_m2[near]
    return Overlaps(near[keep], found[keep], area_m2[keep], left_area_m2)


def covered_m2(left: gpd.GeoSeries, right: gpd.GeoSeries, found: Overlaps) -> NDArray[np.float64]:
    """Return how much of each left shape is covered [m2], land under several right shapes counted once.

    Where the areas of its pairs make up the left shape it is taken to be filled; elsewhere their parts are joined.
    """
    covered = np.bincount(found.left, found.area_m2, minlength=len(left)).astype(np.float64)
    pairs = np.bincount(found.left, minlength=len(left))
    exact = np.abs(covered - found.left_area_m2) <= DUST_SHARE * found.left_area_m2
    unsure = np.flatnonzero(~exact & (pairs > 1))
    if not len(unsure):
        return covered
    plane = equal_area_plane(left)
    rows = np.flatnonzero(np.isin(found.left, unsure))
    used, place = np.unique(found.right[rows], return_inverse=True)
    ours, theirs = _in_plane(left, plane), _in_plane(gpd.GeoSeries(right.iloc[used]), plane)
    parts = shared_parts(ours[found.left[rows]], theirs[place])
    starts = np.flatnonzero(np.diff(found.left[rows], prepend=-1))
    covered[unsure] = [shapely.area(shapely.union_all(one)) for one in np.split(parts, starts[1:])]
    least: NDArray[np.float64] = np.minimum(covered, found.left_area_m2)
    return least


def covered_twice_m2(
    left: gpd.GeoSeries, right: gpd.GeoSeries, found: Overlaps, places: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return how much of the left shapes at `places` lies under more than one right shape [m2], in their order."""
    plane = equal_area_plane(left)
    rows = np.flatnonzero(np.isin(found.left, places))
    used, place = np.unique(found.right[rows], return_inverse=True)
    ours, theirs = _in_plane(left, plane), _in_plane(gpd.GeoSeries(right.iloc[used]), plane)
    parts = shared_parts(ours[found.left[rows]], theirs[place])
    first, last = (np.searchsorted(found.left[rows], places, side) for side in ("left", "right"))
    each = [_twice_m2(parts[start:end]) for start, end in zip(first, last, strict=True)]
    return np.array(each, dtype=np.float64)


def _twice_m2(parts: Shapes) -> float:
    """Return the land that more than one of some shapes covers."""
    once = twice = shapely.Polygon()
    for part in parts:
        twice = shapely.union(twice, shapely.intersection(once, part))
        once = shapely.union(once, part)
    return float(shapely.area(twice))


def shared_parts(left: Shapes, right: Shapes) -> Shapes:
    """Return the land that the shapes of each pair share, in their own plane; `left` and `right` are as long."""
    cut = _cut(left, right)
    try:
        shared: Shapes = shapely.intersection(left, cut)
    except shapely.errors.GEOSException:
        # What is valid on the globe may cross itself by a hair in the plane, or where it was cut.
        shared = shapely.intersection(_mended(left), _mended(cut))
    return shared


def land_of(shapes: Shapes) -> Shapes:
    """Return each shape without the points and lines that it may have beside its land."""
    land = shapes.copy()
    for place in np.flatnonzero(shapely.get_type_id(shapes) == COLLECTION):
        parts = shapely.get_parts(shapes[place])
        land[place] = shapely.union_all(parts[shapely.area(parts) > 0])
    return land


def equal_area_plane(shapes: gpd.GeoSeries) -> CRS:
    """Return a plane [m] that keeps areas everywhere, and nearly keeps angles where the shapes lie.

    Its axes follow the meridians and parallels: boxes and straight lines along them stay what they are, and no
    shape is torn where the plane's other side would begin.
    """
    south, north = shapes.to_crs(LON_LAT).total_bounds[[1, 3]]
    middle = float(np.clip(np.nan_to_num((south + north) / 2), -FARTHEST_LATITUDE, FARTHEST_LATITUDE))
    return CRS.from_proj4(f"+proj=cea +lat_ts={middle!r} +lon_0=0 +datum=WGS84 +units=m")


def _pairs_of_boxes(left: gpd.GeoSeries, right: gpd.GeoSeries) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs whose boxes on the globe meet, as the boxes then do in the plane too."""
    ours, theirs = (np.asarray(shapes.to_crs(LON_LAT).array, dtype=object) for shapes in (left, right))
    near, found = shapely.STRtree(theirs).query(ours)
    order = np.lexsort((found, near))
    return near[order].astype(np.int64), found[order].astype(np.int64)


def _in_plane(shapes: gpd.GeoSeries, plane: CRS) -> Shapes:
    return np.asarray(shapes.to_crs(plane).array, dtype=object)


def _blocks(left: NDArray[np.int64]) -> list[slice]:
    """Return runs of pairs, none of which parts the pairs of one left shape: two threads may not prepare it at once."""
    starts = np.flatnonzero(np.diff(left, prepend=-1))
    wanted = np.searchsorted(starts, np.arange(0, len(left), BLOCK_PAIRS))
    edges = [*np.unique(starts[wanted[wanted < len(starts)]]).tolist(), len(left)]
    return [slice(first, end) for first, end in itertools.pairwise(edges)]


def _shared_m2(left: Shapes, right: Shapes) -> NDArray[np.float64]:
    # Asking whether shapes meet, or lie within each other, is cheaper than to lay them over each other.
    cut = _cut(left, right)
    shapely.prepare(left)
    areas = np.zeros(len(left))
    pairs = np.flatnonzero(shapely.intersects(left, cut))
    shapely.destroy_prepared(left)
    around = pairs[_surrounds(cut[pairs], left[pairs])]
    areas[around] = shapely.area(left[around])
    across = np.setdiff1d(pairs, around, assume_unique=True)
    areas[across] = shapely.area(shared_parts(left[across], cut[across]))
    return areas


def _surrounds(outer: Shapes, inner: Shapes) -> NDArray[np.bool_]:
    """Return whether each outer shape has all of its inner one, asked only where their boxes allow it."""
    around, within = shapely.bounds(outer), shapely.bounds(inner)
    allows = (around[:, :2] < within[:, :2]).all(axis=1) & (around[:, 2:] > within[:, 2:]).all(axis=1)
    found = np.zeros(len(outer), dtype=bool)
    found[allows] = shapely.contains_properly(outer[allows], inner[allows])
    return found


def _cut(left: Shapes, right: Shapes) -> Shapes:
    """Return the right shapes, the large ones without what lies far from the left shape of their pair."""
    cut = right.copy()
    for pair in np.flatnonzero(shapely.get_num_coordinates(right) > LARGE_VERTICES):
        cut[pair] = shapely.clip_by_rect(right[pair], *_roomy_box(left[pair]))
    return cut


def _mended(shapes: Shapes) -> Shapes:
    mended = shapes.copy()
    broken = ~shapely.is_valid(shapes)
    mended[broken] = shapely.make_valid(shapes[broken])
    return mended


def _roomy_box(shape: shapely.Geometry) -> tuple[float, float, float, float]:
    west, south, east, north = shapely.bounds(shape)
    room = ROOM_SHARE * max(east - west, north - south)
    return west - room, south - room, east + room, north + room
