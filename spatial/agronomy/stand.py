"""What is known of each stand on the day of the plan, from the fields and the season log."""

from datetime import date

import pandas as pd

SHORTENED = ("cut", "freeze_cut", "grazed")  # what leaves a stand at its stubble
SEEN_DAYS = 14  # a height measured this many days ago still counts as seen: from memory


def stands_on(
    fields: pd.DataFrame, log: pd.DataFrame, on: date, season_start: date, growing_start: date
) -> pd.DataFrame:
    """Return what is known on day `on`; facts dated later are not known yet.

    Columns on the fields' index: previous_cut_date (or the last grazing), cut_stubble_cm (as logged with it),
    height_cm, height_date (of this growing year; NaT where a later cut or grazing made the height void),
    height_seen (fresh enough to stand as seen), closed_until_date (a spray label's, still in force),
    killing_freeze_recorded_date (for the field or its area, since `season_start`).
    """
    today = pd.Timestamp(on)
    seen = log[log["date"] <= today].sort_values("date", kind="stable")
    this_year = seen[seen["date"] >= pd.Timestamp(growing_start)]
    cuts = _cuts(fields, this_year, pd.Timestamp(growing_start), today)
    height_cm, height_date = _heights(fields, this_year, pd.Timestamp(growing_start), today)
    stands_uncut = ~(cuts >= height_date)
    closed = pd.to_datetime(
        _last(seen, ["sprayed_until"], fields.index)["value"], format="%Y-%m-%d", errors="coerce"
    )
    return pd.DataFrame(
        {
            "previous_cut_date": cuts,
            "cut_stubble_cm": _cut_stubble(this_year, cuts, fields.index),
            "height_cm": height_cm.where(stands_uncut),
            "height_date": height_date.where(stands_uncut),
            "height_seen": stands_uncut & (height_date >= today - pd.Timedelta(days=SEEN_DAYS)),
            "closed_until_date": closed.where(closed >= today),
            "killing_freeze_recorded_date": _freezes(
                fields, seen[seen["date"] >= pd.Timestamp(season_start)]
            ),
        }
    )


def _cuts(fields: pd.DataFrame, seen: pd.DataFrame, first: pd.Timestamp, today: pd.Timestamp) -> pd.Series:
    given = fields["previous_cut_date"].where(fields["previous_cut_date"].between(first, today))
    logged = _last(seen, list(SHORTENED), fields.index)["date"]
    return pd.concat([given, logged], axis=1).max(axis=1)


def _cut_stubble(seen: pd.DataFrame, cuts: pd.Series, index: pd.Index) -> pd.Series:
    """Return the stubble logged with the previous cut [cm]; NaN where that was another day, or none was given."""
    logged = _last(seen, ["cut"], index)
    return pd.to_numeric(logged["value"], errors="coerce").where(logged["date"] == cuts)


def _last(seen: pd.DataFrame, facts: list[str], index: pd.Index) -> pd.DataFrame:
    rows = seen[seen["fact"].isin(facts) & (seen["field_id"] != "")]
    return (
        rows.drop_duplicates("field_id", keep="last").set_index("field_id")[["date", "value"]].reindex(index)
    )


def _heights(
    fields: pd.DataFrame, seen: pd.DataFrame, first: pd.Timestamp, today: pd.Timestamp
) -> tuple[pd.Series, pd.Series]:
    logged = _last(seen, ["height"], fields.index)
    # A height without a date is taken as of today, but only where the log knows nothing newer of the stand.
    told_of = _last(seen, ["height", *SHORTENED], fields.index)["date"].notna()
    given_date = fields["height_date"].fillna(today).where(fields["height_cm"].notna())
    given_date = given_date.where(fields["height_date"].notna() | ~told_of)
    given_date = given_date.where(given_date.between(first, today))
    newer = logged["date"].notna() & ~(given_date > logged["date"])
    measured = pd.to_numeric(logged["value"], errors="coerce")
    cm = fields["height_cm"].where(given_date.notna()).where(~newer, measured)
    return cm, given_date.where(~newer, logged["date"]).where(cm.notna())


def _freezes(fields: pd.DataFrame, seen: pd.DataFrame) -> pd.Series:
    rows = seen[seen["fact"] == "killing_freeze"]
    by_area = rows[rows["field_id"] == ""].groupby("area")["date"].min()
    by_field = rows[rows["field_id"] != ""].groupby("field_id")["date"].min()
    of_area = by_area.reindex(fields["area"]).set_axis(fields.index)
    return pd.concat([of_area, by_field.reindex(fields.index)], axis=1).min(axis=1)
