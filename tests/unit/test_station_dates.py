"""What the freeze dates of a station promise: dates over chances, their errors, the trend, and what is told."""

import math
import time

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.climate.station_dates import CHANCES, station_dates
from spatial.climate.trend import freeze_trend
from spatial.daily import DailyMinima, Station
from spatial.errors import InputError
from spatial.reasons import CODES, reason

THRESHOLD_C = (28 - 32) * 5 / 9
NORTH, SOUTH = Station("A", latitude_deg=32.5), Station("B", latitude_deg=-32.5)
UNPLACED = Station("C")


def record(days, station=NORTH, first_year=1991, start="08-01"):
    """Return a record of whole seasons that each first freeze so many days after their first day; inf: never."""
    first, last = pd.Timestamp(f"{first_year}-{start}"), pd.Timestamp(f"{first_year + len(days)}-{start}")
    minima = pd.Series(10.0, index=pd.date_range(first, last, inclusive="left"))
    for step, day in enumerate(days):
        if np.isfinite(day):
            minima[pd.Timestamp(f"{first_year + step}-{start}") + pd.Timedelta(days=int(day))] = -5.0
    return DailyMinima(station, minima, "C", "minima.csv")


def dates_of(days, **options):
    return station_dates(record(days), THRESHOLD_C, **options)


def test_dates_come_with_what_lies_behind_them():
    found = dates_of([90, 100, np.inf, 95, 105, 110, 85, 99, np.inf, 101])
    assert (found.valid_seasons, found.invalid_seasons, found.no_freeze_share) == (10, 0, 0.2)
    assert (found.period, found.season_start, found.origin) == ((1991, 2000), (8, 1), "daily")
    assert (found.station, found.threshold_c, found.file) == (NORTH, THRESHOLD_C, "minima.csv")
    assert found.seasons["freeze_day"].tolist() == [90, 100, np.inf, 95, 105, 110, 85, 99, np.inf, 101]
    assert found.chances == (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)


def test_seasons_without_freeze_stand_behind_every_date():
    # By hand, Weibull: of nine seasons the rank is ten times the chance, and the last two have no freeze.
    found = dates_of([30, 70, np.inf, 10, 50, 20, np.inf, 60, 40], a=0.0)
    np.testing.assert_allclose(found.days, [10, 20, 30, 40, 50, 60, 70, np.inf, np.inf], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("a", "day"),
    # By hand: of five days 10 to 50 the rank of chance 0.2 is (6 - 2a) 0.2 + a: 1.2, 1.4 and 1.5.
    [(0.0, 12.0), (1 / 3, 14.0), (0.5, 15.0)],
)
def test_the_plotting_position_is_the_users(a, day):
    assert dates_of([10, 20, 30, 40, 50], chances=[0.2], a=a).days == pytest.approx([day])


def test_seasons_that_are_not_valid_do_not_count():
    days = [90, 100, 95, 105, 110, 85, 99]
    gaps = record(days)
    gaps.tmin_c["1993-09-01":"1993-09-20"] = np.nan
    found = station_dates(gaps, THRESHOLD_C)
    assert (found.valid_seasons, found.invalid_seasons) == (6, 1)
    np.testing.assert_array_equal(found.days, dates_of([90, 100, 105, 110, 85, 99]).days)


def test_south_of_the_equator_seasons_begin_on_1_february():
    found = station_dates(record([120, 130, 125, 140, 135], SOUTH, start="02-01"), THRESHOLD_C, chances=[0.5])
    assert (found.season_start, found.period) == ((2, 1), (1991, 1995))
    assert found.days.tolist() == [130]


def test_the_season_start_that_is_given_goes_before_the_latitude():
    found = station_dates(record([60] * 6, SOUTH, start="02-01"), THRESHOLD_C, season_start=(3, 1))
    assert found.season_start == (3, 1)
    assert found.seasons["freeze_day"].tolist()[1:] == [
        32,
        31,
        32,
        32,
        32,
        31,
    ]  # 1992 and 1996 are leap years
    assert found.told[-1] != UNPLACED_TOLD


UNPLACED_TOLD = reason("station_north_assumed")


def test_a_station_of_unknown_place_is_taken_for_northern_and_says_so():
    found = station_dates(record([90] * 20, UNPLACED), THRESHOLD_C)
    assert found.season_start == (8, 1)
    assert found.told == (UNPLACED_TOLD,)
    assert station_dates(record([90] * 20, UNPLACED), THRESHOLD_C, season_start=(8, 1)).told == ()


def test_seasons_asked_for_count_as_invalid_where_the_record_has_none():
    found = dates_of(list(range(80, 107)), seasons=(1989, 2018))
    assert (found.period, found.valid_seasons, found.invalid_seasons) == ((1989, 2018), 27, 3)
    assert found.told == (reason("station_not_read", season_years=(1989, 1990, 2018)),)


@pytest.mark.parametrize("count", [1, 4])
def test_under_five_seasons_no_date_is_known_and_one_reason_says_so(count):
    found = dates_of([90, 100, 95, 105][:count])
    assert np.isnan(found.days).all()
    assert np.isnan(found.error_days).all()
    assert found.trend is None
    assert found.told == (reason("station_too_few_seasons", seasons=count, least_seasons=5),)


def test_five_seasons_are_enough_and_twenty_have_no_wide_errors():
    assert np.isfinite(dates_of([90, 100, 95, 105, 99]).days).all()
    assert dates_of(list(range(80, 99))).told == (reason("station_few_seasons", seasons=19),)
    assert dates_of(list(range(80, 100))).told == ()


def test_a_record_of_missing_days_is_a_stated_result():
    empty = record([90, 95, 99])
    empty.tmin_c[:] = np.nan
    found = station_dates(empty, THRESHOLD_C)
    assert (found.valid_seasons, found.invalid_seasons) == (0, 3)
    assert math.isnan(found.no_freeze_share)
    assert np.isnan(found.days).all()
    assert found.told[1] == reason("station_not_read", season_years=(1991, 1992, 1993))


def test_a_record_of_no_day_is_one_clear_line():
    empty = DailyMinima(NORTH, pd.Series([], index=pd.DatetimeIndex([]), dtype=float), "C", "minima.csv")
    with pytest.raises(InputError) as caught:
        station_dates(empty, THRESHOLD_C)
    assert str(caught.value) == "minima.csv: A: has no daily minimum. Leave it out, or give its days"


def test_seasons_left_out_are_told_with_why():
    gaps = record([90.0] * 12 + [np.inf])
    gaps.tmin_c["1993-09-01":"1993-09-20"] = np.nan
    gaps.tmin_c["1995-08-01":"1997-07-31"] = np.nan
    early_end = DailyMinima(NORTH, gaps.tmin_c[:"2004-01-31"], "C", "minima.csv")
    told = station_dates(early_end, THRESHOLD_C).told
    assert told == (
        reason("station_few_seasons", seasons=9),
        reason("station_days_missing", season_years=(1993,), most_missing_days=10),
        reason("station_not_read", season_years=(1995, 1996)),
        reason("station_ends_early", season_years=(2003,)),
    )


@pytest.mark.parametrize(("start", "leap"), [((8, 1), 1995), ((2, 1), 1996), ((3, 1), 1995)])
def test_a_season_of_366_days_with_one_reading_is_not_told_as_unread(start, leap):
    found = {}
    for year in (leap - 1, leap):
        whole = record([90.0] * 8, start=f"{start[0]:02}-{start[1]:02}")
        first = pd.Timestamp(year, *start)
        whole.tmin_c[first + pd.Timedelta(days=1) : first + pd.DateOffset(years=1, days=-1)] = np.nan
        found[year] = station_dates(whole, THRESHOLD_C, season_start=start)
        gap = reason("station_days_missing", season_years=(year,), most_missing_days=10)
        assert found[year].told[1] == gap
    missing = [found[year].seasons.loc[year, "missing_days"] for year in (leap - 1, leap)]
    assert missing == [364, 365]


def test_a_warm_season_left_out_for_missing_days_is_told_with_what_it_does():
    days = record([90, 100, np.inf, 95, 105, 110])
    days.tmin_c["1994-05-01":"1994-05-11"] = np.nan
    found = station_dates(days, THRESHOLD_C)
    assert (found.valid_seasons, found.no_freeze_share) == (5, 0)
    assert reason("station_warm_left_out", left_out_seasons=1) in found.told


def test_seasons_without_freeze_are_told_also_for_the_trend():
    days = [*range(80, 98), np.inf, np.inf, 99, np.inf]
    assert dates_of(days).told == (
        reason("station_no_freeze", season_years=(2009, 2010, 2012), no_freeze_seasons=3, seasons=22),
        reason("station_trend_of_freezes", seasons=19, no_freeze_seasons=3),
    )


def test_what_is_told_has_all_that_its_sentence_needs():
    for days in ([90, np.nan], [*range(80, 92), np.inf], [np.inf] * 18 + [110, 120]):
        gaps = record(days)
        gaps.tmin_c["1992-08-01":"1992-10-01"] = np.nan
        told = station_dates(gaps, THRESHOLD_C, seasons=(1980, 2030)).told
        assert told
        assert [set(why.values) for why in told] == [set(CODES[why.code]) for why in told]


def test_a_place_that_hardly_freezes_has_dates_not_reached_and_no_trend():
    found = dates_of([np.inf] * 18 + [110, 120])
    assert np.isposinf(found.days).all()
    assert np.isnan(found.error_days).all()
    assert found.trend is None
    assert found.told[-1] == reason("station_no_trend", seasons=2, least_seasons=5)


def test_an_error_is_known_only_where_nearly_all_resamples_reach_the_chance():
    # Of thirty seasons nine have no freeze, so that 7 in 10 is reached in half of the resamples only.
    errors = dates_of([*range(80, 101), *[np.inf] * 9], chances=[0.1, 0.3, 0.7, 0.9]).error_days
    assert np.isfinite(errors).tolist() == [True, True, False, False]


def test_seasons_that_are_all_alike_have_no_error():
    assert dates_of([90] * 12).error_days.tolist() == [0.0] * 9


def test_the_trend_is_told_and_not_applied():
    rising = dates_of(list(range(80, 110)))
    shuffled = dates_of(np.random.default_rng(3).permutation(np.arange(80, 110)).tolist())
    assert (rising.trend.days_a_year, rising.trend.seasons) == (1.0, 30)
    assert abs(shuffled.trend.days_a_year) < 1
    np.testing.assert_array_equal(rising.days, shuffled.days)
    np.testing.assert_array_equal(rising.error_days, shuffled.error_days)


def test_a_trend_wants_five_seasons_with_a_freeze():
    days = pd.Series([90.0, 91.0, np.inf, 93.0, np.nan, 95.0, 96.0], index=range(2001, 2008))
    assert freeze_trend(days) == freeze_trend(days[np.isfinite(days)])
    assert (freeze_trend(days).days_a_year, freeze_trend(days).seasons) == (1.0, 5)
    assert freeze_trend(days[:6]) is None


def test_a_trend_of_days_that_are_all_alike_is_none_at_all():
    found = freeze_trend(pd.Series([90.0] * 6, index=range(2001, 2007)))
    assert (found.days_a_year, found.low_days_a_year, found.high_days_a_year) == (0, 0, 0)


def test_the_seed_is_all_that_an_error_hangs_on():
    days = np.random.default_rng(7).integers(80, 120, 30).tolist()
    one, same, other = (dates_of(days, seed=seed) for seed in (4, 4, 5))
    np.testing.assert_array_equal(one.error_days, same.error_days)
    np.testing.assert_array_equal(one.days, other.days)
    assert (one.error_days != other.error_days).any()


def test_three_hundred_stations_of_75_years_take_seconds():
    days = np.random.default_rng(7).integers(80, 120, 75).tolist()
    long = record(days, first_year=1940)
    times = []
    for _turn in range(10):
        begun = time.perf_counter()
        station_dates(long, THRESHOLD_C)
        times.append(time.perf_counter() - begun)
    assert min(times) < 0.1


some_days = st.lists(st.one_of(st.integers(0, 300).map(float), st.just(np.inf)), min_size=5, max_size=35)
two_chances = st.lists(st.floats(0.05, 0.95), min_size=2, max_size=2).map(sorted)


@given(some_days, two_chances)
def test_a_higher_chance_is_never_earlier(days, chances):
    lower, higher = dates_of(days, chances=chances).days
    assert higher >= lower


@given(some_days, st.sampled_from([0.0, 1 / 3, 0.5]))
def test_one_more_season_without_freeze_never_makes_a_date_earlier(days, a):
    before, after = dates_of(days, a=a).days, dates_of([*days, np.inf], a=a).days
    assert (after >= before - 1e-9).all()


@given(some_days, st.integers(0, 30))
def test_a_colder_threshold_never_gives_an_earlier_date(days, colder_c):
    minima = record(days)
    minima.tmin_c.iloc[::7] -= np.random.default_rng(2).integers(0, 30, len(minima.tmin_c.iloc[::7]))
    warm, cold = (station_dates(minima, threshold_c).days for threshold_c in (0.0, -float(colder_c)))
    assert (cold >= warm).all()


@given(some_days, st.integers(0, 1000))
def test_the_order_of_days_of_seasons_and_of_chances_changes_nothing(days, seed):
    random = np.random.default_rng(seed)
    there = record(days)
    order, seasons = random.permutation(len(there.tmin_c)), random.permutation(days).tolist()
    chances = random.permutation(CHANCES).tolist()
    found = dates_of(days)
    shuffled = DailyMinima(NORTH, there.tmin_c.iloc[order], "C", "minima.csv")
    for other in (station_dates(shuffled, THRESHOLD_C), dates_of(seasons)):
        np.testing.assert_array_equal(other.days, found.days)
        np.testing.assert_array_equal(other.error_days, found.error_days)
    turned = dates_of(days, chances=chances)
    np.testing.assert_array_equal(turned.days, found.days[[CHANCES.index(chance) for chance in chances]])
