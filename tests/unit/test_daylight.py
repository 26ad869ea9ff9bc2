"""What day length promises."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.climate.daylight import day_length_h

JUNE_21, DECEMBER_21 = 172, 355


def test_the_pole_has_polar_day_and_polar_night():
    assert day_length_h([90.0, 90.0], [JUNE_21, DECEMBER_21]).tolist() == [24.0, 0.0]
    assert day_length_h([-90.0, -90.0], [JUNE_21, DECEMBER_21]).tolist() == [0.0, 24.0]


@pytest.mark.parametrize(("latitude_deg", "longest"), [(33.0, JUNE_21), (-33.0, DECEMBER_21)])
def test_the_longest_day_is_at_the_solstice(latitude_deg, longest):
    hours = day_length_h(latitude_deg, np.arange(1, 366))
    assert abs(int(hours.argmax()) + 1 - longest) <= 1


@given(st.floats(20, 50))
def test_days_shorten_all_fall(latitude_deg):
    assert (np.diff(day_length_h(latitude_deg, np.arange(180, 350))) < 0).all()


@given(st.floats(0, 49), st.floats(0.1, 10), st.integers(1, 70))
def test_winter_days_are_shorter_further_from_the_equator(latitude_deg, further_deg, day):
    near, far = day_length_h([latitude_deg, latitude_deg + further_deg], day)
    assert far < near


def test_numbers_and_arrays_go_together():
    assert day_length_h(33.0, 250).shape == ()
    assert day_length_h(np.array([[30.0], [35.0]]), np.arange(240, 260)).shape == (2, 20)
