"""A CSV table of the user's, checked against its description."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from spatial.columns import Column
from spatial.inputs.checks import Report, Source, checked, refuse_repeats


def read_table(
    path: Path, columns: Sequence[Column], section: dict[str, Any], report: Report, key: str = ""
) -> pd.DataFrame:
    """Return the table in inside units; a file that cannot be read gives an empty one and a line in the report.

    `key` names the column that must be different in every row; the result is then sorted on it.
    """
    raw = _read_csv(path, report)
    table = checked(raw, columns, Source(path.name, section.get("columns", {})), report, key)
    if not key:
        return table
    refuse_repeats(table[key], path.name, report)
    return table.sort_values(key, kind="stable").reset_index(drop=True)


def empty_table(columns: Sequence[Column]) -> pd.DataFrame:
    """Return a table with the described columns and no rows."""
    return checked(pd.DataFrame({column.name: [] for column in columns}), columns, Source(""), Report())


def _read_csv(path: Path, report: Report) -> pd.DataFrame:
    try:
        return pd.read_csv(
            path, dtype=str, keep_default_na=False, encoding="utf-8-sig", skipinitialspace=True
        )
    except FileNotFoundError:
        report.refuse(path.name, "", "is not there", "Check the name in region.toml")
    except UnicodeDecodeError:
        report.refuse(path.name, "", "is not UTF-8 text", "Save it as CSV, UTF-8")
    except (pd.errors.ParserError, pd.errors.EmptyDataError, OSError) as error:
        cause = f"is not a readable CSV table ({str(error).splitlines()[0]})"
        report.refuse(path.name, "", cause, "Save it as CSV with one heading line")
    return pd.DataFrame()
