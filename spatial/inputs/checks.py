"""A table the user brought, checked against its description: our names, inside units, all that is wrong at once."""

import math
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from spatial.columns import Column
from spatial.errors import Problem
from spatial.inputs.cells import code_of, parsed, text_of
from spatial.units import WRITTEN, written_names

MOST_LISTED = 6
WHOLE_FROM = 10  # limits from here are said without decimals
MOST_SHOWN = 60  # letters of a bad value


# The filters of warnings are one for the whole process: only one of our reads may change them at a time.
WARNINGS_LOCK = threading.RLock()


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


@dataclass(frozen=True)
class Found:
    """A column of the user's: its name, our name with the unit it is in, and the way to the inside unit."""

    theirs: str
    written: str
    factor: float = 1.0
    offset: float = 0.0


def checked(
    table: pd.DataFrame, columns: Sequence[Column], source: Source, report: Report, key: str = ""
) -> pd.DataFrame:
    """Return `table` with exactly the described columns on the same index.

    Numbers come in inside units, missing ones as NaN, dates as datetime64 (NaT), text as str (empty where
    missing), yes_no as bool. `key` is the column whose value names a row in messages, else the row's number,
    which is its place in the index counted from 1.
    """
    _check_mapping(table, columns, source, report)
    defaults = _defaults(columns, source, report)
    names = _row_names(table, source, key)
    found = {}
    for column in columns:
        values, empty = _column(table, column, source, names, report)
        known = defaults.get(column.name)
        found[column.name] = values if known is None else values.where(~empty, known)
    return pd.DataFrame(found, index=table.index)


def their_name(table: pd.DataFrame, column: Column, source: Source) -> Found | None:
    """Return the user's column for `column`, or None where absent; a mapped one goes before one of our name."""
    names = _all_names(column)
    for ours, theirs in source.columns.items():
        if ours in names and theirs in table.columns:
            return Found(theirs, ours, *names[ours])
    by_lower = _by_lower(table)
    for name, scale in names.items():
        if name in by_lower:
            return Found(by_lower[name], name, *scale)
    return None


def refuse_repeats(values: pd.Series, file: str, report: Report) -> None:
    """Report every value of a key column that is empty or stands in more than one row."""
    for value, count in values[values != ""].value_counts().sort_index().items():
        if count > 1:
            report.refuse(
                file, f"{values.name} {value!r}", f"stands in {count} rows", "Give every row its own"
            )
    empty = row_numbers(values.index[values == ""])
    if empty:
        report.refuse(file, listed("row", empty), f"{values.name} is empty", "Give every row its own")


def row_numbers(index: pd.Index) -> list[int]:
    """Return the numbers by which rows are named in messages."""
    return [int(label) + 1 for label in index]


def listed(word: str, names: Iterable[object]) -> str:
    """Return names in a line that stays short, as "rows 2, 5, 9 and 12 more"."""
    known = [str(name) for name in names]
    more = f" and {len(known) - MOST_LISTED} more" if len(known) > MOST_LISTED else ""
    return f"{word}{'s' * (len(known) > 1)} {', '.join(known[:MOST_LISTED])}{more}"


def first_line(error: BaseException) -> str:
    """Return the first line of what an error says, or its kind where it says nothing."""
    return next(iter(str(error).strip().splitlines()), type(error).__name__)[:200]


def _all_names(column: Column) -> dict[str, tuple[float, float]]:
    names = written_names(column.name)
    for other in column.also:
        names |= written_names(other)
    return names


def _by_lower(table: pd.DataFrame) -> dict[str, str]:
    return {str(name).strip().lower(): name for name in reversed(table.columns)}


def _check_mapping(table: pd.DataFrame, columns: Sequence[Column], source: Source, report: Report) -> None:
    known = {name for column in columns for name in _all_names(column)}
    one_of = f"Use one of: {', '.join(sorted(known))}"
    for part in ("columns", "defaults"):
        for ours in sorted(set(getattr(source, part)) - known):
            report.refuse(
                "region.toml",
                f"{part} of {source.file}",
                f"{ours!r} is not a column lastcut knows",
                one_of,
            )
    for ours, theirs in source.columns.items():
        if ours in known and theirs not in table.columns:
            has = f"The file has: {', '.join(map(str, table.columns))}"
            report.refuse(source.file, f"column {theirs!r} for {ours!r}", "is not there", has)


def _defaults(columns: Sequence[Column], source: Source, report: Report) -> dict[str, object]:
    """Return the values for empty cells in inside units, by our name."""
    found: dict[str, object] = {}
    for column in columns:
        for written, scale in _all_names(column).items():
            if written in source.defaults:
                raw = pd.Series([source.defaults[written]], dtype=object)
                values, bad = _inside(raw, column, Found(written, written, *scale))
                names = pd.Series([f"defaults of {source.file}"])
                _report_bad(raw[bad], names[bad], ("region.toml", column), Found(written, written), report)
                found[column.name] = values.iloc[0]
    return found


def _row_names(table: pd.DataFrame, source: Source, key: str) -> pd.Series:
    rows = pd.Series([f"row {n}" for n in row_numbers(table.index)], index=table.index, dtype=object)
    found = their_name(table, Column(key, "text", ""), source) if key else None
    if found is None:
        return rows
    keys = text_of(table[found.theirs])
    word = key.removesuffix("_id")
    return rows.where(keys == "", keys.map(lambda value: f"{word} {value!r}"))


def _column(
    table: pd.DataFrame, column: Column, source: Source, names: pd.Series, report: Report
) -> tuple[pd.Series, pd.Series]:
    """Return a column's values in inside units, and which of its cells are empty."""
    found = their_name(table, column, source)
    if found is None:
        _say_absent(table, column, source, report)
        raw = pd.Series("", index=table.index, dtype=object)
        return _inside(raw, column, Found(column.name, column.name))[0], raw == ""
    _say_other(table, column, source, found, report)
    raw = table[found.theirs]
    values, bad = _inside(raw, column, found)
    empty = (text_of(raw) == "") | (values.isna() & ~bad)
    # A row without its day or its fact would drop out unseen; a missing number is a gap that steps can see.
    if column.required and column.kind == "date" and not set(source.defaults) & set(_all_names(column)):
        bad = bad | empty
    _report_bad(raw[bad], names[bad], (source.file, column), found, report)
    return values, empty


def _inside(raw: pd.Series, column: Column, found: Found) -> tuple[pd.Series, pd.Series]:
    """Return the values in inside units, and which cells cannot be true."""
    values, bad = parsed(column.kind, raw)
    if column.kind == "number":
        values = values * found.factor + found.offset
        if column.least is not None and column.most is not None:
            bad = bad | (values < column.least) | (values > column.most)
    if column.choices:
        values = code_of(values)
        allowed = column.choices if column.required else ("", *column.choices)
        bad = bad | ~values.isin(allowed)
    return values, bad


def _say_absent(table: pd.DataFrame, column: Column, source: Source, report: Report) -> None:
    mapped = set(source.columns) & set(_all_names(column))
    given = set(source.defaults) & set(_all_names(column))
    if column.required and not mapped and not given:
        has = ", ".join(map(str, table.columns))
        mend = f"Name it in region.toml; the file has: {has}"
        report.refuse(source.file, f"column {column.name!r}", "is not there", mend)
    bare = {column.name.removesuffix(inside) for inside, _f, _o in WRITTEN.values()} - {column.name, ""}
    for name in table.columns:
        if str(name).strip().lower() in bare:
            choices = " or ".join(sorted(written_names(column.name)))
            report.tell(
                source.file, f"column {name!r}", "has no unit, so it was not read", f"Name it {choices}"
            )


def _say_other(table: pd.DataFrame, column: Column, source: Source, found: Found, report: Report) -> None:
    """Tell of a second column that says the same in another unit; only one of them is read."""
    by_lower = _by_lower(table)
    for name in written_names(column.name):
        other = by_lower.get(name, found.theirs)
        if other != found.theirs and other not in source.columns.values():
            cause = f"was not read, because {found.theirs!r} says the same"
            report.tell(
                source.file, f"column {other!r}", cause, "Keep one of them, or name it in region.toml"
            )


def _report_bad(
    raw: pd.Series, names: pd.Series, where: tuple[str, Column], found: Found, report: Report
) -> None:
    file, column = where
    for value, name in zip(raw, names, strict=True):
        shown = repr("" if pd.api.types.is_scalar(value) and pd.isna(value) else str(value)[:MOST_SHOWN])
        report.refuse(file, f"{name}, {found.theirs} = {shown}", *_cause(column, found))


def _cause(column: Column, found: Found) -> tuple[str, str]:
    if column.kind == "date":
        return "is not a possible date", "Write dates as 2026-09-24"
    if column.kind == "yes_no":
        return "is neither yes nor no", "Write yes or no"
    if column.kind == "text":
        return "is not known", f"Use one of: {', '.join(column.choices)}"
    if column.least is None or column.most is None:
        return "is not a number", "Give a number"
    least, most = ((limit - found.offset) / found.factor for limit in (column.least, column.most))
    span = f"{_plain_number(least, math.ceil)} to {_plain_number(most, math.floor)}"
    return "is not a possible number here", f"{_capital(column.help)}: {span} as {found.written}"


def _plain_number(value: float, towards: Callable[[float], int]) -> str:
    """Return a limit in few figures, as people write them; never outside the limit."""
    near, scale = round(value, 6), 1 if abs(value) >= WHOLE_FROM else 10 if abs(value) >= 1 else 100
    few = near if near == round(near, 1) else towards(near * scale) / scale
    return f"{few:,.10g}"


def _capital(text: str) -> str:
    """Return a text with its first letter as a capital; pH stays as it is."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]
