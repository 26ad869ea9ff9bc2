"""What a lab report says in words: how pH was measured, and what its laboratory says for it where it does not."""

from collections.abc import Mapping

import pandas as pd

from spatial.inputs.checks import Report, listed, row_numbers
from spatial.soil import Laboratory

TEXTS = ("ph_method", "buffer", "extractant", "soil_group")
# UGA measures in 0.01 M CaCl2 and reports the water equivalent, 0.6 more (SERA-IEG-6 fact sheet 3).
CACL2_TO_WATER_PH = 0.6
WATER, BROUGHT, CACL2 = "water", "CaCl2 brought to water", "CaCl2"
SALTS = ("cacl", "calciumchloride")


def laboratory_of(name: str, laboratories: Mapping[str, Laboratory]) -> Laboratory:
    """Return what is said of a laboratory, blanks and capitals forgiven; nothing where it is not known."""
    by_name = {_plain(one): said for one, said in laboratories.items()}
    return by_name.get(_plain(name), Laboratory())


def filled_by_lab(
    tests: pd.DataFrame, file: str, laboratories: Mapping[str, Laboratory], report: Report
) -> pd.DataFrame:
    """Return the tests with their empty words and depths as their laboratories say; a strange laboratory is told."""
    if laboratories:
        known = {_plain(name) for name in laboratories}
        strange = sorted({name for name in tests["lab"] if name and _plain(name) not in known})
        if strange:
            cause = "is not among [labs], so only what its rows say is known"
            mend = f"Add it, or check its name; known: {', '.join(sorted(laboratories))}"
            report.tell(file, listed("lab", map(repr, strange)), cause, mend)
    labs = tests["lab"].map(lambda name: laboratory_of(name, laboratories))
    words = {
        column: tests[column].where(
            tests[column] != "", labs.map(lambda lab, column=column: getattr(lab, column))
        )
        for column in TEXTS
    }
    depth_cm = tests["depth_cm"].fillna(labs.map(lambda lab: lab.depth_cm).astype(float))
    return tests.assign(**words, depth_cm=depth_cm)


def in_water(tests: pd.DataFrame, file: str, report: Report) -> pd.DataFrame:
    """Return the tests with pH as in water: CaCl2 brought to it, and left out where the method is not known.

    `ph_method` becomes "water", "CaCl2 brought to water" or, where it is not said, stays empty; all that is told.
    """
    method = tests["ph_method"].map(_method).astype(object)
    measured, words = tests["ph"].notna(), tests["ph_method"]
    salt = measured & (method == CACL2)
    strange = measured & (method == "") & (words != "")
    _tell(tests[salt], file, f"pH in CaCl2 is brought to water by {CACL2_TO_WATER_PH}", report)
    _tell(
        tests[measured & (words == "")],
        file,
        "do not say how pH was measured; it is taken as in water",
        report,
    )
    _tell(
        tests[strange],
        file,
        f"have pH by a method that is not known ({', '.join(sorted(set(words[strange])))}), so it is not used",
        report,
    )
    ph = tests["ph"].mask(strange).add(CACL2_TO_WATER_PH).where(salt, tests["ph"].mask(strange))
    return tests.assign(ph=ph, ph_method=method.mask(method == CACL2, BROUGHT))


def _tell(rows: pd.DataFrame, file: str, cause: str, report: Report) -> None:
    if len(rows):
        mend = f"Write {WATER}, {CACL2} or {BROUGHT} as ph_method, or in [labs]"
        report.tell(file, listed("row", row_numbers(rows.index)), cause, mend)


def _method(words: str) -> str:
    plain = _plain(words)
    if any(salt in plain for salt in SALTS):
        return BROUGHT if "water" in plain or "equivalent" in plain else CACL2
    return (
        WATER
        if plain.startswith(("water", "h2o")) or plain in {"11water", "inwater", "ph1to1h2o", "11h2o"}
        else ""
    )


def _plain(text: str) -> str:
    return "".join(letter for letter in str(text).lower() if letter.isalnum())
