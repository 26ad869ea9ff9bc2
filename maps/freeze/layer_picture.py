"""A freeze layer as a picture: the date of one chance in steps of a week, its error beside it, and the stations."""

import math
import textwrap
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from maps.freeze import words
from maps.freeze.cells import WHITE, draw_cells, draw_stations, key_of, stations_within
from maps.freeze.steps import Steps, date_steps, error_steps
from maps.freeze.view import LayerView, degree_ticks, north_turn, read_view, size_m
from maps.labels import chance_words
from maps.paper.picture import drawable, sheet
from maps.style import INK
from spatial.units import KM_PER_MILE

# All lengths in inches.
LEFT, LEGEND, GAP, TOP, BOTTOM = 0.75, 1.75, 0.3, 1.2, 1.15
MOST_WIDTHS, MOST_HEIGHT = (7.0, 4.4), 5.4  # widths of one map, and of two
KEY_LINE, MORE_KEY_LINES = 0.19, 5  # height of a line of a legend, and those that are no step
LEAST_SIDE, LEAST_SHEET_WIDTH = 0.6, 7.0
TICK_WIDTH, TICK_HEIGHT = 1.0, 0.8  # room for the name of a degree
BAR_HEIGHT, BAR_STEP, BAR_NAME, ARROW = 0.07, 0.18, 0.95, 0.32
BAR_LENGTHS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
BAR_SHARE = 0.5  # of the width of a map, at most
M_PER_KM = 1000.0
BARS = ((words.MILES, KM_PER_MILE * M_PER_KM), (words.KILOMETRES, M_PER_KM))
LETTERS_PER_IN = 9  # of the title


@dataclass(frozen=True)
class Room:
    """A sheet and the maps on it [in]: their left edges, all at `low`, each `width` by `height`."""

    sheet_width: float
    sheet_height: float
    lefts: tuple[float, ...]
    low: float
    width: float
    height: float


@dataclass(frozen=True)
class Shown:
    """What one map shows: its name, its values on the cells and their steps."""

    name: str
    values: NDArray[np.float64]
    steps: Steps


def draw_layer(
    layer: Path,
    picture: Path,
    title: str,
    units: str,
    stations: pd.DataFrame | None = None,
    chance: float = 0.2,
) -> None:
    """Draw a layer of chances as a PNG picture, in `units` ("us" or "metric").

    Left the date of `chance` in steps of weeks, with the stations; right its standard error, where the layer has
    one. `stations` has columns `longitude_deg`, `latitude_deg` and `day` (at the same chance, since the season's
    first day; +inf never, NaN not known). Raises InputError where the layer cannot be read or lacks the chance.
    """
    view = read_view(layer, chance)
    placed = None if stations is None else stations_within(view, stations)
    shown = _shown(view, placed, chance)
    room = _room(view, shown)
    with sheet(picture, room.sheet_width, room.sheet_height) as figure:
        for number, one in enumerate(shown):
            panel = figure.add_axes(_place(room, number))
            draw_cells(panel, view, one.values, one.steps)
            _name_degrees(panel, view, room, first=number == 0)
            key = key_of(one.values, one.steps)
            if number == 0 and placed is not None and len(placed):
                key.append(draw_stations(panel, view, placed, one.steps))
            _write_key(panel, one.name, key)
        _write_round(figure, room, view, title, units)


def _shown(view: LayerView, stations: pd.DataFrame | None, chance: float) -> list[Shown]:
    own = np.empty(0) if stations is None else stations["day"].to_numpy(np.float64)
    steps = date_steps(np.concatenate([view.days.ravel(), own]), view.season_start)
    dates = Shown(words.LAYER_DATES.format(chance=chance_words(chance)), view.days, steps)
    if not np.isfinite(view.error_days).any():
        return [dates]
    errors = np.where(np.isposinf(view.days), np.inf, view.error_days)
    return [dates, Shown(words.LAYER_ERRORS, errors, error_steps(errors))]


def _room(view: LayerView, shown: list[Shown]) -> Room:
    width_m, height_m = size_m(view)
    width = min(MOST_WIDTHS[len(shown) - 1], MOST_HEIGHT * width_m / height_m)
    height = max(width * height_m / width_m, LEAST_SIDE)
    width = max(width, LEAST_SIDE)
    lefts = tuple(LEFT + number * (width + LEGEND + GAP) for number in range(len(shown)))
    key_lines = max(len(one.steps.fills) for one in shown) + MORE_KEY_LINES
    sheet_height = TOP + max(height, key_lines * KEY_LINE) + BOTTOM
    sheet_width = max(lefts[-1] + width + LEGEND, LEAST_SHEET_WIDTH)
    return Room(sheet_width, sheet_height, lefts, sheet_height - TOP - height, width, height)


def _place(room: Room, number: int) -> tuple[float, float, float, float]:
    """Return left, low, width and height of a map as shares of the sheet."""
    wide, high = room.sheet_width, room.sheet_height
    return room.lefts[number] / wide, room.low / high, room.width / wide, room.height / high


def _name_degrees(panel: Axes, view: LayerView, room: Room, *, first: bool) -> None:
    if view.crs is None:
        panel.set_xticks([])
        panel.set_yticks([])
        return
    most = max(1, int(room.width / TICK_WIDTH)), max(1, int(room.height / TICK_HEIGHT))
    lons, lats = degree_ticks(view, *most)
    panel.set_xticks(list(lons), [words.degree_name(degrees, "EW") for degrees in lons.values()], fontsize=8)
    panel.set_yticks(list(lats), [words.degree_name(degrees, "NS") for degrees in lats.values()], fontsize=8)
    panel.tick_params(labelleft=first)


def _write_key(panel: Axes, name: str, key: list[Artist]) -> None:
    panel.set_title(name, loc="left", fontsize=10)
    place: dict[str, Any] = {"loc": "upper left", "bbox_to_anchor": (1.0, 1.0), "borderaxespad": 0.4}
    panel.legend(handles=key, frameon=False, fontsize=8.5, handleheight=1.2, **place)


def _write_round(figure: Figure, room: Room, view: LayerView, title: str, units: str) -> None:
    """Write the title above the maps, scale and north beneath the first, and the caution at the foot."""
    over = figure.add_axes(
        (0, 0, 1, 1), frameon=False, xlim=(0, room.sheet_width), ylim=(0, room.sheet_height)
    )
    over.set_axis_off()
    most = int(room.sheet_width * LETTERS_PER_IN)
    over.text(
        0.2, room.sheet_height - 0.4, textwrap.shorten(drawable(title), most, placeholder=" ..."), fontsize=13
    )
    over.text(
        0.2, room.sheet_height - 0.68, words.layer_under(view.threshold_c, view.seasons, units), fontsize=10
    )
    over.text(0.2, 0.15, words.CAUTION, fontsize=8.5)
    if view.crs is not None:
        _draw_scale(over, room, size_m(view)[0])
        _draw_north(over, room, north_turn(view))


def _draw_scale(over: Axes, room: Room, width_m: float) -> None:
    for number, (name, metres) in enumerate(BARS):
        length = _bar_length(width_m / metres)
        half = length * metres / width_m * room.width / 2
        low = room.low - 0.5 - number * BAR_STEP
        for part, fill in enumerate((INK, WHITE)):
            at = (room.lefts[0] + part * half, low)
            over.add_patch(Rectangle(at, half, BAR_HEIGHT, facecolor=fill, edgecolor=INK, linewidth=0.6))
        text = name.format(length=length)
        over.text(room.lefts[0] + 2 * half + 0.08, low + BAR_HEIGHT / 2, text, fontsize=8, va="center")


def _bar_length(width: float) -> float:
    longest = BAR_SHARE * width
    return max((one for one in BAR_LENGTHS if one <= longest), default=BAR_LENGTHS[0])


def _draw_north(over: Axes, room: Room, turn: float) -> None:
    """Draw an arrow to true north, right of the scale."""
    x, y = room.lefts[0] + BAR_SHARE * room.width + BAR_NAME, room.low - 0.68
    tip = (x + ARROW * math.sin(turn), y + ARROW * math.cos(turn))
    style = {"arrowstyle": "-|>", "color": INK, "shrinkA": 0, "shrinkB": 0}
    over.annotate("", tip, xytext=(x, y), arrowprops=style)
    over.text(x + 0.12, y, words.NORTH, fontsize=10)
