"""A sheet to draw a picture on, the same byte for byte in every run: our font and colours, no dates, no screen."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import get_font

from maps.style import INK, PAPER

DOTS_PER_INCH = 120
FONT = "DejaVu Sans"  # which matplotlib carries
FONT_FILE = str(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf")
NO_GLYPH = "?"
LOOK: dict[Any, Any] = {
    "font.family": [FONT],
    "font.size": 9,
    "text.color": INK,
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    "axes.edgecolor": INK,
    "axes.facecolor": PAPER,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.8,
    "savefig.facecolor": PAPER,
    "figure.facecolor": PAPER,
    "figure.dpi": DOTS_PER_INCH,
    "savefig.dpi": DOTS_PER_INCH,
}


@contextmanager
def sheet(path: Path, width_in: float, height_in: float) -> Iterator[Figure]:
    """Give an empty figure [in] to draw on; when the block ends well it is written to `path` as PNG.

    What the machine's own settings of the drawing library say changes nothing.
    """
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(LOOK)
        figure = Figure(figsize=(width_in, height_in))
        FigureCanvasAgg(figure)
        yield figure
        figure.savefig(path, format="png", metadata={"Software": None})


def drawable(text: str, font_file: str = FONT_FILE) -> str:
    """Return a text in one line that a font can set: what does not print as blanks, a sign it lacks as "?"."""
    signs = _signs(font_file)
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return "".join(sign if ord(sign) in signs else NO_GLYPH for sign in line)


@cache
def _signs(font_file: str) -> frozenset[int]:
    return frozenset(get_font(font_file).get_charmap())
