"""Hay quality and winter hay need against published tables and worked examples, in their own units."""

from dataclasses import replace

import pandas as pd
import pytest

from spatial.agronomy.hay import expected_hay, hay_quality
from spatial.agronomy.hay_need import hay_need
from spatial.inputs.rules import read_hay_rules
from spatial.units import WRITTEN, farmer_units

RULES = read_hay_rules()
KG_PER_LB = 0.45359237  # NIST Special Publication 811 (2008), appendix B.8
NO_FIELDS = pd.DataFrame(
    {"client": [""], "area_ha": 0.0, "hay_low_t_ha": 0.0, "hay_high_t_ha": 0.0, "may_be_cut": False}
)


def quality_pct(days):
    interval = pd.Series([float(days)])
    found = hay_quality(interval, pd.Series(["hybrid_bermudagrass"]), RULES)
    return (100 * found).iloc[0]


@pytest.mark.parametrize(
    ("weeks", "crude_protein_pct", "digestibility_pct"), [(3, 15.3, 65.9), (5, 11.8, 60.7), (7, 10.8, 56.6)]
)
def test_coastal_at_3_5_and_7_weeks_lies_where_the_error_says(weeks, crude_protein_pct, digestibility_pct):
    # J. Dairy Sci. 1965, 48:209-212: Coastal, 400 lb of N an acre. The errors, 3.2 points of protein both ways, 3.1
    # points of digestibility below and 6.6 above, are computed (see rules/hay.toml).
    found = quality_pct(7 * weeks)
    assert found["crude_protein_low_share"] + 3.2 == pytest.approx(crude_protein_pct)
    assert found["crude_protein_high_share"] - 3.2 == pytest.approx(crude_protein_pct)
    assert found["digestibility_low_share"] + 3.1 == pytest.approx(digestibility_pct)
    assert found["digestibility_high_share"] - 6.6 == pytest.approx(digestibility_pct)


@pytest.mark.parametrize(
    ("cultivar", "weeks", "digestibility_pct"),
    [("Coastal", 4, 61.15), ("Coastal", 6, 55.55), ("Tifton 85", 4, 68.57), ("Tifton 85", 6, 65.24)],
)
def test_the_range_holds_what_another_trial_found(cultivar, weeks, digestibility_pct):
    # UGA impact statement 1341: fall growth of 2004 in Tifton, Georgia, digestibility in vitro.
    found = quality_pct(7 * weeks)
    low, high = found["digestibility_low_share"], found["digestibility_high_share"]
    assert low - 1e-9 <= digestibility_pct <= high + 1e-9, cultivar


def need_lb(herd, weight_lb, days, intake=0.025, dry_matter=1.0, waste=0.0):
    rules = replace(RULES, intake_share=intake, dry_matter_share=dry_matter, waste_share=waste)
    clients = pd.DataFrame(
        {
            "client": ["a"], "herd": [herd], "body_weight_kg": [weight_lb * KG_PER_LB], "feeding_days": [days],
            "stored_hay_t": [0.0], "hay_is_short": [False],
        }
    )  # fmt: skip
    return hay_need(clients, NO_FIELDS, rules)["need_t"].iloc[0] * 1000 / KG_PER_LB


@pytest.mark.parametrize(
    ("herd", "weight_lb", "printed_lb"),
    [(100, 1400, 525_000), (20, 1000, 75_000), (25, 700, 65_625), (6, 2000, 45_000)],
)
def test_dry_matter_of_150_days_is_as_schwab_and_lippolis_print_it(herd, weight_lb, printed_lb):
    # Schwab and Lippolis, Iowa State Univ., beefmagazine.com 2019-09-16: 2.5 % of body weight, 150 days.
    assert need_lb(herd, weight_lb, 150) == pytest.approx(printed_lb)


def test_a_herd_is_fed_as_meusch_prints_it_up_to_the_waste():
    # Meusch, Univ. of Missouri Extension, hpj.com: 50 cows of 1300 lb, 3 %, 85 % dry matter, 99 days: "about 2300
    # lb a day", "about 114 tons".
    assert need_lb(50, 1300, 1, intake=0.03, dry_matter=0.85) == pytest.approx(2300, abs=10)
    assert need_lb(50, 1300, 99, intake=0.03, dry_matter=0.85) / 2000 == pytest.approx(114, abs=1)


def test_the_need_with_waste_differs_from_meuschs_by_convention():
    # The same example prints 137 tons with 20 % of waste: it multiplies by 1.2, so that a fifth of what is eaten is
    # wasted. Here waste is a share of what is laid up, so the need is divided by 0.8: 142 tons. The row stays.
    found = need_lb(50, 1300, 99, intake=0.03, dry_matter=0.85, waste=0.20) / 2000
    assert found == pytest.approx(142, abs=0.5)
    assert found * 0.8 * 1.2 == pytest.approx(137, abs=1)


def test_hay_acres_are_as_hancock_prints_them():
    # Hancock, Progressive Forage, "Consider field efficiency ...": 100 cows of 1300 lb, 2.5 %, 100 days: 1.8 tons a
    # day, 180 tons, and with 20 % of loss at least 38 acres of 6 tons. His loss is ours: 180 / 0.8 / 6 = 37.5.
    # 1.625 tons of dry matter a day are 1.8 tons where 90 % is dry matter (computed).
    assert need_lb(100, 1300, 1, dry_matter=0.9) / 2000 == pytest.approx(1.8, abs=0.05)
    assert need_lb(100, 1300, 100, dry_matter=0.9) / 2000 == pytest.approx(180, abs=1)
    assert need_lb(100, 1300, 100, dry_matter=0.9, waste=0.2) / 2000 / 6 == pytest.approx(37.5, abs=0.5)


def test_a_cow_is_fed_about_30_lb_a_day_as_selk_prints_it():
    # Selk, Oklahoma State Univ., in Hay & Forage Grower, Nov 2017: 1200 lb, 2 % is 24 lb of dry matter, about 26 lb
    # of hay of 92 % dry matter, and about 30 lb with 15 % of waste.
    assert need_lb(1, 1200, 1, intake=0.02) == pytest.approx(24)
    assert need_lb(1, 1200, 1, intake=0.02, dry_matter=0.92) == pytest.approx(26, abs=0.5)
    assert need_lb(1, 1200, 1, intake=0.02, dry_matter=0.92, waste=0.15) == pytest.approx(30, abs=1)


def test_150_cows_for_180_days_need_501_tons():
    # Computed by hand, not published: 405 tons of dry matter, 476 at 85 % dry matter, 501 with 5 % of waste.
    assert need_lb(150, 1200, 180) / 2000 == pytest.approx(405)
    assert need_lb(150, 1200, 180, dry_matter=0.85) / 2000 == pytest.approx(476, abs=0.5)
    assert need_lb(150, 1200, 180, dry_matter=0.85, waste=0.05) / 2000 == pytest.approx(501.5, abs=0.1)


def test_an_acre_inch_and_a_short_ton_are_the_usual_ones():
    # NIST Special Publication 811 (2008), appendix B.8: 1 lb = 0.45359237 kg, 1 short ton = 907.18474 kg,
    # 1 in = 2.54 cm, 1 acre = 0.404687 ha.
    assert farmer_units(KG_PER_LB, "_kg", "_lb") == pytest.approx(1)
    assert farmer_units(0.90718474, "_t", "_tons") == pytest.approx(1)
    assert WRITTEN["_tons_ac"][1] == pytest.approx(2.2417, abs=1e-4)
    assert farmer_units(110.320, "_kg_ha_cm", "_lb_ac_in") == pytest.approx(250, abs=1e-3)


def test_10_in_over_a_4_in_stubble_are_six_to_nine_tenths_of_a_ton_of_dry_matter():
    # 200-300 lb of dry matter an acre-inch: from memory, no source.
    hay = expected_hay(pd.Series([25.4]), pd.Series([10.16]), RULES)
    found = [farmer_units(hay[name].iloc[0], "_t_ha", "_tons_ac") for name in hay]
    assert found == pytest.approx([0.6, 0.9])
