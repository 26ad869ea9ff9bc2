"""The places a map draws, as plain lists of [longitude, latitude]: shapes of fields, and the ground beneath."""

import math
from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

Place = list[float]
M_PER_DEGREE = 111_195.0  # along a meridian of a sphere of 6371.0088 km, the mean radius of the Earth (IUGG)
FIELD_DECIMALS = 6
GROUND_DECIMALS = 4  # about 11 m: the ground is drawn for orientation
GROUND_STEP_DEG = 0.0002
MARGIN_SHARE = 0.25


def rings(shape: BaseGeometry | None, decimals: int = FIELD_DECIMALS) -> list[list[list[Place]]]:
    """Return the polygons of a shape, each an outer ring and its holes, without the closing point."""
    polygons = (
        [] if shape is None else [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    )
    return [
        [_places(ring.coords, decimals)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
        for polygon in polygons
        if not polygon.is_empty
    ]


def bounds(fields: gpd.GeoDataFrame) -> list[Place] | None:
    """Return the south-west and north-east corner around all fields, or None where there is no shape."""
    box = fields.geometry.total_bounds
    if np.isnan(box).any():
        return None
    west, south, east, north = (round(float(side), FIELD_DECIMALS) for side in box)
    return [[west, south], [east, north]]


def label_points(fields: gpd.GeoDataFrame) -> list[list[float] | None]:
    """Return for each field the place with the most room around it, and that room [m]; None without a shape."""
    return [_label_point(shape) for shape in fields.geometry]


def _label_point(shape: BaseGeometry | None) -> list[float] | None:
    if shape is None or shape.is_empty:
        return None
    narrow = math.cos(math.radians(shape.centroid.y))
    flat = shapely.transform(shape, lambda lonlat: lonlat * [M_PER_DEGREE * narrow, M_PER_DEGREE])
    middle, edge = _widest_place(shapely.make_valid(flat))
    lon, lat = middle[0] / (M_PER_DEGREE * narrow), middle[1] / M_PER_DEGREE
    return [round(lon, FIELD_DECIMALS), round(lat, FIELD_DECIMALS), round(math.dist(middle, edge), 1)]


def _widest_place(flat: BaseGeometry) -> tuple[tuple[float, ...], tuple[float, ...]]:
    polygons = [part for part in shapely.get_parts(flat) if isinstance(part, shapely.Polygon)]
    if not polygons:
        point = flat.representative_point().coords[0]
        return point, point
    largest = max(polygons, key=lambda part: part.area)
    middle, edge = shapely.maximum_inscribed_circle(largest, tolerance=math.sqrt(largest.area) / 50).coords
    return middle, edge


def ground(
    shapes: gpd.GeoDataFrame, context: Mapping[str, gpd.GeoDataFrame], roads: gpd.GeoDataFrame | None
) -> dict[str, Any]:
    """Return what lies beneath `shapes` (EPSG:4326), cut to their surroundings: counties, towns, streams, roads.

    Lines are thinned by about 20 m; towns and counties carry their name and a place for it.
    """
    box = _surroundings(shapes)
    if box is None:
        return {"counties": [], "towns": [], "streams": [], "roads": []}
    return {
        "counties": [_county(row, box) for row in _named(context.get("counties"), box)],
        "towns": [_town(row) for row in _named(context.get("towns"), box)],
        "streams": _lines(context.get("streams"), box),
        "roads": _lines(roads, box),
    }


def _surroundings(shapes: gpd.GeoDataFrame) -> tuple[float, float, float, float] | None:
    west, south, east, north = shapes.geometry.total_bounds
    if np.isnan(west):
        return None
    margin = max(MARGIN_SHARE * max(east - west, north - south), 0.05)
    return west - margin, south - margin, east + margin, north + margin


def _named(
    table: gpd.GeoDataFrame | None, box: tuple[float, float, float, float]
) -> list[tuple[str, BaseGeometry]]:
    if table is None or table.empty:
        return []
    table = _in_degrees(table)
    names = table["name"].fillna("").astype(str) if "name" in table else [""] * len(table)
    pairs = zip(names, shapely.clip_by_rect(np.asarray(table.geometry), *box), strict=True)
    return sorted((pair for pair in pairs if not _nothing(pair[1])), key=lambda pair: (pair[0], pair[1].wkb))


def _county(row: tuple[str, BaseGeometry], box: tuple[float, float, float, float]) -> dict[str, Any]:
    name, shape = row
    edge = shapely.clip_by_rect(shape.boundary, *_inside(box)).simplify(GROUND_STEP_DEG)
    return {
        "name": name,
        "at": _places([shape.representative_point().coords[0]], GROUND_DECIMALS)[0],
        "lines": _line_places(edge),
    }


def _inside(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Return a hair's breadth less than the box, so that the cut itself is not drawn as a border."""
    west, south, east, north = box
    return west + 1e-6, south + 1e-6, east - 1e-6, north - 1e-6


def _town(row: tuple[str, BaseGeometry]) -> dict[str, Any]:
    name, shape = row
    return {"name": name, "at": _places([shape.representative_point().coords[0]], GROUND_DECIMALS)[0]}


def _lines(table: gpd.GeoDataFrame | None, box: tuple[float, float, float, float]) -> list[list[Place]]:
    if table is None or table.empty:
        return []
    clipped = shapely.clip_by_rect(np.asarray(_in_degrees(table).geometry), *box)
    lines = [_as_line(shape) for shape in clipped if not _nothing(shape)]
    merged = shapely.line_merge(shapely.union_all(lines)) if lines else shapely.MultiLineString()
    return _line_places(merged.simplify(GROUND_STEP_DEG))


def _as_line(shape: BaseGeometry) -> BaseGeometry:
    return shape.boundary if "Polygon" in shape.geom_type else shape


def _in_degrees(table: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return table if table.crs is None else table.to_crs(4326)


def _nothing(shape: BaseGeometry | None) -> bool:
    return shape is None or shape.is_empty


def _line_places(shape: BaseGeometry) -> list[list[Place]]:
    lines = [part for part in shapely.get_parts(shape) if part.geom_type in {"LineString", "LinearRing"}]
    return sorted(_places(line.coords, GROUND_DECIMALS) for line in lines if not line.is_empty)


def _places(coords: Any, decimals: int) -> list[Place]:
    pairs: list[Place] = np.round(np.asarray(coords, dtype=float)[:, :2], decimals).tolist()
    return pairs
