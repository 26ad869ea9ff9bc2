"""The legend of a paper map: every zone with its hatch, day and land, and four lines of advice where there is room."""

from collections.abc import Sequence
from dataclasses import dataclass

from maps.paper.sheet import Box, Sheet, Type
from maps.zones import words as zone_words
from maps.zones.looks import UNKNOWN
from maps.zones.rows import ZoneRow

ADVICE_LINES = 4
LEADING = 1.3  # of a line, in sizes of its type
TITLE = Type(12, serif=True, bold=True)
NOTE, UNKNOWN_TYPE = Type(8), Type(10)
TITLE_PT = 22.0
NOTE_LINES, NOTE_PT, UNKNOWN_PT = 3, 10.0, 22.0
LEAST = 6.5  # size of the smallest type


@dataclass(frozen=True)
class Form:
    """How roomy an entry is: sizes [pt] of its head and its lines, and how many lines of facts and advice it has."""

    head: float
    body: float
    facts: int
    advice: int

    @property
    def height(self) -> float:
        """Height of a whole entry with the gap under it [pt of a letter sheet]."""
        return self.height_with(self.facts + self.advice)

    def height_with(self, lines: int) -> float:
        """Return the height of an entry of so many lines under its head [pt of a letter sheet]."""
        return 1.25 * self.head + LEADING * self.body * lines + 0.9 * self.body


FORMS = (
    Form(17, 10, 2, ADVICE_LINES),
    Form(15, 9, 2, ADVICE_LINES),
    Form(13, 8.5, 1, ADVICE_LINES),
    Form(16, 10, 2, 0),
    Form(13.5, 9, 2, 0),
    Form(13, 8.5, 1, 0),
    Form(11.5, 8, 1, 0),
    Form(9.5, 7.5, 1, 0),
    Form(8, 7, 1, 0),
    Form(9, 7, 0, 0),
    Form(7, 6.5, 0, 0),
)


def write_legend(
    sheet: Sheet, columns: Sequence[Box], rows: Sequence[ZoneRow], title: str, *, unknown: bool
) -> None:
    """Write one entry for each zone down the columns, with four lines of advice where all have room.

    `unknown`: the hatch of land without freeze data is named too.
    """
    first, last, scale = columns[0], columns[-1], sheet.scale
    sheet.write(first.left, first.top - 12 * scale, sheet.shortened(title, TITLE, first.width), TITLE)
    low, high = (4 + NOTE_PT * NOTE_LINES + UNKNOWN_PT * unknown) * scale, TITLE_PT * scale
    boxes = [Box(one.left, one.bottom + low, one.width, one.height - low - high) for one in columns]
    form = next((form for form in FORMS if _places(sheet, boxes, form) >= len(rows)), FORMS[-1])
    entries = _entries(sheet, boxes, form)
    for row, box in zip(rows, entries, strict=False):
        write_entry(sheet, box, row, form)
    note = zone_words.PAPER["legend_note" if len(rows) <= len(entries) else "legend_more"]
    lines = sheet.wrapped(note.format(count=len(rows) - len(entries)), NOTE, last.width)[:NOTE_LINES]
    for place, line in enumerate(reversed(lines)):
        sheet.write(last.left, last.bottom + (2 + NOTE_PT * place) * scale, line, NOTE)
    if unknown:
        _write_unknown(sheet, last)


def _write_unknown(sheet: Sheet, column: Box) -> None:
    base, scale = column.bottom + (8 + NOTE_PT * NOTE_LINES) * sheet.scale, sheet.scale
    sheet.swatch(Box(column.left, base - 3 * scale, 24 * scale, 13 * scale), UNKNOWN)
    sheet.write(column.left + 31 * scale, base, zone_words.PAPER["unknown"], UNKNOWN_TYPE)


def write_entry(sheet: Sheet, box: Box, row: ZoneRow, form: Form) -> None:
    """Write the entry of one zone into a box: its hatch and day, its land and freeze, then advice."""
    scale = sheet.scale
    head, lines = Type(form.head, bold=True), Type(form.body)
    base, wide = box.top - form.head * scale, 2.0 * form.head * scale
    sheet.swatch(Box(box.left, base - 0.18 * form.head * scale, wide, 1.08 * form.head * scale), row.look)
    left, day = box.left + wide + 0.45 * form.head * scale, zone_words.sentence_case(row.by)
    day = day if form.facts else zone_words.PAPER["legend_line"].format(by=day, size=row.size)
    sheet.write(left, base, day, sheet.fitting(day, head, LEAST, box.right - left))
    for place, text in enumerate(entry_lines(sheet, row, form, box.width), 1):
        fitting = sheet.fitting(text, lines, LEAST, box.width)
        line = sheet.shortened(text, fitting, box.width)
        sheet.write(box.left, base - (0.25 * form.head + LEADING * form.body * place) * scale, line, fitting)


def entry_lines(sheet: Sheet, row: ZoneRow, form: Form, width: float) -> list[str]:
    """Return what stands under the head of an entry: facts, then advice."""
    facts = [row.size, zone_words.PAGE["freeze_short"].format(dates=row.freeze)]
    facts = [". ".join(facts)] if form.facts == 1 and form.advice else facts[: form.facts]
    return facts + advice_lines(sheet, row.advice, Type(form.body), width, form.advice)


def advice_lines(sheet: Sheet, sentences: Sequence[str], how: Type, width: float, most: int) -> list[str]:
    """Return whole sentences as `most` lines or fewer; only a first that is too long by itself is cut."""
    fitting: list[str] = []
    for count in range(1, len(sentences) + 1):
        lines = sheet.wrapped(" ".join(sentences[:count]), how, width)
        if len(lines) > most:
            return fitting or [*lines[: most - 1], f"{lines[most - 1]} …"] if most else []
        fitting = lines
    return fitting


def _places(sheet: Sheet, boxes: Sequence[Box], form: Form) -> int:
    return sum(int(box.height // (form.height * sheet.scale)) for box in boxes)


def _entries(sheet: Sheet, boxes: Sequence[Box], form: Form) -> list[Box]:
    """Return the place of every entry that fits, down one column after the other."""
    height = form.height * sheet.scale
    return [
        Box(box.left, box.top - (place + 1) * height, box.width, height)
        for box in boxes
        for place in range(int(box.height // height))
    ]
