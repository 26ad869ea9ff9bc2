"""The hay taken off each field this growing year: weighed, reckoned from its cuts, or expected of the next one."""

from datetime import date

import numpy as np
import pandas as pd

from spatial.agronomy.hay import expected_hay
from spatial.agronomy.season_facts import CUTS, facts_of_fields
from spatial.values import HayRules

NUMBERS = (
    "harvest_height_cm",
    "freeze_cut_height_cm",
    "stubble_cm",
)  # of a grass, that tell what a cut gives
# A date in the fields and a fact of the log so close are one cut: common practice, no source.
SAME_CUT = pd.Timedelta(days=14)


def hay_taken(
    fields: pd.DataFrame, numbers: pd.DataFrame, log: pd.DataFrame, rules: HayRules, since: date, on: date
) -> pd.DataFrame:
    """Return the hay as it lies [t/ha] that each field gave from `since` to `on`, and how that is known.

    Columns taken_low_t_ha, taken_high_t_ha, taken_basis ("weighed", "cuts", "expected" or "" where unknown),
    taken_cuts (cuts known) and taken_weighings (days on which hay was weighed). Weighed goes first; else each known
    cut counts with the growth above its stubble; else what the next cut may give. `fields` has area, area_ha,
    previous_cut_date, killing_freeze_recorded_date, ask_date, may_be_cut, and hay_low_t_ha and hay_high_t_ha of the
    next cut, dry matter [t/ha]; `since` is the growing year's first day.
    """
    facts = facts_of_fields(log, ("hay", *CUTS, "grazed"), fields, on)
    facts = facts[facts["date"] >= pd.Timestamp(since)]
    weighed = facts[facts["fact"].eq("hay") & (facts["number"] > 0)]
    cuts = _hay_cuts(_all_cuts(facts, fields, since, on), fields)
    counts = {"taken_cuts": _counts(cuts, fields.index), "taken_weighings": _counts(weighed, fields.index)}
    by_cuts = _by_cuts(cuts, numbers, rules, fields.index)
    expected = _expected(fields, rules)[counts["taken_cuts"] == 0].reindex(fields.index)
    return _first_known(_weighed(weighed, fields), by_cuts, expected).assign(**counts)


def _all_cuts(facts: pd.DataFrame, fields: pd.DataFrame, since: date, on: date) -> pd.DataFrame:
    """Return field_id, fact, date, number of the log's cuts and of the fields' own that the log does not tell of."""
    logged = facts[facts["fact"].ne("hay")]
    given = fields["previous_cut_date"]
    given = given.where(given.between(pd.Timestamp(since), pd.Timestamp(on)))
    apart = (logged["date"] - given.reindex(logged["field_id"]).to_numpy()).abs()
    given = given.dropna()
    told = set(logged.loc[apart <= SAME_CUT, "field_id"])
    more = pd.DataFrame({"field_id": given.index, "fact": "cut", "date": given.to_numpy(), "number": np.nan})
    cuts = [logged[logged["fact"].isin(CUTS)], more[~more["field_id"].isin(told)]]
    columns = list(more.columns)
    known = [rows[columns] for rows in cuts if not rows.empty] or [more.iloc[:0]]
    return pd.concat(known, ignore_index=True)


def _hay_cuts(cuts: pd.DataFrame, fields: pd.DataFrame) -> pd.DataFrame:
    """Return the cuts that gave hay: not those that clear dead growth after the killing freeze has come."""
    frozen = fields["killing_freeze_recorded_date"].fillna(fields["ask_date"])
    thatch = cuts["fact"].eq("cut") & (cuts["date"] > frozen.reindex(cuts["field_id"]).to_numpy())
    return cuts[~thatch].drop_duplicates(["field_id", "date"])


def _weighed(weighed: pd.DataFrame, fields: pd.DataFrame) -> pd.DataFrame:
    t_ha = weighed.groupby("field_id")["number"].sum().reindex(fields.index) / fields["area_ha"]
    return pd.DataFrame({"low": t_ha, "high": t_ha}, dtype=float)


def _by_cuts(cuts: pd.DataFrame, numbers: pd.DataFrame, rules: HayRules, index: pd.Index) -> pd.DataFrame:
    """Return low and high of each field's cuts [t/ha]: a canopy worth the cut, or as logged, above the stubble."""
    usual = {name: cuts["field_id"].map(numbers[name]).astype(float) for name in NUMBERS}
    at_freeze = cuts["fact"].eq("freeze_cut")
    height_cm = usual["harvest_height_cm"].where(~at_freeze, usual["freeze_cut_height_cm"])
    height_cm = height_cm.mask(at_freeze & cuts["number"].notna(), cuts["number"])
    stubble_cm = usual["stubble_cm"].mask(~at_freeze & cuts["number"].notna(), cuts["number"])
    dry = expected_hay(height_cm, stubble_cm, rules).set_axis(["low", "high"], axis=1)
    sums: pd.DataFrame = dry.groupby(cuts["field_id"]).sum(min_count=1).reindex(index)
    return sums / rules.dry_matter_share


def _expected(fields: pd.DataFrame, rules: HayRules) -> pd.DataFrame:
    next_cut = fields[["hay_low_t_ha", "hay_high_t_ha"]].set_axis(["low", "high"], axis=1)
    some = fields["may_be_cut"] & (next_cut["high"] > 0)
    return next_cut.where(some) / rules.dry_matter_share


def _first_known(weighed: pd.DataFrame, by_cuts: pd.DataFrame, expected: pd.DataFrame) -> pd.DataFrame:
    known = [table["high"].notna() for table in (weighed, by_cuts, expected)]
    found = weighed.fillna(by_cuts).fillna(expected)
    return pd.DataFrame(
        {
            "taken_low_t_ha": found["low"],
            "taken_high_t_ha": found["high"],
            "taken_basis": np.select(known, ["weighed", "cuts", "expected"], ""),
        }
    )


def _counts(facts: pd.DataFrame, index: pd.Index) -> pd.Series:
    return facts.groupby("field_id").size().reindex(index, fill_value=0)
