"""The lab tests that stand for each field today: the newest of each zone, and how much of the field each is for."""

from datetime import date

import pandas as pd

from spatial.values import NUTRIENTS

VALUES = {"ph": ["ph"], "lime": ["ph", "lime_t_ha"]} | {
    nutrient: [f"{nutrient}_mg_kg", f"{nutrient}_index"] for nutrient in NUTRIENTS
}
TEST = ["extractant", "soil_group"]
PART = ["field_id", "part"]


def standing_tests(tests: pd.DataFrame, on: date, kind: str) -> pd.DataFrame:
    """Return the rows of `tests` that stand for their fields on day `on`, with weight_share, 1 in all in a field.

    `kind` is "ph", "lime" (pH or the laboratory's own lime rate), "p", "k" or "mg"; rows without such a value do not
    count, so that a later test of something else hides nothing. The newest day of each zone stands, zones by their
    zone_area_ha (all alike where one has none) and repeats of a day alike. A test of the whole field takes the place
    of every zone that is no newer, with its land; where all zones are newer it stands no more. Nutrients by two
    extractants or of two soil groups are never mixed: of those of one day the first by name stands, a named one first.
    """
    known = tests[VALUES[kind]].notna().any(axis=1)
    done = tests[known & (tests["field_id"] != "") & (tests["sample_date"] <= pd.Timestamp(on))]
    parted = done.assign(part=done["zone"].map(_plain).astype(object))
    newest = parted[parted["sample_date"] == parted.groupby(PART)["sample_date"].transform("max")]
    newest = newest.assign(zone=newest.groupby(PART)["zone"].transform("first"))  # one spelling for each
    replaced = _replaced(newest)
    standing = newest[_stands(newest, replaced)]
    if kind in NUTRIENTS:
        standing = _one_method(standing)
    return standing.assign(weight_share=_weights(standing, newest, replaced)).drop(columns="part")


def _plain(zone: str) -> str:
    return " ".join(zone.lower().split())


def _replaced(newest: pd.DataFrame) -> pd.Series:
    """Return which zones have a test of the whole field that is as new."""
    whole = newest["part"] == ""
    of_whole = newest["sample_date"].where(whole).groupby(newest["field_id"]).transform("max")
    return ~whole & (newest["sample_date"] <= of_whole)


def _stands(newest: pd.DataFrame, replaced: pd.Series) -> pd.Series:
    whole = newest["part"] == ""
    newer = ~whole & ~replaced
    some_newer, some_replaced = (
        which.groupby(newest["field_id"]).transform("any") for which in (newer, replaced)
    )
    return newer | (whole & (some_replaced | ~some_newer))


def _one_method(standing: pd.DataFrame) -> pd.DataFrame:
    unnamed = standing.assign(unnamed=standing["extractant"] == "")
    ordered = unnamed.sort_values([*PART, "unnamed", *TEST], kind="stable")
    first = ordered.groupby(PART)[TEST].transform("first")
    return standing[(ordered[TEST] == first).all(axis=1).reindex(standing.index)]


def _weights(standing: pd.DataFrame, newest: pd.DataFrame, replaced: pd.Series) -> pd.Series:
    land = _land(newest, replaced).reindex(pd.MultiIndex.from_frame(standing[PART])).fillna(1.0)
    weight = land.set_axis(standing.index) / standing.groupby(PART)["zone"].transform("size")
    return weight / weight.groupby(standing["field_id"]).transform("sum")


def _land(newest: pd.DataFrame, replaced: pd.Series) -> pd.Series:
    """Return the land of each zone, that of replaced ones as the whole field's; 1 for each where one is not known."""
    zones = newest[newest["part"] != ""]
    area_ha = (
        zones["zone_area_ha"].where(zones["zone_area_ha"] > 0).groupby([zones[name] for name in PART]).mean()
    )
    lacks = area_ha.isna().groupby(level="field_id").transform("any")
    land = area_ha.mask(lacks, 1.0).rename("land").reset_index()
    gone = pd.MultiIndex.from_frame(newest.loc[replaced, PART])
    whole = pd.MultiIndex.from_frame(land[PART]).isin(gone)
    return land.assign(part=land["part"].mask(whole, "")).groupby(PART)["land"].sum()
