"""A table about the soil, checked: what cannot be true is told and left out, and stops nothing."""

from collections.abc import Iterable, Sequence

import pandas as pd

from spatial.columns import Column
from spatial.errors import Problem
from spatial.inputs.checks import Report, Source, checked

MOST_PLACES = 3


def possible(
    table: pd.DataFrame, columns: Sequence[Column], source: Source, report: Report, key: str = ""
) -> pd.DataFrame:
    """Return the described columns as `checked` does, but each impossible number NaN and told, one line a column.

    A mapping of columns that cannot be is refused.
    """
    structure, cells = Report(), Report()
    checked(table.iloc[:0], columns, source, structure)
    found = checked(table, columns, source, cells, key)
    report.wrong.extend(structure.wrong)
    report.told.extend(structure.told)
    report.told.extend(_grouped(problem for problem in cells.wrong if problem not in structure.wrong))
    for column in columns:
        if column.kind == "number" and column.least is not None and column.most is not None:
            values = found[column.name]
            found[column.name] = values.where(values.between(column.least, column.most))
    return found


def _grouped(problems: Iterable[Problem]) -> list[Problem]:
    """Return one line for each column of all that is wrong in its cells."""
    places: dict[tuple[str, str, str], list[str]] = {}
    for problem in problems:
        places.setdefault((problem.file, problem.cause, problem.mend), []).append(problem.place)
    return [
        Problem(file, _places(said), f"{cause}, so left out", mend)
        for (file, cause, mend), said in places.items()
    ]


def _places(said: Sequence[str]) -> str:
    more = len(said) - MOST_PLACES
    return "; ".join(said[:MOST_PLACES]) + (f" and {more} more cell{'s' * (more > 1)}" if more > 0 else "")
