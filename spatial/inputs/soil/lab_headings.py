"""The heading line of a lab report: what has no heading is not read, and a file without headings is no table."""

from collections.abc import Mapping

import pandas as pd

from spatial.columns import SOIL_TESTS
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, their_name
from spatial.inputs.region_file import FILE
from spatial.values import NUTRIENTS


def headed(file: str, raw: pd.DataFrame, columns: Mapping[str, str], report: Report) -> pd.DataFrame | None:
    """Return a table without its columns that have no heading, or None where it has no heading line.

    One such column with values is told; several, or not one column that is known, are a line in `report.wrong`.
    `columns` maps our names to the file's.
    """
    named = pd.Series([bool(str(name).strip()) for name in raw.columns])
    kept = raw.loc[:, named.to_numpy()]
    filled = [place for place in named.index[~named] if (text_of(raw.iloc[:, place]) != "").any()]
    if len(filled) > 1 or not _known(kept, columns):
        cause = "has no heading line" if (~named).any() else "has no column that lastcut knows"
        mend = "Start it with a line that names every column, as field_id,sample_date,ph"
        report.refuse(file, "", cause, mend)
        return None
    for place in filled:
        report.tell(
            file, f"column {place + 1}", "has no heading, so it was not read", "Name it, or remove it"
        )
    return kept


def refuse_twice(columns: Mapping[str, str], report: Report) -> None:
    """Report every column of a file that a mapping gives two of our names."""
    for theirs in sorted(set(columns.values())):
        ours = sorted(name for name, of_file in columns.items() if of_file == theirs)
        if len(ours) > 1:
            cause = f"stands for {' and '.join(map(repr, ours))}"
            report.refuse(FILE, f"[soil_tests] columns, {theirs!r}", cause, "Keep one of them")


def _known(raw: pd.DataFrame, columns: Mapping[str, str]) -> bool:
    source = Source("", columns)
    lower = {str(name).strip().lower() for name in raw.columns}
    return (
        bool(lower & set(NUTRIENTS))
        or bool(set(raw.columns) & set(columns.values()))
        or any(their_name(raw, column, source) is not None for column in SOIL_TESTS)
    )
