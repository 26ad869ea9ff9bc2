"""What seasons, chances and their dates promise."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst

from spatial.climate.seasons import Season, chance_days, dates_of, day_of_year_days, season_of

NORTH, SOUTH = (8, 1), (2, 1)
FALL_2026 = Season(2026, date(2026, 8, 1))
FALL_2027 = Season(2027, date(2027, 8, 1))  # 2028 has a 29 February
SOUTH_2027 = Season(2027, date(2027, 2, 1))

some_days = st.one_of(st.integers(0, 364).map(float), st.just(np.inf), st.just(np.nan))
chances = st.floats(0.02, 0.98)


def samples():
    seasons_and_cells = st.tuples(st.integers(1, 40), st.integers(1, 5))
    return npst.arrays(np.float64, seasons_and_cells, elements=some_days)


@pytest.mark.parametrize(
    ("on", "start"),
    [
        (date(2026, 9, 8), date(2026, 8, 1)),
        (date(2026, 6, 1), date(2026, 8, 1)),
        (date(2026, 4, 1), date(2026, 8, 1)),
        (date(2026, 12, 31), date(2026, 8, 1)),
        (date(2027, 1, 15), date(2026, 8, 1)),
        (date(2027, 3, 31), date(2026, 8, 1)),
        (date(2027, 4, 1), date(2027, 8, 1)),
        (date(2028, 2, 29), date(2027, 8, 1)),
    ],
)
def test_a_northern_day_belongs_to_the_fall_a_grower_has_in_mind(on, start):
    assert season_of(on, NORTH) == Season(start.year, start)


@pytest.mark.parametrize(
    ("on", "start"),
    [
        (date(2026, 9, 30), date(2026, 2, 1)),
        (date(2026, 10, 1), date(2027, 2, 1)),
        (date(2027, 1, 31), date(2027, 2, 1)),
        (date(2027, 5, 20), date(2027, 2, 1)),
    ],
)
def test_a_southern_day_belongs_to_the_fall_a_grower_has_in_mind(on, start):
    assert season_of(on, SOUTH) == Season(start.year, start)


@given(
    st.dates(date(1950, 1, 1), date(2150, 1, 1)), st.sampled_from([NORTH, SOUTH, (7, 15), (4, 30), (5, 1)])
)
def test_a_season_begins_within_a_year_of_its_days(on, season_start):
    season = season_of(on, season_start)
    assert (season.start.month, season.start.day) == season_start
    assert season.year == season.start.year
    assert -123 <= (on - season.start).days <= 245


def test_a_season_that_not_every_year_has_is_refused():
    with pytest.raises(ValueError, match="day"):
        season_of(date(2028, 5, 1), (2, 29))


def test_an_unknown_season_is_left_out():
    with_gaps = np.array([80.0, np.nan, 90.0, 100.0, np.nan])
    without = np.array([80.0, 90.0, 100.0])
    np.testing.assert_array_equal(chance_days(with_gaps, [0.2, 0.5]), chance_days(without, [0.2, 0.5]))


def test_a_season_without_freeze_is_later_than_any_day():
    days = np.array([80.0, 90.0, 100.0, np.inf, np.inf])
    assert chance_days(days, [0.5]).tolist() == [100.0]
    assert chance_days(days, [0.6, 0.9]).tolist() == [np.inf, np.inf]


@pytest.mark.parametrize(("seasons", "froze", "chance"), [(29, 15, 0.5), (33, 7, 0.2), (38, 31, 0.8)])
def test_a_chance_that_falls_on_the_last_freeze_is_reached(seasons, froze, chance):
    # By hand: (29 + 1/3) 1/2 + 1/3 is 15, (33 + 1/3) 1/5 + 1/3 is 7 and (38 + 1/3) 4/5 + 1/3 is 31.
    days = np.concatenate([np.arange(80.0, 80.0 + froze), np.full(seasons - froze, np.inf)])
    assert chance_days(days, [chance]).tolist() == [79.0 + froze]


def test_no_known_season_gives_no_day_and_no_freeze_ever_is_not_reached():
    days = np.array([[np.nan, np.inf], [np.nan, np.inf]])
    found = chance_days(days, [0.1, 0.5, 0.9])
    assert np.isnan(found[:, 0]).all()
    assert np.isposinf(found[:, 1]).all()


def test_a_small_chance_of_few_seasons_is_the_earliest_freeze_seen():
    assert chance_days(np.array([95.0, 88.0, 101.0]), [0.02, 0.1]).tolist() == [88.0, 88.0]


def test_a_great_chance_of_few_seasons_is_the_latest_freeze_seen():
    assert chance_days(np.array([95.0, 88.0, 101.0]), [0.95]).tolist() == [101.0]


@given(samples(), chances, chances)
def test_a_higher_chance_is_never_earlier(days, one, other):
    lower, higher = chance_days(days, sorted([one, other]))
    assert ((higher >= lower) | (np.isnan(higher) & np.isnan(lower))).all()


@given(samples(), chances, st.randoms(use_true_random=False))
def test_the_order_of_the_seasons_changes_nothing(days, chance, random):
    order = list(range(len(days)))
    random.shuffle(order)
    np.testing.assert_array_equal(chance_days(days, [chance]), chance_days(days[order], [chance]))


@given(samples(), chances)
def test_a_cell_is_worked_out_as_if_it_were_alone(days, chance):
    together = chance_days(days, [chance])[0]
    alone = [chance_days(days[:, cell], [chance])[0] for cell in range(days.shape[1])]
    np.testing.assert_array_equal(together, alone)


@given(samples(), chances)
def test_one_more_season_without_freeze_never_makes_the_date_earlier(days, chance):
    more = np.vstack([days, np.full(days.shape[1], np.inf)])
    before, after = chance_days(days, [chance]), chance_days(more, [chance])
    assert ((after >= before - 1e-9) | np.isnan(before)).all()


def test_single_precision_and_rasters_keep_their_shape():
    days = np.full((30, 4, 5), 100, dtype=np.float32)
    assert chance_days(days, [0.2, 0.5, 0.9]).shape == (3, 4, 5)


@pytest.mark.parametrize(
    ("day_of_year", "season", "on"),
    [
        (213, FALL_2026, "2026-08-01"),
        (305, FALL_2026, "2026-11-01"),
        (365, FALL_2026, "2026-12-31"),
        (366, FALL_2026, "2026-12-31"),
        (1, FALL_2026, "2027-01-01"),
        (59, FALL_2026, "2027-02-28"),
        (60, FALL_2026, "2027-03-01"),
        (212, FALL_2026, "2027-07-31"),
        (59, FALL_2027, "2028-02-28"),
        (60, FALL_2027, "2028-03-01"),
        (212, FALL_2027, "2028-07-31"),
        (32, SOUTH_2027, "2027-02-01"),
        (182, SOUTH_2027, "2027-07-01"),
        (31, SOUTH_2027, "2028-01-31"),
    ],
)
def test_a_day_of_the_year_is_the_same_date_in_every_season(day_of_year, season, on):
    days = day_of_year_days(np.array([float(day_of_year)]), season)
    assert dates_of(days, season).tolist() == [date.fromisoformat(on)]


def test_days_of_the_year_are_in_order_across_new_year():
    days = day_of_year_days(np.array([340.0, 365.0, 1.0, 20.0]), FALL_2026)
    assert days.tolist() == [127.0, 152.0, 153.0, 172.0]


def test_parts_of_days_and_what_is_not_a_day_are_kept():
    days = day_of_year_days(np.array([[305.5, np.nan, np.inf]], dtype=np.float32), FALL_2026)
    np.testing.assert_array_equal(days, [[92.5, np.nan, np.inf]])


@pytest.mark.parametrize("wrong", [0.0, -9999.0, 367.0, 999.0])
def test_what_no_year_has_is_refused(wrong):
    with pytest.raises(ValueError, match="from 1 to 366"):
        day_of_year_days(np.array([100.0, wrong]), FALL_2026)


def test_dates_are_whole_days_and_the_earlier_one():
    dates = dates_of(np.array([0.0, 92.0, 92.99, 153.0, np.nan, np.inf]), FALL_2026)
    expected = ["2026-08-01", "2026-11-01", "2026-11-01", "2027-01-01", "NaT", "NaT"]
    np.testing.assert_array_equal(dates, np.array(expected, dtype="datetime64[D]"))
    assert dates.dtype == np.dtype("datetime64[D]")


def test_rounding_of_the_last_digit_does_not_cost_a_day():
    assert dates_of(np.array([91.9999999]), FALL_2026).tolist() == [date(2026, 11, 1)]
