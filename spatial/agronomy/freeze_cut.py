"""Whether a stand is worth a cut at the killing freeze: its height, the owner's need of hay, the last winter's cut."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason

NO_YIELD_CM = 3 * 2.54  # 2-3 in is no measurable yield: common practice, no source
SAME_CM = 0.5  # heights nearer than this to a limit are at the limit: a canopy is not measured finer


def freeze_cut(row: Any) -> Iterator[Reason]:
    """Give the reasons for a hayfield at the freeze cut: the freeze, the height and what it is worth, the drying."""
    yield _freeze(row)
    height_cm = row.canopy_now_cm
    if pd.isna(height_cm):
        yield reason("freeze_cut_look", least_height_cm=row.freeze_cut_height_cm)
        return
    yield reason("height_seen" if row.height_seen else "height_estimated", height_cm=height_cm)
    yield _worth(row, height_cm)
    if height_cm >= row.short_freeze_cut_height_cm - SAME_CM:
        yield reason("freeze_cut_drying", drying_days=row.drying_days)


def _freeze(row: Any) -> Reason:
    if pd.notna(row.killing_freeze_recorded_date):
        return reason("freeze_came", freeze_date=row.killing_freeze_recorded_date)
    return reason("freeze_forecast", freeze_date=row.forecast_freeze_date, least_c=row.forecast_least_c)


def _worth(row: Any, height_cm: float) -> Reason:
    if height_cm >= row.freeze_cut_height_cm - SAME_CM:
        return reason("freeze_cut_worth", stubble_cm=row.stubble_cm)
    if height_cm >= row.short_freeze_cut_height_cm - SAME_CM:
        return _short_cut(row)
    if height_cm <= NO_YIELD_CM + SAME_CM:
        return reason("freeze_cut_no_yield")
    return reason("freeze_cut_too_short", least_height_cm=row.freeze_cut_height_cm)


def _short_cut(row: Any) -> Reason:
    if pd.notna(row.short_freeze_cut_last_date):
        return reason("freeze_cut_short_again", cut_date=row.short_freeze_cut_last_date)
    if row.hay_short:
        return reason("freeze_cut_short_once", short_height_cm=row.short_freeze_cut_height_cm)
    return reason("freeze_cut_only_if_short", short_height_cm=row.short_freeze_cut_height_cm)
