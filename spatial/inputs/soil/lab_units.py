"""The unit of P, K and Mg where a lab report has it in a column of its own, or only its laboratory says it."""

from collections.abc import Iterator, Mapping

import pandas as pd

from spatial.columns import SOIL_TESTS
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, listed, row_numbers, their_name
from spatial.inputs.soil.lab_unit_words import INDEX, KNOWN, UNIT, agreeing, suffix_of, text_in
from spatial.inputs.soil.lab_words import UNSAID, laboratory_of
from spatial.soil import Laboratory
from spatial.values import NUTRIENTS

LAB = next(column for column in SOIL_TESTS if column.name == "lab")

Part = tuple[pd.DataFrame, dict[str, str]]  # rows of one unit, and the mapping that reads them


def parts_by_unit(
    file: str,
    raw: pd.DataFrame,
    columns: Mapping[str, str],
    laboratories: Mapping[str, Laboratory],
    report: Report,
) -> list[Part]:
    """Return a table parted by the unit of its columns p, k and mg, which get it into their names.

    Without such columns it is one part. Where neither the row nor its laboratory says a unit the columns are left
    out, and that is told; so are those whose heading says another unit than the row. `columns` maps our names to the
    file's, p, k and mg among them.
    """
    mapping = {ours: theirs for ours, theirs in columns.items() if ours not in NUTRIENTS}
    bare = dict(_bare(file, raw, columns, mapping, report))
    blank = {theirs for nutrient in bare for theirs in _whole(nutrient, raw, Source(file, mapping))}
    raw, mapping = raw.drop(columns=sorted(blank)), {o: t for o, t in mapping.items() if t not in blank}
    if not bare and not _without_unit(raw, columns, mapping):
        raw = agreeing(file, raw, mapping, report)
    if not bare or raw.empty:
        return [_part(raw, mapping, bare, "")]
    said = _said_units(raw, mapping, laboratories)
    suffixes = said.map(suffix_of).astype(object)
    _tell_unread(file, raw[list(bare.values())], said.mask(suffixes != "", None), report)
    return [_part(raw[suffixes == suffix], mapping, bare, suffix) for suffix in sorted(set(suffixes))]


def _part(rows: pd.DataFrame, mapping: dict[str, str], bare: Mapping[str, str], suffix: str) -> Part:
    # Left under their own name they would be told a second time.
    kept = rows.drop(columns=list(bare.values()))
    if not suffix:
        return kept, mapping
    return kept.assign(**{f"{nutrient}_{suffix}": rows[theirs] for nutrient, theirs in bare.items()}), mapping


def _without_unit(raw: pd.DataFrame, columns: Mapping[str, str], mapping: Mapping[str, str]) -> bool:
    """Tell whether a column unit may be that of a column p, k or mg, even of one that is not read."""
    own = {str(name).strip().lower() for name in raw.columns if name not in mapping.values()}
    return bool(set(NUTRIENTS) & (own | set(columns)))


def _bare(
    file: str, raw: pd.DataFrame, columns: Mapping[str, str], mapping: Mapping[str, str], report: Report
) -> Iterator[tuple[str, str]]:
    """Give each nutrient with the file's column that does not say its unit."""
    by_lower = {str(name).strip().lower(): str(name) for name in reversed(raw.columns)}
    for nutrient in NUTRIENTS:
        theirs = columns.get(nutrient, by_lower.get(nutrient))
        if theirs is None or theirs not in raw.columns:
            if nutrient in columns:
                has = f"The file has: {', '.join(map(str, raw.columns))}"
                report.refuse(file, f"column {theirs!r} for {nutrient!r}", "is not there", has)
            continue
        if theirs in mapping.values():  # it is mapped with its unit
            continue
        whole = _whole(nutrient, raw, Source(file, mapping))
        if others := [name for name in whole if (text_of(raw[name]) != "").any()]:
            cause = f"was not read, because {others[0]!r} says the same with its unit"
            report.tell(file, f"column {theirs!r}", cause, "Keep one of them")
            continue
        yield nutrient, theirs


def _whole(nutrient: str, raw: pd.DataFrame, source: Source) -> list[str]:
    """Return the file's columns that say a nutrient with its unit."""
    columns = [column for column in SOIL_TESTS if column.name in (f"{nutrient}_mg_kg", f"{nutrient}_{INDEX}")]
    return [found.theirs for column in columns if (found := their_name(raw, column, source))]


def _said_units(
    raw: pd.DataFrame, mapping: Mapping[str, str], laboratories: Mapping[str, Laboratory]
) -> pd.Series:
    """Return the unit that each row says, else its laboratory, in small letters; "" where none does."""
    lab = text_in(raw, LAB, mapping)
    by_lab = lab.map(lambda name: laboratory_of(name, laboratories).unit).astype(object)
    unit = text_in(raw, UNIT, mapping)
    return unit.mask(unit.str.lower().isin(UNSAID), by_lab).str.lower().str.strip()


def _tell_unread(file: str, values: pd.DataFrame, said: pd.Series, report: Report) -> None:
    """Tell of the rows whose values have no unit that is known; `said` is None where it is."""
    filled = pd.concat([text_of(values[name]) != "" for name in values], axis=1).any(axis=1)
    unread = said[filled & said.notna()]
    for words, rows in unread.groupby(unread):
        unit = f"unit {words!r} is not known" if words else "no unit"
        cause = f"{unit} for {', '.join(map(str, values))}, so not read"
        mend = f"Say it in a column unit, or in [labs]: {KNOWN}"
        report.tell(file, listed("row", row_numbers(rows.index)), cause, mend)
