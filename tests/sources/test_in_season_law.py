"""The outlook of a freeze that has not come yet, against its law worked by hand and against scipy's cut-off normal."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm, truncnorm

from spatial.climate.chances import FreezeChances
from spatial.climate.in_season import freeze_outlook
from spatial.climate.seasons import Season

# The law: given no freeze up to day d0, F(d | > d0) = (F(d) - F(d0)) / (1 - F(d0)); a conditional probability.
FALL = Season(2026, date(2026, 8, 1))
MEAN, SPREAD = 100.0, 9.0  # of an invented place, days since 1 August

NORMAL = {chance: norm.ppf(chance, MEAN, SPREAD) for chance in np.arange(1, 1000) / 1000}


def outlook(day, seasons=None, layer=None):
    none = pd.DataFrame(index=["a"])
    by_season = none if seasons is None else pd.DataFrame([list(seasons)], index=["a"])
    by_chance = none if layer is None else pd.DataFrame([list(layer.values())], ["a"], list(layer))
    fields = none.assign(killing_freeze_recorded_date=pd.NaT, green_up_date=pd.NaT)
    found = FreezeChances(none, none, by_season, by_chance)
    return freeze_outlook(fields, found, FALL, FALL.start + timedelta(days=day)).loc["a"]


def day_of(when):
    return (when - pd.Timestamp(FALL.start)).days


@pytest.mark.parametrize(
    ("day", "week", "two_weeks"),
    # By hand, of twenty seasons of which two had no freeze: F(85) = 2/20, F(92) = 5/20, F(99) = 10/20,
    # F(106) = 14/20, F(113) = 17/20, F(120) = 18/20.
    [
        (85, (5 - 2) / (20 - 2), (10 - 2) / (20 - 2)),
        (92, (10 - 5) / (20 - 5), (14 - 5) / (20 - 5)),
        (99, (14 - 10) / (20 - 10), (17 - 10) / (20 - 10)),
        (113, (18 - 17) / (20 - 17), (18 - 17) / (20 - 17)),
        (120, 0.0, 0.0),
    ],
)
def test_twenty_seasons_by_hand(day, week, two_weeks):
    froze = [80, 84, 86, 90, 92, 93, 94, 95, 97, 99, 100, 101, 105, 106, 108, 109, 112, 118]
    found = outlook(day, [*froze, np.inf, np.inf])
    assert found["freeze_in_week_share"] == pytest.approx(week)
    assert found["freeze_in_two_weeks_share"] == pytest.approx(two_weeks)


def test_a_layer_of_chances_by_hand():
    # F rises from 0.2 on day 90 to 0.6 on day 110, so F(95) = 0.3, F(102) = 0.44, F(109) = 0.58.
    # (0.44 - 0.3) / 0.7 = 0.2 and (0.58 - 0.3) / 0.7 = 0.4; half of what is left is at 0.3 + 0.35 = 0.65, and
    # from 0.6 on day 110 to 0.8 on day 122 that is day 113.
    found = outlook(95, layer={0.2: 90.0, 0.6: 110.0, 0.8: 122.0})
    assert found["freeze_in_week_share"] == pytest.approx(0.2)
    assert found["freeze_in_two_weeks_share"] == pytest.approx(0.4)
    assert day_of(found["expected_freeze_date"]) == 113


@pytest.mark.parametrize("day", [88, 95, 100, 107, 114])
@pytest.mark.parametrize("kind", ["seasons", "chances"])
def test_many_seasons_come_to_the_cut_off_normal(kind, day):
    # scipy.stats.truncnorm is the normal given that it is over a bound: the same law by another hand.
    left = truncnorm((day - MEAN) / SPREAD, np.inf, MEAN, SPREAD)
    if kind == "seasons":
        # Whole days: a freeze of day d fell between d - 1 and d.
        days = np.ceil(norm.ppf((np.arange(20_000) + 0.5) / 20_000, MEAN, SPREAD))
        found = outlook(day, days)
    else:
        found = outlook(day, layer=NORMAL)
    assert found["freeze_in_week_share"] == pytest.approx(left.cdf(day + 7), abs=0.01)
    assert day_of(found["expected_freeze_date"]) == pytest.approx(left.median(), abs=1.01)
    if kind == "seasons" or day + 14 <= max(NORMAL.values()):
        assert found["freeze_in_two_weeks_share"] == pytest.approx(left.cdf(day + 14), abs=0.01)


def test_a_season_that_runs_late_makes_the_freeze_later_than_the_average():
    # At the mean of a normal the middle of what is left is its 3/4 point, 0.674 spreads on (a standard table).
    found = outlook(100, layer=NORMAL)
    assert day_of(found["expected_freeze_date"]) == int(MEAN + 0.674 * SPREAD)
