"""The head and foot of a sheet, and the room between them."""

from collections.abc import Sequence

from maps.paper.sheet import PAPERS_PT, Box, Sheet, Type

TITLE, UNDER = Type(25, bold=True, serif=True), Type(12.5)
LEAST_TITLE, LEAST_UNDER = 13.0, 8.5  # a long name makes the type smaller before it is cut
CAUTION, SMALL = Type(10, bold=True), Type(7.5)
HEAD_PT, FOOT_PT = 54.0, 44.0  # of a letter sheet
SOURCE_LINES = 2
SOURCE_SHARE = 0.74  # of the width; the rest holds the day of making


def new_sheet(paper: str, *, wide: bool) -> Sheet:
    """Return an empty sheet of letter, a4 or a3, held sideways or upright."""
    long, short = PAPERS_PT[paper]
    return Sheet(long, short) if wide else Sheet(short, long)


def body(sheet: Sheet) -> Box:
    """Return the room between head and foot."""
    room, scale = sheet.room, sheet.scale
    return Box(
        room.left, room.bottom + FOOT_PT * scale, room.width, room.height - (HEAD_PT + FOOT_PT) * scale
    )


def write_head(sheet: Sheet, title: str, under: str) -> None:
    """Write the title and the line under it."""
    room, scale = sheet.room, sheet.scale
    for text, how, least, down in ((title, TITLE, LEAST_TITLE, 22), (under, UNDER, LEAST_UNDER, 42)):
        fitting = sheet.fitting(text, how, least, room.width)
        line = sheet.shortened(text, fitting, room.width)
        sheet.write(room.left, room.top - down * scale, line, fitting)


def write_foot(sheet: Sheet, caution: str, sources: Sequence[str], made: str, number: str) -> None:
    """Write the caution, where the figures come from, when the sheet was made and which of how many it is."""
    room, scale = sheet.room, sheet.scale
    sheet.line([room.left, room.right], [room.bottom + 37 * scale] * 2)
    sheet.write(
        room.left,
        room.bottom + 25 * scale,
        caution,
        sheet.fitting(caution, CAUTION, SMALL.size, room.width),
    )
    lines = sheet.wrapped(" ".join(sources), SMALL, room.width * SOURCE_SHARE)[:SOURCE_LINES]
    for place, line in enumerate(lines):
        sheet.write(room.left, room.bottom + (12 - 11 * place) * scale, line, SMALL)
    for text, up in ((made, 12), (number, 1)):
        sheet.write(room.right, room.bottom + up * scale, text, SMALL, "right")
