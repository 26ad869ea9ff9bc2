"""Nutrients that hay takes, against printed amounts, in their own units."""

import pandas as pd
import pytest

from spatial.agronomy.soil.nutrients import removal
from spatial.inputs.soil.removal_rules import read_removal_rules
from spatial.inputs.soil.schemes import MG_KG_PER
from spatial.units import WRITTEN, farmer_units

RULES = read_removal_rules()


def range_lb_ac(tons_ac, nutrient, grass="hybrid_bermudagrass"):
    """Return what so many short tons an acre take, lowest and highest, in lb an acre."""
    t_ha = tons_ac * 0.90718474 / 0.40468564  # NIST Special Publication 811 (2008), appendix B.8
    fields = pd.DataFrame({"grass": [grass]}, index=["a"])
    hay = pd.DataFrame({"taken_low_t_ha": [t_ha], "taken_high_t_ha": [t_ha]}, index=["a"])
    found = removal(fields, hay, RULES).iloc[0]
    ends = (found[f"{nutrient}_taken_{end}_kg_ha"] for end in ("low", "high"))
    return [float(farmer_units(kg_ha, "k2o_kg_ha", "k2o_lb_ac")) for kg_ha in ends]


@pytest.mark.parametrize(
    ("nutrient", "printed_lb"), [("n", 350), ("p2o5", 85), ("k2o", 330), ("mg", 25), ("s", 40)]
)
def test_7_tons_take_what_usherwood_prints(nutrient, printed_lb):
    # PPI Agri-Briefs, summer 1997, no. 6: 7 tons of bermudagrass hay, "nearly 350" of N, 85 of P2O5, 330 of K2O, "about
    # 25" of Mg and 40 of S; rounded to 5 lb.
    low, high = range_lb_ac(7, nutrient)
    assert low - 2.5 <= printed_lb <= high + 2.5


@pytest.mark.parametrize(("nutrient", "printed_lb"), [("n", 300), ("p2o5", 80), ("k2o", 250)])
def test_6_tons_take_what_the_uga_forage_team_prints(nutrient, printed_lb):
    # UGA Forage Team, March 2023: 6 tons. 250 lb of K2O are 41.7 lb a ton, of which the range keeps 42: 2 lb more.
    low, high = range_lb_ac(6, nutrient)
    assert low - 2.5 <= printed_lb <= high + 2.5


def test_6_tons_take_300_lb_of_k2o_as_stewart_prints_it():
    # PPI Agri-Briefs, fall 2006, no. 6: about 50 lb a ton, "6 ton ... about 300 lb K2O".
    low, high = range_lb_ac(6, "k2o")
    assert low <= 300 <= high


def test_the_k2o_of_a_ton_of_bermudagrass_hay_is_42_to_54_lb():
    # Across the sources that were compared; see rules/removal.toml.
    assert range_lb_ac(1, "k2o") == pytest.approx([42, 54], rel=1e-6)
    assert range_lb_ac(1, "k2o", "common_bermudagrass") == pytest.approx([42, 54], rel=1e-6)


@pytest.mark.parametrize(("grass", "printed_lb"), [("bahiagrass", [35, 40]), ("dallisgrass", [40, 50])])
def test_a_ton_of_another_grass_takes_the_k2o_that_snyder_prints(grass, printed_lb):
    # PPI Agri-Briefs, fall 2004, no. 5: 35 to 40 lb a ton of bahiagrass, about 40 to 50 of dallisgrass.
    assert range_lb_ac(1, "k2o", grass) == pytest.approx(printed_lb, rel=1e-6)


@pytest.mark.parametrize("grass", ["native_warm_season", "pearl_millet", "sorghum_sudangrass"])
def test_what_no_source_gives_is_not_known(grass):
    assert pd.isna(range_lb_ac(1, "k2o", grass)).all()
    assert pd.isna(range_lb_ac(1, "n", "bahiagrass")).all()


def test_every_figure_has_its_source():
    assert {grass: set(said) for grass, said in RULES.sources.items()} == {
        grass: set(said) for grass, said in RULES.kg_t.items()
    }
    assert all(source for said in RULES.sources.values() for source in said.values())


def test_a_pound_an_acre_in_the_soil_is_half_a_part_in_a_million_and_to_spread_it_is_a_weight():
    # Penn State Agronomy Guide, section 2: ppm x 2 = lb/ac. NIST SP 811, appendix B: 1 lb/ac = 1.12085 kg/ha.
    assert WRITTEN["_lb_ac"][:2] == ("_mg_kg", 0.5)
    assert MG_KG_PER["lb/ac"] == pytest.approx(0.5)
    assert WRITTEN["k2o_lb_ac"][:2] == ("k2o_kg_ha", pytest.approx(1.12085, rel=1e-5))
