"""Says why a field is not on the route."""

from datetime import timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.reasons import CODES, reason
from spatial.routing.windows import CUT_INTENTS, EARLY_STAGES, days_after
from spatial.settings import Settings


def barred_codes(
    fields: pd.DataFrame,
    windows: pd.DataFrame,
    crews: pd.DataFrame,
    workdays: pd.DataFrame,
    dry_in_window: NDArray[np.bool_],
    settings: Settings,
) -> pd.Series:
    """Return the code of the first reason that keeps each field off any route; "" for the candidates.

    `dry_in_window`: (crew-days, fields), days in the window with no wet area. A field's own reasons go before
    the weather's.
    """
    ready, opened, last = windows["ready_day"], windows["open_day"], windows["last_day"]
    held_by_label = opened > ready
    last_workday = days_after(workdays["date"], settings.on).max(initial=-1.0)
    tests = {
        "not_hay": ~fields["intent"].isin(CUT_INTENTS),
        "freeze_recorded": fields["killing_freeze_recorded_date"].notna(),
        "no_last_cut_date": last.isna(),
        "past_last_cut": last < 0,
        "height_unknown": ready.isna(),
        "ready_too_late": ready > last,
        "stage_not_early": ~fields["stage"].isin(EARLY_STAGES),
        "closed_by_label": held_by_label & ((opened > last) | (opened >= settings.horizon_days)),
        "ready_after_horizon": ready >= settings.horizon_days,
        "no_crews": np.full(len(fields), crews.empty),
        "not_ready_no_day": (last_workday >= 0) & (last_workday < ready),
        "no_workable_day": ~dry_in_window.any(axis=0),
    }
    codes = np.select([np.asarray(test, dtype="bool") for test in tests.values()], list(tests), default="")
    return pd.Series(codes, index=fields.index, dtype="object")


def unfit_codes(
    near_road: NDArray[np.bool_], reached: NDArray[np.bool_], may: NDArray[np.bool_], parts: NDArray[np.int64]
) -> NDArray[np.object_]:
    """Return why no crew can cut a candidate at all, "" where one can.

    `near_road` and `parts` are (fields,), `reached` (yards, fields) says whether there is a way, `may` is
    (crew-days, fields).
    """
    tests = (~near_road, ~reached.any(axis=0), ~may.any(axis=0), parts == 0)
    codes = ("unreachable", "no_crew_reaches", "no_workable_day", "too_big_for_window")
    return np.select(tests, codes, default="").astype("object")


def unplanned_codes(windows: pd.DataFrame, settings: Settings) -> NDArray[np.object_]:
    """Return why each candidate was not chosen: it can wait until after the horizon, or the time ran out."""
    can_wait = windows["last_day"] >= settings.horizon_days
    return np.where(can_wait, "can_wait", "out_of_time").astype("object")


def left_out_reasons(
    codes: pd.Series, fields: pd.DataFrame, windows: pd.DataFrame, gap_m: pd.Series, settings: Settings
) -> pd.Series:
    """Return each field's reason with its values, None where its code is ""."""
    facts = _facts(fields, windows, gap_m, settings).to_dict("records")
    reasons = [
        reason(code, **{name: values[name] for name in CODES[code]}) if code else None
        for code, values in zip(codes, facts, strict=True)
    ]
    return pd.Series(reasons, index=fields.index, dtype="object")


def _facts(fields: pd.DataFrame, windows: pd.DataFrame, gap_m: pd.Series, settings: Settings) -> pd.DataFrame:
    """Return everything a reason may name, one row a field; dates are datetime.date."""
    on, last_offset = pd.Timestamp(settings.on), settings.horizon_days - 1
    dates = {
        "ready_date": fields["ready_date"],
        "last_cut_date": fields["last_cut_date"],
        "until_date": fields["closed_until_date"],
        "freeze_date": fields["killing_freeze_recorded_date"],
        "first_date": on + pd.to_timedelta(windows["first_day"], unit="D"),
        "last_date": on + pd.to_timedelta(windows["last_day"].clip(upper=last_offset), unit="D"),
    }
    facts = pd.DataFrame({name: pd.to_datetime(days).dt.date for name, days in dates.items()}, dtype="object")
    plain = fields[["intent", "stage", "area_ha"]].assign(gap_m=gap_m)
    return facts.join(plain).assign(horizon_end_date=settings.on + timedelta(last_offset))
