"""A fact that someone did or saw, written to the season log of a region."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from spatial.columns import SEASON_LOG
from spatial.errors import InputError, Problem
from spatial.inputs.region import Region
from spatial.inputs.region_file import FILE
from spatial.store import append_line

HEADING = tuple(column.name for column in SEASON_LOG)
LOG_FILE = "season_log.csv"


@dataclass(frozen=True)
class Fact:
    """One line of the season log: a cut, a height, a killing freeze, a spray label's date or a note."""

    date: date
    fact: str
    field_id: str = ""
    area: str = ""
    value: str = ""  # stubble or height in cm, or the date sprayed until
    note: str = ""


def record(region: Region, said: Mapping[str, object], fact: Fact) -> Path:
    """Append `fact` to the region's season log and return the log's path; it is on the disk when this returns.

    `said` is what region.toml says. Raises InputError for a field or area that the region does not have, and
    where the region's log lies outside or cannot be written.
    """
    problems = _problems(region, fact)
    if problems:
        raise InputError(problems)
    section = said.get("season_log")
    name = section.get("file", LOG_FILE) if isinstance(section, dict) else LOG_FILE
    path = region.folder / str(name)
    try:
        append_line(path, _line(fact), ",".join(HEADING))
    except OSError as error:
        raise InputError(
            [Problem(path.name, "", f"cannot be written ({error.strerror})", "Check its folder")]
        ) from error
    return path


def _line(fact: Fact) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow(
        " ".join(str(getattr(fact, column)).split()) for column in HEADING
    )
    return text.getvalue()


def _problems(region: Region, fact: Fact) -> list[Problem]:
    areas = sorted({*region.fields["area"]} - {""})
    found = []
    if not fact.field_id and not fact.area:
        found.append(Problem("record", "", "names neither a field nor an area", "Give --field or --area"))
    if fact.field_id and fact.field_id not in region.fields.index:
        found.append(
            Problem("record", f"field {fact.field_id!r}", "is not in the region", _known(region.fields.index))
        )
    if fact.area and fact.area not in areas:
        found.append(Problem("record", f"area {fact.area!r}", "is not in the region", _known(areas)))
    return found


def _known(names: object) -> str:
    known = list(names)[:12]  # type: ignore[call-overload]  # any collection of names
    return (
        f"Known are: {', '.join(map(str, known))}"
        if known
        else f"Name areas in the fields, or counties in {FILE}"
    )
