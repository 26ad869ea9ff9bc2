"""What the outlook shows for the days ahead: a killing freeze, and whether hay would dry."""

from datetime import date, timedelta

import pandas as pd

LATE_DAYS = 21  # after the 9-in-10 date, a killing freeze not yet recorded may still come: from memory


def forecast_freezes(
    fields: pd.DataFrame, outlook: pd.DataFrame, killing_freeze_c: pd.Series, on: date
) -> pd.DataFrame:
    """Return the first night from day `on` on that kills, by the outlook.

    next_freeze_date and next_freeze_c over the whole outlook; forecast_freeze_date and forecast_least_c the same
    where it is today or tomorrow, near enough for a freeze cut. NaT and NaN where the outlook shows none, and
    outside the fall: before the season's first day or three weeks after `ask_date`, when a killing freeze has most
    likely been. `fields` has season_start_date, ask_date, area and cold_offset_c, by which a field's night is
    colder than the outlook's [deg C]; `outlook` has date, area (empty: everywhere) and least_temperature_c; an
    area's own rows win.
    """
    today = pd.Timestamp(on)
    late = fields["ask_date"] + pd.Timedelta(days=LATE_DAYS) < today
    in_fall = (fields["season_start_date"] <= today) & ~late
    found = pd.DataFrame({"next_freeze_date": pd.NaT, "next_freeze_c": float("nan")}, index=fields.index)
    found = found.astype({"next_freeze_date": "datetime64[ns]"})
    for day in sorted(set(outlook["date"][outlook["date"] >= today]), reverse=True):
        least_c = _by_area(
            fields, outlook[outlook["date"] == day].groupby("area")["least_temperature_c"].min()
        )
        least_c -= fields["cold_offset_c"].fillna(0.0)
        kills = in_fall & (least_c <= killing_freeze_c)
        found["next_freeze_date"] = found["next_freeze_date"].where(~kills, day)
        found["next_freeze_c"] = found["next_freeze_c"].where(~kills, least_c)
    near = found["next_freeze_date"] <= today + timedelta(days=1)
    names = {"next_freeze_date": "forecast_freeze_date", "next_freeze_c": "forecast_least_c"}
    return found.join(found.where(near).rename(columns=names))


def _by_area(fields: pd.DataFrame, values: pd.Series) -> pd.Series:
    """Return each field's value by its area, else the value for everywhere; NaN where neither is given."""
    own = fields["area"].map(values.astype(float)).astype(float)
    return own.fillna(values.get("", float("nan")))


def dry_ahead(
    fields: pd.DataFrame, outlook: pd.DataFrame, drying_days: int, rain_limit_share: float, on: date
) -> pd.Series:
    """Return whether the drying days from `on` on are dry in each field's area: True, False, None where not told.

    A day is wet from `rain_limit_share` of rain chance on; an area's own rows win.
    """
    found = pd.Series(True, index=fields.index, dtype=object)
    for day in pd.date_range(pd.Timestamp(on), periods=drying_days + 1):
        share = _by_area(fields, outlook[outlook["date"] == day].groupby("area")["rain_chance_share"].max())
        found = found.where(share.notna() | found.eq(False), None).where(~(share >= rain_limit_share), False)
    return found
