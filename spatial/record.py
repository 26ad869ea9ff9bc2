"""Facts that someone did or saw, written to the season log of a region."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from spatial.columns import SEASON_LOG
from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report, Source, checked, first_line, listed, their_name
from spatial.inputs.region import Region
from spatial.inputs.region_file import FILE
from spatial.inputs.season_log import check_facts, log_path
from spatial.inputs.tables import read_csv
from spatial.store import append_line

HEADING = tuple(column.name for column in SEASON_LOG)


@dataclass(frozen=True)
class Fact:
    """One line of the season log: `fact` is one of `LOG_FACTS`, `value` what that kind of fact carries."""

    date: date
    fact: str
    field_id: str = ""
    area: str = ""
    value: str = ""  # heights in cm, hay in t, cover in percent, or the date sprayed until
    note: str = ""


def record(region: Region, said: Mapping[str, object], *facts: Fact) -> Path:
    """Append `facts` to the region's season log and return the log's path; they are on the disk when this returns.

    `said` is what region.toml says. Raises InputError for a fact that `read_region` would not take, for a field or
    area that the region does not have, and where the log is no CSV file inside the region or cannot be written;
    then none of the facts is written.
    """
    section = said.get("season_log")
    keys = section if isinstance(section, dict) else {}
    path = log_path(region.folder, keys)
    problems = [*_problems(region, facts), *_place_problems(region.folder, path)]
    if problems:
        raise InputError(problems)
    heading = _heading(path, keys)
    try:
        append_line(path, "\n".join(_line(fact, heading) for fact in facts), ",".join(HEADING))
    except OSError as error:
        cause = f"cannot be written ({error.strerror or first_line(error)})"
        raise InputError([Problem(path.name, "", cause, "Check its folder")]) from error
    return path


def _problems(region: Region, facts: Sequence[Fact]) -> list[Problem]:
    report = Report()
    # Facts of one call are of one field or area: said once where that is wrong.
    for field_id, area in sorted({(fact.field_id, fact.area) for fact in facts}):
        _check_whose(region, field_id, area, report)
    if not report.wrong:
        rows = checked(pd.DataFrame([asdict(fact) for fact in facts]), SEASON_LOG, Source("record"), report)
        check_facts(rows, "record", report)
    return report.wrong


def _check_whose(region: Region, field_id: str, area: str, report: Report) -> None:
    areas = sorted({*region.fields["area"]} - {""})
    if not field_id and not area:
        report.refuse("record", "", "names neither a field nor an area", "Give --field or --area")
    if field_id and field_id not in region.fields.index:
        cause = "is not in the region"
        report.refuse("record", f"field {field_id!r}", cause, _known(region.fields.index))
    if area and area not in areas:
        report.refuse("record", f"area {area!r}", "is not in the region", _known(areas))


def _place_problems(folder: Path, path: Path) -> list[Problem]:
    inside = path.resolve().is_relative_to(folder.resolve())
    if inside and path.suffix.lower() == ".csv":
        return []
    cause = "is not a CSV file inside the region's folder, so nothing is written to it"
    return [Problem(FILE, f"[season_log] file = {path.name!r}", cause, 'Use file = "season_log.csv"')]


def _heading(path: Path, keys: Mapping[str, object]) -> list[str]:
    """Return our name for each column of the log as it stands, "" for the user's own; ours where there is no log."""
    if not path.exists() or path.stat().st_size == 0:
        return list(HEADING)
    report = Report()
    log = read_csv(path, report)
    if log is None:
        raise InputError(report.wrong)
    mapping = keys.get("columns")
    source = Source(path.name, mapping if isinstance(mapping, dict) else {})
    found = {column.name: their_name(log, column, source) for column in SEASON_LOG}
    if missing := sorted(name for name, theirs in found.items() if theirs is None):
        cause = f"has no column {', '.join(missing)}"
        raise InputError([Problem(path.name, "", cause, f"Give it the heading {','.join(HEADING)}")])
    ours = {theirs.theirs: name for name, theirs in found.items() if theirs is not None}
    return [ours.get(name, "") for name in log.columns]


def _line(fact: Fact, heading: Iterable[str]) -> str:
    said = {name: " ".join(str(value).split()) for name, value in asdict(fact).items()}
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow(said.get(name, "") for name in heading)
    return text.getvalue()


def _known(names: Iterable[object]) -> str:
    known = list(names)
    return f"Known: {listed('name', known)}" if known else f"Name areas in the fields, or counties in {FILE}"
