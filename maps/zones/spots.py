"""Where the day of a zone is written on the map: the roomiest places of its largest parts, and their room."""

import math
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from maps.ground import FIELD_DECIMALS, M_PER_DEGREE

PARTS, MORE = 6, 4  # parts of a zone with a spot, and how many more spots there are in what they leave free
PRECISION = 50  # parts of a shape's own size
Piece = tuple[int, shapely.Polygon]  # of which part of the zone, and its shape
AROUND = 1.5  # the next spot lies so many times the room away


def spots(shape: BaseGeometry) -> list[dict[str, Any]]:
    """Return places [longitude, latitude] in a zone's largest parts, the roomiest first.

    `room_m` is free in every direction; `reach_m` to the east and the west, in a strip half as high as the room;
    `part` counts the parts of the zone.
    """
    found, free = _in_each(list(enumerate(_polygons(shape)[:PARTS])))
    for _step in range(MORE):
        free.sort(key=lambda one: -one[1].area)
        further, rest = _in_each(free[:1])
        found, free = found + further, free[1:] + rest
    return sorted(found, key=lambda spot: -float(spot["room_m"]))


def _in_each(pieces: list[Piece]) -> tuple[list[dict[str, Any]], list[Piece]]:
    """Return the spot of each piece, and the smaller pieces that lie away from them."""
    pairs = [(part, *_spot(shape)) for part, shape in pieces]
    rest = [(part, piece) for part, _found, left in pairs for piece in _polygons(left)]
    return [found | {"part": part} for part, found, _left in pairs], rest


def _polygons(shape: BaseGeometry) -> list[shapely.Polygon]:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and part.area > 0]
    return sorted(parts, key=lambda part: -part.area)


def _spot(part: shapely.Polygon) -> tuple[dict[str, Any], BaseGeometry]:
    """Return the roomiest place of a polygon, and what of it lies away from there."""
    narrow = M_PER_DEGREE * math.cos(math.radians(part.centroid.y))
    flat = shapely.transform(part, lambda lonlat: lonlat * [narrow, M_PER_DEGREE])
    tolerance = math.sqrt(flat.area) / PRECISION
    (x, y), edge = shapely.maximum_inscribed_circle(flat, tolerance=tolerance).coords
    room = math.dist((x, y), edge)
    spot = {
        "at": [round(x / narrow, FIELD_DECIMALS), round(y / M_PER_DEGREE, FIELD_DECIMALS)],
        "room_m": round(room, 1),
        "reach_m": round(max(_reach(flat, x, y, room), room), 1),
    }
    rest = shapely.difference(flat, shapely.buffer(shapely.Point(x, y), AROUND * room))
    return spot, shapely.transform(rest, lambda metres: metres / [narrow, M_PER_DEGREE])


def _reach(flat: BaseGeometry, x: float, y: float, room: float) -> float:
    """Return how far a strip through a place runs east and west before it meets the outline."""
    west, _south, east, _north = flat.bounds
    strip = shapely.box(west, y - room / 2, east, y + room / 2)
    return float(
        shapely.distance(
            shapely.intersection(flat.boundary, strip),
            shapely.LineString([(x, y - room / 2), (x, y + room / 2)]),
        )
    )
