"""The fields of a paper map: each in the look of its class, dashed where it is only mapped, its name beside it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from maps.paper.map_frame import View, fill_placed
from maps.paper.sheet import Align, Box, Sheet, Type
from maps.sheets import Row
from maps.soil_layers import UNKNOWN_TAG, SoilShow, tags
from maps.style import INK, PAPER, Look

SMALL_PT = (
    5.5  # a field less wide and high is drawn as a square or, where it is only mapped, a dot of this size
)
DASHES = (0, (3.0, 1.8))
PART = Look("part", PAPER, INK, "\\\\\\\\\\")  # close bars, unlike any class
OUTLINE, DASHED_OUTLINE = 0.9, 1.1
NAME, VALUE = Type(7.5, halo=True), Type(9, bold=True)
PAD_PT, GAP_PT = 2.0, 4.0
RISE = 0.36  # of a line of text above its baseline to its middle, in sizes of its type
HIGH = 0.75  # of its capitals


@dataclass(frozen=True)
class DrawnField:
    """A field on the sheet [pt]: its shape there, a square or dot where it could hardly be seen, and its middle."""

    row: Row
    shape: BaseGeometry
    middle: tuple[float, float]
    is_small: bool

    @property
    def box(self) -> Box:
        """The rectangle around it [pt]."""
        left, bottom, right, top = self.shape.bounds
        return Box(left, bottom, right - left, top - bottom)


def drawn_fields(sheet: Sheet, view: View, rows: Sequence[Row], show: SoilShow) -> list[DrawnField]:
    """Return where each field lies on the sheet, large ones first."""
    placed = [_drawn(sheet, view, row, show) for row in rows]
    return sorted(placed, key=lambda field: -field.row["geometry"].area)


def draw_fields(sheet: Sheet, view: View, fields: Sequence[DrawnField], show: SoilShow) -> None:
    """Draw every field in the look of its class and, by pH, the part of it to sample first."""
    looks = {look.code: look for look in show.looks}
    for field in fields:
        mapped = show.by in field.row["mapped"] and not field.is_small
        outline, dashes = (DASHED_OUTLINE, DASHES) if mapped else (OUTLINE, "-")
        fill_placed(sheet, view, field.shape, looks[field.row[show.by]], outline=outline, dashes=dashes)
        if shows_part(field, show):
            part = view.placed(field.row["part"]["geometry"])
            fill_placed(sheet, view, part, PART, outline=OUTLINE)


def shows_part(field: DrawnField, show: SoilShow) -> bool:
    """Return whether the part of a field to sample first is drawn: by pH, where the field is large enough."""
    return show.by == "ph" and field.row["part"] is not None and not field.is_small


def write_field_names(sheet: Sheet, view: View, fields: Sequence[DrawnField], show: SoilShow) -> None:
    """Write the pH or class of each field with its name, the poorest first; what finds no room is left out."""
    order = {look.code: place for place, look in enumerate(show.looks)}
    others = shapely.STRtree([field.shape for field in fields])
    for field in sorted(fields, key=lambda field: order[field.row[show.by]]):
        value = tags(field.row)[show.by].removesuffix(UNKNOWN_TAG)
        if value and _written_inside(sheet, field, value):
            texts = [field.row["name"]]
        else:
            texts = [f"{field.row['name']}: {value}" if value else field.row["name"], value]
        any(_written_beside(sheet, view, field, text, others) for text in texts if text)


def _drawn(sheet: Sheet, view: View, row: Row, show: SoilShow) -> DrawnField:
    shape = view.placed(row["geometry"])
    left, bottom, right, top = shape.bounds
    x, y = shapely.get_coordinates(view.placed(shapely.Point(row["label"][:2])))[0]
    if max(right - left, top - bottom) >= SMALL_PT * sheet.scale:
        return DrawnField(row, shape, (x, y), is_small=False)
    half = SMALL_PT * sheet.scale / 2
    square = shapely.box(x - half, y - half, x + half, y + half)
    dot = shapely.Point(x, y).buffer(1.1 * half)
    return DrawnField(row, dot if show.by in row["mapped"] else square, (x, y), is_small=True)


def _written_inside(sheet: Sheet, field: DrawnField, text: str) -> bool:
    """Write a text on a piece of paper where a field has the most room, if it fits there."""
    pad, high = PAD_PT * sheet.scale, HIGH * VALUE.size * sheet.scale + 2 * PAD_PT * sheet.scale
    wide, (x, y) = sheet.width_of(text, VALUE) + 2 * pad, field.middle
    box = Box(x - wide / 2, y - high / 2, wide, high)
    paper = shapely.box(box.left, box.bottom, box.right, box.top)
    if not field.shape.contains(paper) or any(box.meets(other) for other in sheet.taken):
        return False
    sheet.chip(box, text, VALUE, pad)
    return True


def _written_beside(sheet: Sheet, view: View, field: DrawnField, text: str, others: shapely.STRtree) -> bool:
    """Write a text beside a field where neither a field nor another text lies, and return whether there was room."""
    wide, high = sheet.width_of(text, NAME), NAME.size * sheet.scale
    for x, y, align in _places(field.box, sheet.scale):
        left = {"left": x, "right": x - wide, "center": x - wide / 2}[align]
        covered = shapely.box(left, y, left + wide, y + HIGH * high)
        if others.query(covered, predicate="intersects").size == 0 and sheet.try_to_write(
            x, y, text, NAME, within=view.frame, align=align
        ):
            return True
    return False


def _places(box: Box, scale: float) -> Iterator[tuple[float, float, Align]]:
    """Give the places around a box that a line of text may take: right, left, above, below."""
    gap, rise = GAP_PT * scale, RISE * NAME.size * scale
    middle = box.bottom + box.height / 2 - rise
    yield box.right + gap, middle, "left"
    yield box.left - gap, middle, "right"
    yield box.left + box.width / 2, box.top + gap, "center"
    yield box.left + box.width / 2, box.bottom - gap - 2 * rise, "center"
