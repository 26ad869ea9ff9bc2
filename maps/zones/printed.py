"""The last-cut zones on paper: for each grass a map that a room can read, then the table by county."""

from datetime import datetime
from functools import partial
from pathlib import Path

from maps import labels
from maps.paper.edges import body, new_sheet, write_foot, write_head
from maps.paper.files import check_paper, drawn_our_way, write_sheets
from maps.paper.ground import draw_ground, keep_towns, write_counties, write_streams, write_towns
from maps.paper.map_frame import draw_frame, draw_north, draw_scale, fill_shape, view_of
from maps.paper.places import is_wide, map_places
from maps.paper.sheet import Sheet, Type
from maps.zones.ground import streams_of, zone_ground
from maps.zones.looks import UNKNOWN
from maps.zones.printed_legend import write_legend
from maps.zones.printed_names import write_days
from maps.zones.printed_tables import county_sheets
from maps.zones.rows import ShownLayer, shown_layers, sources
from maps.zones.words import PAPER, chance_name, paper_words, sentence_case
from spatial.zones import Zones

PLAIN = Type(12)


def print_zones(zones: Zones, path: Path, made_on: datetime, paper: str) -> None:
    """Write the zones at the chance of the settings for print: all sheets as .pdf, or the first map alone as .png.

    `paper` is letter, a4 or a3; a wide district lies sideways, a tall one upright. Equal zones give equal bytes.
    Raises InputError for another paper or file ending, OSError where the file cannot be written.
    """
    check_paper(path, paper)
    write_sheets(
        zone_sheets(zones, made_on, paper), path, PAPER["file_title"].format(region=zones.region.name)
    )


def zone_sheets(zones: Zones, made_on: datetime, paper: str) -> list[Sheet]:
    """Return the sheets of every grass at the chance of the settings: its map, then its table by county."""
    layers = shown_layers(zones)
    chance = min(
        (layer.chance for layer in layers), key=lambda one: abs(one - zones.settings.chance), default=0
    )
    shown = [layer for layer in layers if layer.chance == chance]
    with drawn_our_way():
        make_sheet = partial(new_sheet, paper, wide=is_wide(zones.bands.geometry.total_bounds))
        sheets = [sheet for layer in shown for sheet in _layer_sheets(zones, layer, make_sheet)]
        made = PAPER["made_on"].format(when=labels.day_in_year(made_on))
        for number, sheet in enumerate(sheets, 1):
            which = PAPER["sheet"].format(number=number, count=len(sheets))
            write_foot(sheet, PAPER["caution"], sources(zones), made, which)
    return sheets


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
    places = map_places(sheet, len(layer.zones))
    # An empty shape has no bounds, and asks for no room.
    view = view_of([*(row.shape for row in layer.zones), layer.unknown], places.frame)
    fill_shape(sheet, view, layer.unknown, UNKNOWN, outline=0.5)
    for row in layer.zones:
        fill_shape(sheet, view, row.shape, row.look, outline=0.9)
    beneath = zone_ground(zones)
    draw_ground(sheet, view, beneath)
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
