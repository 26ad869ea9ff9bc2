"""The ground of a paper map: streams and borders, towns and counties, and their names where nothing else is written."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import shapely
from shapely.geometry import LineString

from maps.paper.map_frame import View, draw_lines
from maps.paper.sheet import Box, Sheet, Type
from maps.style import INK, PAPER

TOWN = Type(8.5, halo=True)
COUNTY = Type(9, italic=True, serif=True, halo=True)
STREAM = Type(8, italic=True, colour="#1d5f86", halo=True)
WATER, ROAD = "#2f7fae", "#b9a582"
DOT_PT = 2.6
Place = tuple[str, Sequence[float]]  # a name, and where it is


def draw_ground(sheet: Sheet, view: View, beneath: dict[str, Any]) -> None:
    """Draw roads, then streams and county lines, these on a paler, wider line that parts them from what is beneath."""
    draw_lines(sheet, view, [LineString(line) for line in beneath["roads"]], ROAD, 0.6)
    streams = [LineString(line) for line in beneath["streams"]]
    borders = [LineString(line) for county in beneath["counties"] for line in county["lines"]]
    draw_lines(sheet, view, streams, "#ffffff", 2.2)
    draw_lines(sheet, view, streams, WATER, 1.1)
    draw_lines(sheet, view, borders, "#ffffff", 2.4)
    draw_lines(sheet, view, borders, INK, 1.0, (0, (7, 3, 1.5, 3)))


def keep_towns(sheet: Sheet, view: View, towns: Sequence[Place]) -> list[Place]:
    """Keep the dots of the towns in the frame free of other writing, and return those towns, placed [pt]."""
    placed = [(name, view.placed(shapely.Point(at)).coords[0]) for name, at in towns]
    inside: list[Place] = [(name, (x, y)) for name, (x, y) in placed if _dot(sheet, x, y).within(view.frame)]
    sheet.taken += [_dot(sheet, x, y) for _name, (x, y) in inside]
    return inside


def write_towns(sheet: Sheet, view: View, kept: Sequence[Place]) -> None:
    """Mark each town kept with a dot and its name to the right or the left, where there is room for the name."""
    gap = 5 * sheet.scale
    for name, (x, y) in kept:
        base = y - 3 * sheet.scale
        if sheet.try_to_write(x + gap, base, name, TOWN, within=view.frame) or sheet.try_to_write(
            x - gap, base, name, TOWN, within=view.frame, align="right"
        ):
            sheet.dot(x, y, DOT_PT * sheet.scale, INK, PAPER)


def write_counties(sheet: Sheet, view: View, counties: Sequence[Place]) -> None:
    """Write the name of each county near its middle, where nothing else is written."""
    for name, at in counties:
        x, y = shapely.get_coordinates(view.placed(shapely.Point(at)))[0]
        steps = (0, 16, -16, 32, -32, 48, -48)
        any(
            sheet.try_to_write(x, y + step * sheet.scale, name, COUNTY, within=view.frame, align="center")
            for step in steps
        )


def write_streams(sheet: Sheet, view: View, streams: gpd.GeoDataFrame | None) -> None:
    """Write the name of each stream once, by the middle of its longest line in the frame, where nothing else is."""
    if streams is None or "name" not in streams:
        return
    frame = view.frame
    for name, own in streams.to_crs(4326).groupby("name"):
        lines = shapely.line_merge(shapely.union_all([view.placed(shape) for shape in own.geometry]))
        inside = shapely.clip_by_rect(lines, frame.left, frame.bottom, frame.right, frame.top)
        parts = [part for part in shapely.get_parts(inside) if isinstance(part, shapely.LineString)]
        places = _along(max(parts, key=lambda part: part.length)) if parts and name else []
        any(
            sheet.try_to_write(x, y + 3 * sheet.scale, str(name), STREAM, within=frame, align="center")
            for x, y in places
        )


def _dot(sheet: Sheet, x: float, y: float) -> Box:
    radius = DOT_PT * sheet.scale
    return Box(x - radius, y - radius, 2 * radius, 2 * radius)


def _along(line: shapely.LineString) -> list[tuple[float, float]]:
    points = [line.interpolate(share, normalized=True) for share in (0.5, 0.35, 0.65, 0.2, 0.8)]
    return [(point.x, point.y) for point in points]
