"""The last-cut date of each field: the earlier of freeze less regrowth and the last day that growth allows."""

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd

from spatial.agronomy.regrowth import Growth, regrowth_days

LIMITS = ("freeze", "growth", "rule")
MIDYEAR = 6  # a growing year that begins after June is a southern one


def last_cuts(freezes: pd.DataFrame, numbers: pd.DataFrame, grown: Growth) -> pd.DataFrame:
    """Return the last-cut date of each field and what set it.

    `freezes` has killing_freeze_date (NaT: not reached) and freeze_cover_share (0: no data). Columns:
    regrowth_days [days], growth_end_date (the freeze, or the end of growth by day length), last_cut_date
    (inclusive, whole day; NaT without freeze data, grass or last-cut rule), last_cut_limit: "freeze" (killing
    freeze less regrowth), "growth" (the last day after which the target height still grows), "rule" (the grass's
    cap), or empty; two_cuts_by_date (the cut before last must be made by then for both to fit), and
    freeze_height_low_cm, freeze_height_high_cm: the canopy at the end of growth after a cut on that date.
    """
    end = _growth_ends(freezes["killing_freeze_date"], grown)
    limits = _limits(freezes["killing_freeze_date"], numbers, grown)
    known = (freezes["freeze_cover_share"] > 0) & numbers["last_cut_rule"]
    last = limits.min(axis=1).where(known & limits["growth"].notna())
    # A tie goes to the first: the freeze, then growth.
    which = np.select([limits[name] == last for name in LIMITS], LIMITS, "")
    regrown_cm = grown.between_cm(last, end)
    return pd.DataFrame(
        {
            "regrowth_days": regrowth_days(numbers).where(known),
            "growth_end_date": end.where(known),
            "last_cut_date": last,
            "last_cut_limit": pd.Series(which, index=last.index, dtype=object).where(last.notna(), ""),
            "two_cuts_by_date": _two_cuts_by(last, numbers, grown),
            "freeze_height_low_cm": numbers["stubble_cm"] + regrown_cm * numbers["growth_low_share"],
            "freeze_height_high_cm": numbers["stubble_cm"] + regrown_cm * numbers["growth_high_share"],
        }
    )


def _two_cuts_by(last: pd.Series, numbers: pd.DataFrame, grown: Growth) -> pd.Series:
    """Return the last day of a cut after which the stand is ready once more by its last-cut date."""
    by_days = last - pd.to_timedelta(numbers["cutting_interval_days"], unit="D")
    need_cm = (numbers["harvest_height_cm"] - numbers["stubble_cm"]).clip(lower=0)
    return pd.concat([by_days, grown.last_start(need_cm, last)], axis=1).min(axis=1, skipna=False)


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
    choices: Mapping[str, pd.Series] = {
        "dormant": recorded + pd.Timedelta(days=freeze_cut_days) < today,
        "freeze_cut": (recorded <= today) | fields["forecast_freeze_date"].notna(),
        "": fields["last_cut_date"].isna(),
        "leave_standing": fields["last_cut_date"] < today,
        "growing": ~(fields["ready_date"] <= today),
    }
    found = np.select(list(choices.values()), list(choices), "ready")
    return pd.Series(found, index=fields.index, dtype=object)


def _growth_ends(freeze: pd.Series, grown: Growth) -> pd.Series:
    by_light = pd.Series(grown.ends, index=grown.index).astype("datetime64[ns]")
    return pd.concat([freeze, by_light], axis=1).min(axis=1)


def _limits(freeze: pd.Series, numbers: pd.DataFrame, grown: Growth) -> pd.DataFrame:
    need_cm = (numbers["target_height_cm"] - numbers["stubble_cm"]).clip(lower=0)
    by_growth = grown.last_start(need_cm, _growth_ends(freeze, grown))
    by_freeze = freeze - pd.to_timedelta(regrowth_days(numbers), unit="D")
    return pd.DataFrame({"freeze": by_freeze, "growth": by_growth, "rule": _caps(numbers, grown)})


def _caps(numbers: pd.DataFrame, grown: Growth) -> pd.Series:
    """Return the grass's cap as a date of the growing year; NaT where it has none.

    Caps are written for the north; a growing year that begins in fall puts them half a year later.
    """
    first = pd.Timestamp(grown.days[0])
    half_a_year = pd.DateOffset(months=6 if first.month > MIDYEAR else 0)
    found: list[object] = []
    for cap in numbers["last_cut_cap"]:
        here = pd.Timestamp(first.year, *cap) + half_a_year if isinstance(cap, tuple) else None
        found.append(here if here is None or here >= first else here + pd.DateOffset(years=1))
    return pd.Series(found, index=numbers.index, dtype="datetime64[ns]")
