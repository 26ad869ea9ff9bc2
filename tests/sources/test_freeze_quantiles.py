"""Days by chance, against scipy's plotting positions and against the mixture with seasons without freeze."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst
from scipy.stats import norm
from scipy.stats.mstats import mquantiles, plotting_positions

from spatial.climate.seasons import chance_days

CHANCES = (0.05, 0.1, 0.2, 0.25, 0.5, 0.75, 0.8, 0.9, 0.95)
# Weibull, about median-unbiased, Hazen and the common software default, by their plotting position.
POSITIONS = (0.0, 1 / 3, 0.5, 1.0)

# Thirty seasons, made up for this test, three of them without freeze: days since 1 August.
THIRTY = np.array(
    [
        *(118, 97, 131, 142, 109, np.inf, 125, 137, 151, 104, 122, 148, 113, 128, np.inf),
        *(140, 101, 134, 160, 119, 127, 145, 93, 155, 111, 136, np.inf, 124, 130, 115),
    ]
)


@pytest.mark.parametrize("position", POSITIONS)
@given(days=npst.arrays(np.float64, st.integers(2, 60), elements=st.integers(0, 364).map(float)))
def test_seasons_that_all_freeze_agree_with_scipy(position, days):
    expected = mquantiles(days, prob=CHANCES, alphap=position, betap=position)
    np.testing.assert_allclose(chance_days(days, CHANCES, a=position), expected, rtol=0, atol=1e-6)


@pytest.mark.parametrize("position", POSITIONS)
def test_every_season_stands_at_its_own_plotting_position(position):
    days = np.array([104.0, 92.0, 117.0, 99.0, 131.0, 88.0, 121.0])
    its_chance = plotting_positions(days, alpha=position, beta=position)
    np.testing.assert_allclose(chance_days(days, its_chance.tolist(), a=position), days, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("chance", "day"),
    # Worked by hand, Weibull: nine seasons, seven with a freeze on days 10, 20 ... 70. Rank h = 10 p.
    [
        (0.1, 10.0),
        (0.25, 25.0),  # halfway from the second to the third
        (0.5, 50.0),
        (0.65, 65.0),
        (0.7, 70.0),  # just the seventh, the last that froze
        (0.72, np.inf),  # between the seventh and a season without
        (0.9, np.inf),
    ],
)
def test_seasons_without_freeze_by_hand(chance, day):
    days = np.array([30, 70, np.inf, 10, 50, 20, np.inf, 60, 40])
    np.testing.assert_allclose(chance_days(days, [chance], a=0.0), [day], rtol=0, atol=1e-9)


@pytest.mark.parametrize("chance", [0.1, 0.3, 0.5, 0.7, 0.85])
def test_many_seasons_come_to_the_mixture(chance):
    # F(d) = q G(d), so that P_p = G^-1(p / q) where p < q, else not reached (Thom 1959, from memory).
    # G is normal about day 110 with 12 days, q is 0.8; 8,000 seasons stand at even steps, 2,000 have none.
    froze, seasons = 8_000, 10_000
    steps = (np.arange(froze) + 0.5) / froze
    days = np.concatenate([norm.ppf(steps, 110, 12), np.full(seasons - froze, np.inf)])
    share = chance / (froze / seasons)
    expected = norm.ppf(share, 110, 12) if share < 1 else np.inf
    np.testing.assert_allclose(chance_days(days, [chance]), [expected], rtol=0, atol=0.02)


def test_leaving_out_seasons_without_freeze_makes_the_average_falsely_early():
    froze = THIRTY[np.isfinite(THIRTY)]
    assert len(froze) == 27
    # By hand: of thirty the 15th and the 16th are 128 and 130, of twenty-seven the 14th is 127.
    kept, dropped = chance_days(THIRTY, [0.5])[0], chance_days(froze, [0.5])[0]
    assert (kept, dropped) == (pytest.approx(129), pytest.approx(127))


def test_leaving_out_seasons_without_freeze_invents_a_late_date():
    froze = THIRTY[np.isfinite(THIRTY)]
    assert chance_days(THIRTY, [0.95]).tolist() == [np.inf]
    assert np.isfinite(chance_days(froze, [0.95])).all()


def test_the_common_quantile_would_say_no_data_where_no_freeze_came():
    with np.errstate(invalid="ignore"):
        common = np.quantile(THIRTY, 0.95, method="median_unbiased")
    assert np.isnan(common)
    assert np.isposinf(chance_days(THIRTY, [0.95])[0])
