"""The last-cut zones on paper: for each grass a map that a room can read, then the table by county."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_pdf import PdfPages
from shapely.geometry import LineString

from maps import labels
from maps.paper.edges import body, new_sheet, write_foot, write_head
from maps.paper.map_frame import View, draw_frame, draw_lines, draw_north, draw_scale, fill_shape, view_of
from maps.paper.sheet import PAPERS_PT, Box, Sheet, Type
from maps.style import INK
from maps.zones.ground import streams_of, zone_ground
from maps.zones.looks import UNKNOWN
from maps.zones.printed_legend import write_legend
from maps.zones.printed_names import keep_towns, write_counties, write_days, write_streams, write_towns
from maps.zones.printed_tables import county_sheets
from maps.zones.rows import ShownLayer, shown_layers, sources
from maps.zones.words import PAPER, chance_name, paper_words, sentence_case
from spatial.errors import InputError, Problem
from spatial.zones import Zones

# Text stays text in the PDF, with its type inside.
DRAWN: dict[Any, Any] = {
    "pdf.fonttype": 42,
    "text.hinting": "none",
    "text.usetex": False,
    "font.family": "DejaVu Sans",
    "hatch.linewidth": 0.7,
}
PNG_DPI = 150
STRIP_PT, LATITUDES_PT = 50.0, 48.0  # of a letter sheet: beneath the map for scale and north, left of it
SIDE_SHARE, UNDER_SHARE = 0.32, 0.30  # of the sheet, for the legend beside the map or under it
FEW_ZONES = 6  # fit into two columns under the map
WIDE = 0.95  # a district at least so wide for its height lies on a sheet held sideways
WATER = "#2f7fae"
PLAIN = Type(12)


@dataclass(frozen=True)
class Places:
    """Where the parts of a map sheet go."""

    frame: Box
    legend: tuple[Box, ...]  # columns


def print_zones(zones: Zones, path: Path, made_on: datetime, paper: str) -> None:
    """Write the zones at the chance of the settings for print: all sheets as .pdf, or the first map alone as .png.

    `paper` is letter, a4 or a3; a wide district lies sideways, a tall one upright. Equal zones give equal bytes.
    Raises InputError for another paper or file ending, OSError where the file cannot be written.
    """
    _check(path, paper)
    sheets = zone_sheets(zones, made_on, paper)
    with _drawn_our_way():
        if path.suffix.lower() == ".png":
            sheets[0].figure.savefig(path, format="png", dpi=PNG_DPI, metadata={"Software": None})
            return
        info = {"Title": PAPER["file_title"].format(region=zones.region.name), "CreationDate": None}
        with PdfPages(path, metadata=info) as pages:
            for sheet in sheets:
                pages.savefig(sheet.figure)


def zone_sheets(zones: Zones, made_on: datetime, paper: str) -> list[Sheet]:
    """Return the sheets of every grass at the chance of the settings: its map, then its table by county."""
    layers = shown_layers(zones)
    chance = min(
        (layer.chance for layer in layers), key=lambda one: abs(one - zones.settings.chance), default=0
    )
    shown = [layer for layer in layers if layer.chance == chance]
    with _drawn_our_way():
        make_sheet = partial(new_sheet, paper, wide=_is_wide(zones))
        sheets = [sheet for layer in shown for sheet in _layer_sheets(zones, layer, make_sheet)]
        made = PAPER["made_on"].format(when=labels.day_in_year(made_on))
        for number, sheet in enumerate(sheets, 1):
            write_foot(sheet, sources(zones), made, PAPER["sheet"].format(number=number, count=len(sheets)))
    return sheets


@contextmanager
def _drawn_our_way() -> Iterator[None]:
    """Draw by our settings: what the machine says to the drawing library changes nothing, nor does this change that."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(DRAWN)
        yield


def _check(path: Path, paper: str) -> None:
    problems = []
    if paper not in PAPERS_PT:
        mend = f"Use one of: {', '.join(PAPERS_PT)}"
        problems.append(Problem("print", "", f"{paper!r} is no paper that is known", mend))
    if path.suffix.lower() not in {".pdf", ".png"}:
        problems.append(
            Problem(path.name, "", "ends in neither .pdf nor .png", "Give it one of these endings")
        )
    if problems:
        raise InputError(problems)


def _is_wide(zones: Zones) -> bool:
    if zones.bands.empty:
        return True
    west, south, east, north = zones.bands.geometry.total_bounds
    narrow = math.cos(math.radians((south + north) / 2))
    return bool((east - west) * narrow >= WIDE * (north - south))


def _layer_sheets(zones: Zones, layer: ShownLayer, make_sheet: partial[Sheet]) -> list[Sheet]:
    sheet = make_sheet()
    words = paper_words(zones.area_kind)
    under = words["under_title"].format(
        region=zones.region.name, year=zones.season.year, chance=chance_name(layer.chance)
    )
    if any(note.code == "zone_past" for note in zones.notes):
        under = f"{under} {words['past']}"
    write_head(sheet, sentence_case(PAPER["title"].format(grass=layer.grass_name)), under)
    if layer.zones:
        _write_map(sheet, zones, layer)
    else:
        room = body(sheet)
        sheet.write(room.left, room.top - 30 * sheet.scale, PAPER["no_zones"], PLAIN)
    title = sentence_case(words["counties_title"].format(grass=layer.grass_name))
    return [sheet, *county_sheets(layer, make_sheet, (title, under), words)]


def _write_map(sheet: Sheet, zones: Zones, layer: ShownLayer) -> None:
    """Draw the map with its legend."""
    places = _places(sheet, len(layer.zones))
    # An empty shape has no bounds, and asks for no room.
    view = view_of([*(row.shape for row in layer.zones), layer.unknown], places.frame)
    fill_shape(sheet, view, layer.unknown, UNKNOWN, outline=0.5)
    for row in layer.zones:
        fill_shape(sheet, view, row.shape, row.look, outline=0.9)
    beneath = zone_ground(zones)
    _draw_ground(sheet, view, beneath)
    draw_frame(sheet, view)
    towns = keep_towns(sheet, view, [(town["name"], town["at"]) for town in beneath["towns"]])
    write_days(sheet, view, layer.zones)
    write_towns(sheet, view, towns)
    write_counties(sheet, view, [(county["name"], county["at"]) for county in beneath["counties"]])
    write_streams(sheet, view, streams_of(zones))
    strip = places.frame.bottom - 26 * sheet.scale
    draw_north(sheet, view, places.frame.left + 8 * sheet.scale, strip - 20 * sheet.scale, PAPER)
    draw_scale(sheet, view, places.frame.right, strip - 4 * sheet.scale, PAPER)
    write_legend(sheet, places.legend, layer.zones, PAPER["legend"], unknown=not layer.unknown.is_empty)


def _draw_ground(sheet: Sheet, view: View, beneath: dict[str, Any]) -> None:
    """Draw streams and county lines, each on a paler, wider line that parts it from the zones."""
    streams = [LineString(line) for line in beneath["streams"]]
    borders = [LineString(line) for county in beneath["counties"] for line in county["lines"]]
    draw_lines(sheet, view, streams, "#ffffff", 2.2)
    draw_lines(sheet, view, streams, WATER, 1.1)
    draw_lines(sheet, view, borders, "#ffffff", 2.4)
    draw_lines(sheet, view, borders, INK, 1.0, (0, (7, 3, 1.5, 3)))


def _places(sheet: Sheet, count: int) -> Places:
    """Return the places of the map and a legend of `count` zones: side by side on a wide sheet, else one above."""
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
    columns = 2 if count <= FEW_ZONES else 3
    width = (room.width - (columns - 1) * gap) / columns
    lefts = [room.left + place * (width + gap) for place in range(columns)]
    return Places(frame, tuple(Box(left, room.bottom, width, low - gap) for left in lefts))
