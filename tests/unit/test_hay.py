"""What the hay of a cut promises: a range from the height above the stubble, and its quality by interval."""

from dataclasses import fields

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maps import labels
from spatial.agronomy.hay import expected_hay, hay_quality, hay_reasons
from spatial.inputs.rules import read_hay_rules
from spatial.values import HayRules

RULES = read_hay_rules()
HYBRID = "hybrid_bermudagrass"


def hay_of(heights_cm, stubble_cm=10.16):
    heights = pd.Series(heights_cm, dtype=float)
    return expected_hay(heights, pd.Series(stubble_cm, index=heights.index), RULES)


def quality_of(*days, grass=HYBRID):
    interval = pd.Series(days, dtype=float)
    return hay_quality(interval, pd.Series(grass, index=interval.index), RULES)


def test_every_number_of_the_hay_has_its_source():
    assert set(RULES.sources) == {part.name for part in fields(HayRules)} - {"sources"}
    assert all(RULES.sources.values())


def test_10_in_over_4_in_of_stubble_are_1200_to_1800_lb_an_acre():
    # 200-300 lb of dry matter an acre-inch, from memory; 1 lb/ac = 1.12085 kg/ha (NIST SP 811, appendix B).
    row = hay_of([25.4]).iloc[0]
    assert row["hay_low_t_ha"] == pytest.approx(1.2 * 1.12085, rel=1e-5)
    assert row["hay_high_t_ha"] == pytest.approx(1.8 * 1.12085, rel=1e-5)


@pytest.mark.parametrize("height_in", [2, 4, 6, 6.9])
def test_less_than_3_in_above_the_stubble_gives_nothing(height_in):
    # "2-3 in is no measurable yield": common practice, no source.
    assert hay_of([height_in * 2.54]).iloc[0].tolist() == [0, 0]


def test_3_in_above_the_stubble_counts_though_inches_were_turned_to_cm():
    assert hay_of([7 * 2.54], 4 * 2.54)["hay_low_t_ha"].iloc[0] == pytest.approx(0.6 * 1.12085, rel=1e-5)


@pytest.mark.parametrize(("height_cm", "stubble_cm"), [(np.nan, 10.0), (30.0, np.nan)])
def test_an_unknown_height_or_stubble_gives_no_number(height_cm, stubble_cm):
    assert hay_of([height_cm], stubble_cm).isna().all(axis=None)


@given(st.floats(0, 200), st.floats(0, 50), st.floats(0, 50))
def test_a_taller_stand_never_gives_less_and_low_is_never_above_high(height_cm, more_cm, stubble_cm):
    hay = hay_of([height_cm, height_cm + more_cm], stubble_cm)
    assert (hay["hay_low_t_ha"] <= hay["hay_high_t_ha"]).all()
    assert (hay.iloc[0] <= hay.iloc[1] + 1e-9).all()


def test_quality_lies_on_straight_lines_between_the_published_intervals():
    middle = quality_of(28)
    ends = quality_of(21, 35)
    assert middle.iloc[0].tolist() == pytest.approx(ends.mean().tolist())


@pytest.mark.parametrize("days", [20, 50, 0, -3, np.nan])
def test_outside_of_the_published_intervals_quality_is_unknown(days):
    assert quality_of(days).isna().all(axis=None)


def test_quality_is_unknown_for_a_grass_that_nothing_was_published_of():
    assert quality_of(28, grass="bahiagrass").isna().all(axis=None)


def test_the_rows_keep_their_index_in_any_order():
    days = pd.Series([49.0, 21.0], index=["b", "a"])
    found = hay_quality(days, pd.Series(HYBRID, index=["b", "a"]), RULES)
    assert found.index.tolist() == ["b", "a"]
    assert found.loc["a", "digestibility_low_share"] > found.loc["b", "digestibility_low_share"]


def sentences_of(height_cm, interval_days, units):
    hay = hay_of([height_cm]).join(quality_of(interval_days)).assign(interval_days=interval_days)
    return labels.sentences(hay_reasons(hay).iloc[0], units)


def test_hay_is_told_as_a_range_in_the_units_of_the_region():
    assert "0.6 tons an acre to 0.9 tons an acre of dry matter" in sentences_of(25.4, np.nan, "us")
    assert "1.3 t/ha to 2.0 t/ha of dry matter" in sentences_of(25.4, np.nan, "metric")


def test_quality_is_told_with_its_interval_its_range_and_its_source():
    told = sentences_of(25.4, 35.0, "us")
    assert "35 days after the cut before, crude protein 9 % to 15 % and digestibility 58 % to 67 %" in told
    assert "J. Dairy Sci. 1965" in told


def test_what_is_unknown_is_not_told():
    assert sentences_of(np.nan, np.nan, "us") == ""
    assert sentences_of(12.0, np.nan, "us") == "What stands above the stubble gives no measurable hay."
