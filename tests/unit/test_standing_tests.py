from datetime import date

import pandas as pd
import pytest

from spatial.agronomy.soil.standing import standing_tests
from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report, Source, checked

ON = date(2026, 9, 8)


def standing(*rows, kind="ph"):
    tests = checked(pd.DataFrame(rows), SOIL_TESTS, Source("tests.csv"), Report())
    return standing_tests(tests, ON, kind).sort_index()


def taken(day, zone="", field_id="a", **values):
    return {"field_id": field_id, "sample_date": f"2026-{day}", "zone": zone, "ph": 6.0} | values


def weights(rows):
    return dict(zip(rows["zone"], rows["weight_share"], strict=True))


def test_the_newest_test_stands_alone():
    assert standing(taken("03-01"), taken("05-01"))["sample_date"].tolist() == [pd.Timestamp("2026-05-01")]


def test_a_test_of_tomorrow_is_not_known_yet():
    assert standing(taken("09-09")).empty


def test_a_later_test_without_the_value_hides_nothing():
    rows = standing(taken("03-01", k_mg_kg=80), taken("05-01"), kind="k")
    assert rows["sample_date"].tolist() == [pd.Timestamp("2026-03-01")]


def test_a_later_lime_rate_without_a_ph_stands_for_lime_alone():
    rows = [taken("03-01"), taken("05-01", ph=None, lime_t_ha=3.0)]
    assert standing(*rows, kind="lime")["sample_date"].tolist() == [pd.Timestamp("2026-05-01")]
    assert standing(*rows)["sample_date"].tolist() == [pd.Timestamp("2026-03-01")]


def test_zones_stand_by_their_land():
    assert weights(standing(taken("03-01", "hill", zone_area_ha=6), taken("04-01", "bottom", zone_area_ha=2))) == {
        "hill": 0.75, "bottom": 0.25,
    }  # fmt: skip


def test_zones_count_alike_where_the_land_of_one_is_not_known():
    assert weights(standing(taken("03-01", "hill", zone_area_ha=6), taken("03-01", "bottom"))) == {
        "hill": 0.5, "bottom": 0.5,
    }  # fmt: skip


def test_each_zone_stands_by_its_own_newest_test():
    rows = standing(taken("03-01", "hill"), taken("05-01", "hill"), taken("03-01", "bottom"))
    assert list(zip(rows["zone"], rows["sample_date"].dt.month, strict=True)) == [("hill", 5), ("bottom", 3)]


def test_a_newer_test_of_the_whole_field_takes_the_place_of_its_zones():
    assert standing(taken("03-01", "hill"), taken("03-01", "bottom"), taken("05-01"))["zone"].tolist() == [""]


def test_newer_zones_take_the_place_of_the_whole_field():
    assert standing(taken("03-01"), taken("05-01", "hill"), taken("05-01", "bottom"))["zone"].tolist() == [
        "hill",
        "bottom",
    ]


def test_a_test_of_the_whole_field_stands_for_the_zones_that_are_older_with_their_land():
    bottom, side = taken("03-01", "bottom", zone_area_ha=2), taken("04-01", "side", zone_area_ha=1)
    hill = taken("06-01", "hill", zone_area_ha=1)
    assert weights(standing(bottom, side, taken("05-01"), hill)) == {"": 0.75, "hill": 0.25}


def test_a_zone_is_the_same_in_capitals():
    assert standing(taken("03-01", "Bottom  land"), taken("05-01", "bottom land"))["zone"].tolist() == [
        "bottom land"
    ]


def test_repeats_of_a_day_count_alike_within_their_zone():
    rows = standing(taken("03-01", "hill"), taken("03-01", "hill", ph=5.0), taken("03-01", "bottom"))
    assert rows["weight_share"].tolist() == [0.25, 0.25, 0.5]


def test_two_extractants_of_one_day_are_never_mixed():
    one = taken("03-01", k_mg_kg=80, extractant="Mehlich-1")
    other = taken("03-01", k_mg_kg=200, extractant="Mehlich-3")
    for rows in (standing(one, other, kind="k"), standing(other, one, kind="k")):
        assert rows["extractant"].tolist() == ["Mehlich-1"] and rows["weight_share"].tolist() == [1.0]


def test_an_index_is_a_value_too():
    assert len(standing(taken("03-01", k_index=30), kind="k")) == 1


def test_the_weights_of_every_field_make_one():
    rows = [
        taken("03-01", zone, field_id, zone_area_ha=area)
        for field_id in "ab"
        for zone, area in (("x", 1), ("y", 3))
    ]
    assert standing(*rows).groupby("field_id")["weight_share"].sum().tolist() == pytest.approx([1.0, 1.0])


def test_without_tests_nothing_stands():
    empty = checked(
        pd.DataFrame({"field_id": [], "sample_date": []}), SOIL_TESTS, Source("tests.csv"), Report()
    )
    assert standing_tests(empty, ON, "k").empty


def test_a_named_extractant_stands_before_an_unnamed_one():
    one = taken("03-01", k_mg_kg=80, extractant="Mehlich-3")
    assert standing(one, taken("03-01", k_mg_kg=200), kind="k")["extractant"].tolist() == ["Mehlich-3"]


def test_a_zone_written_in_two_ways_is_one_with_one_name():
    rows = standing(taken("03-01", "North"), taken("03-01", "north "))
    assert len(set(rows["zone"])) == 1 and rows["weight_share"].tolist() == [0.5, 0.5]
