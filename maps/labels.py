"""Every word a person reads, in English, with values in the region's units."""

import math
from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

import pandas as pd

from spatial.reasons import Reason
from spatial.units import farmer_units

STAGES = {
    "growing": "growing",
    "ready": "ready to cut",
    "leave_standing": "leave standing",
    "freeze_cut": "freeze cut",
    "dormant": "dormant",
    "": "not known",
}
URGENCIES = {
    "past": "past the date",
    "0-7": "0 to 7 days left",
    "8-14": "8 to 14 days left",
    "15-28": "15 to 28 days left",
    "over_28": "more than 28 days left",
    "": "no last-cut date",
}
INTENTS = {
    "hay": "hay",
    "stockpile": "stockpiled for grazing",
    "overseeded": "overseeded this fall",
    "grazed": "grazed",
}
LIMITS = {
    "freeze": "the killing freeze less regrowth",
    "growth": "the last days of growth",
    "rule": "the cap for this grass",
    "": "",
}
FLAGS = {
    "ph_low": "pH low",
    "ph_very_low": "pH very low",
    "ph_high": "pH high",
    "sample_ph": "sample pH here",
    "sample_soil": "no soil test",
    "soil_test_old": "soil test old",
    "p_low": "P low",
    "p_medium": "P medium",
    "k_low": "K low",
    "k_medium": "K medium",
    "mg_low": "Mg low",
    "mg_medium": "Mg medium",
    "no_rating_scheme": "no rating scheme",
}
CUT_KINDS = {"early": "early cut", "freeze": "freeze cut", "thatch": "thatch cut", "": ""}
ORIGINS = {"lab": "lab sample", "survey": "soil survey", "": ""}
NUTRIENTS = {"p": "P", "k": "K", "mg": "Mg", "ph": "pH"}
CAUTIONS = (
    "Dates are statistics of past seasons, not a forecast. Local extension advice and the soil laboratory go first.",
    "On the road: slow-moving-vehicle emblem, lights, and the local rules for wide machines.",
    "Hot hay can burn: if bales heat, call the fire service before moving any.",
)


def sentence(why: Reason, units: str) -> str:
    """Return one plain sentence for a reason, in `units` ("us" or "metric")."""
    words = {name: _value(name, value, units) for name, value in why.values.items()}
    return SENTENCES[why.code].format_map(words)


def sentences(reasons: tuple[Reason, ...], units: str) -> str:
    """Return the sentences of several reasons, one after another."""
    return " ".join(sentence(why, units) for why in reasons)


def day(value: object) -> str:
    """Return a date as "24 Sep", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{stamp.day} {stamp:%b}"


def day_in_year(value: object) -> str:
    """Return a date as "24 Sep 2026", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{stamp.day} {stamp:%b %Y}"


def area(ha: float, units: str) -> str:
    """Return an area as "12.4 acres" or "5.0 ha"."""
    return f"{farmer_units(ha, '_ha', '_ac'):.1f} acres" if units == "us" else f"{ha:.1f} ha"


def height(cm: float, units: str) -> str:
    """Return a height as "8 in" or "20 cm"."""
    return f"{farmer_units(cm, '_cm', '_in'):.0f} in" if units == "us" else f"{cm:.0f} cm"


def distance(m: float, units: str) -> str:
    """Return a distance as "0.4 mi" or "0.7 km"."""
    return f"{farmer_units(m / 1000, '_km', '_mi'):.1f} mi" if units == "us" else f"{m / 1000:.1f} km"


def chance_words(chance: float) -> str:
    """Return a chance in words: "1 fall in 5", or "3 falls in 10"."""
    for outof in (2, 3, 4, 5, 10, 20, 50, 100):
        part = chance * outof
        if round(part) >= 1 and math.isclose(part, round(part)):
            return f"{round(part)} fall{'s' if round(part) > 1 else ''} in {outof}"
    return f"{chance:.3g} of all falls"


def _stamp(value: object) -> date | None:
    if isinstance(value, datetime | pd.Timestamp | date) and not pd.isna(value):
        return value
    return None


def _value(name: str, value: Any, units: str) -> str:
    for suffix, words in _BY_SUFFIX.items():
        if name.endswith(suffix):
            return words(value, units)
    known = _BY_NAME.get(name)
    return known(value) if known else str(value)


_BY_SUFFIX: dict[str, Callable[[Any, str], str]] = {
    "sample_date": lambda value, _units: day_in_year(value),
    "_date": lambda value, _units: day(value),
    "_cm": height,
    "_ha": area,
    "_share": lambda value, _units: f"{100 * value:.0f} %",
    "_m": distance,
    "cold_offset_c": lambda value, units: f"{value * 1.8:.0f} F" if units == "us" else f"{value:.0f} °C",
}
_BY_NAME: dict[str, Callable[[Any], str]] = {
    "chance": chance_words,
    "origin": lambda value: ORIGINS.get(value, value),
    "stage": lambda value: STAGES.get(value, value),
    "intent": lambda value: INTENTS.get(value, value),
    "nutrient": lambda value: NUTRIENTS.get(value, value),
    "ph": lambda value: f"{value:.1f}",
    "target_ph": lambda value: f"{value:.1f}",
    "circuity": lambda value: f"{value:g}",
}

SENTENCES: Mapping[str, str] = {
    "wait_until_ready": "Let it grow; ready about {ready_date}.",
    "no_early_cut_left": "No early cut left: it is ready only about {ready_date}, after its last-cut date {last_cut_date}. "
    "Leave it for the freeze cut.",
    "cut_by": "Cut by {last_cut_date} at the latest and leave {stubble_cm} of stubble or more.",
    "planned_cut": "On the route: {crew}, {cut_date}.",
    "leave_standing": "Leave it standing. The last-cut date, {last_cut_date}, has passed: a cut now would spend root "
    "reserves on regrowth that the freeze then takes.",
    "wait_for_freeze_cut": "The next chance is the freeze cut: right at the killing freeze, where {least_height_cm} or "
    "more stands ({short_height_cm} only when hay is short, and not two years running).",
    "freeze_cut_now": "Killing freeze {freeze_date}: about {height_cm} stands, worth a freeze cut if drying days follow; "
    "leave {stubble_cm} of stubble. The later after the freeze, the poorer the hay.",
    "freeze_cut_if_hay_short": "Killing freeze {freeze_date}: about {height_cm} stands. Only when hay is short, and not two "
    "years running.",
    "freeze_cut_too_short": "About {height_cm} stands, under the {least_height_cm} that a freeze cut needs: leave it.",
    "dormant_thatch": "Dormant: heavy dead growth is thatch. Cut and remove it, or graze it, before green-up.",
    "dormant_graze": "There is water: grazing the dead growth is a good way.",
    "dormant_burn_caution": "Burning only just before green-up, with a permit, fire lines and notice given, by the state "
    "forestry agency's rules and a licensed burn manager.",
    "ask_for_freeze": "By {late_date} the killing freeze has come in 9 falls of 10: has it come here? Record it.",
    "no_date_no_freeze_data": "No freeze data here, so no last-cut date.",
    "no_date_no_grass": "No grass is named for this field, so no last-cut date.",
    "not_ready_this_season": "It will not be tall enough for an early cut any more: leave it standing.",
    "freeze_cut_look": "Killing freeze {freeze_date}: look at the stand; {least_height_cm} or more is worth a freeze cut.",
    "height_unknown": "Neither height nor previous cut is known: look at the stand before sending a crew.",
    "freeze_rules": "In {chance} the killing freeze has come by {killing_freeze_date}; {regrowth_days} days of regrowth "
    "before it.",
    "growth_rules": "Growth ends about {growth_end_date}; a later cut would not reach {target_height_cm} again.",
    "rule_caps": "{grass}: no hay cut after {last_cut_date}.",
    "average_is_later": "On average (1 fall in 2) the freeze has come by {average_freeze_date}: a coin toss.",
    "average_not_reached": "In fewer than half of the seasons a killing freeze comes at all.",
    "chance_not_reached": "A killing freeze does not come in {chance}; growth alone sets the date.",
    "few_seasons": "Only {seasons} seasons of freeze data stand behind this date.",
    "thin_cover": "Freeze data cover only {cover_share} of the field.",
    "cold_spot": "A cold spot, about {cold_offset_c} colder on frost nights: its freeze can come earlier than the map says.",
    "weak_evidence": "The numbers for {grass} rest on weak evidence.",
    "kept_for_grazing": "Kept for grazing: not on the hay route.",
    "overseeded": "Overseeded: clip it short for the winter crop; no dormant spray, no burning.",
    "weedy_clean_machine": "Weedy: cut it last of the day and clean the machine.",
    "promised_by": "Promised by {promised_by_date}.",
    "promise_after_last_cut": "Promised by {promised_by_date}, but its last-cut date is {last_cut_date}: call the owner.",
    "sprayed_until": "The spray label closes it until {until_date}; the label rules.",
    "ph_low": "pH {ph} ({origin}, {sample_date}) is below {target_ph}: lime at the laboratory's rate.",
    "ph_very_low": "pH {ph} ({origin}, {sample_date}) is far below {target_ph}: lime first, at the laboratory's rate.",
    "ph_high": "pH {ph} ({origin}, {sample_date}) is high: watch iron and zinc, and do not lime.",
    "sample_ph": "The soil survey says pH {ph} for {cover_share} of the field, below {target_ph}: sample this field; a map "
    "sets no lime rate.",
    "sample_soil": "No soil test and no soil layer here: sample this field.",
    "soil_test_old": "The {nutrient} sample of {sample_date} is old: sample again.",
    "p_low": "P is {rating} ({scheme}, {sample_date}).",
    "p_medium": "P is {rating} ({scheme}, {sample_date}).",
    "k_low": "K is {rating} ({scheme}, {sample_date}): a late-season K application is recommended, 4 to 6 weeks before frost.",
    "k_medium": "K is {rating} ({scheme}, {sample_date}).",
    "mg_low": "Mg is {rating} ({scheme}, {sample_date}).",
    "mg_medium": "Mg is {rating} ({scheme}, {sample_date}).",
    "no_rating_scheme": "No rating scheme for {extractant} {soil_group}: P, K and Mg are not rated.",
    "not_hay": "It is {intent}, so it is not on the hay route.",
    "past_last_cut": "Its last-cut date, {last_cut_date}, has passed.",
    "ready_too_late": "It is ready only on {ready_date}, after its last-cut date {last_cut_date}.",
    "ready_after_horizon": "It is ready on {ready_date}, after the planned days end on {horizon_end_date}.",
    "not_ready_no_day": "No crew works between {ready_date}, when it is ready, and {last_cut_date}.",
    "no_workable_day": "No workable day between {first_date} and {last_date}: wet, or days off.",
    "unreachable": "No road leads there: its gate is {gap_m} from the nearest.",
    "no_last_cut_date": "It has no last-cut date.",
    "closed_by_label": "The spray label closes it until {until_date}.",
    "too_big_for_window": "It is too big to finish in its window: {area_ha}.",
    "out_of_time": "No crew time left before {last_cut_date}: fields with more hay or less time went first. Better uncut "
    "than cut late.",
    "can_wait": "It can wait: its last-cut date, {last_cut_date}, is after the planned days end on {horizon_end_date}.",
    "no_crews": "No crews are given.",
    "stage_not_early": "It is at {stage}: no early cut now.",
    "freeze_recorded": "A killing freeze was recorded on {freeze_date}: no early cut any more.",
    "note_no_freeze_data": "{count} fields have no freeze data, so no last-cut date.",
    "note_no_grass": "{count} fields name no grass, so they have no last-cut date.",
    "note_no_crews": "No crews are given, so there is no route.",
    "note_no_outlook": "No outlook is given: all {days} days ahead are taken as dry.",
    "note_no_roads": "No roads are given: travel is straight-line distance times {circuity}.",
    "note_no_soil": "No soil tests and no soil layer are given, so there are no soil flags.",
    "note_unreachable": "{count} fields cannot be reached by the roads given (farthest gate {gap_m} from a road).",
    "note_far_gates": "{count} gates lie far from the roads given (up to {gap_m}): check them on the map.",
    "note_yard_unreachable": "The yard of {crew} is {gap_m} from the nearest road given: that crew gets no route.",
    "note_outlook_ends": "Crews are planned only as far as the outlook reaches, {last_date}.",
    "note_statistics": "Dates are set for a killing freeze that has come in {chance}, from {seasons} past seasons. They are "
    "statistics, not a forecast.",
    "note_input": "{line}",
    "note_freeze_recorded": "Killing freeze recorded in {area} on {freeze_date}.",
}


# The map page.


def weekday(value: object) -> str:
    """Return a date as "Thu 24 Sep", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{stamp:%a} {day(stamp)}"


def clock(value: object) -> str:
    """Return the hour of a time as "09:30", or "" where there is none; text stays as it is."""
    stamp = _stamp(value)
    return f"{stamp:%H:%M}" if stamp is not None else value if isinstance(value, str) else ""


def days_left(days: int | None) -> str:
    """Return days left in words: "4 days left", "last day", "3 days past", "no date"."""
    if days is None:
        return "no date"
    if days == 0:
        return "last day"
    return f"{abs(days)} day{'' if abs(days) == 1 else 's'} {'left' if days > 0 else 'past'}"
