"""The error of a freeze date, against a bootstrap and against scipy's own formula for quantiles."""

import numpy as np
import pytest
from scipy.stats.mstats import hdquantiles_sd, mjci

from spatial.climate.chances import quantile_errors
from spatial.climate.seasons import chance_days

CHANCES = [0.2, 0.3, 0.5]


def seasons(count, fields=200, spread_days=9.0):
    return np.random.default_rng(5).normal(95.0, spread_days, (count, fields))


@pytest.mark.parametrize("chance", CHANCES)
def test_errors_are_near_those_of_scipy(chance):
    # scipy.stats.mstats.mjci takes neighbouring beta weights, and hdquantiles_sd leaves one season out at a time.
    days = seasons(30)
    found = np.median(quantile_errors(days, [chance])[0])
    maritz_jarrett = np.median([mjci(one, [chance])[0] for one in days.T])
    left_out = np.median([hdquantiles_sd(one, [chance])[0] for one in days.T])
    assert found == pytest.approx(maritz_jarrett, rel=0.1)
    assert found == pytest.approx(left_out, rel=0.2)


@pytest.mark.parametrize("chance", CHANCES)
def test_errors_are_near_the_true_spread_of_the_date(chance):
    # The spread of the date over 4,000 samples of 30 seasons from one known distribution.
    dates = chance_days(seasons(30, 4000), [chance])[0]
    found = quantile_errors(seasons(30, 4000), [chance])[0]
    assert np.median(found) == pytest.approx(dates.std(), rel=0.2)


def test_thirty_seasons_leave_an_error_of_days():
    # With 30 seasons the error is 1 to 6 days for chances of 1 in 10 to 1 in 2, computed from three stations.
    found = quantile_errors(seasons(30), [0.1, 0.5])
    assert ((found.mean(axis=1) > 1) & (found.mean(axis=1) < 6)).all()


def test_seasons_without_a_freeze_leave_early_errors_known_and_late_ones_not():
    days = seasons(30)
    days[:6] = np.inf
    early, late = quantile_errors(days, [0.2, 0.8])
    assert np.isfinite(early).all()
    assert np.isnan(late).all()


def test_one_season_has_no_error():
    assert np.isnan(quantile_errors(seasons(1), [0.5])).all()
