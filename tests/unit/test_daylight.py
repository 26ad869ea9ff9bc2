"""What day length promises."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.climate.daylight import day_length_h

YEAR = pd.date_range("2026-01-01", "2026-12-31")
SOLSTICES = pd.DatetimeIndex(["2026-06-21", "2026-12-21"])


def test_the_pole_has_polar_day_and_polar_night():
    assert day_length_h([90.0, 90.0], SOLSTICES).tolist() == [24.0, 0.0]
    assert day_length_h([-90.0, -90.0], SOLSTICES).tolist() == [0.0, 24.0]


@pytest.mark.parametrize(("latitude_deg", "longest"), [(33.0, SOLSTICES[0]), (-33.0, SOLSTICES[1])])
def test_the_longest_day_is_at_the_solstice(latitude_deg, longest):
    found = YEAR[day_length_h(latitude_deg, YEAR).argmax()]
    assert abs((found - longest).days) <= 1


@given(st.floats(20, 50))
def test_days_shorten_all_fall(latitude_deg):
    assert (np.diff(day_length_h(latitude_deg, pd.date_range("2026-07-01", "2026-12-15"))) < 0).all()


@given(st.floats(0, 49), st.floats(0.1, 10), st.integers(0, 69))
def test_winter_days_are_shorter_further_from_the_equator(latitude_deg, further_deg, day):
    near, far = day_length_h([latitude_deg, latitude_deg + further_deg], YEAR[[day, day]])
    assert far < near


def test_places_and_dates_go_together():
    assert day_length_h(np.array([[30.0], [35.0]]), YEAR[:20]).shape == (2, 20)
