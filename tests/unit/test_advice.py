from datetime import date

import pandas as pd
import pytest

from spatial.agronomy.advice import advice
from spatial.settings import settings_with

PLAIN = {
    "grass_name": "hybrid bermudagrass", "stage": "ready", "intent": "hay", "weedy": False, "water": False,
    "ready_date": pd.Timestamp("2026-09-01"), "last_cut_date": pd.Timestamp("2026-10-02"), "last_cut_limit": "freeze",
    "killing_freeze_date": pd.Timestamp("2026-11-06"), "average_freeze_date": pd.Timestamp("2026-11-14"),
    "late_freeze_date": pd.Timestamp("2026-12-05"), "regrowth_days": 35.0, "stubble_cm": 10.16, "cut_date": pd.NaT,
    "crew": "", "previous_cut_date": pd.Timestamp("2026-08-01"), "height_cm": float("nan"), "canopy_now_cm": 30.0,
    "closed_until_date": pd.NaT, "promised_by_date": pd.NaT, "killing_freeze_recorded_date": pd.NaT,
    "forecast_freeze_date": pd.NaT, "growth_end_date": pd.Timestamp("2026-11-06"), "target_height_cm": 20.32,
    "freeze_cut_height_cm": 20.32, "short_freeze_cut_height_cm": 15.24, "freeze_seasons": 30,
    "freeze_cover_share": 1.0, "cold_offset_c": float("nan"), "weak_evidence": False, "may_burn": True,
}  # fmt: skip


def told(on="2026-09-08", chance=0.2, **changed):
    settings = settings_with(date.fromisoformat(on), {"chance": chance})
    (reasons,) = advice(pd.DataFrame([PLAIN | changed]), settings)
    return [reason.code for reason in reasons]


def test_a_ready_field_is_told_its_date_its_stubble_and_why():
    assert told() == ["cut_by", "freeze_rules", "average_is_later"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"stage": "growing", "ready_date": pd.Timestamp("2026-09-20")}, "wait_until_ready"),
        ({"stage": "growing", "ready_date": pd.Timestamp("2026-10-09")}, "no_early_cut_left"),
        ({"stage": "growing", "ready_date": pd.NaT}, "not_ready_this_season"),
        ({"stage": "leave_standing"}, "leave_standing"),
        ({"stage": "dormant"}, "dormant_thatch"),
        ({"stage": "", "freeze_cover_share": 0.0}, "no_date_no_freeze_data"),
        ({"stage": "", "grass_name": ""}, "no_date_no_grass"),
    ],
)
def test_what_to_do_comes_first(changed, code):
    assert told(**changed)[0] == code


@pytest.mark.parametrize(
    ("canopy_cm", "code"),
    [
        # 8 in is worth a freeze cut, 6 in only when hay is short: common practice, no source.
        (20.4, "freeze_cut_now"),
        (20.2, "freeze_cut_if_hay_short"),
        (15.3, "freeze_cut_if_hay_short"),
        (15.1, "freeze_cut_too_short"),
        (float("nan"), "freeze_cut_look"),
    ],
)
def test_the_freeze_cut_depends_on_what_stands(canopy_cm, code):
    freeze = {"stage": "freeze_cut", "killing_freeze_recorded_date": pd.Timestamp("2026-11-01")}
    assert told(on="2026-11-02", canopy_now_cm=canopy_cm, **freeze)[0] == code


def test_past_the_late_date_the_freeze_is_asked_for():
    assert "ask_for_freeze" in told(on="2026-12-10", stage="leave_standing")
    assert "ask_for_freeze" not in told(on="2026-11-10", stage="leave_standing")


def test_nobody_is_told_to_cut_a_field_that_is_kept_for_grazing():
    assert told(intent="stockpile")[0] == "kept_for_grazing"


def test_burning_is_never_said_of_an_overseeded_field_nor_of_a_grass_that_may_not_be_burned():
    assert "dormant_burn_caution" in told(stage="dormant")
    assert "dormant_burn_caution" not in told(stage="dormant", intent="overseeded")
    assert "dormant_burn_caution" not in told(stage="dormant", may_burn=False)


def test_grazing_the_thatch_is_said_only_where_there_is_water():
    assert "dormant_graze" in told(stage="dormant", water=True)
    assert "dormant_graze" not in told(stage="dormant")


def test_a_promise_after_the_last_cut_date_is_said():
    assert "promise_after_last_cut" in told(promised_by_date=pd.Timestamp("2026-10-10"))
    assert "promised_by" in told(promised_by_date=pd.Timestamp("2026-09-20"))


def test_what_weakens_the_date_is_said():
    weak = told(freeze_seasons=12, freeze_cover_share=0.3, cold_offset_c=2.0, weak_evidence=True)
    assert weak[-4:] == ["few_seasons", "thin_cover", "cold_spot", "weak_evidence"]


def test_an_average_that_is_not_reached_is_said():
    assert "average_not_reached" in told(average_freeze_date=pd.NaT)


def test_at_the_average_itself_it_is_not_repeated():
    assert "average_is_later" not in told(chance=0.5)


def test_a_freeze_that_does_not_come_at_the_chance_is_said():
    codes = told(killing_freeze_date=pd.NaT, average_freeze_date=pd.NaT, last_cut_limit="growth")
    assert "chance_not_reached" in codes and "growth_rules" in codes
