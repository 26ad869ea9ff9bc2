"""A reason: a code and its values, to be put into words by whoever shows it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True)
class Reason:
    """Why a field got what it got: `code` names the sentence, `values` fill it (inside units, dates, names)."""

    code: str
    values: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))


def reason(code: str, **values: object) -> Reason:
    """Return the reason `code` with its values; the code must be one of `CODES`, else KeyError."""
    if code not in CODES:
        raise KeyError(f"no such reason: {code}")
    return Reason(code, MappingProxyType(values))


# Every code with the values it carries; maps/labels.py has one sentence for each (a test holds them together).
CODES: dict[str, tuple[str, ...]] = {
    # what to do now, by stage
    "wait_until_ready": ("ready_date",),
    "no_early_cut_left": ("ready_date", "last_cut_date"),
    "cut_by": ("last_cut_date", "stubble_cm"),
    "planned_cut": ("cut_date", "crew"),
    "leave_standing": ("last_cut_date",),
    "wait_for_freeze_cut": ("least_height_cm", "short_height_cm"),
    "freeze_cut_now": ("height_cm", "freeze_date", "stubble_cm"),
    "freeze_cut_if_hay_short": ("height_cm", "freeze_date"),
    "freeze_cut_too_short": ("height_cm", "least_height_cm"),
    "dormant_thatch": (),
    "dormant_graze": (),
    "dormant_burn_caution": (),
    "ask_for_freeze": ("late_date",),
    "no_date_no_freeze_data": (),
    "no_date_no_grass": (),
    "height_unknown": (),
    "not_ready_this_season": (),
    "freeze_cut_look": ("freeze_date", "least_height_cm"),
    # why this date
    "freeze_rules": ("killing_freeze_date", "regrowth_days", "chance"),
    "growth_rules": ("growth_end_date", "target_height_cm"),
    "rule_caps": ("last_cut_date", "grass"),
    "average_is_later": ("average_freeze_date",),
    "average_not_reached": (),
    "chance_not_reached": ("chance",),
    "few_seasons": ("seasons",),
    "thin_cover": ("cover_share",),
    "cold_spot": ("cold_offset_c",),
    "weak_evidence": ("grass",),
    # what the owner wants or must know
    "kept_for_grazing": (),
    "overseeded": (),
    "weedy_clean_machine": (),
    "promised_by": ("promised_by_date",),
    "promise_after_last_cut": ("promised_by_date", "last_cut_date"),
    "sprayed_until": ("until_date",),
    # soil flags
    "ph_low": ("ph", "target_ph", "origin", "sample_date"),
    "ph_very_low": ("ph", "target_ph", "origin", "sample_date"),
    "ph_high": ("ph", "origin", "sample_date"),
    "sample_ph": ("ph", "target_ph", "cover_share"),
    "sample_soil": (),
    "soil_test_old": ("sample_date", "nutrient"),
    "p_low": ("rating", "scheme", "sample_date"),
    "p_medium": ("rating", "scheme", "sample_date"),
    "k_low": ("rating", "scheme", "sample_date"),
    "k_medium": ("rating", "scheme", "sample_date"),
    "mg_low": ("rating", "scheme", "sample_date"),
    "mg_medium": ("rating", "scheme", "sample_date"),
    "no_rating_scheme": ("extractant", "soil_group"),
    # why a field is not on the route
    "not_hay": ("intent",),
    "past_last_cut": ("last_cut_date",),
    "ready_too_late": ("ready_date", "last_cut_date"),
    "ready_after_horizon": ("ready_date", "horizon_end_date"),
    "not_ready_no_day": ("ready_date", "last_cut_date"),
    "no_workable_day": ("first_date", "last_date"),
    "unreachable": ("gap_m",),
    "no_last_cut_date": (),
    "closed_by_label": ("until_date",),
    "too_big_for_window": ("area_ha",),
    "out_of_time": ("last_cut_date",),
    "can_wait": ("last_cut_date", "horizon_end_date"),
    "no_crews": (),
    "freeze_recorded": ("freeze_date",),
    "stage_not_early": ("stage",),
    # notes on the whole plan
    "note_no_freeze_data": ("count",),
    "note_no_grass": ("count",),
    "note_no_crews": (),
    "note_no_outlook": ("days",),
    "note_no_roads": ("circuity",),
    "note_no_soil": (),
    "note_unreachable": ("count", "gap_m"),
    "note_far_gates": ("count", "gap_m"),
    "note_yard_unreachable": ("crew", "gap_m"),
    "note_outlook_ends": ("last_date",),
    "note_statistics": ("chance", "seasons"),
    "note_input": ("line",),
    "note_freeze_recorded": ("area", "freeze_date"),
}
