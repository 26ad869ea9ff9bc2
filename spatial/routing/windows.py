"""Says on which days each field may be cut early, and on which crew-days its area is dry."""

from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.routing.workdays import area_name

# What a field is for, where an early cut belongs on the route.
CUT_INTENTS = ("hay", "overseeded")

# Stages of the year in which an early cut is made.
EARLY_STAGES = ("growing", "ready")


def cut_windows(fields: pd.DataFrame, on: date) -> pd.DataFrame:
    """Return the days on which each field may be cut, as days after `on`; missing is NaN.

    `ready_day`; `open_day`, the first after a herbicide label's closed days; `first_day`, the later of the
    two and not before `on`; `last_day`, the last-cut date. First and last are whole days, inclusive; where the
    last comes before the first there is no window.
    """
    ready = days_after(fields["ready_date"], on)
    opened = np.nan_to_num(days_after(fields["closed_until_date"], on) + 1.0)
    days = {
        "ready_day": ready,
        "open_day": opened,
        "first_day": np.maximum(np.maximum(ready, opened), 0.0),
        "last_day": days_after(fields["last_cut_date"], on),
    }
    return pd.DataFrame(days, index=fields.index)


def days_after(dates: pd.Series, on: date) -> NDArray[np.float64]:
    """Return each date as days after `on`; NaN where it is missing."""
    passed = pd.to_datetime(dates).to_numpy(dtype="datetime64[D]") - np.datetime64(on, "D")
    return np.where(np.isnat(passed), np.nan, passed.astype("float64"))


def in_window(windows: pd.DataFrame, crew_days: pd.DataFrame) -> NDArray[np.bool_]:
    """Return (crew-days, fields) whether the crew-day's `day` lies in the field's window."""
    day = crew_days["day"].to_numpy()[:, None]
    return np.asarray((windows["first_day"].to_numpy() <= day) & (day <= windows["last_day"].to_numpy()))


def dry_areas(fields: pd.DataFrame, crew_days: pd.DataFrame) -> NDArray[np.bool_]:
    """Return (crew-days, fields) whether the field's area is none of the crew-day's `wet_areas`."""
    names = fields["area"].map(area_name, na_action=None)
    rows = [~names.isin(list(wet)).to_numpy(dtype="bool") for wet in crew_days["wet_areas"]]
    return np.array(rows, dtype="bool").reshape(len(crew_days), len(fields))
