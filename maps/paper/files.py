"""Sheets as files of print: all of them as PDF or the first alone as PNG, equal sheets as equal bytes."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_pdf import PdfPages

from maps.paper.sheet import PAPERS_PT, Sheet
from spatial.errors import InputError, Problem

# Text stays text in the PDF, with its type inside.
DRAWN: dict[Any, Any] = {
    "pdf.fonttype": 42,
    "text.hinting": "none",
    "text.usetex": False,
    "font.family": "DejaVu Sans",
    "hatch.linewidth": 0.7,
}
PNG_DPI = 150


def write_sheets(sheets: Sequence[Sheet], path: Path, title: str) -> None:
    """Write all sheets as .pdf, or the first alone as .png; raises OSError where the file cannot be written."""
    with drawn_our_way():
        if path.suffix.lower() == ".png":
            sheets[0].figure.savefig(path, format="png", dpi=PNG_DPI, metadata={"Software": None})
            return
        with PdfPages(path, metadata={"Title": title, "CreationDate": None}) as pages:
            for sheet in sheets:
                pages.savefig(sheet.figure)


def check_paper(path: Path, paper: str) -> None:
    """Raise InputError for a paper that is not known or a file that is neither .pdf nor .png."""
    problems = []
    if paper not in PAPERS_PT:
        mend = f"Use one of: {', '.join(PAPERS_PT)}"
        problems.append(Problem("print", "", f"{paper!r} is no paper that is known", mend))
    if path.suffix.lower() not in {".pdf", ".png"}:
        problems.append(
            Problem(path.name, "", "ends in neither .pdf nor .png", "Give it one of these endings")
        )
    if problems:
        raise InputError(problems)


@contextmanager
def drawn_our_way() -> Iterator[None]:
    """Draw by our settings: what the machine says to the drawing library changes nothing, nor does this change that."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(DRAWN)
        yield
