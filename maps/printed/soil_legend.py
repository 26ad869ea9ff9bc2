"""The legend of a soil map on paper: each class with its fields and land, the marks, where the figures are from."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from maps import labels
from maps.paper.sheet import Box, Sheet, Type
from maps.printed.drawn_fields import DASHES, PART
from maps.printed.words import SOIL_PAPER
from maps.sheets import Row
from maps.soil_layers import SoilShow, origin_words
from maps.style import INK, PAPER, Look

TITLE = Type(12, serif=True, bold=True)
CLASS, SIZE, NOTE = Type(11.5, bold=True), Type(9.5), Type(9)
TITLE_PT, CLASS_PT, KEY_PT, LEADING_PT = 24.0, 35.0, 23.0, 12.0  # heights, of a letter sheet
SWATCH_PT, SWATCH_HIGH_PT, GAP_PT = 30.0, 17.0, 8.0
NARROWEST = 7.0


@dataclass(frozen=True)
class Piece:
    """A part of a legend: its height in a column so wide, and what draws it into a box."""

    height: Callable[[Sheet, float], float]
    draw: Callable[[Sheet, Box], None]


def legend_pieces(rows: Sequence[Row], show: SoilShow, units: str, parts: int) -> list[Piece]:
    """Return the legend from top to bottom: its title, the classes that occur, the marks, the notes.

    `parts`: in how many fields a part to sample first is drawn.
    """
    shown = [look for look in show.looks if any(row[show.by] == look.code for row in rows)]
    classes = [
        _class(look, show.short[look.code], [row for row in rows if row[show.by] == look.code], units)
        for look in shown
    ]
    return [_title(), *classes, *_marks(rows, show, parts), *(_note(text) for text in _notes(rows, show))]


def write_pieces(sheet: Sheet, columns: Sequence[Box], pieces: Iterable[Piece]) -> None:
    """Write pieces down one column after the other; the last takes what has no room elsewhere."""
    left = list(columns)
    top = left[0].top
    for piece in pieces:
        height = piece.height(sheet, left[0].width)
        if top - height < left[0].bottom and len(left) > 1:
            left = left[1:]
            top = left[0].top
        piece.draw(sheet, Box(left[0].left, top - height, left[0].width, height))
        top -= height


def soil_sources(rows: Sequence[Row], show: SoilShow) -> list[str]:
    """Return where the figures of a soil map are from: origins with their days and fields, whose limits, the ground."""
    by = show.by
    known = [row for row in rows if row[by]]
    origins = Counter(origin_words(row, by) for row in known)
    parts = [
        _origin(name, [row for row in known if origin_words(row, by) == name], by) for name in sorted(origins)
    ]
    schemes = (
        []
        if by == "ph"
        else sorted({str(row[f"soil_{by}_scheme"]) for row in known if row[f"soil_{by}_scheme"]})
    )
    lines = (
        [SOIL_PAPER["source"].format(what=labels.NUTRIENTS[by], origins=", ".join(parts))] if parts else []
    )
    rated = [SOIL_PAPER["rated"].format(schemes=", ".join(schemes))] if schemes else []
    return [*lines, *rated, SOIL_PAPER["source_ground"]]


def _origin(name: str, rows: Sequence[Row], by: str) -> str:
    days = sorted(row["soil_ph_date"] for row in rows if by == "ph" and row["soil_ph_date"] is not None)
    fields = _fields(len(rows))
    if not days:
        return SOIL_PAPER["origin"].format(origin=name, fields=fields)
    first, last = labels.day_in_year(days[0]), labels.day_in_year(days[-1])
    dates = first if first == last else SOIL_PAPER["dates"].format(first=first, last=last)
    return SOIL_PAPER["origin_date"].format(origin=name, dates=dates, fields=fields)


def _fields(count: int) -> str:
    return SOIL_PAPER["one_field"] if count == 1 else SOIL_PAPER["fields"].format(count=count)


def _title() -> Piece:
    return Piece(
        lambda sheet, _width: TITLE_PT * sheet.scale,
        lambda sheet, box: _line(sheet, box, 0.0, 12.0, SOIL_PAPER["legend"], TITLE),
    )


def _class(look: Look, word: str, rows: Sequence[Row], units: str) -> Piece:
    area_ha = sum(row["area_ha"] or 0.0 for row in rows)
    size = SOIL_PAPER["class_size"].format(fields=_fields(len(rows)), area=labels.area(area_ha, units))

    def draw(sheet: Sheet, box: Box) -> None:
        _draw_swatch(sheet, box, look)
        _line(sheet, box, SWATCH_PT + GAP_PT, 11.0, word[:1].upper() + word[1:], CLASS)
        _line(sheet, box, SWATCH_PT + GAP_PT, 23.5, size, SIZE)

    return Piece(lambda sheet, _width: CLASS_PT * sheet.scale, draw)


def _marks(rows: Sequence[Row], show: SoilShow, parts: int) -> list[Piece]:
    mapped = sum(show.by in row["mapped"] for row in rows)
    return [_mark(name, count) for name, count in (("mapped", mapped), ("part", parts)) if count]


def _mark(name: str, count: int) -> Piece:
    text = f"{SOIL_PAPER[name]}: {_fields(count)}"

    def draw(sheet: Sheet, box: Box) -> None:
        if name == "part":
            _draw_swatch(sheet, box, PART)
        else:
            dashed = _swatch_box(sheet, box)
            sheet.rectangle(dashed, "none", width=1.2, dashes=DASHES)
            sheet.dot(
                dashed.left + dashed.width / 2, dashed.bottom + dashed.height / 2, 3 * sheet.scale, PAPER, INK
            )
        _line(sheet, box, SWATCH_PT + GAP_PT, 12.0, text[:1].upper() + text[1:], SIZE)

    return Piece(lambda sheet, _width: KEY_PT * sheet.scale, draw)


def _notes(rows: Sequence[Row], show: SoilShow) -> list[str]:
    targets = sorted({(row["grass_name"], row["target_ph"]) for row in rows if row["target_ph"] is not None})
    said = ", ".join(SOIL_PAPER["target"].format(grass=grass, ph=f"{ph:.1f}") for grass, ph in targets)
    mapped = [SOIL_PAPER["note"]] if any(show.by in row["mapped"] for row in rows) else []
    return [*mapped, *([SOIL_PAPER["targets"].format(targets=said)] if said and show.by == "ph" else [])]


def _note(text: str) -> Piece:
    def draw(sheet: Sheet, box: Box) -> None:
        for place, line in enumerate(sheet.wrapped(text, NOTE, box.width)):
            _line(sheet, box, 0.0, 10.0 + LEADING_PT * place, line, NOTE)

    return Piece(
        lambda sheet, width: (len(sheet.wrapped(text, NOTE, width)) * LEADING_PT + 5) * sheet.scale, draw
    )


def _draw_swatch(sheet: Sheet, box: Box, look: Look) -> None:
    sheet.swatch(_swatch_box(sheet, box), look)


def _swatch_box(sheet: Sheet, box: Box) -> Box:
    high = SWATCH_HIGH_PT * sheet.scale
    return Box(box.left, box.top - high, SWATCH_PT * sheet.scale, high)


def _line(sheet: Sheet, box: Box, indent_pt: float, down_pt: float, text: str, how: Type) -> None:
    """Write one line into a box, made smaller and then cut where it is too wide."""
    left = box.left + indent_pt * sheet.scale
    fitting = sheet.fitting(text, how, NARROWEST, box.right - left)
    sheet.write(
        left, box.top - down_pt * sheet.scale, sheet.shortened(text, fitting, box.right - left), fitting
    )
