"""A killing freeze that the outlook shows for today or tomorrow."""

from datetime import date, timedelta

import pandas as pd

LATE_DAYS = 21  # after the 9-in-10 date, a killing freeze not yet recorded may still come: from memory


def forecast_freezes(
    fields: pd.DataFrame, outlook: pd.DataFrame, killing_freeze_c: pd.Series, on: date
) -> pd.DataFrame:
    """Return forecast_freeze_date, the first of today and tomorrow whose night kills, and forecast_least_c.

    NaT and NaN where the outlook shows none, and outside the fall: before the season's first day or three weeks
    after `ask_date`, when a killing freeze has most likely been. `fields` has season_start_date, ask_date, area and
    cold_offset_c, by which a field's night is colder than the outlook's [deg C]; `outlook` has date, area (empty:
    everywhere) and least_temperature_c; an area's own rows win.
    """
    today = pd.Timestamp(on)
    in_fall = (fields["season_start_date"] <= today) & ~(
        fields["ask_date"] + pd.Timedelta(days=LATE_DAYS) < today
    )
    found = pd.DataFrame(
        {"forecast_freeze_date": pd.NaT, "forecast_least_c": float("nan")}, index=fields.index
    )
    found = found.astype({"forecast_freeze_date": "datetime64[ns]"})
    for day in (today + timedelta(days=1), today):
        nights = outlook[outlook["date"] == day].groupby("area")["least_temperature_c"].min()
        least_c = fields["area"].map(nights.astype(float)).astype(float).fillna(nights.get("", float("nan")))
        least_c -= fields["cold_offset_c"].fillna(0.0)
        kills = in_fall & (least_c <= killing_freeze_c)
        found["forecast_freeze_date"] = found["forecast_freeze_date"].where(~kills, day)
        found["forecast_least_c"] = found["forecast_least_c"].where(~kills, least_c)
    return found


def dry_ahead(
    fields: pd.DataFrame, outlook: pd.DataFrame, drying_days: int, rain_limit_share: float, on: date
) -> pd.Series:
    """Return whether the drying days from `on` on are dry in each field's area: True, False, None where not told.

    A day is wet from `rain_limit_share` of rain chance on; an area's own rows win.
    """
    found = pd.Series(True, index=fields.index, dtype=object)
    for day in pd.date_range(pd.Timestamp(on), periods=drying_days + 1):
        rain = outlook[outlook["date"] == day].groupby("area")["rain_chance_share"].max()
        share = fields["area"].map(rain.astype(float)).astype(float).fillna(rain.get("", float("nan")))
        found = found.where(share.notna() | found.eq(False), None).where(~(share >= rain_limit_share), False)
    return found
