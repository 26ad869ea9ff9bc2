"""What the units promise."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spatial.units import WRITTEN, farmer_units, written_names


@pytest.mark.parametrize(
    ("written", "value", "inside", "expected"),
    [
        # NIST Special Publication 811 (2008), appendix B.8; survey foot and international foot agree to 2 ppm.
        ("height_in", 1, "height_cm", 2.54),
        ("width_ft", 1, "width_m", 0.3048),
        ("speed_mph", 1, "speed_km_h", 1.609344),
        ("area_ac", 1, "area_ha", 0.40468564224),
        # Water freezes at 32 F = 0 C and boils at 212 F = 100 C.
        ("threshold_f", 32, "threshold_c", 0),
        ("threshold_f", 212, "threshold_c", 100),
        # ppm x 2 = lb/ac: Penn State Agronomy Guide, section 2.
        ("k_lb_ac", 150, "k_mg_kg", 75),
        ("k_ppm", 75, "k_mg_kg", 75),
        ("rain_chance_pct", 40, "rain_chance_share", 0.4),
    ],
)
def test_a_written_value_comes_in_as_its_source_says(written, value, inside, expected):
    factor, offset = written_names(inside)[written]
    assert value * factor + offset == pytest.approx(expected, abs=1e-9)


def test_a_difference_of_9_f_is_a_difference_of_5_c():
    factor, offset = written_names("cold_offset_c")["cold_offset_f"]
    assert (9 * factor, offset) == (pytest.approx(5.0), 0.0)


def test_the_inside_name_is_always_a_written_name():
    assert written_names("field_id") == {"field_id": (1.0, 0.0)}
    assert written_names("height_cm")["height_cm"] == (1.0, 0.0)


@given(st.sampled_from(sorted(WRITTEN)), st.floats(-1e6, 1e6))
def test_going_in_and_out_again_gives_the_written_value(written, value):
    inside, factor, offset = WRITTEN[written]
    assert farmer_units(value * factor + offset, inside, written) == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_a_unit_stays_itself():
    assert farmer_units(3.0, "_cm", "_cm") == 3.0


def test_a_pair_that_does_not_belong_together_is_refused():
    with pytest.raises(KeyError, match="_ha is not what _in"):
        farmer_units(1.0, "_ha", "_in")
