"""A table the user brought, checked against its description: our names, inside units, all that is wrong at once."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from spatial.columns import Column
from spatial.errors import Problem
from spatial.units import WRITTEN, written_names

EARLIEST, LATEST = pd.Timestamp("1950-01-01"), pd.Timestamp("2100-01-01")
YES, NO = {"yes", "y", "true", "1", "1.0", "x"}, {"no", "n", "false", "0", "0.0", ""}


@dataclass(frozen=True)
class Report:
    """What reading found: `wrong` stops the plan, `told` travels with it."""

    wrong: list[Problem] = field(default_factory=list)
    told: list[Problem] = field(default_factory=list)

    def refuse(self, file: str, place: str, cause: str, mend: str) -> None:
        """Note something that the user must mend before a plan can be made."""
        self.wrong.append(Problem(file, place, cause, mend))

    def tell(self, file: str, place: str, cause: str, mend: str) -> None:
        """Note something mended or left out, that the reader of the plan must know."""
        self.told.append(Problem(file, place, cause, mend))


@dataclass(frozen=True)
class Source:
    """Where a table came from: the file's name for messages, and the user's own column names."""

    file: str
    columns: Mapping[str, str] = field(default_factory=dict)  # ours (with the written unit) -> theirs
    defaults: Mapping[str, object] = field(default_factory=dict)  # ours -> value for empty cells


def checked(
    table: pd.DataFrame, columns: Sequence[Column], source: Source, report: Report, key: str = ""
) -> pd.DataFrame:
    """Return `table` with exactly the described columns on the same index.

    Numbers come in inside units, missing ones as NaN, dates as datetime64 (NaT), text as str (empty where
    missing), yes_no as bool. `key` is the column whose value names a row in messages, else the row's number.
    """
    _check_mapping(table, columns, source, report)
    names = _row_names(table, source, key)
    found = {column.name: _column(table, column, source, names, report) for column in columns}
    return pd.DataFrame(found, index=table.index)


def refuse_repeats(values: pd.Series, file: str, report: Report) -> None:
    """Report every value of a key column that is empty or stands in more than one row."""
    for value, count in values[values != ""].value_counts().sort_index().items():
        if count > 1:
            report.refuse(
                file, f"{values.name} {value!r}", f"stands in {count} rows", "Give every row its own"
            )
    empty = int((values == "").sum())
    if empty:
        report.refuse(file, str(values.name), f"is empty in {empty} rows", "Give every row its own")


def their_name(table: pd.DataFrame, column: Column, source: Source) -> tuple[str, float, float] | None:
    """Return the user's column for `column` with (factor, offset) to the inside unit, or None where absent."""
    names = _all_names(column)
    for ours, theirs in source.columns.items():
        if ours in names and theirs in table.columns:
            return (theirs, *names[ours])
    by_lower = {str(name).strip().lower(): name for name in table.columns}
    for name, scale in names.items():
        if name in by_lower:
            return (by_lower[name], *scale)
    return None


def _all_names(column: Column) -> dict[str, tuple[float, float]]:
    names = written_names(column.name)
    for other in column.also:
        names |= written_names(other)
    return names


def _check_mapping(table: pd.DataFrame, columns: Sequence[Column], source: Source, report: Report) -> None:
    known = {name for column in columns for name in _all_names(column)}
    for ours, theirs in source.columns.items():
        if ours not in known:
            report.refuse(
                "region.toml",
                f"columns of {source.file}",
                f"{ours!r} is not a column lastcut knows",
                f"Use one of: {', '.join(sorted(known))}",
            )
        elif theirs not in table.columns:
            report.refuse(
                source.file,
                f"column {theirs!r} for {ours!r}",
                "is not there",
                f"The file has: {', '.join(map(str, table.columns))}",
            )


def _row_names(table: pd.DataFrame, source: Source, key: str) -> pd.Series:
    found = their_name(table, Column(key, "text", ""), source) if key else None
    if found is None:
        return pd.Series([f"row {n}" for n in range(1, len(table) + 1)], index=table.index, dtype=object)
    word = key.removesuffix("_id")
    return pd.Series(
        [f"{word} {value!r}" for value in _text(table[found[0]])], index=table.index, dtype=object
    )


def _column(
    table: pd.DataFrame, column: Column, source: Source, names: pd.Series, report: Report
) -> pd.Series:
    found = their_name(table, column, source)
    if found is None:
        _say_absent(table, column, source, report)
        raw, factor, offset, theirs = pd.Series("", index=table.index, dtype=object), 1.0, 0.0, column.name
    else:
        theirs, factor, offset = found
        raw = table[theirs]
    raw = _with_default(raw, column, source)
    values, bad = _PARSE[column.kind](raw)
    if column.kind == "number":
        values = values * factor + offset
        bad = (
            bad
            | (values < (column.least if column.least is not None else -np.inf))
            | (values > (column.most if column.most is not None else np.inf))
        )
    if column.choices:
        bad = bad | ~values.isin(["", *column.choices])
    _report_bad(raw[bad], names[bad], (source.file, str(theirs)), column, report)
    return values


def _with_default(raw: pd.Series, column: Column, source: Source) -> pd.Series:
    for name, (factor, offset) in _all_names(column).items():
        if name in source.defaults:
            value = source.defaults[name]
            if isinstance(value, int | float) and not isinstance(value, bool) and column.kind == "number":
                value = value * factor + offset
            return raw.astype(object).where(_text(raw) != "", value)
    return raw


def _say_absent(table: pd.DataFrame, column: Column, source: Source, report: Report) -> None:
    if column.required:
        report.refuse(
            source.file,
            f"column {column.name!r}",
            "is not there",
            f"Name it in region.toml; the file has: {', '.join(map(str, table.columns))}",
        )
    bare = {column.name.removesuffix(inside) for inside, _f, _o in WRITTEN.values()} - {column.name}
    for name in table.columns:
        if str(name).strip().lower() in bare:
            choices = " or ".join(sorted(written_names(column.name)))
            report.tell(
                source.file, f"column {name!r}", "has no unit, so it was not read", f"Name it {choices}"
            )


def _report_bad(
    raw: pd.Series, names: pd.Series, where: tuple[str, str], column: Column, report: Report
) -> None:
    for value, name in zip(raw, names, strict=True):
        report.refuse(where[0], f"{name}, {where[1]} = {str(value)!r}", *_BAD[column.kind](column))


def _text(raw: pd.Series) -> pd.Series:
    text = raw.astype(object).where(raw.notna(), "")
    whole = text.map(
        lambda value: str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)
    )
    return whole.str.strip().astype(object)


def _parse_text(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    return _text(raw), pd.Series(False, index=raw.index)


def _parse_number(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    values = pd.to_numeric(_text(raw).replace("", np.nan), errors="coerce").astype(float)
    values = values.where(np.isfinite(values))
    return values, values.isna() & (_text(raw) != "")


def _parse_date(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    text = _text(raw).str.slice(0, 10)
    values = pd.to_datetime(text.replace("", None), format="%Y-%m-%d", errors="coerce").astype(
        "datetime64[ns]"
    )
    bad = (values.isna() & (text != "")) | (values < EARLIEST) | (values > LATEST)
    return values, bad


def _parse_yes_no(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    text = _text(raw).str.lower()
    return text.isin(YES), ~text.isin(YES | NO)


_PARSE: dict[str, Callable[[pd.Series], tuple[pd.Series, pd.Series]]] = {
    "text": _parse_text,
    "number": _parse_number,
    "date": _parse_date,
    "yes_no": _parse_yes_no,
}
_BAD: dict[str, Callable[[Column], tuple[str, str]]] = {
    "text": lambda column: ("is not known", f"Use one of: {', '.join(column.choices)}"),
    "number": lambda column: (
        "is not a possible number here",
        f"{column.help[:1].upper()}{column.help[1:]}: {column.least:g} to {column.most:g} as {column.name}"
        if column.least is not None and column.most is not None
        else "Give a number",
    ),
    "date": lambda _column: ("is not a possible date", "Write dates as 2026-09-24"),
    "yes_no": lambda _column: ("is neither yes nor no", "Write yes or no"),
}
