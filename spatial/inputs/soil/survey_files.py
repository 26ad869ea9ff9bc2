"""The three tables of a soil survey, found in the files, the folder or the database that region.toml names."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from spatial.errors import InputError
from spatial.inputs.checks import Report, listed
from spatial.inputs.region_file import FILE
from spatial.inputs.soil.survey_database import database_tables, is_database, table_of
from spatial.inputs.soil.survey_text import text_layout, text_table

NEEDED = {
    "mapunit": ("mukey", "musym"),
    "component": ("mukey", "cokey", "comppct_r"),
    "chorizon": ("cokey", "hzdept_r", "hzdepb_r", "ph1to1h2o_r"),
}
TEXT_FILES = (".csv", ".txt", ".tsv", ".psv", ".dat")


@dataclass(frozen=True)
class SurveyTable:
    """One table of the survey, its cells as they stand, and the files it is from, for messages."""

    file: str
    rows: pd.DataFrame


@dataclass(frozen=True)
class SurveyTables:
    """The tables of a survey, those of several areas one under the other; `mapunit` may be empty."""

    mapunit: SurveyTable
    component: SurveyTable
    chorizon: SurveyTable


@dataclass(frozen=True)
class _Source:
    """What one file or one table of a database holds; `named` is the table that its name stands for."""

    file: str
    named: str
    rows: pd.DataFrame

    def has(self, table: str) -> bool:
        return set(NEEDED[table]) <= set(self.rows.columns)

    def serves(self) -> bool:
        return any(self.has(table) for table in NEEDED)


def read_survey_tables(paths: Sequence[Path], report: Report) -> SurveyTables | None:
    """Return the tables by the columns they have, whatever the order and the names of the files.

    One file may serve several tables, and one table may come in several files. None, with one line in the report
    for each fault, where component or chorizon cannot be read.
    """
    if not paths:
        report.refuse(FILE, "[survey] tables", "names no file", "Name the survey's tables, or take it out")
        return None
    own = Report()
    sources = [source for path in paths for source in _sources(path, own)]
    if not own.wrong:
        for table in ("component", "chorizon"):
            _check_there(table, sources, paths, own)
    report.wrong.extend(own.wrong)
    report.told.extend(own.told)
    if own.wrong:
        return None
    return SurveyTables(*(_together(table, sources) for table in NEEDED))


def _sources(path: Path, report: Report) -> list[_Source]:
    try:
        if not path.exists():
            report.refuse(FILE, f"[survey] tables, {path.name}", "is not there", "Check its name")
            return []
        if is_database(path):
            return list(_of_database(path))
        if path.is_dir():
            return _of_folder(path, report)
        return [_of_text(path, report)]
    except InputError as error:
        report.wrong.extend(error.problems)
    except OSError as error:
        report.refuse(path.name, "", f"cannot be read ({error.strerror})", "Check who may read it")
    return []


def _of_database(path: Path) -> Iterator[_Source]:
    for table, rows in database_tables(path).items():
        yield _Source(f"{path.name}, table {table}", table, rows)


def _of_text(path: Path, report: Report) -> _Source:
    named = table_of(path.stem)
    return _Source(path.name, named, text_table(path, text_layout(path, named), report))


def _of_folder(folder: Path, report: Report) -> list[_Source]:
    """Return what a folder and those in it hold: files named as the tables, else a database, else by headings."""
    files = [file for file in sorted(folder.rglob("*")) if not _is_within(file.relative_to(folder))]
    texts = [file for file in files if file.suffix.lower() in TEXT_FILES and file.is_file()]
    named = [_of_text(file, report) for file in texts if table_of(file.stem)]
    if {"component", "chorizon"} <= {source.named for source in named}:
        return named
    for database in (file for file in files if _may_be_database(file)):
        if found := list(_of_database(database)):
            return found
    return [*named, *_by_heading((file for file in texts if not table_of(file.stem)), report)]


def _is_within(file: Path) -> bool:
    """Return whether a file is hidden or a part of a geodatabase."""
    return any(part.startswith(".") for part in file.parts) or any(
        part.suffix.lower() == ".gdb" for part in file.parents
    )


def _may_be_database(file: Path) -> bool:
    return (file.is_file() or file.suffix.lower() == ".gdb") and is_database(file)


def _by_heading(files: Iterable[Path], report: Report) -> Iterator[_Source]:
    for file in files:
        try:
            found = _of_text(file, own := Report())
        except InputError:  # some other file of the folder
            continue
        if found.serves():
            report.told.extend(own.told)
            yield found


def _check_there(table: str, sources: Sequence[_Source], paths: Sequence[Path], report: Report) -> None:
    lacking = [source for source in sources if source.named == table and not source.serves()]
    for source in lacking:
        missing = [column for column in NEEDED[table] if column not in source.rows.columns]
        report.refuse(
            source.file, listed("column", missing), "not there", "Export the table with all columns"
        )
    if not lacking and not any(source.has(table) for source in sources):
        needs = f"Name the one with the columns {', '.join(NEEDED[table])}"
        looked = ", ".join(path.name for path in paths)
        report.refuse(FILE, f"[survey] tables, {looked}", f"hold no table {table}", needs)


def _together(table: str, sources: Iterable[_Source]) -> SurveyTable:
    found = [source for source in sources if source.has(table)]
    if not found:
        return SurveyTable("", pd.DataFrame({column: [] for column in NEEDED[table]}, dtype=object))
    rows = pd.concat([source.rows for source in found], ignore_index=True)
    return SurveyTable(", ".join(dict.fromkeys(source.file for source in found)), rows)
