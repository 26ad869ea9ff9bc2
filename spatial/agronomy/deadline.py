"""The last-cut date of each field: the earlier of freeze less regrowth and the last day that growth allows."""

from datetime import date

import numpy as np
import pandas as pd

from spatial.agronomy.regrowth import Growth, regrowth_days


def last_cuts(freezes: pd.DataFrame, numbers: pd.DataFrame, grown: Growth) -> pd.DataFrame:
    """Return the last-cut date of each field and what set it.

    `freezes` has killing_freeze_date (NaT: not reached) and freeze_cover_share (0: no data). Columns:
    regrowth_days [days], growth_end_date, last_cut_date (inclusive, whole day; NaT without freeze data or grass),
    last_cut_limit: "freeze" (killing freeze less regrowth), "growth" (the last day after which the target height
    still grows), "rule" (the grass's cap), or empty.
    """
    days = regrowth_days(numbers)
    freeze = freezes["killing_freeze_date"]
    by_freeze = freeze - pd.to_timedelta(days, unit="D")
    end = pd.concat([freeze, pd.Series(grown.ends, index=grown.index).astype("datetime64[ns]")], axis=1).min(
        axis=1
    )
    need_cm = (numbers["target_height_cm"] - numbers["stubble_cm"]).clip(lower=0)
    limits = pd.DataFrame(
        {"freeze": by_freeze, "growth": grown.last_start(need_cm, end), "rule": _caps(numbers, grown)}
    )
    known = (freezes["freeze_cover_share"] > 0) & numbers["regrowth_days"].notna() & limits["growth"].notna()
    last = limits.min(axis=1).where(known)
    names = ["freeze", "growth", "rule"]
    # A tie goes to the first: the freeze, then growth.
    which = pd.Series(np.select([limits[name] == last for name in names], names, ""), index=limits.index)
    return pd.DataFrame(
        {
            "regrowth_days": days.where(known),
            "growth_end_date": end.where(known),
            "last_cut_date": last,
            "last_cut_limit": which.where(known, "").astype(object),
        }
    )


def days_left(last_cut_dates: pd.Series, on: date) -> pd.Series:
    """Return the days from `on` to the last-cut date, negative when it has passed; Int64, <NA> where unknown."""
    return (last_cut_dates - pd.Timestamp(on)).dt.days.astype("Int64")


def stages(fields: pd.DataFrame, on: date, freeze_cut_days: int) -> pd.Series:
    """Return the stage of each field on day `on`.

    `fields` has ready_date, last_cut_date, killing_freeze_recorded_date and forecast_freeze_date (today or
    tomorrow, else NaT). A recorded freeze goes before everything: freeze cut for `freeze_cut_days` days, then
    dormant; then a forecast one; then the dates. Empty where there is no last-cut date.
    """
    today = pd.Timestamp(on)
    recorded = fields["killing_freeze_recorded_date"]
    choices = {
        "dormant": recorded + pd.Timedelta(days=freeze_cut_days) < today,
        "freeze_cut": (recorded <= today) | fields["forecast_freeze_date"].notna(),
        "": fields["last_cut_date"].isna(),
        "leave_standing": fields["last_cut_date"] < today,
        "growing": ~(fields["ready_date"] <= today),
    }
    found = np.select(list(choices.values()), list(choices), "ready")
    return pd.Series(found, index=fields.index, dtype=object)


def _caps(numbers: pd.DataFrame, grown: Growth) -> pd.Series:
    """Return the grass's cap as a date of the growing year; NaT where it has none."""
    first = pd.Timestamp(grown.days[0])
    found: list[object] = []
    for cap in numbers["last_cut_cap"]:
        here = pd.Timestamp(first.year, *cap) if isinstance(cap, tuple) else None
        found.append(here if here is None or here >= first else here + pd.DateOffset(years=1))
    return pd.Series(found, index=numbers.index, dtype="datetime64[ns]")
