"""A sheet of paper to draw on: its size, its texts measured before they are set, and none upon another."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.lines import Line2D
from matplotlib.patches import Ellipse, Rectangle
from matplotlib.patheffects import Normal, withStroke
from matplotlib.text import Text

from maps.paper.picture import drawable
from maps.style import INK, PAPER, Look

PT_PER_IN = 72.0
PT_PER_MM = PT_PER_IN / 25.4
PAPERS_PT = {
    "letter": (11 * PT_PER_IN, 8.5 * PT_PER_IN),  # ANSI A
    "a4": (297 * PT_PER_MM, 210 * PT_PER_MM),  # ISO 216
    "a3": (420 * PT_PER_MM, 297 * PT_PER_MM),
}
LETTER_SHORT_PT = 612.0  # sizes of type are those of a letter sheet, and grow with the paper
MEASURE_DPI = 288  # fine enough that a measured text is as wide as a printed one
PT_PER_PX = PT_PER_IN / MEASURE_DPI
GAP_PT = 1.5  # left free around every text
WHITE = "#ffffff"
Align = Literal["left", "center", "right"]
Dashes = str | tuple[float, tuple[float, ...]]


@dataclass(frozen=True)
class Box:
    """A rectangle on a sheet [pt], from its lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge [pt]."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """The upper edge [pt]."""
        return self.bottom + self.height

    def grown(self, by: float) -> "Box":
        """Return this rectangle, wider by so much [pt] on every side."""
        return Box(self.left - by, self.bottom - by, self.width + 2 * by, self.height + 2 * by)

    def meets(self, other: "Box") -> bool:
        """Return whether two rectangles share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )

    def within(self, other: "Box") -> bool:
        """Return whether this rectangle lies in the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.bottom >= other.bottom
            and self.top <= other.top
        )


@dataclass(frozen=True)
class Type:
    """How a text is set: size [pt of a letter sheet], weight, family, colour; `halo` parts it from what is beneath."""

    size: float
    bold: bool = False
    serif: bool = False
    italic: bool = False
    colour: str = INK
    halo: bool = False


@dataclass
class Sheet:
    """One sheet, `width` by `height` [pt], with the places that texts have taken; sizes grow by `scale`."""

    width: float
    height: float
    figure: Figure = field(init=False)
    canvas: FigureCanvasAgg = field(init=False)
    taken: list[Box] = field(default_factory=list)
    widths: dict[tuple[str, Type], float] = field(default_factory=dict)  # measured before

    def __post_init__(self) -> None:
        """Make the figure, on white paper."""
        size_in = (self.width / PT_PER_IN, self.height / PT_PER_IN)
        self.figure = Figure(figsize=size_in, dpi=MEASURE_DPI, facecolor=WHITE)
        self.canvas = FigureCanvasAgg(self.figure)

    @property
    def scale(self) -> float:
        """How much larger this paper is than a letter sheet."""
        return min(self.width, self.height) / LETTER_SHORT_PT

    @property
    def room(self) -> Box:
        """The sheet within its margins."""
        margin = 26 * self.scale
        return Box(margin, margin, self.width - 2 * margin, self.height - 2 * margin)

    def width_of(self, text: str, how: Type) -> float:
        """Return the width [pt] of a line of text."""
        if (text, how) not in self.widths:
            font = _font(how, how.size * self.scale)
            # The renderer carries no types of its own.
            size = self._renderer().get_text_width_height_descent(  # type: ignore[no-untyped-call]
                drawable(text, _file(how)), font, False
            )
            self.widths[text, how] = float(size[0]) * PT_PER_PX
        return self.widths[text, how]

    def write(self, x: float, y: float, text: str, how: Type, align: Align = "left") -> Box:
        """Set a line of text with its baseline at `y` [pt], whatever lies there, and return the place it takes."""
        line = self._text(x, y, text, how, align)
        box = self._place(line)
        self.taken.append(box)
        self.add(line)
        return box

    def try_to_write(
        self, x: float, y: float, text: str, how: Type, *, within: Box, align: Align = "left"
    ) -> bool:
        """Set a line of text where no other lies and inside a box, and return whether there was room."""
        line = self._text(x, y, text, how, align)
        box = self._place(line)
        if not box.within(within) or any(box.meets(other) for other in self.taken):
            return False
        self.taken.append(box)
        self.add(line)
        return True

    def wrapped(self, text: str, how: Type, width: float) -> list[str]:
        """Return a text as lines that are not wider than `width` [pt]; a longer word is cut."""
        blank = self.width_of("n n", how) - 2 * self.width_of("n", how)
        lines: list[str] = []
        left = 0.0
        for word in drawable(text, _file(how)).split(" "):
            long = self.width_of(word, how)
            if lines and blank + long <= left:
                lines[-1] = f"{lines[-1]} {word}"
                left -= blank + long
            else:
                lines.append(self.shortened(word, how, width))
                left = width - long
        return lines

    def shortened(self, text: str, how: Type, width: float) -> str:
        """Return a text, cut with an ellipsis where it is wider than `width` [pt]."""
        text = drawable(text, _file(how))
        if self.width_of(text, how) <= width:
            return text
        fitting = bisect_right(
            range(1, len(text)), width, key=lambda count: self.width_of(f"{text[:count]}…", how)
        )
        return f"{text[:fitting].rstrip()}…"

    def chip(self, box: Box, text: str, how: Type, pad: float) -> None:
        """Set a text in the middle of a piece of paper that covers `box`, `pad` [pt] within its sides."""
        self.rectangle(box, PAPER, width=0.7)
        self.write(box.left + box.width / 2, box.bottom + pad, text, how, "center")
        self.taken.append(box)

    def dot(self, x: float, y: float, radius: float, fill: str, edge: str) -> None:
        """Draw a dot [pt]."""
        size = (2 * radius / self.width, 2 * radius / self.height)
        self.add(
            Ellipse(
                (x / self.width, y / self.height), *size,
                facecolor=fill, edgecolor=edge, linewidth=self.scale, transform=self.figure.transFigure,
            )
        )  # fmt: skip

    def fitting(self, text: str, how: Type, least: float, width: float) -> Type:
        """Return the type in which a text fits a width [pt], made smaller down to size `least` where it must."""
        wide = self.width_of(text, how)
        return how if wide <= width else replace(how, size=max(least, 0.99 * how.size * width / wide))

    def swatch(self, box: Box, look: Look) -> None:
        """Draw a piece of a zone's colour and hatch, its edge in ink."""
        self.rectangle(box, look.fill, edge=look.mark, width=0.0, hatch=look.hatch)
        self.rectangle(box, "none", width=0.8)

    def line(self, xs: Sequence[float], ys: Sequence[float], width: float = 0.8, colour: str = INK) -> None:
        """Draw a line through places [pt]."""
        self.add(
            Line2D(
                [x / self.width for x in xs], [y / self.height for y in ys],
                linewidth=width * self.scale, color=colour, transform=self.figure.transFigure, solid_capstyle="butt",
            )
        )  # fmt: skip

    def rectangle(
        self, box: Box, fill: str, edge: str = INK, width: float = 0.8, hatch: str = "", dashes: Dashes = "-"
    ) -> None:
        """Draw a filled rectangle; the hatch takes the colour of the edge."""
        self.add(
            Rectangle(
                (box.left / self.width, box.bottom / self.height), box.width / self.width, box.height / self.height,
                facecolor=fill, edgecolor=edge, linewidth=width * self.scale, hatch=hatch or None, linestyle=dashes,
                transform=self.figure.transFigure,
            )
        )  # fmt: skip

    def add(self, artist: Artist) -> None:
        """Put an artist on the sheet."""
        self.figure.add_artist(artist)

    def _text(self, x: float, y: float, text: str, how: Type, align: Align) -> Text:
        line = Text(
            x / self.width, y / self.height, drawable(text, _file(how)),
            fontproperties=_font(how, how.size * self.scale), color=how.colour, parse_math=False,
            horizontalalignment=align, verticalalignment="baseline", transform=self.figure.transFigure,
        )  # fmt: skip
        if how.halo:
            line.set_path_effects([withStroke(linewidth=2.6 * self.scale, foreground=PAPER), Normal()])
        return line

    def _place(self, line: Text) -> Box:
        line.set_figure(self.figure)
        left, bottom, right, top = (
            side * PT_PER_PX for side in line.get_window_extent(self._renderer()).extents
        )
        return Box(left, bottom, right - left, top - bottom).grown(GAP_PT)

    def _renderer(self) -> RendererAgg:
        renderer: RendererAgg = self.canvas.get_renderer()  # type: ignore[no-untyped-call] # carries no types
        return renderer


def _font(how: Type, size: float) -> FontProperties:
    """Return a typeface that comes with matplotlib: DejaVu, in one of its cuts."""
    return FontProperties(
        family="DejaVu Serif" if how.serif else "DejaVu Sans",
        weight="bold" if how.bold else "normal",
        style="italic" if how.italic else "normal",
        size=size,
    )


def _file(how: Type) -> str:
    return str(findfont(_font(how, how.size)))
