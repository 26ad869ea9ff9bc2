"""Hours of daylight by place and date."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

RISEN_DEG = 0.8333  # of the sun's centre under the horizon when its upper edge, lifted by refraction, is seen
FIRST = pd.Timestamp("2000-01-01")  # the formulas count from its noon


def day_length_h(
    latitude_deg: ArrayLike, dates: pd.DatetimeIndex, longitude_deg: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return the hours from sunrise to sunset [h], 0 in polar night and 24 in polar day.

    `latitude_deg` (south negative) and `longitude_deg` (west negative) are numbers, or arrays that go with the
    `dates` (midnight). Source: the low-precision formulas for the sun of the Astronomical Almanac, good to 0.01
    degrees from 1950 to 2050 (from memory), at local noon; sunrise and sunset at 0.8333 degrees below the horizon.
    """
    noon = np.asarray((dates - FIRST) / pd.Timedelta(days=1)) - np.asarray(longitude_deg) / 360
    declination = _declination_rad(noon)
    latitude = np.deg2rad(np.asarray(latitude_deg, dtype=np.float64))
    above = -np.sin(np.deg2rad(RISEN_DEG)) - np.sin(latitude) * np.sin(declination)
    half_day = np.arccos(np.clip(above / (np.cos(latitude) * np.cos(declination)), -1, 1))
    return np.asarray(24 / np.pi * half_day)


def _declination_rad(days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sun's declination, at `days` after noon of 1 January 2000, universal time."""
    mean_longitude = np.deg2rad(280.460 + 0.9856474 * days)
    anomaly = np.deg2rad(357.528 + 0.9856003 * days)
    longitude = mean_longitude + np.deg2rad(1.915) * np.sin(anomaly) + np.deg2rad(0.020) * np.sin(2 * anomaly)
    obliquity = np.deg2rad(23.439 - 0.0000004 * days)
    return np.asarray(np.arcsin(np.sin(obliquity) * np.sin(longitude)))
