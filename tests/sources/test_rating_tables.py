"""Soil ratings against the limits of UGA AESL crop sheet 037 (Mehlich-1) and of Rutgers NJAES (Mehlich-3), lb/ac."""

import pytest

from spatial.agronomy.soil.rating_schemes import rating
from spatial.inputs.checks import Report
from spatial.inputs.soil.schemes import read_schemes
from spatial.units import written_names

WORDS = ("low", "medium", "high", "very high")

# Upper limits of low, medium and high, as printed. Magnesium is printed without a limit to high.
PRINTED = {
    ("coastal_plain", "k"): (60, 150, 250),
    ("coastal_plain", "p"): (30, 60, 100),
    ("coastal_plain", "mg"): (30, 60),
}
# One column for Piedmont, Mountain and Limestone Valley.
for upland in ("piedmont", "mountain", "limestone_valley"):
    PRINTED |= {(upland, "k"): (100, 200, 350), (upland, "p"): (20, 40, 75), (upland, "mg"): (60, 120)}
ROWS = [
    (group, nutrient, limit, WORDS[place], WORDS[place + 1])
    for (group, nutrient), limits in PRINTED.items()
    for place, limit in enumerate(limits)
]


@pytest.fixture(scope="module")
def sheet_037():
    schemes = [scheme for scheme in read_schemes(Report()) if scheme.scheme == "uga_037_mehlich1"]
    return {scheme.soil_group: scheme for scheme in schemes}


def mg_kg(nutrient, lb_ac):
    factor, offset = written_names(f"{nutrient}_mg_kg")[f"{nutrient}_lb_ac"]
    return lb_ac * factor + offset


@pytest.mark.parametrize(("group", "nutrient", "limit", "at", "above"), ROWS)
def test_a_limit_belongs_to_the_rating_below_it_and_one_more_to_the_next(
    sheet_037, group, nutrient, limit, at, above
):
    assert rating(sheet_037[group], nutrient, mg_kg(nutrient, limit)) == at
    assert rating(sheet_037[group], nutrient, mg_kg(nutrient, limit + 1)) == above


@pytest.mark.parametrize(("group", "nutrient"), PRINTED)
def test_nothing_at_all_is_low(sheet_037, group, nutrient):
    assert rating(sheet_037[group], nutrient, 0.0) == "low"


def test_the_sheet_covers_its_soil_groups_and_one_extractant(sheet_037):
    assert set(sheet_037) == {"coastal_plain", "piedmont", "mountain", "limestone_valley"}
    assert {scheme.extractant for scheme in sheet_037.values()} == {"Mehlich-1"}


# Rutgers NJAES, relative levels of nutrients: upper limits of very low, low, medium and high, which is optimum.
GENERIC = {"p": (24, 45, 71, 137), "k": (40, 81, 145, 277), "mg": (45, 83, 143, 295)}
LEVELS = ("very low", "low", "medium", "optimum", "above optimum")


@pytest.mark.parametrize(
    ("nutrient", "limit", "at", "above"),
    [
        (one, limit, *LEVELS[place : place + 2])
        for one, row in GENERIC.items()
        for place, limit in enumerate(row)
    ],
)
def test_the_generic_levels_are_those_printed(nutrient, limit, at, above):
    (generic,) = [scheme for scheme in read_schemes(Report()) if scheme.extractant == "Mehlich-3"]
    assert rating(generic, nutrient, mg_kg(nutrient, limit)) == at
    assert rating(generic, nutrient, mg_kg(nutrient, limit + 1)) == above
    assert "not southern" in generic.name
