"""What the stand record lists over the seasons of the log."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from spatial.agronomy.stand_record import stand_record
from tests.unit.stands import fields_of, numbers_of
from tests.unit.test_season_facts import log_of

ON, NORTH, SOUTH = date(2026, 9, 8), (8, 1), (2, 1)
NO_TESTS = pd.DataFrame({"field_id": pd.Series(dtype=object), "sample_date": pd.to_datetime([]), "ph": []})


def fields_with(count=1, last_cut="2026-10-01", average="2026-11-10", growth_end="2026-11-20", **columns):
    fields = fields_of(**({"area": ["Hill"] * count} | columns))
    dates = {"last_cut_date": last_cut, "average_freeze_date": average, "growth_end_date": growth_end}
    table = fields.drop(columns="stubble_cm").join(numbers_of(fields))
    return table.assign(**{name: pd.Timestamp(day) if day else pd.NaT for name, day in dates.items()})


def listed(*facts, fields=None, tests=NO_TESTS, on=ON, season_start=NORTH):
    fields = fields_with() if fields is None else fields
    return stand_record(fields, log_of(*facts), tests, on, season_start)


def codes(*facts, **how):
    return [why.code for why in listed(*facts, **how)["a"]]


def cut(day, stubble="10", field_id="a"):
    return (day, "cut", field_id, "", stubble)


def freeze_cut(day, height):
    return (day, "freeze_cut", "a", "", height)


def lab_of(*rows):
    table = pd.DataFrame(rows, columns=["field_id", "sample_date", "ph"])
    return table.assign(sample_date=pd.to_datetime(table["sample_date"]))


def test_a_clean_log_gives_an_empty_list():
    assert listed(cut("2025-06-10"), cut("2025-09-20"), freeze_cut("2025-11-10", "25")).tolist() == [()]


def test_a_cut_after_the_last_cut_date_of_any_fall_of_the_log_is_listed_with_its_date():
    (why,) = listed(cut("2024-10-12"))["a"]
    assert why.code == "cut_while_it_should_stand"
    assert why.values == {
        "cut_made_date": pd.Timestamp("2024-10-12"),
        "last_cut_date": pd.Timestamp("2024-10-01"),
    }


@pytest.mark.parametrize(
    ("day", "is_listed"),
    [("2025-10-01", False), ("2025-10-02", True), ("2025-11-09", True), ("2025-11-10", False)],
)
def test_it_should_stand_from_the_day_after_the_last_cut_date_to_the_average_freeze(day, is_listed):
    assert codes(cut(day)) == ["cut_while_it_should_stand"] * is_listed


@pytest.mark.parametrize(
    ("day", "is_listed"), [("2025-10-18", True), ("2025-10-19", False), ("2025-10-25", False)]
)
def test_a_recorded_freeze_goes_before_the_average_and_a_cut_the_day_before_it_was_timed_at_it(
    day, is_listed
):
    freeze = ("2025-10-20", "killing_freeze", "", "Hill", "")
    assert codes(cut(day), freeze) == ["cut_while_it_should_stand"] * is_listed


def test_the_freeze_of_another_area_or_another_fall_ends_nothing():
    other = ("2025-10-05", "killing_freeze", "", "Plain", "")
    before = ("2024-10-05", "killing_freeze", "", "Hill", "")
    assert codes(cut("2025-10-12"), other, before) == ["cut_while_it_should_stand"]


def test_where_the_average_is_not_reached_the_end_of_growth_ends_the_fall():
    fields = fields_with(average=None)
    assert codes(cut("2025-11-19"), fields=fields) == ["cut_while_it_should_stand"]
    assert codes(cut("2025-11-20"), fields=fields) == []


def test_a_fall_without_any_end_is_not_judged():
    assert codes(cut("2025-10-12", "5"), fields=fields_with(average=None, growth_end=None)) == []


def test_a_fall_that_runs_past_new_year_keeps_its_year():
    fields = fields_with(last_cut="2026-12-20", average="2027-01-25")
    (why,) = listed(cut("2025-01-10"), fields=fields)["a"]
    assert why.values["last_cut_date"] == pd.Timestamp("2024-12-20")


def test_a_southern_fall_is_judged_by_its_own_dates():
    fields = fields_with(last_cut="2026-04-05", average="2026-05-15")
    facts = (cut("2025-04-20"), cut("2025-10-20"), cut("2026-03-20"))
    (why,) = listed(*facts, fields=fields, on=date(2026, 6, 1), season_start=SOUTH)["a"]
    assert why.values["cut_made_date"] == pd.Timestamp("2025-04-20")


def test_a_fall_cut_under_the_grass_s_own_stubble_is_listed_whatever_the_mower_is_set_to():
    fields = fields_with(stubble_cm=[5.0])
    (why,) = listed(cut("2025-09-10", "5"), fields=fields)["a"]
    assert (why.code, why.values["stubble_cm"]) == ("cut_too_low", 5.0)
    assert why.values["usual_stubble_cm"] == pytest.approx(4 * 2.54)  # hybrid bermudagrass, its rule file


@pytest.mark.parametrize(
    ("day", "stubble"),
    [
        ("2025-07-31", "5"),
        ("2025-09-10", "10"),
        ("2025-09-10", "9.2"),
        ("2025-09-10", ""),
        ("2025-12-10", "5"),
    ],
)
def test_a_summer_cut_a_rounded_one_an_unknown_one_and_one_after_the_freeze_are_not_too_low(day, stubble):
    assert codes(cut(day, stubble)) == []


def test_an_overseeded_field_is_clipped_short_on_purpose():
    assert codes(cut("2025-09-10", "5"), fields=fields_with(intent=["overseeded"])) == []


def test_short_freeze_cuts_in_two_falls_running_are_one_line_with_both_dates():
    (why,) = listed(freeze_cut("2023-11-08", "16"), freeze_cut("2024-11-12", "15"))["a"]
    assert why.code == "two_short_freeze_cuts"
    assert list(why.values.values()) == [pd.Timestamp("2023-11-08"), pd.Timestamp("2024-11-12")]


def test_two_running_may_lie_either_side_of_new_year():
    assert codes(freeze_cut("2024-01-05", "15"), freeze_cut("2024-12-20", "15")) == ["two_short_freeze_cuts"]


@pytest.mark.parametrize("heights", [("15", "25"), ("25", "15"), ("15", ""), ("20.3", "20.32")])
def test_two_freeze_cuts_of_which_one_was_tall_enough_or_unknown_are_not_listed(heights):
    cuts = [freeze_cut(day, cm) for day, cm in zip(("2023-11-08", "2024-11-12"), heights, strict=True)]
    assert codes(*cuts) == []


def test_a_fall_between_two_short_freeze_cuts_breaks_the_run():
    assert codes(freeze_cut("2022-11-08", "15"), freeze_cut("2024-11-12", "15")) == []


def test_a_short_freeze_cut_of_last_fall_speaks_against_one_this_fall():
    (why,) = listed(freeze_cut("2025-11-12", "15"))["a"]
    assert why.code == "short_freeze_cut_last_year"
    assert why.values["cut_date"] == pd.Timestamp("2025-11-12")


def test_once_it_was_done_again_it_is_two_running():
    cuts = (freeze_cut("2025-11-12", "15"), freeze_cut("2026-11-12", "15"))
    assert codes(*cuts, on=date(2027, 1, 10)) == ["two_short_freeze_cuts"]


def test_stand_cover_that_fell_between_two_springs_is_listed_with_both():
    log = (("2025-04-20", "stand_cover", "a", "", "90"), ("2026-05-02", "stand_cover", "a", "", "70"))
    (why,) = listed(*log)["a"]
    assert why.code == "stand_cover_fell"
    assert (why.values["first_share"], why.values["second_share"]) == (0.9, 0.7)
    assert why.values["second_seen_date"] == pd.Timestamp("2026-05-02")


@pytest.mark.parametrize("second", ["85", "90", "100"])
def test_cover_that_rose_or_fell_by_no_more_than_the_eye_errs_is_not_listed(second):
    log = (("2025-04-20", "stand_cover", "a", "", "90"), ("2026-05-02", "stand_cover", "a", "", second))
    assert codes(*log) == []


def test_two_looks_in_one_spring_are_one_and_the_later_counts():
    log = (("2026-03-20", "stand_cover", "a", "", "90"), ("2026-05-20", "stand_cover", "a", "", "60"))
    assert codes(*log) == []


def test_a_ph_low_in_two_years_is_listed_and_lows_of_one_year_are_not():
    tests = lab_of(("a", "2024-01-10", 5.6), ("a", "2026-01-12", 5.7), ("b", "2026-01-12", 5.0),
                     ("b", "2026-03-12", 5.1))  # fmt: skip
    found = listed(fields=fields_with(2), tests=tests)
    assert [why.code for why in found["a"]] == ["soil_low_again"] and found["b"] == ()


def test_a_ph_that_lime_has_mended_is_not_listed():
    tests = lab_of(("a", "2022-01-10", 5.5), ("a", "2024-01-10", 5.6), ("a", "2026-01-12", 6.3))
    assert codes(tests=tests) == []


def test_the_list_is_in_order_of_its_dates_and_each_field_has_its_own():
    log = (
        ("2026-05-02", "stand_cover", "a", "", "60"),
        freeze_cut("2025-11-12", "15"),
        cut("2025-10-12"),
        ("2025-04-20", "stand_cover", "a", "", "90"),
        cut("2024-10-12", "10", "b"),
    )
    found = listed(*log, fields=fields_with(2))
    assert [why.code for why in found["a"]] == [
        "cut_while_it_should_stand",
        "short_freeze_cut_last_year",
        "stand_cover_fell",
    ]
    assert [why.values["cut_made_date"].year for why in found["b"]] == [2024]


def test_the_order_of_the_lines_of_other_days_changes_nothing():
    log = [
        cut("2025-10-12"),
        cut("2025-09-10", "5"),
        freeze_cut("2024-11-12", "15"),
        freeze_cut("2023-11-08", "15"),
    ]
    assert listed(*log).tolist() == listed(*reversed(log)).tolist()


def test_facts_after_the_day_of_the_plan_are_not_known_yet():
    assert codes(cut("2026-10-12"), on=date(2026, 10, 11)) == []


def test_a_field_without_a_grass_is_judged_by_nothing_it_has_no_number_for():
    fields = fields_with(grass=[""]).assign(last_cut_date=pd.NaT, target_ph=np.nan)
    assert codes(cut("2025-10-12", "5"), freeze_cut("2025-11-12", "10"), fields=fields) == []
