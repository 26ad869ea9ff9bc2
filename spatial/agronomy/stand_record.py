"""The stand record: the small things over the seasons that add up to a thin stand, as a list with dates."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import pandas as pd

from spatial.agronomy.season_facts import (
    facts_of_fields,
    falls,
    freeze_cuts,
    recorded_freezes,
    springs,
    years_moved,
)
from spatial.reasons import Reason, reason

FREEZE_CUT_LEAD_DAYS = (
    1  # a cut from the day before the killing freeze on is timed at it: common practice, no source
)
ROUNDING_CM = 1.27  # heights are read to the whole inch, so half an inch under is not under
OF_THE_GRASS = ("usual_stubble_cm", "cutting_interval_days")
COVER_STEP_SHARE = 0.05  # cover is judged by eye to about 5 % of the ground: from memory

Entry = tuple[str, pd.Timestamp, Reason]  # whose, when, what


def stand_record(
    fields: pd.DataFrame, log: pd.DataFrame, tests: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> pd.Series:
    """Return for each field what was done to its stand over the seasons of the log, in order of the dates.

    A tuple of reasons each: early cuts while it should have stood, fall cuts under the grass's own stubble, short
    freeze cuts, stand cover that fell, a soil pH low again. It is a list and no score. `fields` has area, intent,
    last_cut_date, average_freeze_date, growth_end_date, usual_stubble_cm, freeze_cut_height_cm and target_ph.

    The last-cut date is a statistic of many seasons, so the plan's month and day stand for past falls too. A fall
    ends at its recorded killing freeze, else at the average one, else at the end of growth; where none of them is
    known its cuts are not judged.
    """
    cuts = _fall_cuts(fields, log, on, season_start)
    entries: list[Entry] = [
        *_while_standing(cuts),
        *_too_low(cuts),
        *_short_freeze_cuts(fields, log, on, season_start),
        *_cover_fell(fields, log, on, season_start),
        *_soil_low_again(fields, tests, on),
    ]
    lists: dict[str, list[Reason]] = {}
    for field_id, _when, why in sorted(entries, key=lambda entry: entry[1]):
        lists.setdefault(field_id, []).append(why)
    values = [tuple(lists.get(field_id, ())) for field_id in fields.index]
    return pd.Series(values, index=fields.index, dtype=object, name="stand_record")


def _fall_cuts(
    fields: pd.DataFrame, log: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> pd.DataFrame:
    """Return the early cuts before the end of each fall, with that fall's last-cut date.

    A cut from the day before a recorded freeze on was timed at the freeze, whatever it was logged as.
    """
    cuts = facts_of_fields(log, ("cut",), fields, on)
    cuts = cuts.assign(fall=falls(cuts["date"], season_start)).join(
        fields[["intent", "last_cut_date", "average_freeze_date", "growth_end_date", *OF_THE_GRASS]],
        on="field_id",
    )
    recorded = recorded_freezes(log, fields, on, season_start).rename("recorded_date")
    cuts = cuts.join(recorded, on=["field_id", "fall"])
    past = cuts["fall"] - _fall_of(on, season_start)
    statistic = cuts["average_freeze_date"].fillna(cuts["growth_end_date"])
    by_record = cuts["recorded_date"] - pd.Timedelta(days=FREEZE_CUT_LEAD_DAYS)
    ends = by_record.fillna(years_moved(statistic, past))
    return cuts.assign(last_cut_date=years_moved(cuts["last_cut_date"], past))[cuts["date"] < ends]


def _while_standing(cuts: pd.DataFrame) -> Iterator[Entry]:
    cut: Any
    for cut in cuts[cuts["date"] > cuts["last_cut_date"]].itertuples():
        values = {"cut_made_date": cut.date, "last_cut_date": cut.last_cut_date}
        yield cut.field_id, cut.date, reason("cut_while_it_should_stand", **values)


def _too_low(cuts: pd.DataFrame) -> Iterator[Entry]:
    """Yield the last cuts of hayfields under the grass's own stubble: those within an interval of the date."""
    low = cuts["number"] < cuts["usual_stubble_cm"] - ROUNDING_CM
    interval = pd.to_timedelta(cuts["cutting_interval_days"], unit="D")
    fall = (cuts["date"] > cuts["last_cut_date"] - interval) & (cuts["intent"] == "hay")
    cut: Any
    for cut in cuts[low & fall].itertuples():
        values = {"stubble_cm": cut.number, "usual_stubble_cm": cut.usual_stubble_cm}
        yield cut.field_id, cut.date, reason("cut_too_low", cut_made_date=cut.date, **values)


def _short_freeze_cuts(
    fields: pd.DataFrame, log: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> Iterator[Entry]:
    """Yield short freeze cuts in two falls running, and one of last fall, which speaks against another now."""
    cuts = freeze_cuts(log, fields, on, season_start)
    least = cuts["field_id"].map(fields["freeze_cut_height_cm"]) - ROUNDING_CM
    this_fall = _fall_of(on, season_start)
    for field_id, rows in cuts[cuts["height_cm"] < least].groupby("field_id"):
        made = dict(zip(rows["fall"], rows["date"], strict=True))
        for fall in made.keys() & {fall + 1 for fall in made}:
            values = {"first_made_date": made[fall - 1], "second_made_date": made[fall]}
            yield str(field_id), made[fall], reason("two_short_freeze_cuts", **values)
        if this_fall - 1 in made and this_fall not in made:
            when = made[this_fall - 1]
            yield str(field_id), when, reason("short_freeze_cut_last_year", cut_date=when)


def _cover_fell(
    fields: pd.DataFrame, log: pd.DataFrame, on: date, season_start: tuple[int, int]
) -> Iterator[Entry]:
    rows = facts_of_fields(log, ("stand_cover",), fields, on)
    rows = rows.assign(spring=springs(rows["date"], season_start), share=rows["number"] / 100)
    seen = rows.drop_duplicates(["field_id", "spring"], keep="last")
    before = seen.groupby("field_id")[["date", "share"]].shift()
    both = seen.assign(first_date=before["date"], first_share=before["share"])
    # Rounded, or shares such as 0.85 and 0.80 would lie further apart than they do.
    fell = (both["first_share"] - both["share"]).round(6) > COVER_STEP_SHARE
    row: Any
    for row in both[fell].itertuples():
        shares = {"first_share": row.first_share, "second_share": row.share}
        dates = {"first_seen_date": row.first_date, "second_seen_date": row.date}
        yield row.field_id, row.date, reason("stand_cover_fell", **shares, **dates)


def _soil_low_again(fields: pd.DataFrame, tests: pd.DataFrame, on: date) -> Iterable[Entry]:
    """Yield a pH under the grass's target in the newest test and in the one of an earlier year before it."""
    done = tests[tests["field_id"].isin(fields.index) & (tests["sample_date"] <= pd.Timestamp(on))]
    days = done[done["ph"].notna()].groupby(["field_id", "sample_date"], as_index=False)["ph"].mean()
    days = days.assign(year=days["sample_date"].dt.year).drop_duplicates(["field_id", "year"], keep="last")
    low = days["ph"] < days["field_id"].map(fields["target_ph"])
    last_two = days.assign(low=low).groupby("field_id").tail(2)
    for field_id, rows in last_two.groupby("field_id"):
        if len(rows) > 1 and rows["low"].all():
            first, second = rows["sample_date"]
            values = {"first_sample_date": first, "second_sample_date": second}
            yield str(field_id), second, reason("soil_low_again", nutrient="ph", **values)


def _fall_of(on: date, season_start: tuple[int, int]) -> int:
    return int(falls(pd.Series([pd.Timestamp(on)]), season_start).iloc[0])
