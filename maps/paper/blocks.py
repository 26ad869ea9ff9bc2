"""Blocks that follow one another down a sheet and on to the next: tables, notes, entries; none is broken."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from maps.paper.edges import body, write_head
from maps.paper.sheet import Align, Box, Sheet, Type

CELL_GAP_PT = 6.0  # of a letter sheet
LEAST_CELL = 7.0  # size of the smallest type in a cell


@dataclass(frozen=True)
class Block:
    """A part of a sheet that is not broken: its height, the height it begins with, and what draws it into a box.

    `above` is drawn once more where the block begins a sheet.
    """

    height_pt: float
    draw: Callable[[Sheet, Box], None]
    needs_pt: float = 0.0
    above: "Block | None" = None


def block_sheets(
    blocks: Sequence[Block], make_sheet: Callable[[], Sheet], head: tuple[str, str]
) -> list[Sheet]:
    """Return blocks on as many sheets as they need; `head` is the title of each and what stands under it."""
    sheets: list[Sheet] = []
    left_pt = 0.0
    for block in blocks:
        if not sheets or left_pt < max(block.height_pt, block.needs_pt):
            sheets.append(make_sheet())
            write_head(sheets[-1], *head)
            left_pt = body(sheets[-1]).height / sheets[-1].scale
            if block.above is not None:
                left_pt = _drawn(sheets[-1], block.above, left_pt)
        left_pt = _drawn(sheets[-1], block, left_pt)
    return sheets


def write_cells(
    sheet: Sheet,
    box: Box,
    cells: Sequence[str],
    shares: Sequence[float],
    how: Type,
    aligns: Sequence[Align] = (),
) -> None:
    """Write one row of a table along the foot of a box; `shares` are the columns' parts of its width."""
    left, gap = box.left, CELL_GAP_PT * sheet.scale
    sides: Sequence[Align] = aligns or ["left"] * len(cells)
    for text, share, align in zip(cells, shares, sides, strict=True):
        width = share * box.width - gap
        fitting = sheet.fitting(text, how, LEAST_CELL, width)
        x = left if align == "left" else left + width
        sheet.write(x, box.bottom + gap, sheet.shortened(text, fitting, width), fitting, align)
        left += share * box.width


def _drawn(sheet: Sheet, block: Block, left_pt: float) -> float:
    """Draw a block and return the height [pt] that is left beneath it."""
    room, height = body(sheet), block.height_pt * sheet.scale
    block.draw(sheet, Box(room.left, room.bottom + left_pt * sheet.scale - height, room.width, height))
    return left_pt - block.height_pt
