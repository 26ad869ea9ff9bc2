"""Day length, against the sunrise and sunset that ephem works out from the sun's place in the sky."""

from datetime import UTC, datetime, timedelta

import ephem
import numpy as np
import pytest

from spatial.climate.daylight import day_length_h

EVERY = 7  # days


def sun_h(latitude_deg, day):
    """Hours from sunrise to sunset as in almanacs: the sun's centre 50' under a horizon without air."""
    place, sun = ephem.Observer(), ephem.Sun()
    place.lat, place.lon, place.pressure, place.horizon = str(latitude_deg), "0", 0, "-0:50"
    place.date = ephem.Date(day)
    place.date = place.next_transit(sun)
    return 24 * (place.next_setting(sun, use_center=True) - place.previous_rising(sun, use_center=True))


@pytest.mark.parametrize("year", [2023, 2024, 2026])
@pytest.mark.parametrize("latitude_deg", [-40, -25, 0, 25, 30, 35, 40])
def test_day_length_agrees_with_the_sun_all_year(latitude_deg, year):
    days = np.arange(1, 366, EVERY)
    first = datetime(year, 1, 1, tzinfo=UTC)
    expected = [
        sun_h(latitude_deg, (first + timedelta(days=int(day) - 1)).replace(tzinfo=None)) for day in days
    ]
    # The model knows the day but not the year, and the leap day moves the sun by up to most of a day: at 40
    # degrees in March and September a day is 2.7 minutes.
    np.testing.assert_allclose(day_length_h(latitude_deg, days), expected, rtol=0, atol=3.5 / 60)


def test_day_length_has_no_lasting_error():
    days = np.arange(1, 366, EVERY)
    first = datetime(2024, 1, 1, tzinfo=UTC)
    expected = [sun_h(33, (first + timedelta(days=int(day) - 1)).replace(tzinfo=None)) for day in days]
    assert abs(np.mean(day_length_h(33, days) - expected)) < 0.2 / 60
