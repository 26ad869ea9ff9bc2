"""What the season log says of each field: its falls, green-up, grazing, cuts, freezes, one row a fact."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

from spatial.values import GROWING_MONTHS

CUTS = ("cut", "freeze_cut")


def green_up_dates(log: pd.DataFrame, fields: pd.DataFrame, on: date, since: date) -> pd.Series:
    """Return the first day from `since` to `on` on which each field is said to have greened up; NaT where none."""
    return (
        _days(log, ("green_up",), fields, on, since).groupby("field_id")["date"].min().reindex(fields.index)
    )


def cut_dates(log: pd.DataFrame, fields: pd.DataFrame, on: date) -> pd.Series:
    """Return the last day up to `on` on which each field was cut, at the freeze or before it; NaT where none.

    The later of `previous_cut_date` of the fields and the cuts of the log.
    """
    logged = facts_of_fields(log, CUTS, fields, on).groupby("field_id")["date"].max().reindex(fields.index)
    given = fields["previous_cut_date"].where(fields["previous_cut_date"] <= pd.Timestamp(on))
    return pd.concat([logged, given], axis=1).max(axis=1)


def freeze_cuts(
    log: pd.DataFrame, fields: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> pd.DataFrame:
    """Return the freeze cuts up to `on`, the last of each field and fall: field_id, fall, date, height_cm.

    `height_cm` is the canopy before the cut (NaN where not given), `fall` as in `falls`; in order of the dates.
    """
    rows = facts_of_fields(log, ("freeze_cut",), fields, on)
    cuts = rows.assign(fall=falls(rows["date"], season_start), height_cm=rows["number"])
    last = cuts.drop_duplicates(["field_id", "fall"], keep="last")
    return last[["field_id", "fall", "date", "height_cm"]].reset_index(drop=True)


def recorded_freezes(
    log: pd.DataFrame, fields: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> pd.Series:
    """Return the first killing freeze recorded for each field or its area in each fall, on (field_id, fall).

    A freeze before the season's first day is a spring freeze and left out.
    """
    rows = facts_of_fields(log, ("killing_freeze",), fields, on)
    rows = rows.assign(fall=falls(rows["date"], season_start))
    rows = rows[rows["date"] >= season_starts(rows["fall"], season_start)]
    return rows.groupby(["field_id", "fall"])["date"].min()


def facts_of_fields(log: pd.DataFrame, kinds: Sequence[str], fields: pd.DataFrame, on: date) -> pd.DataFrame:
    """Return the facts of these kinds up to `on`, one row for each field they are about, in order of the dates.

    Columns field_id, fact, date, area, number (the value as a number, else NaN). A fact of an area is one of each
    of its fields and keeps the area's name; in a field's own facts `area` is empty. Of a field's facts of one kind
    and day the one written last counts.
    """
    rows = log[log["fact"].isin(kinds) & (log["date"] <= pd.Timestamp(on))]
    rows = rows.assign(number=pd.to_numeric(rows["value"], errors="coerce"))
    own = rows[rows["field_id"].isin(fields.index)].assign(area="")
    places = pd.DataFrame({"field_id": fields.index, "area": fields["area"].to_numpy()})
    of_area = rows[(rows["field_id"] == "") & (rows["area"] != "")].drop(columns="field_id")
    columns = ["field_id", "fact", "date", "area", "number"]
    both = pd.concat([own[columns], of_area.merge(places, on="area")[columns]], ignore_index=True)
    once = both.drop_duplicates(["field_id", "fact", "date", "area"], keep="last")
    return once.sort_values("date", kind="stable").reset_index(drop=True)


def falls(dates: pd.Series, season_start: tuple[int, int]) -> pd.Series:
    """Return for each day the calendar year in which the season of its fall begins.

    The growing year begins four months before the season's first day, so with (8, 1) a June and the January after
    it are of one fall, and with (2, 1) a November and the July after it. `season_start` is the first of a month.
    """
    months = dates.dt.year * 12 + dates.dt.month - (season_start[0] - GROWING_MONTHS)
    found: pd.Series = months // 12
    return found


def springs(dates: pd.Series, season_start: tuple[int, int]) -> pd.Series:
    """Return for each day the calendar year in which its season began: one for each spring, never cut in two."""
    found: pd.Series = (dates.dt.year * 12 + dates.dt.month - season_start[0]) // 12
    return found


def season_starts(fall: pd.Series, season_start: tuple[int, int]) -> pd.Series:
    """Return the first day of each fall's season."""
    month, day = season_start
    return pd.to_datetime(pd.DataFrame({"year": fall, "month": month, "day": day}))


def years_moved(dates: pd.Series, years: pd.Series) -> pd.Series:
    """Return each date moved by so many years, month and day kept; 29 February becomes the 28th where it must."""
    days = dates.to_numpy().astype("datetime64[D]")
    months = days.astype("datetime64[M]")
    moved = months + 12 * years.to_numpy().astype("timedelta64[M]")
    day = moved.astype("datetime64[D]") + (days - months.astype("datetime64[D]"))
    last = (moved + np.timedelta64(1, "M")).astype("datetime64[D]") - np.timedelta64(1, "D")
    return pd.Series(np.minimum(day, last).astype("datetime64[ns]"), index=dates.index)


def _days(
    log: pd.DataFrame, kinds: Sequence[str], fields: pd.DataFrame, on: date, since: date
) -> pd.DataFrame:
    rows = facts_of_fields(log, kinds, fields, on)
    return rows[rows["date"] >= pd.Timestamp(since)]
