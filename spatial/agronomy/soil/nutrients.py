"""What a field's hay takes of N, P2O5, K2O, S and Mg, as ranges, and the reasons that tell it."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.values import RemovalRules

MOST_HAY_T_HA = 27.0  # about 12 tons an acre in a season; common practice, no source
SAID = ("k2o", "n", "p2o5")  # of these, what the reasons tell
TAKEN = ("k2o", "n", "p2o5", "s", "mg")
TOLD = {
    "weighed": "hay_took_weighed",
    "cuts": "hay_took_cuts",
    "expected": "hay_would_take",
}


def removal(fields: pd.DataFrame, taken: pd.DataFrame, rules: RemovalRules) -> pd.DataFrame:
    """Return what the hay of each field takes, lowest and highest [kg/ha], NaN where hay or figure is not known.

    Hay that is more than a season can give counts as not known.
    Columns k2o_taken_low_kg_ha, k2o_taken_high_kg_ha, and so on for n, p2o5, s and mg. `fields` has grass, `taken`
    is what `hay_taken` returns.
    """
    found = {}
    possible = taken["taken_low_t_ha"] <= MOST_HAY_T_HA
    for nutrient in TAKEN:
        for place, end in enumerate(("low", "high")):
            kg_t = {grass: said[nutrient][place] for grass, said in rules.kg_t.items() if nutrient in said}
            found[f"{nutrient}_taken_{end}_kg_ha"] = fields["grass"].map(kg_t).astype(float) * taken[
                f"taken_{end}_t_ha"
            ].where(possible)
    return pd.DataFrame(found, index=fields.index)


def k2o_wanted(fields: pd.DataFrame) -> pd.Series:
    """Return what a K sample asks for: "rate", "none", "replace", "ask", or "" where no sample of this season says.

    "rate" and "none": the laboratory's own K2O rate, above zero or zero; "replace": K low or medium under hay, without
    such a rate, and "ask" under anything else. An old sample asks for nothing but a new one. `fields` has intent,
    flags, soil_k_origin, soil_k_class and lab_k2o_kg_ha (NaN unsaid).
    """
    fresh = fields["soil_k_origin"].eq("lab") & ~is_old(fields["flags"], "k")
    rate = fields["lab_k2o_kg_ha"]
    wanted = pd.Series("", index=fields.index, dtype=object)
    short = fields["soil_k_class"].isin(["low", "medium"])
    wanted = wanted.mask(short, "ask").mask(short & fields["intent"].eq("hay"), "replace")
    return wanted.mask(rate > 0, "rate").mask(rate == 0, "none").where(fresh, "").rename("k2o_wanted")


def is_old(flags: pd.Series, nutrient: str) -> pd.Series:
    """Return for each field whether its flags say that the sample of `nutrient` ("ph", "p", "k", "mg") is old."""
    return flags.map(
        lambda said: any(one.code == "soil_test_old" and nutrient in one.values["nutrients"] for one in said)
    ).astype(bool)


def nutrient_reasons(fields: pd.DataFrame) -> pd.Series:
    """Return for each field a tuple of reasons: what its hay took, that it is no rate, and what K asks for.

    `fields` has grass_name, k2o_wanted, soil_k_class, soil_k_date, lab_k2o_kg_ha and the columns of `hay_taken` and of
    `removal`.
    """
    rows = [(*_taken(row), *_potassium(row)) for row in fields.itertuples()]
    return pd.Series(rows, index=fields.index, dtype=object, name="nutrients")


def _taken(row: Any) -> Iterable[Reason]:
    amounts = tuple((name, *_range(row, name)) for name in SAID if pd.notna(_range(row, name)[1]))
    if not row.taken_basis or not row.taken_high_t_ha > 0:
        return
    if row.taken_low_t_ha > MOST_HAY_T_HA:
        yield reason("hay_too_heavy", most_hay_t_ha=MOST_HAY_T_HA)
        return
    if not amounts:
        if row.taken_basis != "expected":
            yield reason("removal_not_published", grass=row.grass_name)
        return
    yield reason(
        TOLD[row.taken_basis],
        known_cuts=row.taken_cuts,
        hay_range_t_ha=(row.taken_low_t_ha, row.taken_high_t_ha),
        amounts_kg_ha=amounts,
    )
    if row.taken_basis == "weighed" and row.taken_cuts > row.taken_weighings:
        yield reason("hay_not_all_weighed", known_cuts=row.taken_cuts, days=row.taken_weighings)


def _potassium(row: Any) -> Iterable[Reason]:
    if row.k2o_wanted == "rate":
        yield reason("k2o_lab_rate", k2o_kg_ha=row.lab_k2o_kg_ha, sample_date=row.soil_k_date)
    elif row.k2o_wanted == "none":
        yield reason("k2o_lab_none", sample_date=row.soil_k_date)
    elif row.k2o_wanted in ("replace", "ask"):
        known = row.k2o_wanted == "replace" and row.k2o_taken_high_kg_ha > 0
        yield reason("k2o_replace_least" if known else "k2o_ask_rate", k_class=row.soil_k_class)


def _range(row: Any, nutrient: str) -> tuple[float, float]:
    return getattr(row, f"{nutrient}_taken_low_kg_ha"), getattr(row, f"{nutrient}_taken_high_kg_ha")
