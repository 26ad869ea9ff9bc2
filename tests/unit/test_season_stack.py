"""What the first freeze of every season and the chances of it promise."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS
from scipy.stats.mstats import mquantiles

from spatial.climate.chance_bands import BAND_NAMES, chance_bands, known_cells
from spatial.climate.raw_freeze import raw_freeze
from spatial.climate.season_days import chosen_seasons, covered_seasons, season_label
from spatial.climate.season_stack import season_stack
from spatial.climate.season_trust import early_remarks, faults, remarks
from spatial.daily import DailyGrid, DayBlock
from spatial.values import Grid, Window
from tests.unit.daily_grids import days_from, fall_days
from tests.unit.making import lines_of

NEVER, UNKNOWN = 999, -9999
NORTH, SOUTH = (8, 1), (2, 1)
SEPTEMBER = 31  # days from 1 August to 1 September
T = -20 / 9  # 28 F
WARM, COLD = 10.0, -5.0


def dates(days):
    return np.array(days, dtype="datetime64[D]")


def record(raw, days, scale=1.0, offset=0.0, missing=(), block_days=1000):
    """Return a record whose blocks have a number of days each."""
    raw = np.asarray(raw)
    window = Window(0, 0, *raw.shape[1:])
    grid = Grid(CRS.from_epsg(4326), -84, 33, 0.5, 0.5, *raw.shape[1:])
    starts = range(0, len(raw), block_days)

    def blocks():
        return iter([DayBlock(window, start, raw[start : start + block_days]) for start in starts])

    return DailyGrid(grid, dates(days), "standard", scale, offset, missing, blocks, "a.nc")


def stack_of(grid, threshold_c=T, start=NORTH):
    """Return {first year: days of the season's first freeze, (rows, columns)}."""
    seasons = covered_seasons(grid.days, start, grid.calendar).seasons
    found = season_stack(grid.blocks(), seasons, raw_freeze(grid, threshold_c))
    return {seasons[one.place].season.year: one.days for one in found}


def one_cell(minima, days, **how):
    """Return {first year: day} of a record of one cell."""
    found = stack_of(record(np.reshape(np.asarray(minima), (-1, 1, 1)), days, **how))
    return {year: int(day[0, 0]) for year, day in found.items()}


def fall(*changes, count=150):
    """Return warm minima of a fall, other from a day to before another: (first, end, minimum)."""
    minima = np.full(count, WARM)
    for first, end, minimum in changes:
        minima[first:end] = minimum
    return minima


FALL = days_from(date(2001, 9, 1), 150)

# the first freeze


def test_the_first_of_several_freezes_counts_in_days_since_the_season_began():
    assert one_cell(fall((60, 61, COLD), (80, 150, COLD)), FALL) == {2001: SEPTEMBER + 60}


def test_a_season_without_a_freeze_is_known_to_have_none():
    assert one_cell(fall(), FALL) == {2001: NEVER}


@pytest.mark.parametrize(
    ("minimum", "day"), [(T, SEPTEMBER + 3), (T + 5e-7, SEPTEMBER + 3), (T + 5e-6, NEVER)]
)
def test_a_minimum_at_the_threshold_is_a_freeze(minimum, day):
    assert one_cell(fall((3, 4, minimum)), FALL) == {2001: day}


@pytest.mark.parametrize("dtype", ["f4", "f8"])
@pytest.mark.parametrize("offset", [0.0, -273.15])
def test_the_threshold_itself_is_a_freeze_in_every_precision(dtype, offset):
    raw = (fall((3, 4, T)) - offset).astype(dtype)
    assert one_cell(raw, FALL, offset=offset) == {2001: SEPTEMBER + 3}


@pytest.mark.parametrize(("scale", "offset"), [(0.1, 0.0), (-0.1, 0.0), (0.01, -40.0), (5 / 9, -160 / 9)])
def test_packed_minima_freeze_on_the_day_the_plain_ones_do(scale, offset):
    minima = fall((60, 150, COLD))
    raw = np.round((minima - offset) / scale).astype("i2")
    assert one_cell(raw, FALL, scale=scale, offset=offset) == {2001: SEPTEMBER + 60}


@pytest.mark.parametrize(("threshold_c", "day"), [(-2.0, SEPTEMBER + 60), (-2.1, NEVER)])
@pytest.mark.parametrize("scale", [0.1, -0.1])
def test_a_packed_minimum_at_the_threshold_is_a_freeze_and_a_tenth_above_is_none(threshold_c, day, scale):
    raw = np.round(fall((60, 150, -2.0)) / scale).astype("i2").reshape(-1, 1, 1)
    assert stack_of(record(raw, FALL, scale=scale), threshold_c)[2001][0, 0] == day


@pytest.mark.parametrize("scale", [0.1, -0.1])
def test_a_code_for_missing_is_no_freeze_and_no_warm_day(scale):
    raw = np.full(150, round(WARM / scale), dtype="i2")
    raw[:10] = -9999
    assert one_cell(raw, FALL, scale=scale, missing=(-9999.0,)) == {2001: NEVER}
    raw[:11] = -9999
    assert one_cell(raw, FALL, scale=scale, missing=(-9999.0,)) == {2001: UNKNOWN}


def test_a_season_of_a_whole_year_is_counted_through_to_its_end():
    days = days_from(date(2001, 8, 1), 365)
    minima = fall((300, 301, COLD), count=365)
    assert one_cell(minima, days) == {2001: 300}
    assert one_cell(fall((0, 1, COLD), count=365), days) == {2001: 0}
    assert one_cell(fall((0, 365, COLD), count=365), days) == {2001: 0}


# missing days


@pytest.mark.parametrize(("missing", "day"), [(10, SEPTEMBER + 60), (11, UNKNOWN)])
def test_more_than_ten_missing_days_before_the_freeze_make_a_season_unknown(missing, day):
    assert one_cell(fall((5, 5 + missing, np.nan), (60, 61, COLD)), FALL) == {2001: day}


def test_days_missing_after_the_freeze_do_not_matter():
    assert one_cell(fall((60, 61, COLD), (61, 150, np.nan)), FALL) == {2001: SEPTEMBER + 60}


@pytest.mark.parametrize(("missing", "day"), [(10, NEVER), (11, UNKNOWN)])
def test_without_a_freeze_all_missing_days_count(missing, day):
    assert one_cell(fall((0, 5, np.nan), (150 - missing + 5, 150, np.nan)), FALL) == {2001: day}


def test_a_cell_without_any_value_is_unknown_and_its_neighbour_is_not():
    raw = np.stack([np.full(150, np.nan), fall((60, 61, COLD))], axis=1)[:, None, :]
    assert stack_of(record(raw, FALL))[2001].tolist() == [[UNKNOWN, SEPTEMBER + 60]]


@pytest.mark.parametrize(("absent", "day"), [(10, SEPTEMBER + 60), (11, UNKNOWN)])
def test_a_day_that_the_file_lacks_is_missing_in_every_cell(absent, day):
    days = fall_days(3)
    kept = [place for place in range(len(days)) if not 150 + 20 <= place < 150 + 20 + absent]
    minima = np.tile(fall((60, 61, COLD)), 3)[kept]
    found = one_cell(minima, [days[place] for place in kept])
    assert found == {2001: SEPTEMBER + 60, 2002: day, 2003: SEPTEMBER + 60}


def test_missing_days_of_both_kinds_are_added():
    days = fall_days(2)
    kept = [place for place in range(300) if not 20 <= place < 26]
    minima = np.concatenate([fall((0, 5, np.nan), (60, 61, COLD)), fall((0, 4, np.nan), (60, 61, COLD))])
    found = one_cell(minima[kept], [days[place] for place in kept])
    assert found == {2001: UNKNOWN, 2002: SEPTEMBER + 60}


def test_a_last_season_cut_short_is_known_only_where_it_froze_before():
    days = fall_days(3)[: 300 + 80]
    raw = np.stack([np.tile(fall((60, 61, COLD)), 3), np.tile(fall((100, 101, COLD)), 3)], axis=1)[
        :380, None, :
    ]
    assert stack_of(record(raw, days))[2003].tolist() == [[SEPTEMBER + 60, UNKNOWN]]


# seasons


def test_a_season_runs_over_new_year_and_its_days_go_on():
    assert one_cell(fall((140, 141, COLD)), FALL) == {2001: 171}  # 19 January: 153 days of 2001, and 18


@pytest.mark.parametrize(
    ("start", "first", "day"), [(NORTH, date(2004, 8, 1), 92), (SOUTH, date(2004, 2, 1), 91)]
)
def test_a_freeze_three_months_into_a_season_south_or_north(start, first, day):
    days = days_from(first, 300)
    raw = np.full((300, 1, 1), WARM)
    raw[days.index(date(2004, *{NORTH: (11, 1), SOUTH: (5, 2)}[start]))] = COLD
    assert stack_of(record(raw, days), start=start)[2004][0, 0] == day


def test_whole_years_leave_out_the_season_they_begin_in_the_middle_of():
    covered = covered_seasons(dates(days_from(date(2001, 1, 1), 3 * 365)), NORTH, "standard")
    assert [one.season.year for one in covered.seasons] == [2001, 2002, 2003]
    assert covered.hopeless == (2000,)


def test_the_part_of_the_year_is_what_half_of_the_seasons_have():
    days = [*days_from(date(2001, 8, 20), 60), *fall_days(3, 2002), *days_from(date(2005, 9, 1), 300)]
    covered = covered_seasons(dates(days), NORTH, "standard")
    assert covered.part == ((9, 1), (1, 28))
    assert covered.part_days == (31, 180)


@pytest.mark.parametrize(("year", "day_of_march"), [(2003, 213), (2002, 212)])
def test_the_leap_day_counts_where_there_is_one(year, day_of_march):
    days = fall_days(1, year, 250)
    raw = np.full((250, 1, 1), WARM)
    raw[days.index(date(year + 1, 3, 1))] = COLD
    assert stack_of(record(raw, days))[year][0, 0] == day_of_march


def test_the_days_that_a_calendar_of_360_skips_are_not_missing():
    shares = np.arange(360) * 365 // 360
    days = np.concatenate([np.datetime64(f"{year}-01-01") + shares for year in (2001, 2002, 2003)])
    covered = covered_seasons(days, NORTH, "360_day")
    assert all(one.absent_before[NEVER] == 0 for one in covered.seasons if one.season.year < 2003)
    assert covered.seasons[-1].absent_before[NEVER] > 200  # the last one ends with the year


def test_seasons_are_chosen_by_the_year_they_begin_in():
    covered = covered_seasons(dates(fall_days(5)), NORTH, "standard")
    assert [one.season.year for one in chosen_seasons(covered, (2002, 2003))] == [2002, 2003]


@pytest.mark.parametrize(("start", "label"), [((8, 1), "1999-00"), ((1, 1), "1999")])
def test_a_season_is_named_by_its_years(start, label):
    days = dates(days_from(date(1999, start[0], 1), 100))
    assert season_label(covered_seasons(days, start, "standard").seasons[0].season) == label


# against a peer, and laws


def by_table(minima, days, threshold_c):
    """Return {(year, cell): day} with pandas, season by season: None unknown, +inf no freeze."""
    table = pd.DataFrame(minima.reshape(len(days), -1), index=pd.DatetimeIndex(days))
    found = {}
    for year in range(2001, 2005):
        one = table.loc[f"{year}-09-01" : f"{year + 1}-01-28"]
        for cell in one:
            values = one[cell]
            frozen = values[values <= threshold_c]
            first = frozen.index[0] if len(frozen) else None
            before = values if first is None else values[values.index < first]
            day = np.inf if first is None else (first - pd.Timestamp(year, 8, 1)).days
            found[year, cell] = None if before.isna().sum() > 10 else day
    return found


@pytest.mark.parametrize("block_days", [1, 7, 150, 1000])
@pytest.mark.parametrize("at_once", [1, 2**20])
def test_a_plain_search_in_tables_finds_the_same(monkeypatch, block_days, at_once):
    monkeypatch.setattr("spatial.climate.season_stack.CELLS_AT_ONCE", at_once)
    chance = np.random.default_rng(7)
    days = fall_days(4)
    minima = chance.normal(9, 4, (600, 3, 5)) + 2.0 * np.arange(5)
    minima[chance.random(minima.shape) < chance.choice([0.0, 0.05, 0.2], (3, 5))] = np.nan
    minima[:, 0, 0] = np.nan
    found = stack_of(record(minima, days, block_days=block_days))
    peer = by_table(minima, days, T)
    codes = {None: UNKNOWN, np.inf: NEVER}
    expected = {key: codes.get(day, day) for key, day in peer.items()}
    assert {
        (year, cell): stack.ravel()[cell] for year, stack in found.items() for cell in range(15)
    } == expected
    assert {UNKNOWN, NEVER} < set(expected.values())


@given(st.integers(0, 2**16), st.floats(-8, 4), st.floats(0, 5))
def test_a_colder_threshold_never_gives_an_earlier_freeze(seed, threshold_c, colder):
    minima = np.random.default_rng(seed).normal(3, 4, (300, 2, 2)).round(1)
    warm, cold = (stack_of(record(minima, fall_days(2)), t) for t in (threshold_c, threshold_c - colder))
    assert all((cold[year] >= warm[year]).all() for year in warm)


# chances


def seasons_of(*cells):
    """Return the days of seasons of cells that stand in one row."""
    return np.array(cells, dtype=np.int16).T[:, None, :]


def band(bands, name):
    return bands[BAND_NAMES.index(name), 0]


def test_the_bands_are_nine_chances_their_errors_and_two_counts():
    assert BAND_NAMES[0] == "0.1" and BAND_NAMES[8] == "0.9"
    assert BAND_NAMES[9] == "error_days 0.1" and BAND_NAMES[17] == "error_days 0.9"
    assert BAND_NAMES[18:] == ("valid_seasons", "no_freeze_share")


def test_the_days_of_chances_are_the_median_unbiased_quantiles():
    # Against scipy.stats.mstats.mquantiles with plotting positions alphap = betap = 1/3.
    days = np.random.default_rng(3).integers(60, 150, (30, 4, 5)).astype(np.int16)
    chances = np.arange(1, 10) / 10
    expected = mquantiles(days.reshape(30, -1), chances, alphap=1 / 3, betap=1 / 3, axis=0)
    assert chance_bands(days)[:9].reshape(9, -1) == pytest.approx(np.asarray(expected), abs=1e-4)


def test_seasons_without_a_freeze_come_last_and_are_not_reached():
    bands = chance_bands(seasons_of([80, 90, 100, NEVER, NEVER, NEVER]))
    assert band(bands, "0.2")[0] < 90
    assert np.isposinf(band(bands, "0.9")[0]) and np.isnan(band(bands, "error_days 0.9")[0])
    assert band(bands, "no_freeze_share")[0] == 0.5


def test_unknown_seasons_count_neither_way():
    with_gaps = chance_bands(seasons_of([80, UNKNOWN, 90, 100, 110, UNKNOWN, NEVER]))
    without = chance_bands(seasons_of([80, 90, 100, 110, NEVER]))
    assert np.array_equal(with_gaps, without, equal_nan=True)
    assert band(without, "valid_seasons")[0] == 5


@pytest.mark.parametrize(("valid", "known"), [(4, 0), (5, 1)])
def test_fewer_than_five_valid_seasons_say_nothing_of_chances(valid, known):
    bands = chance_bands(seasons_of([*range(80, 80 + valid), *[UNKNOWN] * 6]))
    assert known_cells(bands) == known
    assert np.isnan(bands[:18]).all() != bool(known)
    assert band(bands, "valid_seasons")[0] == valid


def test_a_cell_without_seasons_has_none_and_no_share():
    bands = chance_bands(seasons_of([UNKNOWN] * 8))
    assert band(bands, "valid_seasons")[0] == 0 and np.isnan(band(bands, "no_freeze_share")[0])


def test_seasons_that_are_all_alike_give_their_day_with_no_error():
    bands = chance_bands(seasons_of([95] * 10))
    assert (bands[:9] == 95).all()
    assert bands[9:18] == pytest.approx(np.zeros((9, 1, 1)), abs=1e-5)


@given(
    st.lists(
        st.lists(st.sampled_from([60, 75, 90, 91, 120, NEVER, UNKNOWN]), min_size=8, max_size=8), min_size=1
    )
)
def test_a_higher_chance_never_gives_an_earlier_day(cells):
    days = chance_bands(seasons_of(*cells))[:9, 0]
    known = days[:, ~np.isnan(days[0])]
    assert (known[1:] >= known[:-1]).all()


# what cannot be known


def lines(days, wanted=None):
    covered = covered_seasons(dates(days), NORTH, "standard")
    chosen = chosen_seasons(covered, wanted)
    years = [one.season.year for one in chosen]
    return lines_of(
        [*faults("a.nc", covered, chosen, wanted, 5), *remarks("a.nc", covered, chosen, wanted, years)]
    )


def test_of_a_record_that_serves_nothing_is_said():
    assert lines(fall_days(5)) == []


@pytest.mark.parametrize(
    ("days", "wanted", "phrase"),
    [
        (fall_days(1), None, "holds 1 season that can be known (2001). Give 5 at least"),
        (fall_days(8), (1990, 2002), "holds 2 seasons of 1990-2002 that can be known (2001, 2002)"),
        (fall_days(8), (1990, 1995), "holds 0 seasons of 1990-1995 that can be known. Give 5"),
        (fall_days(8, count=20), None, "holds the days 1 September to 20 September only"),
        (
            fall_days(8, count=60),
            None,
            "holds the days 1 September to 30 October only, so no freeze means none by then",
        ),
        (fall_days(8), (1999, 2006), "seasons 1999, 2000: are not in the file"),
        (
            days_from(date(2001, 1, 1), 3000),
            None,
            "seasons 2000: begin in the file when more than 10 of their days",
        ),
        (
            fall_days(8)[:-20],
            None,
            "seasons 2008: lack more than 10 days, so known only where the freeze came before",
        ),
    ],
)
def test_what_a_record_lacks_is_said(days, wanted, phrase):
    assert any(phrase in line for line in lines(days, wanted))


@pytest.mark.parametrize(("early", "told"), [(10, 0), (11, 1)])
def test_cells_that_freeze_on_the_very_first_day_are_told_if_more_than_one_in_a_hundred(early, told):
    covered = covered_seasons(dates(fall_days(5)), NORTH, "standard")
    assert len(early_remarks("a.nc", covered, early, 1000)) == told
