"""What a lab report says in words: how pH was measured, and what its laboratory says for it where it does not."""

from collections.abc import Mapping

import pandas as pd

from spatial.inputs.cells import MISSING
from spatial.inputs.checks import Report, listed, row_numbers
from spatial.names import plain
from spatial.soil import Laboratory

BY_LAB = ("ph_method", "buffer", "extractant", "soil_group")
UNSAID = MISSING | {"-", "--", "none"}
# UGA measures in 0.01 M CaCl2 and reports the water equivalent, 0.6 more (SERA-IEG-6 fact sheet 3).
CACL2_TO_WATER_PH = 0.6
WATER, BROUGHT, CACL2 = "water", "CaCl2 brought to water", "CaCl2"
CALCIUM = ("cacl", "calciumchloride")
OTHERS = ("kcl", "potassiumchloride", "naf", "salt", "buffer")  # none is water, whatever else the words say
WATERS = ("water", "h2o")
TO_WATER = ("towater", "toh2o", "aswater", "ash2o", "equiv", "brought", "convert", "adjust")


def laboratory_of(name: str, laboratories: Mapping[str, Laboratory]) -> Laboratory:
    """Return what is said of a laboratory, blanks and capitals forgiven; nothing where it is not known."""
    by_name = {plain(one): said for one, said in laboratories.items()}
    return by_name.get(plain(name), Laboratory())


def filled_by_lab(
    tests: pd.DataFrame, file: str, laboratories: Mapping[str, Laboratory], report: Report
) -> pd.DataFrame:
    """Return the tests with their empty words and depths as their laboratories say; a strange laboratory is told."""
    said = {name: _said(tests[name]) for name in ("lab", "zone", *BY_LAB)}
    if laboratories:
        _tell_strange(said["lab"], file, laboratories, report)
    # One look-up a laboratory, not one a row.
    known = {name: laboratory_of(name, laboratories) for name in said["lab"].unique()}
    for column in BY_LAB:
        by_lab = said["lab"].map({name: getattr(lab, column) for name, lab in known.items()})
        said[column] = said[column].where(said[column] != "", by_lab).astype(object)
    depth_cm = said["lab"].map({name: lab.depth_cm for name, lab in known.items()}).astype(float)
    return tests.assign(**said, depth_cm=tests["depth_cm"].fillna(depth_cm))


def _said(words: pd.Series) -> pd.Series:
    return words.mask(words.str.lower().isin(UNSAID), "").astype(object)


def _tell_strange(labs: pd.Series, file: str, laboratories: Mapping[str, Laboratory], report: Report) -> None:
    known = {plain(name) for name in laboratories}
    strange = sorted({name for name in labs if name and plain(name) not in known})
    if strange:
        cause = "is not among [labs], so only what its rows say is known"
        mend = f"Add it, or check its name; known: {', '.join(sorted(laboratories))}"
        report.tell(file, listed("lab", map(repr, strange)), cause, mend)


def in_water(tests: pd.DataFrame, file: str, report: Report) -> pd.DataFrame:
    """Return the tests with pH as in water: CaCl2 brought to it, and left out where the method is not known.

    `ph_method` becomes "water", "CaCl2 brought to water" or, where it is not said, stays empty; all that is told.
    """
    method = tests["ph_method"].map(ph_method).astype(object)
    measured, words = tests["ph"].notna(), tests["ph_method"]
    salt = measured & (method == CACL2)
    strange = measured & (method == "") & (words != "")
    unknown = ", ".join(sorted(set(words[strange])))
    _tell(tests[salt], file, f"pH in CaCl2 is brought to water by {CACL2_TO_WATER_PH}", report)
    _tell(tests[measured & (words == "")], file, "how pH was measured is not said; taken as in water", report)
    _tell(tests[strange], file, f"pH by a method that is not known ({unknown}) is not used", report)
    ph = tests["ph"].mask(strange).add(CACL2_TO_WATER_PH).where(salt, tests["ph"].mask(strange))
    return tests.assign(ph=ph, ph_method=method.mask(method == CACL2, BROUGHT))


def _tell(rows: pd.DataFrame, file: str, cause: str, report: Report) -> None:
    if len(rows):
        mend = f"Write {WATER}, {CACL2} or {BROUGHT} as ph_method, or in [labs]"
        report.tell(file, listed("row", row_numbers(rows.index)), cause, mend)


def ph_method(words: str) -> str:
    """Return "water", "CaCl2" or "CaCl2 brought to water" for how a report says it measured pH, "" where unclear.

    CaCl2 in water is neither: whether the value was brought to water is then not said.
    """
    letters = plain(words)
    has_water = any(water in letters for water in WATERS) or letters == "phw"
    if any(salt in letters for salt in CALCIUM):
        brought = has_water and any(word in letters for word in TO_WATER)
        return BROUGHT if brought else "" if has_water else CACL2
    return WATER if has_water and not any(other in letters for other in OTHERS) else ""
