"""The tables of the soil survey from a database: GeoPackage, SQLite, or a file geodatabase."""

import re
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

import pandas as pd
import pyogrio

from spatial.errors import InputError, Problem
from spatial.inputs.checks import first_line
from spatial.inputs.layers import UNREADABLE
from spatial.inputs.soil.survey_text import READ, plain_name

SQLITE_MARK = b"SQLite format 3\0"
NAMES = {
    "mapunit": "mapunit", "mapunits": "mapunit",
    "comp": "component", "component": "component", "components": "component",
    "chorizon": "chorizon", "chorizons": "chorizon", "horizon": "chorizon", "horizons": "chorizon",
}  # fmt: skip


def table_of(name: str) -> str:
    """Return the table of the survey that a file or a table stands for by its name, "" for none of them."""
    words = re.split(r"[^a-z0-9]+", name.lower())
    return next((NAMES[word] for word in reversed(words) if word in NAMES), "")


def is_database(path: Path) -> bool:
    """Return whether a path is a database that `database_tables` reads."""
    if path.is_dir():
        return path.suffix.lower() == ".gdb"
    with path.open("rb") as file:
        return file.read(len(SQLITE_MARK)) == SQLITE_MARK


def database_tables(path: Path) -> dict[str, pd.DataFrame]:
    """Return the survey's tables that a database has, {mapunit, component, chorizon: columns of READ, as they stand}.

    Nothing is written to the database or beside it. Raises InputError where it cannot be read.
    """
    try:
        return _geodatabase(path) if path.is_dir() else _sqlite(path)
    except (sqlite3.Error, *UNREADABLE) as error:
        cause = f"cannot be read as a database ({first_line(error)})"
        raise InputError([Problem(path.name, "", cause, "Export its tables as CSV")]) from error


def _geodatabase(path: Path) -> dict[str, pd.DataFrame]:
    def columns(name: str) -> list[str]:
        return [str(column) for column in pyogrio.read_info(path, layer=name)["fields"]]

    def rows(name: str, chosen: list[str]) -> pd.DataFrame:
        found = pyogrio.read_dataframe(path, layer=name, columns=chosen, read_geometry=False)
        return pd.DataFrame(found)[chosen]

    return _tables((str(name) for name, _kind in pyogrio.list_layers(path)), columns, rows)


def _sqlite(path: Path) -> dict[str, pd.DataFrame]:
    with _opened(path) as data:

        def columns(name: str) -> list[str]:
            return [str(row[1]) for row in data.execute(f"pragma table_info({_quoted(name)})")]

        def rows(name: str, chosen: list[str]) -> pd.DataFrame:
            parts = ", ".join(map(_quoted, chosen))
            found = data.execute(f"select {parts} from {_quoted(name)}").fetchall()  # noqa: S608 - the database's own names, quoted
            return pd.DataFrame(found, columns=chosen, dtype=object)

        names = data.execute("select name from sqlite_master where type = 'table'").fetchall()
        return _tables((str(name) for (name,) in names), columns, rows)


def _tables(
    names: Iterable[str], columns: Callable[[str], list[str]], rows: Callable[[str, list[str]], pd.DataFrame]
) -> dict[str, pd.DataFrame]:
    found = {}
    for table, name in _chosen(names).items():
        theirs = {plain_name(column): column for column in reversed(columns(name))}
        ours = [column for column in READ if column in theirs]
        if ours:
            found[table] = rows(name, [theirs[column] for column in ours]).set_axis(ours, axis=1)
    return found


def _chosen(names: Iterable[str]) -> Mapping[str, str]:
    """Return the table of each kind; one whose name is just that goes first, then the shortest name."""
    found: dict[str, str] = {}
    for name in sorted(names, key=lambda name: (plain_name(name) not in NAMES, len(name), name)):
        if table := table_of(name):
            found.setdefault(table, name)
    return found


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a database so that neither it nor what lies beside it changes; pending changes are read from a copy."""
    pending = path.with_name(f"{path.name}-wal")
    with tempfile.TemporaryDirectory(prefix="lastcut-", ignore_cleanup_errors=True) as folder:
        source = path.resolve()
        if pending.exists():
            source = Path(folder) / "tables.db"
            shutil.copyfile(path, source)
            shutil.copyfile(pending, source.with_name("tables.db-wal"))
        how = "mode=rw" if pending.exists() else "mode=ro&immutable=1"
        with closing(sqlite3.connect(f"{source.as_uri()}?{how}", uri=True)) as data:
            data.text_factory = lambda raw: raw.decode("utf-8", errors="replace")
            yield data


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
