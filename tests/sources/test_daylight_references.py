"""Day length, against the sunrise and sunset that ephem works out from the sun's place in the sky."""

import ephem
import numpy as np
import pandas as pd
import pytest

from spatial.climate.daylight import day_length_h

# Twenty places north and south, in degrees: latitude, longitude.
PLACES = [
    (33.0, -83.0), (31.5, -83.5), (25.8, -80.2), (36.2, -86.8), (35.5, -97.5), (38.6, -90.2), (29.8, -95.4),
    (43.0, -87.9), (21.3, -157.9), (0.0, -78.5), (51.5, 0.0), (59.3, 18.1), (40.4, -3.7), (35.7, 139.7), (28.6, 77.2),
    (-26.2, 28.0), (-33.9, 151.2), (-34.6, -58.4), (-45.9, 170.5), (-15.8, -47.9),
]  # fmt: skip
DATES = pd.date_range("2024-01-04", "2027-12-31", freq="11D")  # a leap year among them


def sun_h(latitude_deg, longitude_deg, date):
    """Hours from sunrise to sunset as in almanacs: the sun's centre 50' under a horizon without air."""
    place, sun = ephem.Observer(), ephem.Sun()
    place.lat, place.lon, place.pressure, place.horizon = str(latitude_deg), str(longitude_deg), 0, "-0:50"
    local_noon = date + pd.Timedelta(hours=12 - longitude_deg / 15)
    place.date = ephem.Date((local_noon - pd.Timedelta(hours=1)).floor("s").to_pydatetime())
    place.date = place.next_transit(sun)
    return 24 * (place.next_setting(sun, use_center=True) - place.previous_rising(sun, use_center=True))


@pytest.mark.parametrize(("latitude_deg", "longitude_deg"), PLACES)
def test_day_length_agrees_with_the_sun_within_a_minute(latitude_deg, longitude_deg):
    expected = [sun_h(latitude_deg, longitude_deg, date) for date in DATES]
    found = day_length_h(latitude_deg, DATES, longitude_deg)
    assert np.abs(found - expected).max() < 1 / 60
