"""The files of a plan: each name with its writer, add-ons included, written whole or not at all."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from maps.handoffs import write_geopackage, write_gpx
from maps.interactive import write_map
from maps.printed.soil_map import print_soil
from maps.purchases import write_purchases_csv
from maps.tables import write_fields_csv, write_plan_json, write_route_csv
from spatial.addons import add_on
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.plan import Plan
from spatial.store import swapped_in

Made = TypeVar("Made")
Writer = Callable[[Plan, Path, datetime], None]
GROUP = "maps.exporters"
BUILT_IN: dict[str, Writer] = {
    "map.html": write_map,
    "fields.csv": write_fields_csv,
    "route.csv": write_route_csv,
    "route.gpx": write_gpx,
    "plan.gpkg": write_geopackage,
    "plan.json": write_plan_json,
    "purchases.csv": write_purchases_csv,
}
PRINTED: dict[str, Callable[..., None]] = {
    "soil": print_soil
}  # soil_letter.pdf and soil_letter.png, and so on


def export(
    plan: Plan,
    folder: Path,
    made_on: datetime,
    also: Sequence[str] = (),
    tell: Tell = quiet,
    paper: str | None = None,
) -> list[Path]:
    """Write every file of the plan into `folder` and return their paths.

    `also` names add-on exporters (entry points of `maps.exporters`, named by the file they write); `paper` is letter,
    a4 or a3 where maps are to be printed too. The files are written beside and swapped in; where one fails, the old
    ones stay whole. Raises InputError for an unknown add-on or paper, or a folder that cannot be written to.
    """
    writers = BUILT_IN | {name: add_on(GROUP, name, BUILT_IN) for name in also} | _printers(paper)
    return written_together(writers, plan, folder, made_on, tell)


def _printers(paper: str | None) -> dict[str, Writer]:
    """Return a writer for every file of print: all sheets as PDF, the first as PNG."""
    if paper is None:
        return {}
    return {
        f"{name}_{paper}.{ending}": partial(printed, paper=paper)
        for name, printed in PRINTED.items()
        for ending in ("pdf", "png")
    }


def written_together(
    writers: Mapping[str, Callable[[Made, Path, datetime], None]],
    made: Made,
    folder: Path,
    made_on: datetime,
    tell: Tell,
) -> list[Path]:
    """Write the files named into `folder`, each by its writer, whole or not at all, and return their paths.

    Raises InputError for a folder that cannot be written to.
    """
    try:
        with swapped_in(folder) as beside:
            for number, (name, writer) in enumerate(writers.items()):
                tell("write", number / len(writers))
                writer(made, beside / name, made_on)
    except OSError as error:
        cause = f"cannot be written ({error.strerror or error})"
        raise InputError(
            [Problem(str(folder), "", cause, "Close its files or choose another with --out")]
        ) from error
    tell("write", 1.0)
    return [folder / name for name in writers]
