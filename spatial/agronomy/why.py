"""Why a field's last-cut date is what it is, and how far it can be trusted."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.settings import Settings
from spatial.values import AVERAGE_CHANCE

FEW_SEASONS = 20  # fewer seasons than the 30 of a normal period less a third: from memory


def why_this_date(row: Any, settings: Settings) -> Iterator[Reason]:
    """Give what set the date, the height to expect at the freeze, and the average beside it."""
    if pd.isna(row.last_cut_date) or pd.notna(row.killing_freeze_recorded_date):
        return
    freeze = {"killing_freeze_date": row.killing_freeze_date, "chance": settings.chance}
    reached = pd.notna(row.killing_freeze_date)
    if reached and pd.notna(row.freeze_error_days):
        yield reason("freeze_by_error", error_days=max(1, round(row.freeze_error_days)), **freeze)
    elif reached:
        yield reason("freeze_by", **freeze)
    else:
        yield reason("chance_not_reached", chance=settings.chance)
    yield from _ruled(row, reached)
    if row.stage in ("growing", "ready"):
        yield reason("height_at_freeze", low_cm=row.freeze_height_low_cm, high_cm=row.freeze_height_high_cm)
    yield from _average(row, settings)


def _ruled(row: Any, reached: bool) -> Iterator[Reason]:
    if row.last_cut_limit == "freeze":
        yield reason("freeze_rules", regrowth_days=round(row.regrowth_days), stubble_cm=row.stubble_cm)
    elif row.last_cut_limit == "growth":
        values = {"last_cut_date": row.last_cut_date, "target_height_cm": row.target_height_cm}
        yield reason("growth_rules" if reached else "growth_alone_rules", **values)
    elif row.last_cut_limit == "rule":
        yield reason("rule_caps", last_cut_date=row.last_cut_date, grass=row.grass_name)


def _average(row: Any, settings: Settings) -> Iterator[Reason]:
    if settings.chance >= AVERAGE_CHANCE:
        yield reason("coin_toss", chance=settings.chance)
    elif pd.notna(row.average_freeze_date):
        yield reason("average_is_later", average_freeze_date=row.average_freeze_date)
    elif row.no_freeze_share >= AVERAGE_CHANCE:
        yield reason("average_not_reached")


def trust(row: Any, settings: Settings) -> Iterator[Reason]:
    """Give what weakens the date: its error, few seasons, thin cover, a cold spot, weak evidence."""
    if pd.isna(row.last_cut_date) or pd.notna(row.killing_freeze_recorded_date):
        return
    if pd.notna(row.freeze_seasons) and 0 < row.freeze_seasons < FEW_SEASONS:
        yield reason("few_seasons", seasons=int(row.freeze_seasons))
    if 0 < row.freeze_cover_share < settings.min_cover_share:
        yield reason("thin_cover", cover_share=row.freeze_cover_share)
    if row.cold_offset_c > 0:
        yield reason("cold_spot", cold_offset_c=row.cold_offset_c)
    later_days = _days_past_published(row)
    if later_days > 0:
        yield reason(
            "later_than_published", days=later_days, weeks=round(row.published_days_before_average / 7)
        )
    if row.weak_evidence:
        yield reason("weak_evidence", grass=row.grass_name)


def _days_past_published(row: Any) -> int:
    """Return how many days the last-cut date lies after the published rule's; 0 where there is none."""
    if pd.isna(row.published_days_before_average) or pd.isna(row.average_freeze_date):
        return 0
    published = row.average_freeze_date - pd.Timedelta(days=row.published_days_before_average)
    return max(0, int((row.last_cut_date - published).days))
