"""What is said of each week's zone: from its cells the first and last dates, what sets them, error and risk."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.deadline import LIMITS
from spatial.agronomy.risk import RISK_DAYS


def zone_table(
    band: NDArray[np.integer], land: NDArray[np.float64], cells: Mapping[str, NDArray[np.floating]]
) -> pd.DataFrame:
    """Return one row a band, rising, from the cells (n,) that lie in one.

    `land` is their area in proportion; `cells` has cut_day, freeze_day and average_day (+inf not reached, NaN
    unknown), error_days (NaN not known) and limit, the place in `deadline.LIMITS`. Columns: first and last of
    cut_day, freeze_day and average_day (first_cut_day and so on), low_cm and high_cm, the
    least and the most, error_days as a mean over the land where it is
    known, and limit, by name, the one that sets the date on most of the land.
    """
    table = pd.DataFrame({"band": band, "land": land, **cells})
    groups = table.groupby("band", sort=True)
    found = {
        f"{end}_{name}": getattr(groups[name], how)()
        for name in ("cut_day", "freeze_day", "average_day")
        for end, how in (("first", "min"), ("last", "max"))
    }
    found |= {"low_cm": groups["low_cm"].min(), "high_cm": groups["high_cm"].max()}
    return pd.DataFrame(found | {"error_days": _mean_error(table), "limit": _widest_limit(table)})


def risk_of_zone(
    season_counts: NDArray[np.float64], cut_day: int, regrowth_days: float
) -> tuple[tuple[int, float], ...]:
    """Return for each day around a zone's date (day of the cut, share), days since the season's first day.

    The share is that of the zone's cell-seasons, by land, whose freeze came before a cut on that day had regrown for
    `regrowth_days`, as `risk.risk_curves` has it for a field. `season_counts` (days,): land times seasons that froze
    on each day, the last entry those without a freeze. Empty where no season is known.
    """
    whole = season_counts.sum()
    if not whole > 0:
        return ()
    come = np.concatenate([[0.0], np.cumsum(season_counts[:-1])]) / whole  # before each day
    cuts = [cut_day + step for step in RISK_DAYS]
    regrown = [min(max(int(cut + regrowth_days), 0), len(come) - 1) for cut in cuts]
    return tuple((cut, round(float(come[day]), 3)) for cut, day in zip(cuts, regrown, strict=True))


def _mean_error(table: pd.DataFrame) -> pd.Series:
    known = table[table["error_days"].notna()]
    land = known["land"].groupby(known["band"]).sum()
    total = (known["error_days"] * known["land"]).groupby(known["band"]).sum()
    return (total / land).reindex(np.unique(table["band"]))


def _widest_limit(table: pd.DataFrame) -> pd.Series:
    land = table.groupby(["band", "limit"], as_index=False)["land"].sum()
    widest = land.loc[land.groupby("band")["land"].idxmax()]
    return pd.Series([LIMITS[int(place)] for place in widest["limit"]], index=widest["band"])
