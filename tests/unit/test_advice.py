from datetime import date

import numpy as np
import pandas as pd
import pytest

from spatial.agronomy.advice import advice
from spatial.reasons import reason
from spatial.settings import settings_with

PLAIN = {
    "grass_name": "hybrid bermudagrass", "stage": "ready", "intent": "hay", "weedy": False, "water": False,
    "ready_date": pd.Timestamp("2026-09-01"), "last_cut_date": pd.Timestamp("2026-10-02"),
    "last_cut_limit": "freeze",
    "two_cuts_by_date": pd.Timestamp("2026-09-04"), "killing_freeze_date": pd.Timestamp("2026-11-06"),
    "average_freeze_date": pd.Timestamp("2026-11-14"), "ask_date": pd.Timestamp("2026-12-05"),
    "regrowth_days": 35.0,
    "stubble_cm": 10.16, "usual_stubble_cm": 10.16, "cut_date": pd.NaT, "crew": "", "no_freeze_share": 0.0,
    "previous_cut_date": pd.Timestamp("2026-08-01"), "height_cm": np.nan,
    "canopy_now_cm": 30.0, "height_seen": False,
    "closed_until_date": pd.NaT, "promised_by_date": pd.NaT, "killing_freeze_recorded_date": pd.NaT,
    "green_up_date": pd.NaT, "height_date": pd.Timestamp("2026-11-07"),
    "canopy_low_cm": 15.0, "canopy_high_cm": 35.0, "dry_ahead": None, "weeds_now": False,
    "forecast_freeze_date": pd.NaT, "next_freeze_date": pd.NaT, "next_freeze_c": np.nan,
    "forecast_least_c": np.nan, "growth_end_date": pd.Timestamp("2026-11-06"),
    "target_height_cm": 20.32, "freeze_height_low_cm": 12.0, "freeze_height_high_cm": 24.0, "freeze_cut": True,
    "freeze_cut_height_cm": 20.32, "short_freeze_cut_height_cm": 15.24, "freeze_seasons": 30, "drying_days": 4,
    "freeze_cover_share": 1.0, "freeze_error_days": 3.6, "cold_offset_c": np.nan, "weak_evidence": False,
    "may_burn": True, "burn_now": False, "burn_hurts": ("Tifton 85",), "cultivar": "Coastal", "cautions": (),
    "last_cut_rule": True, "hay_short": False, "short_freeze_cut_last_date": pd.NaT, "pests": (),
    "freeze_outlook": (),
    "published_days_before_average": np.nan,
}  # fmt: skip


def told(part="advice", on="2026-09-08", chance=0.2, **changed):
    settings = settings_with(date.fromisoformat(on), {"chance": chance})
    table = pd.DataFrame([PLAIN | changed])
    return [one.code for one in advice(table, settings)[part].iloc[0]]


def at_freeze(canopy_cm, **changed):
    freeze = {"stage": "freeze_cut", "killing_freeze_recorded_date": pd.Timestamp("2026-11-08")}
    return told(
        on="2026-11-08", canopy_now_cm=canopy_cm, height_cm=canopy_cm, height_seen=True, **freeze, **changed
    )


def test_a_ready_field_is_told_its_date_and_its_stubble():
    assert told() == ["this_is_the_last", "leave_stubble"]


def test_while_two_cuts_still_fit_the_date_for_both_is_told():
    assert told(on="2026-09-04")[0] == "cut_by_to_fit_two"
    assert told(on="2026-09-05")[0] == "this_is_the_last"


def test_a_short_stubble_is_told_with_the_stubble_to_leave():
    reasons = advice(pd.DataFrame([PLAIN | {"stubble_cm": 7.62}]), settings_with(date(2026, 9, 8)))[
        "advice"
    ].iloc[0]
    said = {one.code: one.values for one in reasons}
    assert said["leave_stubble"]["stubble_cm"] == 10.16
    assert said["usually_cut_short"]["stubble_cm"] == 7.62


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"stage": "growing", "ready_date": pd.Timestamp("2026-09-20")}, "wait_until_ready"),
        ({"stage": "growing", "ready_date": pd.Timestamp("2026-10-09")}, "no_early_cut_left"),
        ({"stage": "growing", "ready_date": pd.NaT}, "not_ready_this_season"),
        ({"stage": "leave_standing"}, "leave_standing"),
        ({"stage": "dormant"}, "dormant_look"),
        ({"stage": "dormant", "canopy_low_cm": 21.0}, "dormant_thatch"),
        ({"stage": "dormant", "canopy_high_cm": 18.0}, "dormant_little_thatch"),
        ({"stage": "dormant", "canopy_now_cm": np.nan}, "dormant_look"),
        ({"stage": "dormant", "green_up_date": pd.Timestamp("2027-03-02")}, "greened_up"),
        ({"stage": "", "freeze_cover_share": 0.0}, "no_date_no_freeze_data"),
        ({"stage": "", "grass_name": ""}, "no_date_no_grass"),
    ],
)
def test_what_to_do_comes_first(changed, code):
    assert told(**changed)[0] == code


# The freeze cut: common practice, no source, for every case of height and need.


def test_8_november_with_a_killing_freeze_and_2_to_3_inches_leave_it():
    assert at_freeze(2.5 * 2.54) == ["freeze_came", "height_seen", "freeze_cut_no_yield"]


def test_6_inches_and_hay_is_short_may_be_cut_once_and_is_advised_against_next_year():
    assert at_freeze(15.24, hay_short=True)[2] == "freeze_cut_short_once"
    last_fall = pd.Timestamp("2025-11-10")
    assert (
        at_freeze(15.24, hay_short=True, short_freeze_cut_last_date=last_fall)[2] == "freeze_cut_short_again"
    )


def test_6_inches_and_hay_is_not_short_is_only_for_need():
    assert at_freeze(15.24)[2] == "freeze_cut_only_if_short"


@pytest.mark.parametrize("inches", [8, 9, 10])
def test_8_to_10_inches_are_worth_a_cut_within_the_day_and_need_drying(inches):
    assert at_freeze(inches * 2.54)[2:] == ["freeze_cut_worth", "freeze_cut_drying"]


def test_5_inches_are_too_short():
    assert at_freeze(5 * 2.54)[2] == "freeze_cut_too_short"


def test_a_height_that_nobody_saw_is_said_to_be_an_estimate():
    freeze = {"stage": "freeze_cut", "killing_freeze_recorded_date": pd.Timestamp("2026-11-08")}
    assert told(**freeze)[1:3] == ["height_estimated", "freeze_cut_unsure"]
    assert told(canopy_low_cm=20.5, **freeze)[1:3] == ["height_estimated", "freeze_cut_worth"]
    assert told(canopy_high_cm=14.0, **freeze)[1:3] == ["height_estimated", "freeze_cut_too_short"]
    assert told(canopy_now_cm=np.nan, **freeze)[1] == "freeze_cut_look"


def test_a_forecast_is_told_as_a_forecast():
    forecast = {"forecast_freeze_date": pd.Timestamp("2026-11-09"), "forecast_least_c": -3.0}
    assert told(stage="freeze_cut", **forecast)[0] == "freeze_forecast"


def test_natives_get_no_freeze_cut():
    native = {"freeze_cut": False, "stage": "freeze_cut"}
    assert told(**native) == ["leave_until_spring"]
    assert told(**native | {"stage": "leave_standing"}) == ["leave_standing", "leave_until_spring"]
    assert told(**native | {"stage": "dormant"}) == ["native_dormant"]


def test_past_the_late_date_the_question_comes_first():
    assert told(on="2026-12-10", stage="leave_standing") == ["ask_for_freeze", "freeze_cut_late"]
    assert "ask_for_freeze" not in told(on="2026-11-10", stage="leave_standing")


def everything(intent):
    stages = ("growing", "ready", "leave_standing", "freeze_cut", "dormant")
    return {code for stage in stages for code in told(stage=stage, intent=intent, burn_now=True)}


@pytest.mark.parametrize("intent", ["stockpile", "grazed", "overseeded"])
def test_other_intents_never_hear_of_cutting_thatch_burning_or_the_freeze_cut(intent):
    forbidden = {"cut_by_to_fit_two", "this_is_the_last", "freeze_cut_worth", "dormant_thatch"}
    assert not everything(intent) & (forbidden | {"dormant_burn_caution", "wait_for_freeze_cut"})
    assert {"dormant_look", "dormant_burn_caution"} <= everything("hay")


def test_grazing_after_the_freeze_is_said_only_where_there_is_water():
    assert told(stage="dormant", intent="stockpile", water=True) == ["graze_after_freeze"]
    assert "dormant_graze" in told(stage="dormant", canopy_low_cm=21.0, water=True)
    assert told(stage="dormant", intent="stockpile") == ["graze_needs_water"]
    assert "dormant_graze" not in told(stage="dormant", canopy_low_cm=21.0)


def test_burning_is_for_the_weeks_before_green_up_and_not_for_cultivars_that_suffer():
    assert "dormant_burn_caution" not in told(stage="dormant")
    assert "dormant_burn_caution" in told(stage="dormant", burn_now=True)
    assert "dormant_burn_hurts" in told(stage="dormant", burn_now=True, cultivar="Coastal / Tifton-85")
    assert "burn_ask_cultivar" in told(stage="dormant", burn_now=True, cultivar="")


def test_an_annual_has_no_last_cut_rule_but_its_caution():
    annual = {"last_cut_rule": False, "stage": "", "cautions": ("prussic_acid",), "last_cut_date": pd.NaT}
    assert told(**annual) == ["annual_before_freeze"]
    assert told("mind", **annual) == ["caution_prussic_acid"]
    frozen = {"killing_freeze_recorded_date": pd.Timestamp("2026-11-01")}
    assert told(**annual | frozen) == ["annual_frozen"]
    assert told(**annual | {"forecast_freeze_date": pd.Timestamp("2026-11-01")}) == ["annual_forecast"]
    assert told(on="2027-01-10", **annual) == ["ask_for_freeze"]


def test_a_field_closed_by_a_label_or_before_rain_is_not_worth_a_freeze_cut():
    assert at_freeze(25.0, closed_until_date=pd.Timestamp("2026-11-20"))[1:] == ["freeze_cut_closed"]
    assert at_freeze(25.0, dry_ahead=False)[2:] == ["freeze_cut_worth", "freeze_cut_wet"]
    assert at_freeze(25.0, dry_ahead=True)[2:] == ["freeze_cut_worth", "freeze_cut_drying"]


def test_a_label_or_the_route_can_use_up_the_cut_before_last():
    assert told(on="2026-09-01", closed_until_date=pd.Timestamp("2026-09-10"))[0] == "this_is_the_last"
    assert told(on="2026-09-01", cut_date=pd.Timestamp("2026-09-09"))[0] == "this_is_the_last"
    assert told(on="2026-09-01", cut_date=pd.Timestamp("2026-09-03"))[0] == "cut_by_to_fit_two"


def test_a_promise_is_weighed_against_today_and_the_last_cut():
    assert "promise_after_last_cut" in told("mind", promised_by_date=pd.Timestamp("2026-10-10"))
    assert "promised_by" in told("mind", promised_by_date=pd.Timestamp("2026-09-20"))
    assert "promise_missed" in told("mind", promised_by_date=pd.Timestamp("2026-09-01"))


def test_a_freeze_further_ahead_in_the_outlook_is_told_before_an_early_cut():
    ahead = {"next_freeze_date": pd.Timestamp("2026-09-14"), "next_freeze_c": -3.0}
    assert "freeze_in_outlook" in told("mind", **ahead)
    assert "freeze_in_outlook" not in told("mind", stage="leave_standing", **ahead)


def test_pests_seen_are_told():
    assert (
        told("mind", pests=(reason("eaten_cut_early", last_cut_date=pd.Timestamp("2026-10-02")),))[0]
        == "eaten_cut_early"
    )


def test_what_weakens_the_date_is_said():
    weak = told("mind", freeze_seasons=12, freeze_cover_share=0.3, cold_offset_c=2.0, weak_evidence=True)
    assert weak == ["few_seasons", "thin_cover", "cold_spot", "weak_evidence"]


def test_a_date_later_than_the_published_rule_is_said():
    assert "later_than_published" in told("mind", published_days_before_average=44.0)
    assert "later_than_published" not in told("mind", published_days_before_average=43.0)


def test_the_average_is_shown_beside_the_chosen_chance():
    assert told("why") == ["freeze_by_error", "freeze_rules", "height_at_freeze", "average_is_later"]
    never = {"average_freeze_date": pd.NaT, "no_freeze_share": 0.6}
    assert told("why", **never)[-1] == "average_not_reached"
    beyond_the_layer = {"average_freeze_date": pd.NaT, "no_freeze_share": np.nan}
    assert told("why", **beyond_the_layer)[-1] == "height_at_freeze"


def test_a_chance_of_one_half_or_more_is_called_a_coin_toss():
    assert told("why", chance=0.5)[-1] == "coin_toss"


def test_a_freeze_that_does_not_come_at_the_chance_is_said():
    codes = told("why", killing_freeze_date=pd.NaT, last_cut_limit="growth")
    assert codes[:2] == ["chance_not_reached", "growth_alone_rules"]
