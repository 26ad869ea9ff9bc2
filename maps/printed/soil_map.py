"""The soil of the fields on paper: a map by pH, one by K, one by P where it is known, then what to buy."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from maps import ground, labels
from maps.layers import field_rows
from maps.paper.edges import body, new_sheet, write_foot, write_head
from maps.paper.files import check_paper, drawn_our_way, write_sheets
from maps.paper.ground import draw_ground, keep_towns, write_counties, write_streams, write_towns
from maps.paper.map_frame import draw_frame, draw_north, draw_scale, view_of
from maps.paper.places import is_wide, map_places
from maps.paper.sheet import Sheet, Type
from maps.printed.drawn_fields import draw_fields, drawn_fields, shows_part, write_field_names
from maps.printed.purchase_sheets import purchase_sheets
from maps.printed.soil_legend import legend_pieces, soil_sources, write_pieces
from maps.printed.words import SOIL_PAPER
from maps.sheets import Row
from maps.soil_layers import SOIL_SHOWS, SoilShow
from spatial.plan import Plan

PLAIN = Type(12)
LEGEND_PIECES = 9  # at most, beside the map or under it
ALWAYS = "ph"  # its sheet is printed even where nothing is known


def print_soil(plan: Plan, path: Path, made_on: datetime, paper: str) -> None:
    """Write the soil of a plan for print: all sheets as .pdf, or the map by pH alone as .png.

    `paper` is letter, a4 or a3; a wide region lies sideways, a tall one upright. Equal plans give equal bytes.
    Raises InputError for another paper or file ending, OSError where the file cannot be written.
    """
    check_paper(path, paper)
    title = SOIL_PAPER["file_title"].format(region=plan.region.name)
    write_sheets(soil_sheets(plan, made_on, paper), path, title)


def soil_sheets(plan: Plan, made_on: datetime, paper: str) -> list[Sheet]:
    """Return the sheets: a map by pH, one by K and one by P where these are known, then what each client is to buy."""
    rows = field_rows(plan)
    shows = [show for show in SOIL_SHOWS if show.by == ALWAYS or any(row[show.by] for row in rows)]
    with drawn_our_way():
        make_sheet = partial(new_sheet, paper, wide=is_wide(plan.fields.geometry.total_bounds))
        under = SOIL_PAPER["under_title"].format(
            region=plan.region.name, day=labels.day_in_year(plan.settings.on)
        )
        maps = [_map_sheet(plan, rows, show, make_sheet(), under) for show in shows]
        tables = purchase_sheets(plan, make_sheet, (SOIL_PAPER["title_buy"], under))
        sources = [*(soil_sources(rows, show) for show in shows), *([] for _ in tables)]
        made = SOIL_PAPER["made_on"].format(when=labels.day_in_year(made_on))
        sheets = [*maps, *tables]
        for number, (sheet, lines) in enumerate(zip(sheets, sources, strict=True), 1):
            which = SOIL_PAPER["sheet"].format(number=number, count=len(sheets))
            write_foot(sheet, SOIL_PAPER["caution"], lines, made, which)
    return sheets


def _map_sheet(plan: Plan, rows: Sequence[Row], show: SoilShow, sheet: Sheet, under: str) -> Sheet:
    write_head(sheet, SOIL_PAPER[f"title_{show.by}"], under)
    drawn = [row for row in rows if row["geometry"] is not None and not row["geometry"].is_empty]
    if drawn:
        _draw_map(plan, rows, drawn, show, sheet)
    else:
        room = body(sheet)
        sheet.write(room.left, room.top - 30 * sheet.scale, SOIL_PAPER["no_shapes"], PLAIN)
    return sheet


def _draw_map(plan: Plan, rows: Sequence[Row], drawn: Sequence[Row], show: SoilShow, sheet: Sheet) -> None:
    places, region = map_places(sheet, LEGEND_PIECES), plan.region
    view = view_of([row["geometry"] for row in drawn], places.frame)
    beneath = ground.ground(plan.fields, region.context, region.roads)
    draw_ground(sheet, view, beneath)
    fields = drawn_fields(sheet, view, drawn, show)
    draw_fields(sheet, view, fields, show)
    draw_frame(sheet, view)
    towns = keep_towns(sheet, view, [(town["name"], town["at"]) for town in beneath["towns"]])
    write_field_names(sheet, view, fields, show)
    sheet.taken += [field.box for field in fields]
    write_towns(sheet, view, towns)
    write_counties(sheet, view, [(county["name"], county["at"]) for county in beneath["counties"]])
    write_streams(sheet, view, region.context.get("streams"))
    strip = places.frame.bottom - 26 * sheet.scale
    draw_north(sheet, view, places.frame.left + 8 * sheet.scale, strip - 20 * sheet.scale, SOIL_PAPER)
    draw_scale(sheet, view, places.frame.right, strip - 4 * sheet.scale, SOIL_PAPER)
    parts = sum(shows_part(field, show) for field in fields)
    write_pieces(sheet, places.legend, legend_pieces(rows, show, region.units, parts))
