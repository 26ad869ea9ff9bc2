"""A table as CSV that a spreadsheet opens without running anything."""

from pathlib import Path
from typing import Any

import pandas as pd

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def write_csv(table: pd.DataFrame, path: Path) -> None:
    """Write a table in UTF-8 with its mark, lines ended as RFC 4180 has them; a text like a formula stays a text."""
    table.map(_plain_text).to_csv(path, index=False, encoding="utf-8-sig", lineterminator="\r\n")


def _plain_text(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_STARTS) else value
