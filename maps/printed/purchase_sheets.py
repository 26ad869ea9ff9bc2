"""What to buy on paper: a table a client, each row with its reason, on as many sheets as it takes."""

from collections.abc import Callable, Sequence

from maps.page_words import PAGE
from maps.paper.blocks import Block, block_sheets, write_cells
from maps.paper.edges import body
from maps.paper.sheet import Align, Box, Sheet, Type
from maps.printed.words import SOIL_PAPER
from maps.purchases import ClientNeeds, Need, buy_lines, needs_by_client
from spatial.plan import Plan

SHARES = (0.40, 0.10, 0.25, 0.25)  # of the width, column by column
ALIGNS: tuple[Align, ...] = ("left", "left", "right", "right")
CLIENT, HEAD, CELL, STRONG = Type(14, bold=True, serif=True), Type(9), Type(10.5), Type(10.5, bold=True)
REASON, LINE, TOTAL = Type(9), Type(10), Type(10.5, bold=True)
CLIENT_PT, TOTAL_PT, HEAD_PT, ROW_PT, LEADING_PT, GAP_PT = (
    32.0,
    15.0,
    19.0,
    19.0,
    12.0,
    1.0,
)  # of a letter sheet
NARROWEST = 8.0


def purchase_sheets(plan: Plan, make_sheet: Callable[[], Sheet], head: tuple[str, str]) -> list[Sheet]:
    """Return the sheets of what to buy; `head` is the title of each and what stands under it."""
    measured = make_sheet()  # only measured on
    width = body(measured).width
    said = [line for text in buy_lines(plan) for line in measured.wrapped(text, LINE, width)]
    blocks = [_line(line) for line in said]
    for needs in needs_by_client(plan):
        blocks += _client(needs, measured, width)
    return block_sheets(blocks, make_sheet, head)


def _client(needs: ClientNeeds, measured: Sheet, width: float) -> list[Block]:
    rows = [_row(need, measured.wrapped(need.reason, REASON, width)) for need in needs.needs]
    again = _head(SOIL_PAPER["continued"].format(client=needs.client), ())
    first = _head(needs.client, needs.totals)
    return [
        Block(first.height_pt, first.draw, first.height_pt + rows[0][0]),
        *(Block(height_pt, draw, above=again) for height_pt, draw in rows),
    ]


def _head(client: str, totals: Sequence[str]) -> Block:
    """Return the head of a client's table: who, how much in all, the names of the columns."""

    def draw(sheet: Sheet, box: Box) -> None:
        fitting = sheet.fitting(client, CLIENT, NARROWEST, box.width)
        top = box.top - (CLIENT_PT - 8) * sheet.scale
        sheet.write(box.left, top, sheet.shortened(client, fitting, box.width), fitting)
        for place, line in enumerate(totals, 1):
            sheet.write(box.left, top - TOTAL_PT * place * sheet.scale, line, TOTAL)
        names = (PAGE["buy_field"], PAGE["buy_item"], PAGE["buy_rate"], PAGE["buy_amount"])
        write_cells(sheet, box, names, SHARES, HEAD, ALIGNS)
        sheet.line([box.left, box.right], [box.bottom, box.bottom], width=1.2)

    return Block(CLIENT_PT + TOTAL_PT * len(totals) + HEAD_PT, draw)


def _row(need: Need, reason: Sequence[str]) -> tuple[float, Callable[[Sheet, Box], None]]:
    """Return the height of a row with its reason [pt of a letter sheet], and what draws it."""

    def draw(sheet: Sheet, box: Box) -> None:
        high = ROW_PT * sheet.scale
        first = Box(box.left, box.top - high, box.width, high)
        write_cells(sheet, first, (need.field, need.item, need.rate, need.amount), SHARES, STRONG, ALIGNS)
        for place, line in enumerate(reason):
            sheet.write(box.left, first.bottom - (6 + LEADING_PT * place) * sheet.scale, line, REASON)
        sheet.line([box.left, box.right], [box.bottom, box.bottom], width=0.4)

    return ROW_PT + LEADING_PT * len(reason) + GAP_PT, draw


def _line(text: str) -> Block:
    return Block(LEADING_PT + 2, lambda sheet, box: _write(sheet, box, text))


def _write(sheet: Sheet, box: Box, text: str) -> None:
    sheet.write(box.left, box.bottom + 4 * sheet.scale, text, LINE)
