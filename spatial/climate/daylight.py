"""Hours of daylight by latitude and day of the year."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

RISEN_DEG = 0.8333  # of the sun's centre under the horizon when its upper edge, lifted by refraction, is seen


def day_length_h(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Return the hours from sunrise to sunset [h], 0 in polar night and 24 in polar day.

    `latitude_deg` [degrees, south negative] and `day_of_year` (1 is 1 January) may be numbers, or arrays that
    go together. Source: the CBM model with sunrise and sunset at 0.8333 degrees, Forsythe, Rykiel, Stahl, Wu
    and Schoolfield 1995, Ecological Modelling 80:87-95.
    """
    latitude, day = np.deg2rad(latitude_deg), np.asarray(day_of_year, dtype=np.float64)
    revolution = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (day - 186)))
    declination = np.arcsin(0.39795 * np.cos(revolution))
    above = np.sin(np.deg2rad(RISEN_DEG)) + np.sin(latitude) * np.sin(declination)
    half_night = np.arccos(np.clip(above / (np.cos(latitude) * np.cos(declination)), -1, 1))
    return np.asarray(24 - 24 / np.pi * half_night)
