"""The lab tests that stand for each field today: the newest of each zone, and how much of the field each is for."""

from datetime import date

import pandas as pd

from spatial.values import NUTRIENTS

VALUES = {"ph": ["ph"]} | {nutrient: [f"{nutrient}_mg_kg", f"{nutrient}_index"] for nutrient in NUTRIENTS}
TEST = ["extractant", "soil_group"]


def standing_tests(tests: pd.DataFrame, on: date, kind: str) -> pd.DataFrame:
    """Return the rows of `tests` that stand for their fields on day `on`, with weight_share, 1 in all in a field.

    `kind` is "ph", "p", "k" or "mg"; rows without such a value do not count, so that a later test of something else
    hides nothing. The newest day of each zone stands, zones by their zone_area_ha (all alike where one has none) and
    repeats of a day alike. A test of the whole field takes the place of zones that are no newer, and leaves it to
    newer ones. Nutrients by two extractants are never mixed: of those of one day the first by name stands.
    """
    known = tests[VALUES[kind]].notna().any(axis=1)
    done = tests[known & (tests["field_id"] != "") & (tests["sample_date"] <= pd.Timestamp(on))]
    newest = done[done["sample_date"] == done.groupby(["field_id", "zone"])["sample_date"].transform("max")]
    standing = _whole_or_zones(newest)
    if kind != "ph":
        standing = _one_method(standing)
    return standing.assign(weight_share=_weights(standing))


def _whole_or_zones(newest: pd.DataFrame) -> pd.DataFrame:
    """Return the zones that are newer than a test of the whole field, or else that test."""
    whole = newest["zone"] == ""
    day = newest["sample_date"]
    of_whole = day.where(whole).groupby(newest["field_id"]).transform("max")
    of_zones = day.mask(whole).groupby(newest["field_id"]).transform("max")
    stands = (whole & ~(of_zones > of_whole)) | (~whole & ~(day <= of_whole))
    return newest[stands]


def _one_method(standing: pd.DataFrame) -> pd.DataFrame:
    ordered = standing.sort_values(["field_id", "zone", *TEST], kind="stable")
    first = ordered.groupby(["field_id", "zone"])[TEST].transform("first")
    return standing[(ordered[TEST] == first).all(axis=1).reindex(standing.index)]


def _weights(standing: pd.DataFrame) -> pd.Series:
    by_zone = standing.groupby(["field_id", "zone"])["zone_area_ha"]
    area = by_zone.transform("mean").where(lambda ha: ha > 0)
    lacks = area.isna().groupby(standing["field_id"]).transform("any")
    weight = area.mask(lacks, 1.0) / by_zone.transform("size")
    return weight / weight.groupby(standing["field_id"]).transform("sum")
