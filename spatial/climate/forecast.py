"""A killing freeze that the outlook shows for today or tomorrow."""

from datetime import date, timedelta

import pandas as pd


def forecast_freezes(
    fields: pd.DataFrame, outlook: pd.DataFrame, killing_freeze_c: pd.Series, on: date
) -> pd.DataFrame:
    """Return forecast_freeze_date, the first of today and tomorrow whose night kills, and forecast_least_c.

    NaT and NaN where the outlook shows none, and outside the fall: before the season's first day or after
    `ask_date`, when a killing freeze has most likely been. `fields` has season_start_date, ask_date, area and
    cold_offset_c, by which a field's night is colder than the outlook's [deg C]; `outlook` has date, area (empty:
    everywhere) and least_temperature_c; an area's own rows win.
    """
    today = pd.Timestamp(on)
    in_fall = (fields["season_start_date"] <= today) & ~(fields["ask_date"] < today)
    found = pd.DataFrame(
        {"forecast_freeze_date": pd.NaT, "forecast_least_c": float("nan")}, index=fields.index
    )
    found = found.astype({"forecast_freeze_date": "datetime64[ns]"})
    for day in (today + timedelta(days=1), today):
        nights = (
            outlook[outlook["date"] == day].drop_duplicates("area").set_index("area")["least_temperature_c"]
        )
        least_c = fields["area"].map(nights.astype(float)).astype(float).fillna(nights.get("", float("nan")))
        least_c -= fields["cold_offset_c"].fillna(0.0)
        kills = in_fall & (least_c <= killing_freeze_c)
        found["forecast_freeze_date"] = found["forecast_freeze_date"].where(~kills, day)
        found["forecast_least_c"] = found["forecast_least_c"].where(~kills, least_c)
    return found
