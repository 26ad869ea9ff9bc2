"""What is known of each stand on the day of the plan, from the fields and the season log."""

from datetime import date

import pandas as pd


def stands_on(fields: pd.DataFrame, log: pd.DataFrame, on: date, since: date) -> pd.DataFrame:
    """Return what is known on day `on`, facts dated later left out.

    Columns on the fields' index: previous_cut_date, height_cm, height_date (NaT where a later cut made the height
    void), closed_until_date (spray label), killing_freeze_recorded_date (recorded for the field or its area since
    day `since`, the first day of the season).
    """
    today = pd.Timestamp(on)
    seen = log[log["date"] <= today].sort_values("date", kind="stable")
    cuts = fields["previous_cut_date"].where(fields["previous_cut_date"] <= today)
    cuts = pd.concat([cuts, _last(seen, "cut", fields.index)["date"]], axis=1).max(axis=1)
    height_cm, height_date = _heights(fields, seen, today)
    stands_uncut = ~(cuts >= height_date)
    return pd.DataFrame(
        {
            "previous_cut_date": cuts,
            "height_cm": height_cm.where(stands_uncut),
            "height_date": height_date.where(stands_uncut),
            "closed_until_date": _closed_until(seen, fields.index),
            "killing_freeze_recorded_date": _freezes(fields, seen[seen["date"] >= pd.Timestamp(since)]),
        }
    )


def _last(seen: pd.DataFrame, fact: str, index: pd.Index) -> pd.DataFrame:
    rows = seen[(seen["fact"] == fact) & (seen["field_id"] != "")]
    return (
        rows.drop_duplicates("field_id", keep="last").set_index("field_id")[["date", "value"]].reindex(index)
    )


def _heights(fields: pd.DataFrame, seen: pd.DataFrame, today: pd.Timestamp) -> tuple[pd.Series, pd.Series]:
    logged = _last(seen, "height", fields.index)
    # A height without a date was seen before the plan was made: taken as of today.
    given_date = fields["height_date"].fillna(today).where(fields["height_cm"].notna())
    given_date = given_date.where(given_date <= today)
    newer = logged["date"].notna() & ~(given_date > logged["date"])
    cm = (
        fields["height_cm"]
        .where(given_date.notna())
        .where(~newer, pd.to_numeric(logged["value"], errors="coerce"))
    )
    return cm, given_date.where(~newer, logged["date"]).where(cm.notna())


def _closed_until(seen: pd.DataFrame, index: pd.Index) -> pd.Series:
    return pd.to_datetime(_last(seen, "sprayed_until", index)["value"], format="%Y-%m-%d", errors="coerce")


def _freezes(fields: pd.DataFrame, seen: pd.DataFrame) -> pd.Series:
    rows = seen[seen["fact"] == "killing_freeze"]
    by_area = rows[rows["field_id"] == ""].groupby("area")["date"].min()
    by_field = rows[rows["field_id"] != ""].groupby("field_id")["date"].min()
    of_area = by_area.reindex(fields["area"]).set_axis(fields.index)
    return pd.concat([of_area, by_field.reindex(fields.index)], axis=1).min(axis=1)
