"""What is written on a sheet of paper and where, as the drawing library measures it."""

import itertools

import numpy as np
from matplotlib.text import Text

from maps.paper.sheet import Sheet


def extents(sheet: Sheet) -> dict[int, tuple[str, np.ndarray]]:
    """Return every text with the corners of its box [pixels], as the drawing library measures them."""
    texts = [text for text in sheet.figure.findobj(Text) if text.get_visible() and text.get_text()]
    renderer = sheet.canvas.get_renderer()
    return {
        place: (text.get_text(), text.get_window_extent(renderer).extents) for place, text in enumerate(texts)
    }


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    """Return the texts that lie on one another."""
    boxes = extents(sheet).values()
    return [
        (one, other)
        for (one, (left, bottom, right, top)), (other, (l2, b2, r2, t2)) in itertools.combinations(boxes, 2)
        if left < r2 and l2 < right and bottom < t2 and b2 < top
    ]


def outside(sheet: Sheet) -> list[str]:
    """Return the texts that leave the paper."""
    wide, high = sheet.figure.bbox.width, sheet.figure.bbox.height
    return [
        text
        for text, (left, bottom, right, top) in extents(sheet).values()
        if left < 0 or bottom < 0 or right > wide or top > high
    ]


def words(sheet: Sheet) -> list[str]:
    """Return every text of a sheet."""
    return [text for text, _box in extents(sheet).values()]
