"""The sheets after a paper map: the table by county, then for each zone the whole of its advice."""

from collections.abc import Callable, Mapping, Sequence

from maps.paper.blocks import Block, block_sheets, write_cells
from maps.paper.edges import body
from maps.paper.sheet import Box, Sheet, Type
from maps.zones.printed_legend import Form, entry_lines, write_entry
from maps.zones.rows import CountyRow, ShownLayer, ZoneRow
from maps.zones.words import PAPER

HEADS = ("county", "earliest", "middle", "latest", "average_middle", "cover")
SHARES = (0.28, 0.12, 0.12, 0.12, 0.19, 0.17)  # of the width, column by column
ROW_PT, LINE_PT, GAP_PT, SECTION_PT = 19.0, 13.0, 6.0, 34.0  # of a letter sheet
CELL, HEAD, NOTE, SECTION = Type(10.5), Type(9, bold=True), Type(9), Type(13, bold=True, serif=True)
ADVICE = Form(13, 9, 2, 10)
ADVICE_COLUMNS = 2
NOTE_LINES = 2
GUTTER_PT = 22.0


def county_sheets(
    layer: ShownLayer, make_sheet: Callable[[], Sheet], head: tuple[str, str], words: Mapping[str, str]
) -> list[Sheet]:
    """Return the sheets that follow the map of a layer; `head` is their title and what stands under it."""
    return block_sheets(_table(layer.counties, words) + _advice(layer.zones, make_sheet()), make_sheet, head)


def _table(counties: Sequence[CountyRow], words: Mapping[str, str]) -> list[Block]:
    if not counties:
        return [_lines(words["no_counties"])]
    names = tuple(words[name] for name in HEADS)
    head = Block(ROW_PT, lambda sheet, box: _write_row(sheet, box, names, HEAD, 1.2), 2 * ROW_PT)
    rows = [Block(ROW_PT, _row_drawn(_cells(county)), above=head) for county in counties]
    return [_lines(words["counties_note"]), head, *rows]


def _cells(county: CountyRow) -> tuple[str, ...]:
    dates = (county.earliest, county.middle, county.latest, county.average_middle)
    cover = PAPER["outside"] if county.outside else county.cover
    return (county.county, *(day or PAPER["no_date"] for day in dates), cover)


def _row_drawn(cells: tuple[str, ...]) -> Callable[[Sheet, Box], None]:
    return lambda sheet, box: _write_row(sheet, box, cells, CELL, 0.4)


def _write_row(sheet: Sheet, box: Box, cells: Sequence[str], how: Type, rule: float) -> None:
    write_cells(sheet, box, cells, SHARES, how)
    sheet.line([box.left, box.right], [box.bottom, box.bottom], width=rule)


def _lines(text: str) -> Block:
    """Return a block with a note of at most NOTE_LINES lines."""

    def draw(sheet: Sheet, box: Box) -> None:
        for place, line in enumerate(sheet.wrapped(text, NOTE, box.width)[:NOTE_LINES]):
            sheet.write(box.left, box.top - (10 + LINE_PT * place) * sheet.scale, line, NOTE)

    return Block(NOTE_LINES * LINE_PT + 4, draw)


def _advice(zones: Sequence[ZoneRow], sheet: Sheet) -> list[Block]:
    """Return the advice two by two under a title; `sheet` is only measured on."""
    pairs = [zones[start : start + ADVICE_COLUMNS] for start in range(0, len(zones), ADVICE_COLUMNS)]
    width = _advice_width(body(sheet).width, sheet)
    lines = [max(len(entry_lines(sheet, row, ADVICE, width)) for row in pair) for pair in pairs]
    rows = [
        Block(ADVICE.height_with(count) + GAP_PT, _pair_drawn(pair))
        for pair, count in zip(pairs, lines, strict=True)
    ]
    return [Block(SECTION_PT, _write_section, SECTION_PT + rows[0].height_pt), *rows] if rows else []


def _advice_width(width: float, sheet: Sheet) -> float:
    return (width - (ADVICE_COLUMNS - 1) * GUTTER_PT * sheet.scale) / ADVICE_COLUMNS


def _write_section(sheet: Sheet, box: Box) -> None:
    sheet.write(box.left, box.bottom + 5 * sheet.scale, PAPER["to_do"], SECTION)


def _pair_drawn(pair: Sequence[ZoneRow]) -> Callable[[Sheet, Box], None]:
    def draw(sheet: Sheet, box: Box) -> None:
        width = _advice_width(box.width, sheet)
        for place, row in enumerate(pair):
            own = Box(box.left + place * (width + GUTTER_PT * sheet.scale), box.bottom, width, box.height)
            write_entry(sheet, own, row, ADVICE)

    return draw
