"""How the freeze day moved over the years."""

import numpy as np
import pandas as pd
from scipy.stats import theilslopes

from spatial.daily import Trend

LEAST_SEASONS = 5  # with fewer, no pair of slopes encloses 95 %
CONFIDENCE_SHARE = 0.95


def freeze_trend(freeze_day: pd.Series) -> Trend | None:
    """Return the median slope of the freeze day over the seasons that had a freeze, with its 95 % interval.

    `freeze_day` is on the season's first calendar year [days since the season's first day]; seasons without
    freeze (+inf) and unknown ones (NaN) are left out, so that `Trend.seasons` may be less than those valid. None
    with fewer than 5 seasons. Source: Theil 1950 and Sen 1968, J. Am. Stat. Assoc. 63:1379-1389 (from memory), as
    scipy.stats.theilslopes works it out.
    """
    froze = freeze_day[np.isfinite(freeze_day)]
    if len(froze) < LEAST_SEASONS:
        return None
    found = theilslopes(froze.to_numpy(np.float64), froze.index.to_numpy(np.float64), CONFIDENCE_SHARE)
    return Trend(float(found.slope), float(found.low_slope), float(found.high_slope), len(froze))
