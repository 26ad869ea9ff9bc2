"""What is written on a map of zones: the day of each zone as large as it fits inside."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from maps.paper.map_frame import View
from maps.paper.sheet import Box, Sheet, Type
from maps.zones.rows import ZoneRow

# Large words first; "cut by 24 Sep" goes before the day alone, as long as a room can read it.
DAY_TYPES = (
    (True, 35), (True, 30), (True, 26), (False, 30), (True, 22), (False, 26), (True, 19), (False, 22), (False, 19),
    (True, 15), (False, 16), (True, 12), (False, 13), (False, 11), (False, 9.5),
)  # fmt: skip
SMALL_TYPES = DAY_TYPES[-6:]  # for the lesser parts of a zone
WIDEST = 1 / 3  # of the map, for the paper of one day
PARTS = 3  # of one zone that its day may be written on
FREE_WIDE, FREE_HIGH = (
    1.15,
    1.6,
)  # the room a day asks for, in sizes of its paper, so that its zone is seen too
LEAST_INSIDE = 0.9  # of that room: a day may lie on an islet of another zone, and a little over the edge
BESIDE, BESIDE_TRIES = Type(10, bold=True), 40
TRIES = 48  # places in a part, from the roomiest
RASTER = 30  # places tried along each side of a part
ROUGH_PT = 0.4  # outlines are thinned by so much before they are measured
PAD_EM = 0.28  # around a day, in sizes of its type


def write_days(sheet: Sheet, view: View, rows: Sequence[ZoneRow]) -> None:
    """Write the day of each zone inside it, as large as it fits; where it fits nowhere, the legend has it."""
    parts = [(row, _parts(view, row.shape)) for row in rows]
    for number in range(PARTS):
        for row, shapes in parts:
            if number < len(shapes):
                _write_day(sheet, row, shapes[number], WIDEST * view.frame.width, first=number == 0)


def _parts(view: View, shape: BaseGeometry) -> list[shapely.Polygon]:
    frame = view.frame
    inside = shapely.clip_by_rect(
        shapely.make_valid(view.placed(shape)), frame.left, frame.bottom, frame.right, frame.top
    )
    flat = shapely.simplify(inside, ROUGH_PT)
    parts = [part for part in shapely.get_parts(flat) if isinstance(part, shapely.Polygon) and part.area > 0]
    return sorted(parts, key=lambda part: -part.area)[:PARTS]


def _write_day(sheet: Sheet, row: ZoneRow, part: shapely.Polygon, widest: float, *, first: bool) -> None:
    places = _roomy_places(part)
    for whole, size in DAY_TYPES if first else SMALL_TYPES:
        how = Type(size, bold=True)
        text = row.by if whole else row.day
        chip = _chip(sheet, text, how)
        found = _free_place(sheet, part, places, chip) if chip[0] <= widest else None
        if found is not None:
            sheet.chip(found, text, how, PAD_EM * size * sheet.scale)
            return
    if first:
        _write_beside(sheet, row, part, places)


def _write_beside(sheet: Sheet, row: ZoneRow, part: shapely.Polygon, places: NDArray[np.float64]) -> None:
    """Write a day with a piece of its hatch beside a zone that is too narrow to be written in."""
    pad, sign = PAD_EM * BESIDE.size * sheet.scale, 1.4 * BESIDE.size * sheet.scale
    width, height = _chip(sheet, row.day, BESIDE)
    for x, y in places[:BESIDE_TRIES]:
        away = float(shapely.distance(shapely.Point(x, y), part.boundary)) + 2 * sheet.scale
        for bottom in (y + away, y - away - height):
            box = Box(float(x) - sign, float(bottom), width + sign, height)
            if box.within(sheet.room) and not any(box.meets(other) for other in sheet.taken):
                sheet.chip(Box(box.left + sign, box.bottom, width, height), row.day, BESIDE, pad)
                sheet.swatch(Box(box.left, box.bottom, sign, height), row.look)
                sheet.taken.append(box)
                return


def _chip(sheet: Sheet, text: str, how: Type) -> tuple[float, float]:
    """Return the width and height [pt] of a text with paper around it."""
    size = how.size * sheet.scale
    return sheet.width_of(text, how) + 2 * PAD_EM * size, size * (0.75 + 2 * PAD_EM)


def _roomy_places(part: shapely.Polygon) -> NDArray[np.float64]:
    """Return places inside a shape [pt], (places, 2), those farthest from its outline first."""
    left, bottom, right, top = part.bounds
    xs, ys = np.meshgrid(np.linspace(left, right, RASTER), np.linspace(bottom, top, RASTER))
    circle = shapely.maximum_inscribed_circle(part, tolerance=max(part.area**0.5 / 50, 0.1))
    places = np.vstack([np.column_stack([xs.ravel(), ys.ravel()]), shapely.get_coordinates(circle)[:1]])
    places = places[shapely.contains_xy(part, places)]
    gaps = np.round(np.asarray(shapely.distance(shapely.points(places), part.boundary)), 2)
    return places[np.argsort(-gaps, kind="stable")]


def _free_place(
    sheet: Sheet, part: shapely.Polygon, places: NDArray[np.float64], chip: tuple[float, float]
) -> Box | None:
    width, height = chip
    wide, high = width * FREE_WIDE, height * FREE_HIGH
    tried = places[: TRIES * 4 : 4] if len(places) > TRIES * 4 else places[:TRIES]
    boxes = shapely.box(
        tried[:, 0] - wide / 2, tried[:, 1] - high / 2, tried[:, 0] + wide / 2, tried[:, 1] + high / 2
    )
    covered = shapely.area(shapely.intersection(part, boxes)) / shapely.area(boxes)
    for x, y in tried[covered >= LEAST_INSIDE]:
        box = Box(float(x) - width / 2, float(y) - height / 2, width, height)
        if not any(box.meets(other) for other in sheet.taken):
            return box
    return None
