"""What the outlook of a freeze that has not come yet promises."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst

from maps.labels import sentence
from spatial.agronomy.deadline import last_cuts
from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.regrowth import growth
from spatial.climate.chances import FreezeChances, freeze_chances
from spatial.climate.daylight import day_length_h
from spatial.climate.frost import freeze_cells, killing_freezes
from spatial.climate.in_season import freeze_outlook, outlook_reasons
from spatial.climate.seasons import Season, growing_year, season_of
from spatial.inputs.region import read_region
from spatial.plan import make_plan
from spatial.settings import Settings, settings_with
from tests.unit.making import write_freeze, write_region

FALL = Season(2026, date(2026, 8, 1))
NO, NEVER = np.nan, np.inf
SHARES = ["freeze_in_week_share", "freeze_in_two_weeks_share"]


def on_day(day):
    return FALL.start + timedelta(days=day)


def chances_of(seasons=None, chances=None):
    """Freeze days of fields: a row a field by season, or by chance of a layer ({chance: days})."""
    none = pd.DataFrame(
        index=range(len(seasons) if seasons is not None else len(next(iter(chances.values()))))
    )
    by_season = none if seasons is None else pd.DataFrame(np.array(seasons, dtype=float))
    by_chance = none if chances is None else pd.DataFrame(chances, dtype=float)
    return FreezeChances(none, none, by_season, by_chance)


def told(found, day, recorded=pd.NaT, green_up=pd.NaT):
    index = found.season_days.index
    known = {"killing_freeze_recorded_date": recorded, "green_up_date": green_up}
    fields = pd.DataFrame(known, index=index)
    return fields.join(freeze_outlook(fields, found, FALL, on_day(day)))


def codes(found, day, **known):
    rows = outlook_reasons(told(found, day, **known), found, on_day(day))
    return [one.code for one in rows.iloc[0]]


TEN = [[80, 85, 90, 92, 95, 97, 100, 104, 110, NEVER]]


def test_the_seasons_that_had_it_already_no_longer_count():
    # By day 92 it had come in four of ten; of the other six it came by day 99 in two, by day 106 in four.
    row = told(chances_of(TEN), 92).iloc[0]
    assert row["seasons_still_open"] == 6
    assert row[SHARES].tolist() == pytest.approx([2 / 6, 4 / 6])
    # 95, 97, 100, 104, 110, never: halfway from 100 to 104.
    assert row["expected_freeze_date"] == pd.Timestamp(on_day(102))


def test_a_freeze_of_today_has_come_and_one_a_week_from_now_is_within_the_week():
    assert told(chances_of([[92, 99, 120, 120]]), 92).iloc[0][SHARES].tolist() == pytest.approx(
        [1 / 3, 1 / 3]
    )
    assert told(chances_of([[92, 100, 106, 107]]), 92).iloc[0][SHARES].tolist() == pytest.approx([0, 2 / 3])


def test_seasons_that_are_not_known_do_not_count():
    row = told(chances_of([[80, NO, 95, NO, 120]]), 92).iloc[0]
    assert row["seasons_still_open"] == 2
    assert row["freeze_in_week_share"] == 0.5


def test_where_half_of_the_open_seasons_had_none_there_is_no_middle_date():
    row = told(chances_of([[80, 95, NEVER, NEVER]]), 90).iloc[0]
    assert pd.isna(row["expected_freeze_date"])
    assert row["freeze_in_week_share"] == pytest.approx(1 / 3)


def test_it_begins_two_weeks_before_the_earliest_past_freeze():
    found = chances_of(TEN)
    assert told(found, 65)[[*SHARES, "expected_freeze_date", "seasons_still_open"]].isna().all(axis=None)
    row = told(found, 66).iloc[0]
    assert row[SHARES].tolist() == [0.0, 0.1]
    assert row["seasons_still_open"] == 10


def test_later_than_every_past_season_there_is_no_share_and_that_is_said():
    found = chances_of([[80, 85, 90]])
    row = told(found, 90).iloc[0]
    assert row["seasons_still_open"] == 0
    assert row[[*SHARES, "expected_freeze_date"]].isna().all()
    (said,) = outlook_reasons(told(found, 90), found, on_day(90)).iloc[0]
    assert "none of the 3 past seasons was still without one this late" in sentence(said, "us")


@pytest.mark.parametrize(
    "known", [{"recorded": pd.Timestamp(2026, 10, 20)}, {"green_up": pd.Timestamp(2027, 3, 1)}]
)
def test_after_a_recorded_freeze_or_green_up_nothing_is_said(known):
    found = chances_of(TEN)
    assert (
        told(found, 92, **known)[[*SHARES, "expected_freeze_date", "seasons_still_open"]]
        .isna()
        .all(axis=None)
    )
    assert codes(found, 92, **known) == []


@pytest.mark.parametrize("seasons", [[[NO, NO]], [[NEVER, NEVER]], [[]]])
@pytest.mark.parametrize("day", [0, 92, 230])
def test_where_no_past_freeze_is_known_nothing_is_said(seasons, day):
    assert codes(chances_of(seasons), day) == []


def test_the_sentence_counts_the_seasons_and_says_that_it_is_no_forecast():
    found = chances_of(TEN)
    first, second = (
        sentence(one, "us") for one in outlook_reasons(told(found, 92), found, on_day(92)).iloc[0]
    )
    assert "By 1 Nov it had not come in 6 of 10 past seasons either" in first
    assert "within the next 7 days in 2 and within 14 in 4" in first
    assert "not a forecast; no last-cut date moves" in first
    assert second.endswith("half had it by 11 Nov.")


def test_what_is_said_goes_by_what_is_known():
    assert codes(chances_of(TEN), 92) == ["freeze_outlook_seasons", "freeze_outlook_middle"]
    found = chances_of([[80, 95, 96, NEVER, NEVER, NEVER]])
    assert codes(found, 90) == ["freeze_outlook_seasons", "freeze_outlook_never"]
    last = outlook_reasons(told(found, 90), found, on_day(90)).iloc[0][-1]
    assert sentence(last, "us") == "In 3 of these it never came."


def test_few_seasons_still_open_give_no_chance_and_no_middle_date():
    found = chances_of([[80, 81, 82, 95, 96, 97, 98]])
    assert codes(found, 90) == ["freeze_outlook_few"]
    last = outlook_reasons(told(found, 90), found, on_day(90)).iloc[0][-1]
    assert "Only 4 of 7 past seasons" in sentence(last, "us") and "too few" in sentence(last, "us")


# A layer of chances.

LAYER = {0.1: [80.0], 0.5: [100.0], 0.9: [120.0]}  # two in a hundred seasons a day


def test_a_layer_of_chances_is_read_between_its_days():
    # By day 90 in 0.3 of the seasons, by 97 in 0.44, by 104 in 0.58; half of the other 0.7 by 0.65: day 107.5.
    row = told(chances_of(chances=LAYER), 90).iloc[0]
    assert row[SHARES].tolist() == pytest.approx([0.14 / 0.7, 0.28 / 0.7])
    assert row["expected_freeze_date"] == pd.Timestamp(on_day(107))
    assert pd.isna(row["seasons_still_open"])


def test_a_layer_of_chances_tells_nothing_before_its_first_day_nor_after_its_last():
    found = chances_of(chances=LAYER)
    for day in (79, 121, 200):
        assert told(found, day)[[*SHARES, "expected_freeze_date"]].isna().all(axis=None)
        assert codes(found, day) == []
    assert told(found, 80).iloc[0][SHARES].tolist() == pytest.approx([0.14 / 0.9, 0.28 / 0.9])


def test_near_its_last_day_a_layer_of_chances_tells_what_it_still_can():
    found = chances_of(chances=LAYER)
    assert codes(found, 106) == ["freeze_outlook_shares", "freeze_outlook_middle"]
    assert codes(found, 110) == ["freeze_outlook_week", "freeze_outlook_middle"]
    assert codes(found, 114) == ["freeze_outlook_middle"]
    assert codes(found, 118) == []


def test_days_that_a_layer_does_not_reach_or_know_end_what_it_tells():
    for end in (NEVER, NO):
        found = chances_of(chances={0.1: [80.0], 0.5: [100.0], 0.9: [end]})
        assert told(found, 90).iloc[0]["freeze_in_week_share"] == pytest.approx(0.14 / 0.7)
        assert told(found, 90).iloc[0][["freeze_in_two_weeks_share", "expected_freeze_date"]].isna().all()
        assert codes(found, 101) == []
    for days in ({0.1: [NO], 0.5: [100.0]}, {0.1: [NEVER], 0.5: [NEVER]}, {0.5: [100.0]}):
        assert codes(chances_of(chances=days), 100) == []


def test_two_chances_on_one_day_are_the_higher_one():
    found = chances_of(chances={0.1: [80.0], 0.2: [90.0], 0.4: [90.0], 0.5: [100.0]})
    assert told(found, 90).iloc[0]["freeze_in_week_share"] == pytest.approx(0.07 / 0.6)


some_days = st.one_of(st.integers(40, 200).map(float), st.just(NEVER), st.just(NO))
some_fields = npst.arrays(np.float64, st.tuples(st.integers(1, 4), st.integers(1, 12)), elements=some_days)


@given(some_fields, st.integers(0, 240))
def test_shares_are_shares_and_two_weeks_hold_at_least_as_much_as_one(seasons, day):
    found = told(chances_of(seasons), day)
    known = found[found["freeze_in_week_share"].notna()]
    assert (known["freeze_in_week_share"] >= 0).all() and (known["freeze_in_two_weeks_share"] <= 1).all()
    assert (known["freeze_in_week_share"] <= known["freeze_in_two_weeks_share"]).all()
    assert (found["expected_freeze_date"].dropna() > pd.Timestamp(on_day(day))).all()


@given(some_fields, st.integers(0, 239))
def test_from_day_to_day_no_season_opens_again(seasons, day):
    today, tomorrow = (told(chances_of(seasons), one)["seasons_still_open"] for one in (day, day + 1))
    both = today.notna() & tomorrow.notna()
    assert (tomorrow[both] <= today[both]).all()
    assert not (today.notna() & tomorrow.isna()).any()


@given(npst.arrays(np.float64, st.integers(1, 9), elements=some_days), st.integers(0, 240))
def test_a_layer_of_any_days_gives_shares_or_nothing(days, day):
    offered = dict(zip(np.linspace(0.1, 0.9, len(days)), np.sort(days)[:, np.newaxis], strict=True))
    row = told(chances_of(chances=offered), day).iloc[0]
    shares = row[SHARES].dropna()
    assert ((shares >= 0) & (shares <= 1)).all()
    assert pd.isna(row["expected_freeze_date"]) or row["expected_freeze_date"] >= pd.Timestamp(on_day(day))


# In a plan.

FREEZE = '[freeze]\nfile = "f.tif"\nday_count = "season_start"\nthreshold_f = 28\n'
GRASS = '[fields.defaults]\ngrass = "hybrid_bermudagrass"\n'
SEASON_BANDS = [[day, day + 6] for day in range(76, 116, 2)]
CHANCE_BANDS = [[80, 84], [95, 99], [110, 114], [4, 4], [2, 2], [3, 3], [25, 25], [0, 0]]
CHANCE_NAMES = [
    "0.1",
    "0.5",
    "0.9",
    *(f"error_days 0.{n}" for n in (1, 5, 9)),
    "valid_seasons",
    "no_freeze_share",
]


def region_with(folder, kind, bands, names=()):
    write_region(folder, GRASS + FREEZE + f'kind = "{kind}"\n')
    write_freeze(folder / "f.tif", bands, descriptions=names)
    return read_region(folder)


def plan_on(region, on):
    return make_plan(region, settings_with(on, region.settings)).fields


KINDS = pytest.mark.parametrize(
    ("kind", "bands", "names"),
    [("seasons", SEASON_BANDS, ()), ("chances", CHANCE_BANDS, CHANCE_NAMES)],
    ids=["seasons", "chances"],
)


def grown_in(region, season):
    days = growing_year(season)
    hours = pd.DataFrame(day_length_h(np.array([[32.5]]), days), index=[32.5], columns=days)
    latitudes = pd.Series(32.5, index=region.fields.index)
    return growth(grass_numbers(region.fields, region.grasses), latitudes, hours, np.ones(len(days)))


def test_the_last_cut_date_is_the_same_on_every_day_of_the_season(tmp_path):
    # By the steps that a plan takes to its dates, each told the day; whole plans take too long for every day.
    region = region_with(tmp_path, "seasons", SEASON_BANDS)
    numbers, grown = grass_numbers(region.fields, region.grasses), grown_in(region, FALL)
    nothing = region.fields.assign(killing_freeze_recorded_date=pd.NaT, green_up_date=pd.NaT)
    last_cut_dates, expected = [], set()
    for on in (FALL.start + timedelta(days=day) for day in range(-122, 243)):
        season = season_of(on, region.season_start)
        cells = freeze_cells(region.fields, region.freeze, season)
        freezes = killing_freezes(region.fields, cells, Settings(on=on))
        last_cut_dates.append(tuple(last_cuts(freezes, numbers, grown)["last_cut_date"]))
        outlook = freeze_outlook(nothing, freeze_chances(region.fields, cells, [0.2]), season, on)
        expected |= set(outlook["expected_freeze_date"].dropna())
    assert len(last_cut_dates) == 365
    assert set(last_cut_dates) == {last_cut_dates[0]}
    assert all(map(pd.notna, last_cut_dates[0]))
    assert len(expected) > 10  # the outlook does move


@KINDS
def test_nor_does_it_move_in_a_whole_plan(tmp_path, kind, bands, names):
    region = region_with(tmp_path, kind, bands, names)
    plans = [plan_on(region, date(2026, 10, 5) + timedelta(days=day)) for day in (0, 24, 60)]
    assert plans[0]["last_cut_date"].notna().all()
    for fields in plans[1:]:
        assert fields["last_cut_date"].equals(plans[0]["last_cut_date"])


def test_a_layer_of_chances_fills_error_seasons_and_share_of_a_plan(tmp_path):
    fields = plan_on(region_with(tmp_path, "chances", CHANCE_BANDS, CHANCE_NAMES), date(2026, 9, 8))
    # At 1 fall in 5, a quarter of the way from 0.1 to 0.5: 4 and 2 days of error.
    assert fields["freeze_error_days"].tolist() == pytest.approx([3.5, 3.5])
    assert fields["freeze_seasons"].tolist() == [25, 25]
    assert fields["no_freeze_share"].tolist() == [0.0, 0.0]


def test_the_words_of_a_field_carry_the_outlook_until_a_freeze_is_forecast(tmp_path):
    region = region_with(tmp_path, "seasons", SEASON_BANDS)
    row = plan_on(region, date(2026, 11, 1)).iloc[0]
    assert row["stage"] == "leave_standing"
    assert [one.code for one in row["mind"]][:2] == ["freeze_outlook_seasons", "freeze_outlook_middle"]
