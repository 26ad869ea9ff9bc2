"""How a lab report writes the unit of P, K and Mg, and whether it agrees with the headings that name one."""

from collections.abc import Mapping

import pandas as pd

from spatial.columns import SOIL_TESTS, Column
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, listed, row_numbers, their_name
from spatial.inputs.soil.lab_words import UNSAID
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
# The end of a heading -> that of ours.
HEADED = {"ppm": "ppm", "mg_kg": "ppm", "lb_ac": "lb_ac", INDEX: INDEX}


def suffix_of(words: str) -> str:
    """Return the end of our column's name for a unit in a report's words, "" where it is not known."""
    return SUFFIX_OF.get(" ".join(words.lower().replace(".", "").split()), "")


def text_in(raw: pd.DataFrame, column: Column, mapping: Mapping[str, str]) -> pd.Series:
    """Return the words of a column of ours in a file, "" in every row where the file lacks it."""
    found = their_name(raw, column, Source("", mapping))
    return pd.Series("", index=raw.index, dtype=object) if found is None else text_of(raw[found.theirs])


def agreeing(file: str, raw: pd.DataFrame, mapping: Mapping[str, str], report: Report) -> pd.DataFrame:
    """Return a table without the P, K and Mg of rows whose unit is none of those in their headings; that is told."""
    unit = text_in(raw, UNIT, mapping)
    suffixes = unit.map(suffix_of)
    said = ~unit.str.lower().isin(UNSAID)
    found: dict[str, pd.Series] = {}
    for nutrient in NUTRIENTS:
        headings = _headings(nutrient, raw, mapping)
        other = said & ~suffixes.isin(headings.values())
        found |= {theirs: other & (text_of(raw[theirs]) != "") for theirs in headings}
    odd = {theirs: other for theirs, other in found.items() if other.any()}
    if odd:
        rows = pd.concat(odd.values(), axis=1).any(axis=1)
        units = ", ".join(map(repr, sorted(set(unit[rows]))))
        cause = f"unit {units} contradicts the heading {', '.join(odd)}, so not read"
        mend = "Ask the laboratory which is true, and mend the heading or the unit"
        report.tell(file, listed("row", row_numbers(raw.index[rows])), cause, mend)
    return raw.assign(**{theirs: raw[theirs].mask(other, "") for theirs, other in odd.items()})


def _headings(nutrient: str, raw: pd.DataFrame, mapping: Mapping[str, str]) -> dict[str, str]:
    """Return the file's columns of a nutrient whose headings name a unit, each with that unit."""
    columns = [column for column in SOIL_TESTS if column.name in (f"{nutrient}_mg_kg", f"{nutrient}_{INDEX}")]
    found = [their_name(raw, column, Source("", mapping)) for column in columns]
    return {one.theirs: HEADED[one.written.removeprefix(f"{nutrient}_")] for one in found if one is not None}
