"""What to do with each field, and why its date is what it is, as reasons for the page and the sheet."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.settings import Settings

AVERAGE_CHANCE = 0.5
FEW_SEASONS = 20  # fewer seasons than the 30 of a normal period less a third: from memory


def advice(fields: pd.DataFrame, settings: Settings) -> pd.Series:
    """Return for each field a tuple of reasons: first what to do, then why, then what else to know.

    `fields` carries every column of a plan up to the route, the grass numbers (grass_name, may_burn, ...) and
    canopy_now_cm.
    """
    rows = [_advice(row, settings) for row in fields.itertuples()]
    return pd.Series(rows, index=fields.index, dtype=object, name="advice")


def _advice(row: Any, settings: Settings) -> tuple[Reason, ...]:
    return (*_what(row, settings), *_owner(row), *_why(row, settings), *_trust(row, settings))


def _what(row: Any, settings: Settings) -> Iterable[Reason]:
    if not row.grass_name:
        return [reason("no_date_no_grass")] + (
            [reason("no_date_no_freeze_data")] if _no_freeze_data(row) else []
        )
    if row.stage not in _BY_STAGE:
        return [reason("no_date_no_freeze_data" if _no_freeze_data(row) else "not_ready_this_season")]
    return list(_BY_STAGE[row.stage](row, settings))


def _growing(row: Any, _settings: Settings) -> Iterable[Reason]:
    if pd.isna(row.ready_date):
        yield reason("not_ready_this_season")
    elif row.ready_date > row.last_cut_date:
        yield reason("no_early_cut_left", ready_date=row.ready_date, last_cut_date=row.last_cut_date)
    else:
        yield reason("wait_until_ready", ready_date=row.ready_date)
        yield from _cut_by(row)


def _ready(row: Any, _settings: Settings) -> Iterable[Reason]:
    yield from _cut_by(row)
    if pd.isna(row.previous_cut_date) and pd.isna(row.height_cm):
        yield reason("height_unknown")


def _cut_by(row: Any) -> Iterable[Reason]:
    if row.intent in ("stockpile", "grazed"):
        return
    yield reason("cut_by", last_cut_date=row.last_cut_date, stubble_cm=row.stubble_cm)
    if pd.notna(row.cut_date):
        yield reason("planned_cut", cut_date=row.cut_date, crew=row.crew)


def _leave_standing(row: Any, settings: Settings) -> Iterable[Reason]:
    yield reason("leave_standing", last_cut_date=row.last_cut_date)
    yield reason(
        "wait_for_freeze_cut",
        least_height_cm=row.freeze_cut_height_cm,
        short_height_cm=row.short_freeze_cut_height_cm,
    )
    if row.late_freeze_date < pd.Timestamp(settings.on):
        yield reason("ask_for_freeze", late_date=row.late_freeze_date)


def _freeze_cut(row: Any, _settings: Settings) -> Iterable[Reason]:
    recorded = row.killing_freeze_recorded_date
    freeze_date = recorded if pd.notna(recorded) else row.forecast_freeze_date
    height_cm = row.canopy_now_cm
    if pd.isna(height_cm):
        yield reason("freeze_cut_look", freeze_date=freeze_date, least_height_cm=row.freeze_cut_height_cm)
    elif height_cm >= row.freeze_cut_height_cm:
        yield reason(
            "freeze_cut_now", height_cm=height_cm, freeze_date=freeze_date, stubble_cm=row.stubble_cm
        )
    elif height_cm >= row.short_freeze_cut_height_cm:
        yield reason("freeze_cut_if_hay_short", height_cm=height_cm, freeze_date=freeze_date)
    else:
        yield reason("freeze_cut_too_short", height_cm=height_cm, least_height_cm=row.freeze_cut_height_cm)


def _dormant(row: Any, _settings: Settings) -> Iterable[Reason]:
    yield reason("dormant_thatch")
    if row.water:
        yield reason("dormant_graze")
    if row.may_burn and row.intent != "overseeded":
        yield reason("dormant_burn_caution")


def _owner(row: Any) -> Iterable[Reason]:
    if row.intent in ("stockpile", "grazed"):
        yield reason("kept_for_grazing")
    if row.intent == "overseeded":
        yield reason("overseeded")
    if row.weedy:
        yield reason("weedy_clean_machine")
    if pd.notna(row.closed_until_date):
        yield reason("sprayed_until", until_date=row.closed_until_date)
    if pd.notna(row.promised_by_date):
        late = row.promised_by_date > row.last_cut_date
        code = "promise_after_last_cut" if late else "promised_by"
        values = {"promised_by_date": row.promised_by_date} | (
            {"last_cut_date": row.last_cut_date} if late else {}
        )
        yield reason(code, **values)


def _why(row: Any, settings: Settings) -> Iterable[Reason]:
    if row.last_cut_limit == "freeze":
        yield reason(
            "freeze_rules",
            killing_freeze_date=row.killing_freeze_date,
            regrowth_days=round(row.regrowth_days),
            chance=settings.chance,
        )
    elif row.last_cut_limit == "growth":
        yield reason(
            "growth_rules", growth_end_date=row.growth_end_date, target_height_cm=row.target_height_cm
        )
    elif row.last_cut_limit == "rule":
        yield reason("rule_caps", last_cut_date=row.last_cut_date, grass=row.grass_name)
    if _no_freeze_data(row):
        return
    if pd.isna(row.killing_freeze_date):
        yield reason("chance_not_reached", chance=settings.chance)
    elif settings.chance < AVERAGE_CHANCE:
        reached = pd.notna(row.average_freeze_date)
        yield (
            reason("average_is_later", average_freeze_date=row.average_freeze_date)
            if reached
            else reason("average_not_reached")
        )


def _trust(row: Any, settings: Settings) -> Iterable[Reason]:
    if pd.notna(row.freeze_seasons) and 0 < row.freeze_seasons < FEW_SEASONS:
        yield reason("few_seasons", seasons=int(row.freeze_seasons))
    if 0 < row.freeze_cover_share < settings.min_cover_share:
        yield reason("thin_cover", cover_share=row.freeze_cover_share)
    if row.cold_offset_c > 0:
        yield reason("cold_spot", cold_offset_c=row.cold_offset_c)
    if row.weak_evidence:
        yield reason("weak_evidence", grass=row.grass_name)


def _no_freeze_data(row: Any) -> bool:
    return not row.freeze_cover_share > 0


_BY_STAGE = {
    "growing": _growing,
    "ready": _ready,
    "leave_standing": _leave_standing,
    "freeze_cut": _freeze_cut,
    "dormant": _dormant,
}
