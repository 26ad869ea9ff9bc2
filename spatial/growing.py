"""How the grasses of a region grow at some latitudes, over the growing year of a season."""

import numpy as np
import pandas as pd

from spatial.agronomy.regrowth import Growth, growth
from spatial.agronomy.warmth import warmth_shares
from spatial.climate.daylight import day_length_h
from spatial.climate.seasons import Season, growing_year
from spatial.inputs.region import Region

LATITUDE_STEP_DEG = 0.1  # day length changes by less than half a minute over it in fall


def growth_at(
    numbers: pd.DataFrame, latitudes: pd.Series, longitude: float, region: Region, season: Season
) -> Growth:
    """Return the growth of stands at `latitudes` [deg], in steps of LATITUDE_STEP_DEG, on the index of `numbers`.

    `longitude` [deg] is that of the region's middle: within a region it changes no day.
    """
    days = growing_year(season)
    rows = np.unique(np.round(latitudes / LATITUDE_STEP_DEG)) * LATITUDE_STEP_DEG
    hours = day_length_h(rows[:, None], days, longitude)
    warmth = warmth_shares(region.temperature, region.growth_rules, days)
    return growth(numbers, latitudes, pd.DataFrame(hours, index=rows, columns=days), warmth)
