"""A killing freeze that the outlook shows for today or tomorrow."""

from datetime import date, timedelta

import pandas as pd


def forecast_freezes(
    fields: pd.DataFrame, outlook: pd.DataFrame, killing_freeze_c: pd.Series, on: date
) -> pd.Series:
    """Return the first day, today or tomorrow, for which the outlook shows a killing freeze; NaT where none.

    `outlook` has date, area (empty: everywhere) and least_temperature_c; an area's own rows win. A field's
    cold_offset_c makes its night that much colder than the outlook's.
    """
    days = [pd.Timestamp(on), pd.Timestamp(on + timedelta(days=1))]
    found = pd.Series(pd.NaT, index=fields.index, dtype="datetime64[ns]")
    for day in reversed(days):
        nights = (
            outlook[outlook["date"] == day].drop_duplicates("area").set_index("area")["least_temperature_c"]
        )
        least_c = fields["area"].map(nights).astype(float).fillna(nights.get("", float("nan")))
        freezes = least_c - fields["cold_offset_c"].fillna(0.0) <= killing_freeze_c
        found = found.where(~freezes, day)
    return found
