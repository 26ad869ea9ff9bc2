"""What the seasons of a station promise, by a hand-made record that holds every trap."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.climate.station_seasons import station_seasons

NORTH, SOUTH = (8, 1), (2, 1)


def celsius(fahrenheit):
    return (fahrenheit - 32) * 5 / 9


def daily(first, last, readings_f, missing=()):
    """Return 50 F on every day from first to last, but for the readings given, and the missing spans of days."""
    minima = pd.Series(50.0, index=pd.date_range(first, last))
    for day, reading in readings_f.items():
        minima[day] = reading
    for begin, end in missing:
        minima[begin:end] = np.nan
    return celsius(minima)


def seasons_of(minima, threshold_f=28, season_start=NORTH, seasons=None):
    return station_seasons(minima, celsius(threshold_f), season_start, seasons)


def only(minima, **options):
    found = seasons_of(minima, **options)
    assert len(found) == 1
    return found.iloc[0]


def season(readings_f, missing=()):
    """Return the one season of 2009-2010, which has 365 days."""
    return only(daily("2009-08-01", "2010-07-31", readings_f, missing))


# Every trap in one record, told season by season in the test below.
TRAPS = daily(
    "1999-11-20",
    "2010-10-31",
    {
        "1999-12-01": 20,
        "2000-11-05": 29,
        "2000-11-06": 28,
        "2000-11-07": 15,
        "2001-11-20": 27,
        "2002-11-20": 27,
        "2003-11-20": 27,
        "2006-01-09": 26,
        "2008-02-29": 28,
        "2009-03-01": 28,
        "2010-03-01": 28,
        "2010-10-31": 29,
    },
    [
        ("2001-10-01", "2001-10-10"),
        ("2002-10-01", "2002-10-11"),
        ("2003-11-21", "2004-05-31"),
        ("2006-08-01", "2007-07-31"),
    ],
)


@pytest.mark.parametrize(
    ("year", "state", "freeze_date", "freeze_day", "missing_days"),
    # Days counted by hand: from 1 August, 1 November is day 92, 1 January 153 and 1 March 212, after a 29 February 213.
    [
        (1999, "not_valid", "NaT", np.nan, 111),  # the record begins in mid-season
        (2000, "freeze", "2000-11-06", 97, 0),  # exactly the threshold, the day after a degree above it
        (2001, "freeze", "2001-11-20", 111, 10),  # ten days missing before the freeze
        (2002, "not_valid", "NaT", np.nan, 11),  # eleven
        (2003, "freeze", "2003-11-20", 111, 0),  # half a year missing, all of it after the freeze
        (2004, "no_freeze", "NaT", np.inf, 0),
        (2005, "freeze", "2006-01-09", 161, 0),  # after New Year
        (2006, "not_valid", "NaT", np.nan, 365),  # all missing
        (2007, "freeze", "2008-02-29", 212, 0),
        (2008, "freeze", "2009-03-01", 212, 0),
        (2009, "freeze", "2010-03-01", 212, 0),
        (2010, "not_over", "NaT", np.nan, 273),  # none yet when the record ends
    ],
)
def test_every_trap_of_a_record_is_seen(year, state, freeze_date, freeze_day, missing_days):
    found = seasons_of(TRAPS).loc[year]
    assert (found["state"], str(found["freeze_date"])[:10]) == (state, freeze_date)
    np.testing.assert_equal(found["freeze_day"], freeze_day)
    assert found["missing_days"] == missing_days


def test_seasons_go_from_the_first_to_the_last_of_the_record():
    assert seasons_of(TRAPS).index.tolist() == list(range(1999, 2011))


def test_the_reading_of_the_freeze_is_kept():
    found = seasons_of(TRAPS)["freeze_tmin_c"]
    assert found[2005] == pytest.approx(-3.3333, abs=1e-4)  # 26 F
    assert found[[1999, 2002, 2004, 2006, 2010]].isna().all()


@pytest.mark.parametrize("fahrenheit", range(10, 40))
def test_a_reading_of_just_the_threshold_is_a_freeze(fahrenheit):
    # Also where the reading went through single precision on its way.
    exact = daily("2009-08-01", "2010-07-31", {"2009-11-03": fahrenheit})
    for minima in (exact, exact.astype(np.float32), exact + 1e-9):
        assert only(minima, threshold_f=fahrenheit)["freeze_day"] == 94


def test_a_tenth_of_a_degree_above_the_threshold_is_no_freeze():
    # -2.2 deg C, where it really was read in tenths of deg C, is 28.04 F.
    minima = daily("2009-08-01", "2010-07-31", {})
    minima["2009-11-03"] = -2.2
    assert only(minima, threshold_f=28)["state"] == "no_freeze"
    assert station_seasons(minima, -2.2, NORTH, None).loc[2009, "freeze_day"] == 94


def test_a_freeze_in_the_season_that_is_not_over_counts():
    found = only(daily("2010-08-01", "2010-11-30", {"2010-11-02": 25}))
    assert (found["state"], found["freeze_day"]) == ("freeze", 93)


@pytest.mark.parametrize(("first", "state"), [("2009-08-11", "freeze"), ("2009-08-12", "not_valid")])
def test_a_season_that_began_before_the_record_misses_the_days_before_it(first, state):
    assert only(daily(first, "2010-07-31", {"2009-11-02": 25}))["state"] == state


@pytest.mark.parametrize(("last", "state"), [("2010-07-31", "no_freeze"), ("2010-07-30", "not_over")])
def test_a_season_is_without_freeze_only_when_it_is_over(last, state):
    assert only(daily("2009-08-01", last, {}))["state"] == state


@pytest.mark.parametrize(("last", "state"), [("2010-01-10", "no_freeze"), ("2010-01-11", "not_valid")])
def test_a_season_without_freeze_may_miss_ten_days_at_most(last, state):
    assert season({}, [("2010-01-01", last)])["state"] == state


def test_the_missing_days_are_those_before_the_freeze_and_not_that_day():
    missing = [("2009-09-01", "2009-09-04"), ("2009-11-03", "2009-12-24")]
    assert season({"2009-11-02": 28}, missing)["missing_days"] == 4


def test_a_freeze_that_may_have_been_missed_gives_no_date():
    found = season({"2009-11-20": 25}, [("2009-10-20", "2009-11-19")])
    assert (found["state"], found["missing_days"]) == ("not_valid", 31)
    assert found[["freeze_day", "freeze_date", "freeze_tmin_c"]].isna().all()


def test_a_day_that_is_not_in_the_record_is_a_missing_day():
    minima = daily("2009-08-01", "2010-07-31", {"2009-11-20": 25})
    gap = pd.date_range("2009-09-01", "2009-09-11")
    assert only(minima.drop(gap))["missing_days"] == 11


def test_the_last_day_of_a_season_and_the_first_of_the_next_are_told_apart():
    found = seasons_of(daily("2008-08-01", "2010-07-31", {"2009-07-31": 28, "2009-08-01": 27}))
    assert found["freeze_day"].tolist() == [364, 0]


def test_a_southern_season_begins_on_1_february():
    found = seasons_of(
        daily("2007-02-01", "2009-01-31", {"2007-06-01": 28, "2009-01-31": 28}), season_start=SOUTH
    )
    assert found.index.tolist() == [2007, 2008]
    assert found["freeze_day"].tolist() == [120, 365]  # 2008 has a 29 February


def test_seasons_asked_for_that_the_record_does_not_have_are_not_valid():
    minima = daily("2009-08-01", "2010-07-31", {"2009-11-02": 25})
    found = seasons_of(minima, seasons=(2007, 2011))
    assert found["state"].tolist() == ["not_valid", "not_valid", "freeze", "not_valid", "not_valid"]
    assert found["missing_days"].tolist() == [366, 365, 0, 365, 366]


def test_seasons_not_asked_for_are_left_out():
    assert seasons_of(TRAPS, seasons=(2001, 2003)).index.tolist() == [2001, 2002, 2003]


def test_a_record_of_missing_days_has_no_valid_season():
    found = seasons_of(daily("2008-08-01", "2010-07-31", {}, [("2008-08-01", "2010-07-31")]))
    assert found["state"].tolist() == ["not_valid", "not_valid"]


def test_a_record_of_no_day_has_no_season_but_those_asked_for():
    empty = pd.Series([], index=pd.DatetimeIndex([]), dtype=float)
    assert seasons_of(empty).empty
    assert seasons_of(empty, seasons=(2001, 2002))["state"].tolist() == ["not_valid", "not_valid"]


def test_years_in_the_wrong_order_and_a_day_that_not_every_year_has_are_refused():
    with pytest.raises(ValueError, match="2003, comes after"):
        seasons_of(TRAPS, seasons=(2003, 2001))
    with pytest.raises(ValueError, match="day"):
        seasons_of(TRAPS, season_start=(2, 29))


def test_columns_have_the_kinds_that_the_rest_counts_on():
    for found in (seasons_of(TRAPS), seasons_of(TRAPS, threshold_f=-60)):
        kinds = found.dtypes.astype(str)
        assert kinds[["freeze_day", "freeze_tmin_c"]].tolist() == ["float64", "float64"]
        assert kinds[["freeze_date", "missing_days"]].tolist() == ["datetime64[s]", "int64"]


@st.composite
def records(draw):
    """A record of up to three years with gaps, in whole degrees F about the freezing point."""
    days = draw(st.integers(1, 1100))
    first = draw(st.dates(pd.Timestamp("1990-01-01").date(), pd.Timestamp("2000-01-01").date()))
    random = np.random.default_rng(draw(st.integers(0, 10_000)))
    minima = random.integers(25, draw(st.integers(30, 400)), days).astype(float)
    minima[random.random(days) < draw(st.sampled_from([0.0, 0.02, 0.2]))] = np.nan
    return celsius(pd.Series(minima, index=pd.date_range(first, periods=days)))


@given(records(), st.integers(20, 40), st.integers(0, 12))
def test_a_colder_threshold_never_freezes_earlier(minima, threshold_f, colder_f):
    day = seasons_of(minima, threshold_f)["freeze_day"]
    colder = seasons_of(minima, threshold_f - colder_f)["freeze_day"]
    assert ((colder >= day) | colder.isna() | day.isna()).all()


@given(records(), st.sampled_from([NORTH, SOUTH, (7, 15)]))
def test_a_date_is_the_seasons_first_day_and_so_many_days(minima, season_start):
    found = seasons_of(minima, 30, season_start)
    found = found[found["state"] == "freeze"]
    for year, day, on in zip(found.index, found["freeze_day"], found["freeze_date"], strict=True):
        assert on == pd.Timestamp(year, *season_start) + pd.Timedelta(days=int(day))
        assert minima[on] == found.loc[year, "freeze_tmin_c"] <= celsius(30) + 1e-9


@given(records(), st.randoms(use_true_random=False))
def test_the_order_of_the_days_changes_nothing(minima, random):
    order = list(range(len(minima)))
    random.shuffle(order)
    pd.testing.assert_frame_equal(seasons_of(minima.iloc[order]), seasons_of(minima))


@given(records())
def test_a_season_is_worked_out_as_if_it_were_alone(minima):
    together = seasons_of(minima)
    for year in together.index:
        alone = seasons_of(minima, seasons=(year, year))
        pd.testing.assert_frame_equal(alone, together.loc[[year]])
