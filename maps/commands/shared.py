"""What every command shares: its common options, today, the region it reads and the bar that shows progress."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any
from zoneinfo import ZoneInfo

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

from spatial.errors import Tell, quiet

if TYPE_CHECKING:
    from spatial.inputs.region import Region

Folder = Annotated[Path, typer.Argument(help="the region's folder")]
Quiet = Annotated[bool, typer.Option("--quiet", help="no progress bar")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON for programs")]
On = Annotated[
    datetime | None, typer.Option(formats=["%Y-%m-%d"], help="day of the plan; today if not given")
]


class Paper(StrEnum):
    """The sheets that a map is printed on."""

    LETTER = "letter"
    A4 = "a4"
    A3 = "a3"


def read(folder: Path, tell: Tell) -> "Region":
    """Return the region in a folder."""
    from spatial.inputs.region import read_region

    return read_region(folder, tell)


def today(time_zone: str) -> date:
    """Return today's date in a time zone."""
    return datetime.now(ZoneInfo(time_zone)).date()


@contextmanager
def progress(silent: bool) -> Iterator[Tell]:
    """Give a `tell` that shows a bar a step on the error stream, or one that shows nothing."""
    if silent:
        yield quiet
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def tell(step: str, share: float) -> None:
            if step not in tasks:
                tasks[step] = bars.add_task(step, total=1.0)
            bars.update(tasks[step], completed=share)

        yield tell
