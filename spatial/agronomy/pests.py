"""What the sightings of fall armyworm and stem maggot mean: scout, count the regrowth lost, maybe cut early."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import pandas as pd

from spatial.agronomy.season_facts import cut_dates, facts_of_fields, falls
from spatial.reasons import Reason, reason
from spatial.values import is_southern

PESTS = {"fall_armyworm": "armyworm", "stem_maggot": "stem_maggot"}  # fact of the log: how its reasons begin
SIGHTING_DAYS = 21  # about a life cycle of either in summer; an older sighting says nothing now: from memory
PEAK_MONTHS = (7, 8, 9)  # July to September, in the north: common practice, no source
NOT_HAY = ("stockpile", "grazed")


def pest_reasons(
    log: pd.DataFrame, fields: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> pd.Series:
    """Return for each field what the sightings of this fall mean on day `on`, a tuple of reasons.

    A sighting counts for `SIGHTING_DAYS` days, until a cut or a recorded killing freeze ends it. One in the field
    itself counts the canopy eaten, and is a case for cutting early where the field is cut for hay, no label closes
    it and its last-cut date has not passed; one in the field's area only says to scout. `fields` has area, intent,
    previous_cut_date, last_cut_date, closed_until_date and killing_freeze_recorded_date.
    """
    live = _live(log, fields, on, season_start)
    peak = not is_southern(season_start) and on.month in PEAK_MONTHS
    columns = ["intent", "last_cut_date", "closed_until_date"]
    seen = {str(field_id): rows for field_id, rows in live.groupby("field_id")}
    rows = fields.loc[list(seen), columns].itertuples()
    found = {str(row.Index): tuple(_of_field(seen[str(row.Index)], row, on, peak)) for row in rows}
    values = [found.get(field_id, ()) for field_id in fields.index]
    return pd.Series(values, index=fields.index, dtype=object, name="pests")


def eaten_cm(log: pd.DataFrame, fields: pd.DataFrame, on: date) -> pd.Series:
    """Return the canopy eaten in each field since its height was last known [cm], 0 where none or never known.

    That is since `height_date`, else since `previous_cut_date`, both as known on day `on`; what was seen on that
    day is in the height already.
    """
    rows = facts_of_fields(log, tuple(PESTS), fields, on)
    since = fields["height_date"].fillna(fields["previous_cut_date"])
    later = ~(rows["date"] <= rows["field_id"].map(since))
    lost = rows[(rows["area"] == "") & later].groupby("field_id")["number"].sum()
    return lost.reindex(fields.index).where(since.notna()).fillna(0.0).rename("eaten_cm")


def _live(log: pd.DataFrame, fields: pd.DataFrame, on: date, season_start: tuple[int, int]) -> pd.DataFrame:
    rows = facts_of_fields(log, tuple(PESTS), fields, on)
    this_fall = falls(pd.Series([pd.Timestamp(on)]), season_start).iloc[0]
    fresh = rows["date"] >= pd.Timestamp(on) - pd.Timedelta(days=SIGHTING_DAYS)
    ends = pd.concat([cut_dates(log, fields, on), fields["killing_freeze_recorded_date"]], axis=1).max(axis=1)
    ended = rows["date"] <= rows["field_id"].map(ends)
    live: pd.DataFrame = rows[fresh & ~ended & (falls(rows["date"], season_start) == this_fall)]
    return live


def _of_field(seen: pd.DataFrame, row: Any, on: date, peak: bool) -> Iterable[Reason]:
    for fact, name in PESTS.items():
        yield from _scout(seen[seen["fact"] == fact], name)
    if peak:
        yield reason("pest_peak")
    own = seen[seen["area"] == ""]
    if own["number"].sum() > 0:
        yield reason("regrowth_lost", eaten_cm=float(own["number"].sum()))
    if not own.empty:
        yield from _cut_early(row, pd.Timestamp(on))


def _scout(seen: pd.DataFrame, name: str) -> Iterable[Reason]:
    own = seen[seen["area"] == ""]
    if not own.empty:
        yield reason(f"{name}_seen", seen_date=own["date"].max())
    elif not seen.empty:
        yield reason(f"{name}_near", area=seen["area"].iloc[-1], seen_date=seen["date"].iloc[-1])


def _cut_early(row: Any, today: pd.Timestamp) -> Iterable[Reason]:
    if row.intent in NOT_HAY or row.closed_until_date >= today:
        return
    if today <= row.last_cut_date:
        yield reason("eaten_cut_early", last_cut_date=row.last_cut_date)
    elif today > row.last_cut_date:
        yield reason("eaten_after_last_cut", last_cut_date=row.last_cut_date)
