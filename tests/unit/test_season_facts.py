"""What the facts of the season log become, field by field."""

from datetime import date

import hypothesis.strategies as st
import pandas as pd
import pytest
from hypothesis import given

from spatial.agronomy.season_facts import (
    cut_dates,
    facts_of_fields,
    falls,
    freeze_cuts,
    green_up_dates,
    recorded_freezes,
    season_starts,
    springs,
    years_moved,
)
from spatial.climate.seasons import season_of
from tests.unit.stands import days_of, fields_of

ON, NORTH, SOUTH = date(2026, 9, 8), (8, 1), (2, 1)


def log_of(*facts):
    table = pd.DataFrame(facts, columns=["date", "fact", "field_id", "area", "value"], dtype=object)
    return table.assign(date=pd.to_datetime(table["date"]).astype("datetime64[ns]"))


def dates(*texts):
    return pd.Series(pd.to_datetime(list(texts)))


@given(st.dates(date(1990, 1, 1), date(2060, 12, 31)), st.integers(1, 12))
def test_a_day_has_the_fall_that_the_plan_of_that_day_has(day, month):
    assert falls(dates(day), (month, 1)).tolist() == [season_of(day, (month, 1)).year]


def test_a_fall_runs_across_new_year():
    assert falls(dates("2025-04-01", "2026-01-15", "2026-03-31"), NORTH).tolist() == [2025, 2025, 2025]
    assert falls(dates("2025-10-01", "2026-01-15", "2026-09-30"), SOUTH).tolist() == [2026, 2026, 2026]


def test_a_spring_is_never_cut_in_two():
    assert len(set(springs(dates("2026-03-20", "2026-05-20"), NORTH))) == 1
    assert len(set(springs(dates("2026-09-20", "2026-11-20"), SOUTH))) == 1


def test_a_season_begins_in_the_year_of_its_fall():
    assert season_starts(pd.Series([2025]), SOUTH).tolist() == [pd.Timestamp("2025-02-01")]


def test_a_date_keeps_its_month_and_day_and_a_leap_day_gives_way():
    moved = years_moved(
        pd.Series(pd.to_datetime(["2028-02-29", "2026-01-05", None])), pd.Series([-1, -2, -1])
    )
    assert moved.tolist()[:2] == [pd.Timestamp("2027-02-28"), pd.Timestamp("2024-01-05")]
    assert pd.isna(moved[2])


def test_a_fact_of_an_area_is_one_of_each_of_its_fields_only():
    fields = fields_of(area=["Hill", "Plain", "Plain", ""])
    log = log_of(("2026-09-01", "fall_armyworm", "", "Plain", "5"), ("2026-09-01", "note", "a", "", ""))
    rows = facts_of_fields(log, ["fall_armyworm"], fields, ON)
    assert rows[["field_id", "area", "number"]].to_numpy().tolist() == [
        ["b", "Plain", 5.0],
        ["c", "Plain", 5.0],
    ]


def test_of_two_lines_of_one_day_the_later_one_counts():
    log = log_of(("2026-08-01", "cut", "a", "", ""), ("2026-08-01", "cut", "a", "", "7.5"))
    assert facts_of_fields(log, ["cut"], fields_of(area=[""]), ON)["number"].tolist() == [7.5]


def test_facts_of_tomorrow_and_of_strangers_are_left_out():
    log = log_of(("2026-09-09", "cut", "a", "", ""), ("2026-08-01", "cut", "zz", "", ""))
    assert facts_of_fields(log, ["cut"], fields_of(area=[""]), ON).empty


def test_a_log_without_facts_gives_nothing():
    fields = fields_of(area=["", ""])
    assert green_up_dates(log_of(), fields, ON, date(2026, 1, 1)).isna().tolist() == [True, True]
    assert freeze_cuts(log_of(), fields, ON, NORTH).empty
    assert recorded_freezes(log_of(), fields, ON, NORTH).empty


def test_green_up_is_its_first_day_since():
    log = log_of(
        ("2025-04-02", "green_up", "a", "", ""),
        ("2026-04-09", "green_up", "a", "", ""),
        ("2026-04-20", "green_up", "a", "", ""),
    )
    found = green_up_dates(log, fields_of(area=["", ""]), ON, date(2025, 11, 1))
    assert found.tolist() == days_of("04-09", None)


def test_a_freeze_cut_is_a_cut_and_the_later_of_log_and_fields_counts():
    fields = fields_of(previous_cut_date=days_of("07-01", "09-01", "09-20"))
    log = log_of(("2026-08-09", "freeze_cut", "a", "", "20"), ("2026-08-09", "cut", "b", "", ""))
    assert cut_dates(log, fields, ON).tolist() == days_of("08-09", "09-01", None)


def test_a_fall_has_one_freeze_cut_the_last():
    log = log_of(
        ("2025-11-12", "freeze_cut", "a", "", "15"),
        ("2025-11-10", "freeze_cut", "a", "", "20"),
        ("2024-11-11", "freeze_cut", "a", "", ""),
    )
    cuts = freeze_cuts(log, fields_of(area=[""]), ON, NORTH)
    assert cuts["fall"].tolist() == [2024, 2025]
    assert cuts["height_cm"].tolist() == pytest.approx([float("nan"), 15.0], nan_ok=True)


def test_a_recorded_freeze_is_the_first_of_its_fall_and_none_of_spring():
    log = log_of(
        ("2025-04-03", "killing_freeze", "", "Hill", ""),
        ("2025-11-10", "killing_freeze", "", "Hill", ""),
        ("2025-11-02", "killing_freeze", "a", "", ""),
        ("2026-01-05", "killing_freeze", "", "Hill", ""),
    )
    freezes = recorded_freezes(log, fields_of(area=["Hill", "Hill"]), ON, NORTH)
    assert freezes.to_dict() == {
        ("a", 2025): pd.Timestamp("2025-11-02"),
        ("b", 2025): pd.Timestamp("2025-11-10"),
    }
