"""Whether a stand is worth a cut at the killing freeze: its height, the need of hay, last fall's cut, dry days."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason

NO_YIELD_CM = 3 * 2.54  # 2-3 in is no measurable yield: common practice, no source
SAME_CM = 0.5  # heights nearer than this to a limit are at the limit: a canopy is not measured finer


def freeze_cut(row: Any) -> Iterator[Reason]:
    """Give the reasons for a hayfield at the freeze cut: the freeze, the height and what it is worth, the drying."""
    yield _freeze(row)
    if pd.notna(row.closed_until_date):
        yield reason("freeze_cut_closed", until_date=row.closed_until_date)
        return
    if pd.isna(row.canopy_now_cm):
        yield reason("freeze_cut_look", least_height_cm=row.freeze_cut_height_cm)
        return
    yield from _height(row)
    worth = _worth(row)
    yield worth
    if worth.code in (
        "freeze_cut_worth",
        "freeze_cut_short_once",
        "freeze_cut_only_if_short",
        "freeze_cut_unsure",
    ):
        wet = row.dry_ahead is not None and not row.dry_ahead
        yield reason("freeze_cut_wet" if wet else "freeze_cut_drying", drying_days=row.drying_days)


def _freeze(row: Any) -> Reason:
    if pd.notna(row.killing_freeze_recorded_date):
        return reason("freeze_came", freeze_date=row.killing_freeze_recorded_date)
    return reason("freeze_forecast", freeze_date=row.forecast_freeze_date, least_c=row.forecast_least_c)


def _height(row: Any) -> Iterator[Reason]:
    if row.height_seen:
        yield reason("height_seen", height_cm=row.height_cm, seen_date=row.height_date)
    else:
        yield reason("height_estimated", low_cm=row.canopy_low_cm, high_cm=row.canopy_high_cm)


def _worth(row: Any) -> Reason:
    """Return what the height is worth; an estimate counts by its range, and only what is sure of it."""
    low_cm = row.height_cm if row.height_seen else row.canopy_low_cm
    high_cm = row.height_cm if row.height_seen else row.canopy_high_cm
    if low_cm >= row.freeze_cut_height_cm - SAME_CM:
        return reason("freeze_cut_worth", stubble_cm=max(row.stubble_cm, row.usual_stubble_cm))
    if high_cm >= row.freeze_cut_height_cm - SAME_CM:
        return reason("freeze_cut_unsure", least_height_cm=row.freeze_cut_height_cm)
    if high_cm >= row.short_freeze_cut_height_cm - SAME_CM:
        return _short_cut(row)
    if high_cm <= NO_YIELD_CM + SAME_CM:
        return reason("freeze_cut_no_yield")
    return reason("freeze_cut_too_short", least_height_cm=row.freeze_cut_height_cm)


def _short_cut(row: Any) -> Reason:
    if pd.notna(row.short_freeze_cut_last_date):
        return reason("freeze_cut_short_again", cut_made_date=row.short_freeze_cut_last_date)
    if row.hay_short:
        return reason("freeze_cut_short_once", short_height_cm=row.short_freeze_cut_height_cm)
    return reason("freeze_cut_only_if_short", short_height_cm=row.short_freeze_cut_height_cm)
