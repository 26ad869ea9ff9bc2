"""The advice of a last-cut zone, from what is said of it: what to do, and why by that day."""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.units import CM_PER_INCH
from spatial.values import AVERAGE_CHANCE, Grass

LOWER_CM = CM_PER_INCH  # of stubble: what a mower set too low leaves less


def zone_advice(
    zone: Mapping[Any, Any], grass: Grass, regrowth_days: tuple[float, float], chance: float
) -> Iterator[Reason]:
    """Give the reasons that advise a zone, what to do first.

    `zone` has cut_by_date, freeze_from_date, freeze_to_date, average_from_date and average_to_date (NaT not reached,
    in all or in part of it; average_known False: the layer does not say), error_days (NaN not known), limit, low_cm
    and high_cm. `regrowth_days`: after a cut at the grass's stubble, and at LOWER_CM less.
    """
    yield reason(
        "zone_cut_by", grass=grass.name, cut_by_date=zone["cut_by_date"], stubble_cm=grass.stubble_cm
    )
    yield from _limit(zone, grass, regrowth_days, chance)
    yield reason("height_at_freeze", low_cm=zone["low_cm"], high_cm=zone["high_cm"])
    yield _freeze(zone, chance)
    if chance >= AVERAGE_CHANCE:
        yield reason("coin_toss", chance=chance)
    elif zone["average_known"]:
        yield _average(zone)
    if grass.freeze_cut:
        yield reason(
            "wait_for_freeze_cut",
            least_height_cm=grass.freeze_cut_height_cm,
            short_height_cm=grass.short_freeze_cut_height_cm,
        )
    else:
        yield reason("leave_until_spring", stubble_cm=grass.stubble_cm)


def _freeze(zone: Mapping[Any, Any], chance: float) -> Reason:
    first, last, error = zone["freeze_from_date"], zone["freeze_to_date"], zone["error_days"]
    if pd.isna(first):
        return reason("chance_not_reached", chance=chance)
    if pd.isna(last):
        return reason("zone_freeze_in_places", chance=chance, freeze_from_date=first)
    if pd.isna(error):
        return reason("zone_freeze", chance=chance, freeze_from_date=first, freeze_to_date=last)
    # A date is a whole day, so its error is never said to be none.
    return reason(
        "zone_freeze_error",
        chance=chance,
        freeze_from_date=first,
        freeze_to_date=last,
        error_days=max(1, round(error)),
    )


def _average(zone: Mapping[Any, Any]) -> Reason:
    first, last = zone["average_from_date"], zone["average_to_date"]
    if pd.isna(first):
        return reason("average_not_reached")
    if pd.isna(last):
        return reason("zone_average_in_places", average_from_date=first)
    return reason("zone_average", average_from_date=first, average_to_date=last)


def _limit(
    zone: Mapping[Any, Any], grass: Grass, regrowth_days: tuple[float, float], chance: float
) -> Iterator[Reason]:
    """Give what sets the date and, where it is the freeze, how much earlier a lower cut must come."""
    by = zone["cut_by_date"]
    if zone["limit"] == "rule":
        yield reason("rule_caps", last_cut_date=by, grass=grass.name)
        return
    if zone["limit"] != "freeze":
        yield reason("zone_growth_rules", target_height_cm=grass.target_height_cm)
        return
    yield reason(
        "zone_freeze_rules", regrowth_days=int(regrowth_days[0]), stubble_cm=grass.stubble_cm, chance=chance
    )
    sooner = int(regrowth_days[1] - regrowth_days[0])
    if sooner > 0:
        yield reason("zone_cut_lower", lower_cm=LOWER_CM, sooner_days=sooner)
