"""The unit of P, K and Mg where a lab report has it in a column of its own, or only its laboratory says it."""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from spatial.columns import SOIL_TESTS
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, listed, row_numbers, their_name
from spatial.inputs.soil.lab_words import UNSAID, laboratory_of
from spatial.soil import Laboratory
from spatial.values import NUTRIENTS

# What a report may write -> the end of our column's name. mg/dm3 is not there: it is of a volume, whose weight differs.
SUFFIX_OF = {
    **dict.fromkeys(("ppm", "parts per million", "mg/kg", "mgkg", "mg kg-1"), "ppm"),
    **dict.fromkeys(("lb/ac", "lbs/ac", "lb/acre", "lbs/acre", "lb/a", "lbs/a", "lb ac-1", "lbac"), "lb_ac"),
    **dict.fromkeys(("lb per acre", "lbs per acre", "pounds per acre", "#/ac", "#/acre", "#/a"), "lb_ac"),
    **dict.fromkeys(("index", "idx"), "index"),
}
INDEX = "index"
KNOWN = "ppm, mg/kg, lb/ac or index"
UNIT = next(column for column in SOIL_TESTS if column.name == "unit")
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
    out, and that is told. `columns` maps our names to the file's, p, k and mg among them.
    """
    mapping = {ours: theirs for ours, theirs in columns.items() if ours not in NUTRIENTS}
    bare = dict(_bare(file, raw, columns, mapping, report))
    blank = {theirs for nutrient in bare for theirs in _whole(nutrient, raw, Source(file, mapping))}
    raw, mapping = raw.drop(columns=sorted(blank)), {o: t for o, t in mapping.items() if t not in blank}
    if not bare or raw.empty:
        return [_part(raw, mapping, bare, "")]
    suffixes = _suffixes(file, raw, mapping, laboratories, report)
    filled = pd.concat([text_of(raw[theirs]) != "" for theirs in bare.values()], axis=1).any(axis=1)
    unsaid = row_numbers(raw.index[filled & (suffixes == "")])
    if unsaid:
        cause = f"no unit for {', '.join(bare.values())}, so not read"
        report.tell(file, listed("row", unsaid), cause, f"Say it in a column unit, or in [labs]: {KNOWN}")
    return [_part(raw[suffixes == suffix], mapping, bare, suffix) for suffix in sorted(set(suffixes))]


def _part(rows: pd.DataFrame, mapping: dict[str, str], bare: Mapping[str, str], suffix: str) -> Part:
    # Left under their own name they would be told a second time.
    kept = rows.drop(columns=list(bare.values()))
    if not suffix:
        return kept, mapping
    return kept.assign(**{f"{nutrient}_{suffix}": rows[theirs] for nutrient, theirs in bare.items()}), mapping


def _bare(
    file: str, raw: pd.DataFrame, columns: Mapping[str, str], mapping: Mapping[str, str], report: Report
) -> Iterator[tuple[str, str]]:
    """Give each nutrient with the file's column that does not say its unit."""
    by_lower = {str(name).strip().lower(): str(name) for name in reversed(raw.columns)}
    for nutrient in NUTRIENTS:
        theirs = columns.get(nutrient, by_lower.get(nutrient, ""))
        if theirs not in raw.columns:
            if nutrient in columns:
                has = f"The file has: {', '.join(map(str, raw.columns))}"
                report.refuse(file, f"column {theirs!r} for {nutrient!r}", "is not there", has)
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


def _suffixes(
    file: str,
    raw: pd.DataFrame,
    mapping: Mapping[str, str],
    laboratories: Mapping[str, Laboratory],
    report: Report,
) -> pd.Series:
    """Return for each row the unit by the end of a column's name, "" where it is not said or not known."""
    source = Source(file, mapping)
    unit, lab = (_text(raw, their_name(raw, column, source)) for column in (UNIT, LAB))
    by_lab = lab.map(lambda name: laboratory_of(name, laboratories).unit).astype(object)
    said = unit.mask(unit.str.lower().isin(UNSAID), by_lab).str.lower().str.strip()
    known = said.map(lambda words: SUFFIX_OF.get(" ".join(words.replace(".", "").split()), ""))
    strange = sorted(set(said[(known == "") & (said != "")]))
    if strange:
        report.tell(file, listed("unit", map(repr, strange)), "is not known", f"Write {KNOWN}")
    return known.astype(object)


def _text(raw: pd.DataFrame, found: Any) -> pd.Series:
    return pd.Series("", index=raw.index, dtype=object) if found is None else text_of(raw[found.theirs])
