"""Whether a record goes on in another unit from some year on: its months then agree only as that unit."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.inputs.stations.readings import FACTORS, UNITS, Unit

MONTH_VALUES, LEAST_MONTHS = 10, 3
YEARS = 2  # on either side of a year
APART_C, AGREE_C, MONTH_AGREE_C = 6.0, 2.5, 6.0  # so far apart as they are, so near as the other unit


def unit_change(days: pd.DataFrame) -> tuple[int, Unit] | None:
    """Return the year about which a record changes its unit, and the other unit; None where it does not.

    `days` has date, tmin_c [deg C] and unit, in order. The months of two years before a year and of two after it are
    set side by side; they must differ by 6 deg C on average, and by less than 2.5 when one side is read in the other
    unit.
    """
    if days["date"].iloc[-1].year - days["date"].iloc[0].year < YEARS:
        return None
    by_year = days.groupby([days["date"].dt.year, days["date"].dt.month])["tmin_c"].agg(["mean", "count"])
    months = by_year["mean"].where(by_year["count"] >= MONTH_VALUES).unstack()  # noqa: PD010 - no index of its own
    years = [int(year) for year in months.index]
    for year in range(years[0] + 1, years[-1]):
        before, after = (months.loc[first : first + YEARS - 1] for first in (year - YEARS, year + 1))
        both = np.array([before.mean(), after.mean()], dtype=np.float64)
        both = both[:, np.isfinite(both).all(axis=0)]
        if both.shape[1] < LEAST_MONTHS or np.abs(both[0] - both[1]).mean() < APART_C:
            continue
        unit = _other_unit(both, days["unit"].iloc[0])
        if unit is not None:
            return year, unit
    return None


def _other_unit(both: NDArray[np.float64], own: Unit) -> Unit | None:
    """Return the unit in which one of two runs of months agrees with the other as it is."""
    for unit in UNITS:
        if unit == own:
            continue
        for one, other in (both, both[::-1]):
            apart = np.abs(_as_unit(one, own, unit) - other)
            if apart.mean() < AGREE_C and apart.max() < MONTH_AGREE_C:
                return unit
    return None


def _as_unit(tmin_c: NDArray[np.float64], own: Unit, unit: Unit) -> NDArray[np.float64]:
    """Return what temperatures would be, had their numbers been in another unit than they were read in."""
    factor, offset = FACTORS[own]
    written = (tmin_c - offset) / factor
    factor, offset = FACTORS[unit]
    changed: NDArray[np.float64] = written * factor + offset
    return changed
