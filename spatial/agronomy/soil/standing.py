"""The newest lab value of pH, P, K and Mg in each field, each with the test it comes from."""

from datetime import date

import pandas as pd

VALUES = {"ph": "ph", "p": "p_mg_kg", "k": "k_mg_kg", "mg": "mg_mg_kg"}
TEST = ["sample_date", "extractant", "soil_group"]


def newest_values(tests: pd.DataFrame, on: date) -> pd.DataFrame:
    """Return for each field its newest known value of each kind and where it is from, by day `on`.

    Columns: ph, p_mg_kg, k_mg_kg, mg_mg_kg and, for each kind, ph_date, ph_extractant, ph_soil_group and so on.
    A later test without a value does not hide an older one. Repeats of one day, extractant and soil group are
    averaged; where a day has several, the first by name counts. Rows without a field are left out.
    """
    done = tests[(tests["field_id"] != "") & (tests["sample_date"] <= pd.Timestamp(on))]
    found = [_newest(done, kind, column) for kind, column in VALUES.items()]
    return pd.concat(found, axis=1)


def _newest(tests: pd.DataFrame, kind: str, column: str) -> pd.DataFrame:
    known = tests[tests[column].notna()]
    means = known.groupby(["field_id", *TEST])[[column]].mean().reset_index()
    last_day = means.groupby("field_id")["sample_date"].transform("max")
    ordered = means[means["sample_date"] == last_day].sort_values(TEST)
    newest: pd.DataFrame = ordered.drop_duplicates("field_id").set_index("field_id")
    return newest.rename(columns={name: f"{kind}_{name.removeprefix('sample_')}" for name in TEST})
