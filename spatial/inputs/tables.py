"""A CSV table of the user's, checked against its description."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from spatial.columns import Column
from spatial.inputs.checks import Report, Source, checked, first_line, refuse_repeats


def read_table(
    path: Path, columns: Sequence[Column], section: dict[str, Any], report: Report, key: str = ""
) -> pd.DataFrame:
    """Return the table in inside units; a file that cannot be read gives an empty one and a line in the report.

    `key` names the column that must be different in every row; the result is then sorted on it.
    """
    raw = read_csv(path, report)
    if raw is None:
        return empty_table(columns)
    table = checked(raw, columns, Source(path.name, section.get("columns", {})), report, key)
    if not key:
        return table.reset_index(drop=True)
    refuse_repeats(table[key], path.name, report)
    return table.sort_values(key, kind="stable").reset_index(drop=True)


def empty_table(columns: Sequence[Column]) -> pd.DataFrame:
    """Return a table with the described columns and no rows."""
    return checked(pd.DataFrame({column.name: [] for column in columns}), columns, Source(""), Report())


def read_csv(path: Path, report: Report) -> pd.DataFrame | None:
    """Return a CSV file as text, or None with the reason in the report.

    The index is the number of the file's line less one, so that a row is named by its line; rows without a
    single filled cell are left out.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = _filled_rows(csv.reader(file, skipinitialspace=True, strict=True))
    except FileNotFoundError:
        report.refuse(path.name, "", "is not there", "Check its name")
    except UnicodeDecodeError:
        report.refuse(path.name, "", "is not UTF-8 text", "Save it as CSV, UTF-8")
    except (csv.Error, OSError) as error:
        cause = f"is not a readable CSV table ({first_line(error)})"
        report.refuse(path.name, "", cause, "Save it as CSV with one heading line")
    else:
        return _table(path.name, rows, report)
    return None


def _filled_rows(lines: Any) -> dict[int, list[str]]:
    rows = {}
    for row in lines:
        if any(cell.strip() for cell in row):
            rows[lines.line_num - 1] = row
    return rows


def _table(file: str, rows: dict[int, list[str]], report: Report) -> pd.DataFrame | None:
    heading = [name.strip() for name in rows.pop(min(rows))] if rows else []
    if cause := _heading_fault(heading):
        report.refuse(file, "", cause, "Save it as CSV: commas, and one heading line")
        return None
    for number, row in rows.items():
        if any(cell.strip() for cell in row[len(heading) :]):
            cause = f"has {len(row)} values for {len(heading)} headings"
            report.refuse(file, f"row {number + 1}", cause, "Put quotes around a value with a comma in it")
    whole = [_padded(row, len(heading)) for row in rows.values()]
    return pd.DataFrame(whole, columns=heading, index=list(rows), dtype=object)


def _heading_fault(heading: list[str]) -> str:
    if not heading:
        return "is empty"
    if len(heading) == 1 and (";" in heading[0] or "\t" in heading[0]):
        return "is parted by semicolons or tabs, not by commas"
    repeated = sorted({name for name in heading if name and heading.count(name) > 1})
    return f"has the heading {', '.join(repeated)} more than once" if repeated else ""


def _padded(row: Iterable[str], length: int) -> list[str]:
    return [*row, *[""] * length][:length]
