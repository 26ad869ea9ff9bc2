"""How much warmer or colder growing weather a region has than the place where the rule of thumb is set."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.values import GrowthRules

LEAST_WARMTH = 0.02  # so that two places in winter compare as equal and not as nought to nought
MID_MONTH = 0.5
MONTHS = 12


def warmth_shares(normals: pd.DataFrame, rules: GrowthRules, days: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Return for each day the share of the growth by day length that the temperature allows, (days,).

    `normals` has month (1 to 12) and mean_temperature_c [deg C]; empty: 1 on every day. The share is the warmth
    here over that of the rule's own place, so that the rule of thumb holds there, and never over the most. Warmth
    rises in a line from the base to the best temperature: Flournoy 2017, Mississippi State Univ., from its
    abstract.
    """
    if normals.empty:
        return np.ones(len(days))
    here = normals.groupby("month")["mean_temperature_c"].mean().reindex(range(1, MONTHS + 1)).interpolate()
    shares = _warmth(here.ffill().bfill().to_numpy(), rules, days) / _warmth(
        np.array(rules.rule_place_c), rules, days
    )
    return np.minimum(shares, rules.most_warmth_share)


def _warmth(
    month_means_c: NDArray[np.float64], rules: GrowthRules, days: pd.DatetimeIndex
) -> NDArray[np.float64]:
    at = (days.month - 1) + (days.day - 1) / days.days_in_month
    middles = np.arange(MONTHS) + MID_MONTH
    daily_c = np.interp(np.asarray(at), middles, month_means_c, period=MONTHS)
    share = (daily_c - rules.base_temperature_c) / (rules.best_temperature_c - rules.base_temperature_c)
    return np.asarray(np.clip(share, LEAST_WARMTH, 1.0))
