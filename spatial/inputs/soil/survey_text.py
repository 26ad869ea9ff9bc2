"""A table of the soil survey from delimited text: with a heading line, or as the public service writes it, without."""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pyarrow as pa
from pyarrow import csv as arrow_csv

from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report, first_line, listed

# The columns that are read, of any of the three tables.
READ = (
    "mukey", "musym", "cokey", "comppct_r", "compkind", "drainagecl", "slope_r",
    "hzdept_r", "hzdepb_r", "ph1to1h2o_r",
)  # fmt: skip
SEPARATORS = "|,;\t"
HEAD_BYTES = 65_536
UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")
COLUMNS_FILE = "mstabcol.txt"  # the service's own list: table, place, column


@dataclass(frozen=True)
class TextLayout:
    """How a text file is written: `names` has our name of each column (or its number), `skipped` lines come first."""

    encoding: str
    separator: str
    names: tuple[str, ...]
    skipped: int


def plain_name(name: object) -> str:
    """Return a column's name as it is compared: small letters, without the table in front of a dot."""
    return str(name).strip().strip('"').lower().rpartition(".")[2].strip()


def text_layout(path: Path, table: str) -> TextLayout:
    """Return how a text file is written; one without a heading line has its columns by the list beside it.

    `table` is the table that its name stands for ("" for none). Raises InputError where it is no text, or has no
    heading line and nothing says its columns.
    """
    encoding, head = _head(path)
    separator, rows = _parted(head)
    if not rows:
        raise InputError([Problem(path.name, "", "is empty", "Export the table again")])
    line, heading = rows[0]
    if set(READ) & set(map(plain_name, heading)):
        count = _count(len(heading), rows[1][1] if len(rows) > 1 else heading)
        names = [plain_name(name) for name in heading[:count]] + [""] * (count - len(heading))
        return TextLayout(encoding, separator, _single(names), line)
    return TextLayout(encoding, separator, _single(_listed_names(path, table, len(heading))), 0)


def text_table(path: Path, layout: TextLayout, report: Report) -> pd.DataFrame:
    """Return the columns of `READ` that the file has, as text; a row of another length is left out and told.

    Raises InputError where the file is damaged.
    """
    longer: list[int] = []
    shorter: list[int] = []

    def leave_out(row: arrow_csv.InvalidRow) -> str:
        (longer if row.actual_columns > row.expected_columns else shorter).append(row.number)
        return "skip"

    columns = [name for name in layout.names if name in READ]
    try:
        found = arrow_csv.read_csv(
            path,
            arrow_csv.ReadOptions(
                use_threads=False,  # else rows have no number
                skip_rows=layout.skipped,
                column_names=layout.names,
                encoding=layout.encoding,
            ),
            arrow_csv.ParseOptions(
                delimiter=layout.separator, newlines_in_values=True, invalid_row_handler=leave_out
            ),
            arrow_csv.ConvertOptions(
                include_columns=columns, column_types=dict.fromkeys(columns, pa.string())
            ),
        )
    except (pa.ArrowException, UnicodeError, OSError) as error:
        cause = f"cannot be read as a table ({first_line(error)})"
        raise InputError([Problem(path.name, "", cause, "Export it again, as CSV in UTF-8")]) from error
    _tell_left_out(path.name, longer, shorter, report)
    return pd.DataFrame(found.to_pandas())


def _tell_left_out(file: str, longer: Sequence[int], shorter: Sequence[int], report: Report) -> None:
    if longer:
        cause, mend = "more values than columns", "Put quotes around a value with a separator in it"
        report.tell(file, listed("row", longer), f"{cause}, so left out", mend)
    if shorter:
        cause, mend = (
            "fewer values than columns",
            "Export the table again; it may be cut short or lack a quote",
        )
        report.tell(file, listed("row", shorter), f"{cause}, so left out", mend)


def _head(path: Path) -> tuple[str, str]:
    """Return the encoding of a text file and its first lines."""
    with path.open("rb") as file:
        raw = file.read(HEAD_BYTES)
    if raw.startswith(b"PK"):
        cause = "is a spreadsheet or a zip"
        raise InputError([Problem(path.name, "", cause, "Save the table as CSV, or unpack the zip")])
    encoding = "utf-16" if raw.startswith(UTF_16_MARKS) else "utf-8"
    if encoding == "utf-8" and b"\0" in raw:
        mend = "Give CSV or pipe-delimited text, or a GeoPackage or SQLite database"
        raise InputError([Problem(path.name, "", "is not a table that lastcut reads", mend)])
    return encoding, raw.decode(encoding, errors="replace").removeprefix("\ufeff")


def _parted(head: str) -> tuple[str, list[tuple[int, list[str]]]]:
    """Return the separator that parts the first line most, and the first two rows with the line each ends on."""
    first = next((line for line in head.splitlines() if line.strip()), "")
    separator = max(SEPARATORS, key=first.count)
    lines = csv.reader(io.StringIO(head, newline=""), delimiter=separator)
    rows = []
    try:
        for row in lines:
            if any(cell.strip() for cell in row):
                rows.append((lines.line_num, row))
            if len(rows) > 1:
                break
    except csv.Error:
        rows = rows[:1]
    return separator, rows


def _count(heads: int, row: list[str]) -> int:
    """Return how many columns the rows have, where they end in a separator that the heading has not, or vice versa."""
    ends_blank = len(row) == heads + 1 and not row[-1].strip()
    return heads + 1 if ends_blank else min(heads, len(row)) if len(row) == heads - 1 else heads


def _single(names: Iterable[str]) -> tuple[str, ...]:
    """Return each name that is read once, and the numbers of the other columns."""
    found: list[str] = []
    for place, name in enumerate(names):
        found.append(name if name in READ and name not in found else f"#{place}")
    return tuple(found)


def _rows(text: str, file: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter="|"))
    except csv.Error as error:
        cause = f"is not readable ({first_line(error)})"
        raise InputError([Problem(file, "", cause, "Get the file again")]) from error


def _listed_names(path: Path, table: str, count: int) -> list[str]:
    """Return the columns of a table without heading, from the service's list of columns beside it."""
    lists = [other for other in path.parent.iterdir() if other.name.lower() == COLUMNS_FILE]
    places: dict[int, str] = {}
    if table and lists:
        text = lists[0].read_text(encoding="utf-8-sig", errors="replace")
        for row in _rows(text, lists[0].name):
            if len(row) > 2 and row[0].strip().lower() == table and row[1].strip().isdecimal():  # noqa: PLR2004 - table, place, column
                places[int(row[1])] = plain_name(row[2])
    if len(places) == count:
        return [places[place] for place in sorted(places)]
    cause = "names none of the survey's columns in its first line"
    if lists:
        cause += f", and {COLUMNS_FILE} lists {len(places)} for its {count}"
    mend = f"Export mapunit, component or chorizon with headings, or put {COLUMNS_FILE} of its download beside it"
    raise InputError([Problem(path.name, "", cause, mend)])
