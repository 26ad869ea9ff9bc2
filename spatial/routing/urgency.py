"""Says how pressing a field is, from the days left until its last cut."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

# Upper ends of the classes [days], inclusive, and their codes; beyond the last one "over_28".
_LAST_DAYS = (-1, 7, 14, 28)
_CODES = ("past", "0-7", "8-14", "15-28", "over_28")

# Days left at which a field weighs half of one that is on its last day. Common practice, no source: a week is
# about as far as a dry-weather outlook reaches, so what is due within it cannot be put off to a surer day.
_HALF_WEIGHT_DAYS = 7.0


def urgency_class(days_left: pd.Series) -> pd.Series:
    """Return each field's class: "past", "0-7", "8-14", "15-28", "over_28"; "" where days left are missing.

    `days_left` [days] is last-cut date less today; the result is text on the same index.
    """
    days = _numbers(days_left)
    codes = np.array(_CODES)[np.searchsorted(_LAST_DAYS, days)]
    return pd.Series(np.where(np.isnan(days), "", codes), index=days_left.index, name="urgency", dtype="str")


def urgency_weight(days_left: pd.Series) -> pd.Series:
    """Return how heavily each field weighs for its date, in (0, 1]: 1 on its last day, half a week before.

    The weight is 7 / (7 + days left); a field past its date weighs 1, missing stays missing.
    """
    days = np.maximum(_numbers(days_left), 0.0)
    weights = _HALF_WEIGHT_DAYS / (_HALF_WEIGHT_DAYS + days)
    return pd.Series(weights, index=days_left.index, name="urgency_weight", dtype="float64")


def _numbers(days_left: pd.Series) -> NDArray[np.float64]:
    return days_left.to_numpy(dtype="float64", na_value=np.nan)
