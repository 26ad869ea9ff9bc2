from datetime import date

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.agronomy.deadline import days_left, last_cuts, stages
from tests.unit.stands import days_of, fields_of, growth_at, numbers_of


def dated(fields, *freezes, cover=1.0, latitude=33.0):
    known = pd.DataFrame(
        {"killing_freeze_date": pd.to_datetime(days_of(*freezes)), "freeze_cover_share": cover},
        index=fields.index,
    )
    return last_cuts(known, numbers_of(fields), growth_at(fields, latitude))


def test_no_freeze_data_means_no_last_cut_date():
    row = dated(fields_of(grass=["hybrid_bermudagrass"]), None, cover=0.0).iloc[0]
    assert pd.isna(row["last_cut_date"]) and row["last_cut_limit"] == ""


def test_where_no_freeze_comes_growth_alone_decides():
    row = dated(fields_of(grass=["hybrid_bermudagrass"]), None).iloc[0]
    assert row["last_cut_limit"] == "growth" and row["last_cut_date"] < pd.Timestamp("2026-11-01")


def test_a_late_freeze_gives_way_to_growth():
    row = dated(fields_of(grass=["hybrid_bermudagrass"]), "12-20").iloc[0]
    assert row["last_cut_limit"] == "growth" and row["last_cut_date"] < pd.Timestamp("2026-11-15")


def test_natives_are_capped_on_31_august():
    # Guidance from Tennessee on native grass hay: no cut after late August.
    row = dated(fields_of(grass=["native_warm_season"]), "11-10").iloc[0]
    assert (row["last_cut_limit"], row["last_cut_date"]) == ("rule", pd.Timestamp("2026-08-31"))


def test_a_field_without_a_grass_has_no_last_cut_date():
    assert dated(fields_of(grass=[""]), "11-10")["last_cut_date"].isna().all()


@given(st.integers(0, 110), st.integers(0, 110), st.floats(25, 37))
def test_an_earlier_freeze_never_gives_a_later_last_cut(one, other, latitude):
    first = pd.Timestamp("2026-09-20")
    early, late = (
        (f"{first + pd.Timedelta(days=days):%m-%d}" for days in sorted([one, other]) if days <= 102)
        if max(one, other) <= 102
        else ("10-01", "12-01")
    )
    rows = dated(fields_of(grass=["hybrid_bermudagrass"] * 2), early, late, latitude=latitude)
    assert rows["last_cut_date"].iloc[0] <= rows["last_cut_date"].iloc[1]


@given(st.integers(20, 60), st.integers(20, 60))
def test_more_regrowth_days_never_give_a_later_date(one, other):
    fields = fields_of(grass=["hybrid_bermudagrass"] * 2)
    numbers = numbers_of(fields).assign(usual_regrowth_days=sorted([one, other]), least_regrowth_days=1.0)
    known = pd.DataFrame(
        {"killing_freeze_date": pd.to_datetime(days_of("11-01", "11-01")), "freeze_cover_share": 1.0},
        index=fields.index,
    )
    rows = last_cuts(known, numbers, growth_at(fields))
    assert rows["last_cut_date"].iloc[0] >= rows["last_cut_date"].iloc[1]


@pytest.mark.parametrize(
    ("on", "left"), [(date(2026, 9, 8), 24), (date(2026, 10, 2), 0), (date(2026, 10, 3), -1)]
)
def test_days_left_count_to_the_last_cut_date(on, left):
    assert days_left(pd.Series(pd.to_datetime(["2026-10-02"])), on).tolist() == [left]


def staged(on, *, ready="09-01", last="10-02", recorded=None, forecast=None):
    fields = pd.DataFrame(
        {
            "ready_date": pd.to_datetime(days_of(ready)),
            "last_cut_date": pd.to_datetime(days_of(last)),
            "killing_freeze_recorded_date": pd.to_datetime(days_of(recorded)),
            "forecast_freeze_date": pd.to_datetime(days_of(forecast)),
        }
    )
    return stages(fields, on, freeze_cut_days=5).iloc[0]


@pytest.mark.parametrize(
    ("on", "known", "stage"),
    [
        (date(2026, 8, 31), {}, "growing"),
        (date(2026, 9, 1), {}, "ready"),
        (date(2026, 10, 2), {}, "ready"),  # the last-cut date itself is still good
        (date(2026, 10, 3), {}, "leave_standing"),
        (date(2026, 9, 8), {"ready": None}, "growing"),
        (date(2026, 9, 8), {"ready": "10-05"}, "growing"),  # ready only after the last-cut date
        (date(2026, 10, 30), {"forecast": "10-31"}, "freeze_cut"),
        (date(2026, 11, 5), {"recorded": "10-31"}, "freeze_cut"),
        (date(2026, 11, 6), {"recorded": "10-31"}, "dormant"),
        (date(2026, 9, 8), {"last": None}, ""),
    ],
)
def test_a_field_goes_through_its_stages(on, known, stage):
    assert staged(on, **known) == stage


@given(st.floats(3, 30), st.floats(3, 30), st.sampled_from(["10-20", "11-10", "12-10", None]))
def test_less_stubble_never_gives_a_later_date(one, other, freeze):
    rows = dated(fields_of(stubble_cm=sorted([one, other])), freeze, freeze)
    assert rows["last_cut_date"].iloc[0] <= rows["last_cut_date"].iloc[1]


def test_two_cuts_fit_until_a_cutting_interval_before_the_last():
    # In summer the stand is tall again before its 28 days are over, in fall it takes longer.
    early, late = dated(fields_of(grass=["hybrid_bermudagrass"] * 2), "08-20", "11-06").iloc
    assert (early["last_cut_date"] - early["two_cuts_by_date"]).days == 28
    assert (late["last_cut_date"] - late["two_cuts_by_date"]).days > 28


def test_the_height_at_the_freeze_is_a_range_around_what_the_line_gives():
    row = dated(fields_of(grass=["hybrid_bermudagrass"]), "11-06").iloc[0]
    assert row["freeze_height_low_cm"] < 20.32 < row["freeze_height_high_cm"]
