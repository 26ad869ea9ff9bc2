"""Where map and legend go on a sheet of paper, and which way it is held."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from maps.paper.edges import body
from maps.paper.sheet import Box, Sheet

STRIP_PT, LATITUDES_PT = 50.0, 48.0  # of a letter sheet: beneath the map for scale and north, left of it
SIDE_SHARE, UNDER_SHARE = 0.32, 0.30  # of the sheet, for the legend beside the map or under it
FEW_ENTRIES = 6  # fit into two columns under the map
WIDE = 0.95  # a district at least so wide for its height lies on a sheet held sideways


@dataclass(frozen=True)
class Places:
    """Where the parts of a map sheet go."""

    frame: Box
    legend: tuple[Box, ...]  # columns


def is_wide(bounds: NDArray[np.float64]) -> bool:
    """Return whether a district (west, south, east, north [deg]) lies sideways; one without bounds does too."""
    west, south, east, north = bounds
    if math.isnan(west):
        return True
    narrow = math.cos(math.radians((south + north) / 2))
    return bool((east - west) * narrow >= WIDE * (north - south))


def map_places(sheet: Sheet, count: int) -> Places:
    """Return the places of the map and a legend of `count` entries: side by side on a wide sheet, else one above."""
    room, scale = body(sheet), sheet.scale
    strip, latitudes, gap = STRIP_PT * scale, LATITUDES_PT * scale, 16 * scale
    if sheet.width > sheet.height:
        side = SIDE_SHARE * room.width
        frame = Box(
            room.left + latitudes,
            room.bottom + strip,
            room.width - side - gap - latitudes,
            room.height - strip,
        )
        return Places(frame, (Box(room.right - side, room.bottom, side, room.height),))
    low = UNDER_SHARE * room.height
    frame = Box(
        room.left + latitudes, room.bottom + low + strip, room.width - latitudes, room.height - low - strip
    )
    columns = 2 if count <= FEW_ENTRIES else 3
    width = (room.width - (columns - 1) * gap) / columns
    lefts = [room.left + place * (width + gap) for place in range(columns)]
    return Places(frame, tuple(Box(left, room.bottom, width, low - gap) for left in lefts))
