"""What is known of the hay taken off a field this season, and what is told of the nutrients that went with it."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maps import labels
from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.soil.hay_taken import hay_taken
from spatial.agronomy.soil.nutrients import k2o_wanted, nutrient_reasons, removal
from spatial.agronomy.winter import tasks
from spatial.columns import SEASON_LOG
from spatial.inputs.checks import Report
from spatial.inputs.rules import read_grasses, read_hay_rules
from spatial.inputs.soil.removal_rules import read_removal_rules
from spatial.reasons import reason
from spatial.values import RemovalRules

HAY, REMOVAL, GRASSES = read_hay_rules(), read_removal_rules(), read_grasses(Report())
SPRING, TODAY = date(2026, 4, 1), date(2026, 9, 8)
ROUND = RemovalRules({"hybrid_bermudagrass": {"k2o": (20.0, 25.0), "n": (25.0, 25.0)}}, {})
HYBRID = "hybrid_bermudagrass"


def field(**more):
    """Return one field, a, of 4 ha, of which nothing is known but its grass."""
    said = {
        "area": "Bibb", "area_ha": 4.0, "grass": HYBRID, "stubble_cm": float("nan"), "previous_cut_date": pd.NaT,
        "killing_freeze_recorded_date": pd.NaT, "ask_date": pd.Timestamp("2026-11-24"), "may_be_cut": False,
        "hay_low_t_ha": float("nan"), "hay_high_t_ha": float("nan"), "flags": (), "soil_k_origin": "",
        "soil_k_class": "", "intent": "hay", "soil_k_date": pd.Timestamp("2026-01-15"), "lab_k2o_kg_ha": float("nan"),
    }  # fmt: skip
    one = pd.DataFrame([said | more], index=pd.Index(["a"], name="field_id"))
    dates = ["previous_cut_date", "killing_freeze_recorded_date", "ask_date"]
    return one.astype(dict.fromkeys(dates, "datetime64[ns]"))


def log(*facts):
    """Return a season log of (date, fact, value), all of field a."""
    rows = [(pd.Timestamp(day), fact, "a", "", str(value), "") for day, fact, value in facts]
    names = [column.name for column in SEASON_LOG]
    return pd.DataFrame(rows, columns=names).astype({"date": "datetime64[ns]"})


def taken(one, *facts, on=TODAY):
    return hay_taken(one, grass_numbers(one, GRASSES), log(*facts), HAY, SPRING, on).iloc[0]


def amounts(row):
    return row["taken_low_t_ha"], row["taken_high_t_ha"]


def test_weights_of_several_days_add_up():
    row = taken(field(), ("2026-06-05", "hay", 12), ("2026-08-01", "hay", 8))
    assert amounts(row) == (5, 5)
    assert (row["taken_basis"], row["taken_weighings"]) == ("weighed", 2)


def test_a_weight_goes_before_what_cuts_would_tell():
    row = taken(field(), ("2026-06-02", "cut", ""), ("2026-06-05", "hay", 12))
    assert amounts(row) == (3, 3)
    assert row["taken_basis"] == "weighed"


def test_a_second_weight_of_a_day_corrects_the_first_and_nought_takes_it_back():
    assert amounts(taken(field(), ("2026-06-05", "hay", 12), ("2026-06-05", "hay", 16))) == (4, 4)
    assert taken(field(), ("2026-06-05", "hay", 12), ("2026-06-05", "hay", 0))["taken_basis"] == ""


@pytest.mark.parametrize("day", ["2026-03-31", "2026-09-09"])
def test_hay_of_another_growing_year_or_a_day_to_come_is_not_counted(day):
    assert taken(field(), (day, "hay", 12))["taken_basis"] == ""


def test_a_cut_gives_its_canopy_above_the_stubble_and_is_brought_to_hay_as_it_lies():
    # 12 in of hybrid bermudagrass over 4 in of stubble, 200-300 lb of dry matter an acre-inch (from memory), 90 % of
    # dry matter: 1778 to 2667 lb of hay an acre; 1 lb/ac is 1.12085 kg/ha (NIST SP 811, appendix B).
    row = taken(field(), ("2026-06-02", "cut", ""))
    assert amounts(row) == pytest.approx((1777.8 * 1.12085e-3, 2666.7 * 1.12085e-3), rel=1e-4)
    assert (row["taken_basis"], row["taken_cuts"]) == ("cuts", 1)


def test_two_cuts_give_twice_as_much_and_a_higher_stubble_less():
    one, two = (
        taken(field(), *[(f"2026-0{month}-02", "cut", "") for month in months]) for months in ("6", "68")
    )
    high = taken(field(), ("2026-06-02", "cut", 20.32))
    assert amounts(two) == pytest.approx([2 * t_ha for t_ha in amounts(one)])
    assert amounts(high) == pytest.approx(
        [t_ha / 2 for t_ha in amounts(one)]
    )  # 8 in are half of 4 in above 12


def test_a_freeze_cut_gives_what_stood_before_it():
    # 8 in before it, 4 in of stubble: half of the 8 in that a cut at 12 in takes.
    cut = taken(field(), ("2026-06-02", "cut", ""))
    frozen = taken(field(), ("2026-11-20", "freeze_cut", 20.32), on=date(2026, 12, 1))
    assert amounts(frozen) == pytest.approx([t_ha / 2 for t_ha in amounts(cut)])


@pytest.mark.parametrize("freeze", [{"killing_freeze_recorded_date": pd.Timestamp("2026-11-05")}, {}])
def test_a_cut_that_clears_dead_growth_gives_no_hay(freeze):
    assert taken(field(**freeze), ("2027-02-20", "cut", ""), on=date(2027, 3, 1))["taken_basis"] == ""


def test_the_fields_own_cut_counts_where_the_log_does_not_tell_of_it():
    given = field(previous_cut_date=pd.Timestamp("2026-06-03"))
    assert taken(given)["taken_cuts"] == 1
    assert taken(given, ("2026-06-02", "cut", ""))["taken_cuts"] == 1
    assert taken(given, ("2026-08-02", "cut", ""))["taken_cuts"] == 2
    assert taken(given, ("2026-06-03", "grazed", ""))["taken_cuts"] == 0


def test_without_weight_and_cut_the_next_cut_is_expected():
    row = taken(field(may_be_cut=True, hay_low_t_ha=0.9, hay_high_t_ha=1.8))
    assert amounts(row) == pytest.approx((1.0, 2.0))  # 90 % of dry matter
    assert row["taken_basis"] == "expected"


@pytest.mark.parametrize(
    "more",
    [
        {"hay_low_t_ha": 0.9, "hay_high_t_ha": 1.8},
        {"may_be_cut": True},
        {"may_be_cut": True, "hay_low_t_ha": 0.0, "hay_high_t_ha": 0.0},
    ],
)
def test_hay_of_which_nothing_is_known_stays_unknown(more):
    row = taken(field(**more))
    assert row["taken_basis"] == ""
    assert row[["taken_low_t_ha", "taken_high_t_ha"]].isna().all()


def test_cuts_of_a_field_without_a_grass_are_unknown_not_expected():
    row = taken(field(grass="", may_be_cut=True, hay_high_t_ha=1.8), ("2026-06-02", "cut", ""))
    assert row["taken_cuts"] == 1
    assert row["taken_basis"] == ""


def told(one, *facts, rules=ROUND, units="us", on=TODAY):
    numbers = grass_numbers(one, GRASSES)
    hay = hay_taken(one, numbers, log(*facts), HAY, SPRING, on)
    whole = one.join(hay).join(removal(one, hay, rules)).join(numbers["grass_name"])
    whole = whole.assign(k2o_wanted=k2o_wanted(whole))
    return [labels.sentence(why, units) for why in nutrient_reasons(whole).iloc[0]]


def test_what_weighed_hay_took_is_told_by_land():
    # By hand: 20 t on 4 ha are 5 t/ha; 20 to 25 kg of K2O a tonne are 100 to 125 kg/ha.
    lines = told(field(), ("2026-06-05", "hay", 20), units="metric")
    assert lines[0] == (
        "The hay weighed this season, 5.0 t/ha, took about 100 to 125 kg of K2O and 125 kg of N a hectare. That is "
        "what hay takes, not a rate to spread."
    )


def test_in_us_units_it_is_tons_and_pounds_an_acre():
    # By hand: 5 t/ha are 2.2 short tons an acre, 100 to 125 kg/ha are 89 to 112 lb an acre.
    lines = told(field(), ("2026-06-05", "hay", 20))
    assert "2.2 tons an acre, took about 89 to 110 lb of K2O and 110 lb of N an acre." in lines[0]


def test_an_estimate_and_an_expectation_say_what_they_are():
    assert "by an estimate" in told(field(), ("2026-06-02", "cut", ""))[0]
    expected = told(field(may_be_cut=True, hay_low_t_ha=0.9, hay_high_t_ha=1.8))[0]
    assert expected.startswith("No hay of this season is recorded. The next cut may give")


def test_hay_weighed_on_fewer_days_than_the_field_was_cut_is_said_to_be_short():
    cuts = [("2026-06-02", "cut", ""), ("2026-08-02", "cut", ""), ("2026-06-05", "hay", 12)]
    assert told(field(), *cuts)[1].startswith("2 known cuts, but hay was weighed on 1 day only")
    assert "but hay was weighed" not in " ".join(told(field(), *cuts, ("2026-08-05", "hay", 12)))


def test_of_a_grass_without_a_published_figure_no_amount_is_said():
    (line,) = told(field(grass="native_warm_season"), ("2026-06-05", "hay", 12), rules=REMOVAL)
    assert line.endswith("is not known here, so no amount is said.")


def test_of_a_grass_with_k2o_alone_only_k2o_is_told():
    line = told(field(grass="bahiagrass"), ("2026-06-05", "hay", 12), rules=REMOVAL)[0]
    assert "of K2O an acre." in line
    assert " of N" not in line


def test_nothing_is_told_of_a_field_without_hay_and_k_sample():
    assert told(field()) == []


LAB = {"soil_k_origin": "lab", "soil_k_class": "low"}
OLD_K = (reason("soil_test_old", sample_date=pd.Timestamp("2024-01-15"), nutrients=("k",)),)
OLD_PH = (reason("soil_test_old", sample_date=pd.Timestamp("2020-01-15"), nutrients=("ph",)),)


@pytest.mark.parametrize(
    ("more", "wanted"),
    [
        (LAB, "replace"),
        (LAB | {"soil_k_class": "medium"}, "replace"),
        (LAB | {"soil_k_class": "enough"}, ""),
        (LAB | {"soil_k_class": ""}, ""),
        (LAB | {"soil_k_origin": "raster"}, ""),
        (LAB | {"flags": OLD_K}, ""),
        (LAB | {"flags": OLD_PH}, "replace"),
        (LAB | {"lab_k2o_kg_ha": 112.0}, "rate"),
        (LAB | {"lab_k2o_kg_ha": 112.0, "soil_k_class": "enough"}, "rate"),
        (LAB | {"lab_k2o_kg_ha": 112.0, "flags": OLD_K}, ""),
        (LAB | {"lab_k2o_kg_ha": 112.0, "soil_k_origin": ""}, ""),
        (LAB | {"lab_k2o_kg_ha": 0.0}, "none"),
    ],
)
def test_k_is_asked_for_by_a_fresh_lab_sample_alone_and_its_own_rate_goes_first(more, wanted):
    assert k2o_wanted(field(**more)).tolist() == [wanted]


def test_low_k_without_a_rate_asks_to_replace_what_the_hay_takes():
    with_hay, without = told(field(**LAB), ("2026-06-05", "hay", 12)), told(field(**LAB))
    assert with_hay[-1].startswith(
        "K is low and no laboratory rate is given: at the least, replace what the hay takes"
    )
    assert without == ["K is low and no laboratory rate is given: ask the laboratory for its rate."]


def test_the_laboratorys_rate_is_told_as_it_gave_it():
    # 140.1 kg/ha are 125 lb an acre: 1 lb/ac is 1.12085 kg/ha (NIST SP 811, appendix B).
    assert told(field(**LAB, lab_k2o_kg_ha=140.106))[-1] == (
        "The laboratory's rate for a year is 125 lb an acre of K2O (sample of 15 Jan 2026), less what was spread "
        "since. Split it as the laboratory says: UGA crop sheet 037 gives bermudagrass half in spring and half after "
        "the second or third cut."
    )


@given(low=st.floats(0, 27), more=st.floats(0, 30), rate=st.sampled_from(["k2o", "n", "p2o5", "s", "mg"]))
def test_more_hay_never_takes_less_and_the_range_is_the_right_way_round(low, more, rate):
    one = field()
    hay = pd.DataFrame({"taken_low_t_ha": [low], "taken_high_t_ha": [low + more]}, index=one.index)
    found = removal(one, hay, REMOVAL).iloc[0]
    assert found[f"{rate}_taken_low_kg_ha"] <= found[f"{rate}_taken_high_kg_ha"]


def test_hay_that_cannot_be_is_not_counted_and_buys_nothing():
    # 900 t on 4 ha: pounds or bales were typed.
    assert "check it in the season log" in told(field(), ("2026-06-05", "hay", 900))[0]
    one = field()
    hay = pd.DataFrame({"taken_low_t_ha": [225.0], "taken_high_t_ha": [225.0]}, index=one.index)
    assert removal(one, hay, REMOVAL).isna().all(axis=None)


def job(code, **more):
    values = {
        "grass_name": "hybrid bermudagrass", "last_cut_rule": True, "intent": "hay", "last_cut_date": pd.NaT,
        "green_up_date": pd.Timestamp("2026-03-20"), "watch_freeze_date": pd.NaT, "growth_end_date": pd.NaT,
        "freeze_cut": True, "killing_freeze_recorded_date": pd.NaT, "killing_freeze_date": pd.Timestamp("2026-11-03"),
        "flags": (), "to_sample": False, "soil_k_date": pd.Timestamp("2026-05-01"), "lime_t_ha": np.nan,
        "k2o_wanted": "rate",
    }  # fmt: skip
    row = pd.DataFrame([values | more], index=pd.Index(["a"], name="field_id"))
    days = {"last_nitrogen": date(2026, 9, 1), "spring_by": date(2027, 5, 15), "green_up": date(2027, 3, 20)}
    calendar = days | dict.fromkeys(["soil_sample_from", "soil_sample_by"], date(2026, 9, 30))
    return [one for one in tasks(row, calendar, calendar, date(2026, 8, 1)).iloc[0] if one.code == code]


@pytest.mark.parametrize(
    ("wanted", "code"), [("rate", "task_late_potassium"), ("replace", "task_late_potassium_ask")]
)
def test_late_potassium_is_4_to_6_weeks_before_the_fields_own_killing_freeze(wanted, code):
    # PPI Agri-Briefs, fall 2004, no. 5 (Snyder): 4 to 6 weeks before frost.
    (late,) = job(code, k2o_wanted=wanted)
    assert labels.sentence(late, "us").startswith("22 Sep to 6 Oct 2026, after the last cut: ")
    assert "killing-freeze date, 3 Nov" in labels.sentence(late, "us")


@pytest.mark.parametrize(
    "more", [{"k2o_wanted": ""}, {"k2o_wanted": "none"}, {"killing_freeze_date": pd.NaT}]
)
def test_late_potassium_needs_a_sample_that_asks_for_it_and_a_freeze_date(more):
    assert job("task_late_potassium", **more) == job("task_late_potassium_ask", **more) == []


@pytest.mark.parametrize(("wanted", "code"), [("rate", "_k"), ("replace", "_k"), ("none", ""), ("", "")])
def test_the_first_nitrogen_names_k_only_where_a_sample_asks_for_it(wanted, code):
    assert len(job(f"task_first_nitrogen{code}", k2o_wanted=wanted)) == 1


def test_the_last_nitrogen_names_whose_date_it_is():
    (last,) = job("task_last_nitrogen")
    assert labels.sentence(last, "us").startswith(
        "1 Sep 2026: no nitrogen after this. It is Arkansas's date;"
    )
