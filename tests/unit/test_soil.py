from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import box

from maps.labels import sentence
from spatial.agronomy.soil.known import known_soil
from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.soil.ground_rules import read_ground_rules
from spatial.inputs.soil.lime import read_lime_rules
from spatial.inputs.soil.removal_rules import read_removal_rules
from spatial.inputs.soil.schemes import read_schemes
from spatial.inputs.tables import empty_table
from spatial.notes import future_tests
from spatial.soil import Soil
from tests.unit.stands import fields_of, numbers_of

SCHEMES = read_schemes(Report())
ON = date(2026, 9, 8)


def samples(*rows):
    return checked(pd.DataFrame(rows), SOIL_TESTS, Source("tests.csv"), Report())


def soil_of(tests=None, survey=None, schemes=SCHEMES):
    return Soil(
        tests=empty_table(SOIL_TESTS) if tests is None else tests,
        survey=survey,
        rasters=(),
        schemes=schemes,
        lime=read_lime_rules({}, {}, Report(), None),
        ground=read_ground_rules(),
        removal=read_removal_rules(),
    )


def flagged(tests=None, survey=None, grass="hybrid_bermudagrass", schemes=SCHEMES):
    fields = fields_of(grass=[grass], area_ha=[100.0], growth_end_date=[pd.NaT])
    shapes = gpd.GeoDataFrame(fields, geometry=[box(-83.0, 33.0, -82.99, 33.01)], crs=4326)
    return known_soil(shapes, numbers_of(fields), soil_of(tests, survey, schemes), ON).iloc[0]


def codes(row):
    return [flag.code for flag in row["flags"]]


def lab(**values):
    """Return a test of this spring, its K enough by the generic levels unless said otherwise."""
    return {"field_id": "a", "sample_date": "2026-03-01"} | values


def whole(**values):
    return lab(**{"k_mg_kg": 200.0, "extractant": "Mehlich-3"} | values)


@pytest.mark.parametrize(
    ("ph", "code"),
    [(5.4, ["ph_very_low"]), (5.5, ["ph_low"]), (5.9, ["ph_low"]), (6.0, []), (7.0, []), (7.1, ["ph_high"])],
)
def test_a_lab_ph_is_flagged_against_the_grass_target(ph, code):
    # UGA AESL crop sheet 037: target 6.0 for Coastal bermudagrass hay.
    assert codes(flagged(samples(whole(ph=ph)))) == code


def test_bahiagrass_bears_a_lower_ph():
    # UF/IFAS, crop recommendations, forage grasses: target pH 5.5.
    assert codes(flagged(samples(whole(ph=5.5)), grass="bahiagrass")) == []
    assert codes(flagged(samples(whole(ph=5.4)), grass="bahiagrass")) == ["ph_low"]


def test_a_lab_sample_without_k_asks_for_the_test():
    assert codes(flagged(samples(lab(ph=6.5)))) == ["no_pk_test"]


def test_a_laboratorys_lime_rate_without_a_ph_is_kept_and_no_map_speaks_against_it():
    row = flagged(samples(lab(lime_t_ha=3.0)), survey=survey_of((-83.01, -82.98, 5.0)))
    assert (row["lime_t_ha"], row["soil_ph_origin"]) == (3.0, "survey")
    assert codes(row) == ["no_pk_test"]


def test_an_old_lime_rate_without_a_ph_leaves_the_field_to_be_sampled():
    row = flagged(samples(lab(lime_t_ha=3.0, sample_date="2022-01-01")))
    assert np.isnan(row["lime_t_ha"]) and codes(row) == ["sample_soil"]


def test_a_field_without_a_lab_sample_is_told_however_good_the_map():
    assert codes(flagged(survey=survey_of((-83.01, -82.98, 6.5)))) == ["no_lab_sample"]


def test_the_newest_test_counts_and_later_ones_are_not_known_yet():
    row = flagged(
        samples(lab(ph=5.0, sample_date="2025-01-01"), lab(ph=6.2), lab(ph=4.5, sample_date="2026-10-01"))
    )
    assert (row["soil_ph"], row["soil_ph_origin"]) == (6.2, "lab")


def test_tests_dated_after_the_plan_are_told_by_their_number():
    tests = samples(lab(ph=6.0), lab(ph=6.0, sample_date="2026-09-09"), lab(ph=6.0, sample_date="2027-09-09"))
    (note,) = future_tests(tests, pd.Index(["a"]), ON)
    assert sentence(note, "us") == "Lab tests dated after 8 Sep, which are not used: 2."
    assert list(future_tests(tests[:1], pd.Index(["a"]), ON)) == []


def test_old_samples_are_said_to_be_old():
    old = lab(ph=6.5, k_mg_kg=200.0, extractant="Mehlich-3", sample_date="2023-01-01")
    flags = flagged(samples(old))["flags"]
    assert [flag.values["nutrients"] for flag in flags if flag.code == "soil_test_old"] == [("ph", "k")]


def test_an_extractant_without_a_scheme_is_not_rated():
    assert codes(flagged(samples(lab(ph=6.5, k_mg_kg=10.0, extractant="Olsen")))) == ["no_rating_scheme"]


def test_mehlich_1_without_its_soil_group_is_not_rated():
    assert codes(flagged(samples(lab(ph=6.5, k_mg_kg=10.0, extractant="Mehlich-1")))) == ["no_soil_group"]


def test_nutrients_are_rated_by_their_own_scheme():
    # 60 lb/ac K is low on the Coastal Plain (UGA crop sheet 037), and low by Mehlich-3 (Rutgers: 40 to 81).
    plain = lab(ph=6.5, k_mg_kg=30.0, extractant="Mehlich 1", soil_group="coastal plain")
    generic = lab(ph=6.5, k_mg_kg=30.0, extractant="Mehlich-3")
    assert codes(flagged(samples(plain))) == codes(flagged(samples(generic))) == ["k_low"]


def survey_of(*units):
    shapes = [box(west, 33.0, east, 33.01) for west, east, _ph in units]
    values = {"map_unit": "x", "ph": [ph for *_x, ph in units], "drainage": "", "slope_share": np.nan}
    return gpd.GeoDataFrame(values, geometry=shapes, crs=4326)


def test_a_survey_value_only_asks_for_a_sample():
    row = flagged(survey=survey_of((-83.01, -82.98, 5.2)))
    assert codes(row) == ["sample_ph"] and row["soil_ph_origin"] == "survey"


def test_a_survey_value_is_weighted_by_area():
    row = flagged(survey=survey_of((-83.0, -82.9925, 5.0), (-82.9925, -82.99, 7.0)))
    assert row["soil_ph"] == pytest.approx(5.5, abs=1e-3)
    (flag,) = row["flags"]
    assert flag.values["low_share"] == pytest.approx(0.75, abs=1e-3)


def test_a_lab_value_goes_before_the_survey():
    row = flagged(samples(whole(ph=6.4)), survey_of((-83.01, -82.98, 5.2)))
    assert (row["soil_ph"], row["soil_ph_origin"], codes(row)) == (6.4, "lab", [])


def test_no_soil_information_at_all_is_no_flag_on_every_field():
    row = flagged()
    assert codes(row) == [] and np.isnan(row["soil_ph"])


def test_a_field_off_the_survey_asks_for_a_sample():
    assert codes(flagged(survey=survey_of((-84.0, -83.9, 5.2)))) == ["sample_soil"]


def test_a_later_test_of_another_nutrient_hides_nothing():
    later = lab(sample_date="2026-05-01", k_mg_kg=30.0, extractant="Mehlich-3")
    row = flagged(samples(lab(ph=5.1), later))
    assert (row["soil_ph"], row["soil_ph_origin"]) == (5.1, "lab")
    assert codes(row) == ["ph_very_low", "k_low"]


def test_two_extractants_of_one_day_are_never_averaged_and_their_order_does_not_count():
    one = lab(ph=6.5, k_mg_kg=45.0, extractant="Mehlich-1", soil_group="piedmont")
    other = lab(ph=6.5, k_mg_kg=145.0, extractant="Mehlich-3")
    assert codes(flagged(samples(one, other))) == codes(flagged(samples(other, one))) == ["k_low"]


@pytest.mark.parametrize(("days", "code"), [(365, []), (366, ["soil_test_old"])])
def test_potassium_is_old_after_a_year(days, code):
    sampled = f"{pd.Timestamp(ON) - pd.Timedelta(days=days):%Y-%m-%d}"
    assert (
        codes(flagged(samples(lab(k_mg_kg=300.0, extractant="Mehlich-3", sample_date=sampled), lab(ph=6.5))))
        == code
    )


def test_a_bermudagrass_scheme_rates_no_other_grass():
    row = flagged(
        samples(lab(ph=6.5, k_mg_kg=30.0, extractant="Mehlich-1", soil_group="piedmont")), grass="bahiagrass"
    )
    assert codes(row) == ["no_scheme_for_grass"]


def test_a_field_with_a_lab_ph_takes_its_k_from_the_lab_alone():
    row = flagged(samples(lab(ph=6.4, k_mg_kg=30.0, k2o_kg_ha=100.0, extractant="Mehlich-3")))
    assert (row["soil_k_class"], row["soil_k_origin"], row["lab_k2o_kg_ha"]) == ("low", "lab", 100.0)
    assert (row["soil_p_class"], row["soil_p_origin"]) == ("", "")


def test_zones_give_the_field_their_mean_by_area_and_the_lowest_is_named():
    upper = lab(zone="hill", zone_area_ha=3.0, ph=6.0, k_mg_kg=80.0, extractant="Mehlich-3")
    lower = lab(zone="bottom", zone_area_ha=1.0, ph=5.0, k_mg_kg=20.0, extractant="Mehlich-3")
    row = flagged(samples(upper, lower))
    assert row["soil_ph"] == pytest.approx(5.75)
    assert (row["soil_ph_least"], row["soil_ph_greatest"]) == (5.0, 6.0)
    # 65 mg/kg on average is 130 lb/ac, medium; 20 is 40, very low (Rutgers NJAES, generic Mehlich-3).
    assert row["soil_k_rating"] == "medium"
    assert [flag.values["zone"] for flag in row["flags"] if flag.code == "zone_low"] == ["bottom"]


def test_a_sample_of_another_depth_is_said():
    row = flagged(samples(lab(ph=6.4, k_mg_kg=200.0, extractant="Mehlich-3", depth_cm=5.0)))
    assert codes(row) == ["sample_depth"]


@pytest.mark.parametrize(
    ("ph", "name"), [(5.4, "very_low"), (5.5, "low"), (6.0, "enough"), (7.0, "enough"), (7.1, "high")]
)
def test_a_ph_has_a_class(ph, name):
    assert flagged(samples(lab(ph=ph)))["soil_ph_class"] == name


def test_a_mapped_ph_of_the_target_on_some_land_only_still_asks_for_a_sample_of_the_rest():
    row = flagged(survey=survey_of((-83.0, -82.995, 6.5), (-82.995, -82.99, 5.8)))
    (flag,) = row["flags"]
    assert (flag.code, flag.values["mapped_ph"][1]) == ("sample_ph", 5.8)
    assert row["soil_ph_class"] == "enough" and np.isnan(row["lime_t_ha"]) and row["lime"] == ()


def test_the_mean_of_many_zones_at_the_target_is_not_below_it():
    zones = [whole(zone=str(place), zone_area_ha=float(place), ph=6.0) for place in range(1, 7)]
    assert codes(flagged(samples(*zones))) == []


def test_low_mg_without_lime_gets_what_its_sheet_says():
    # UGA AESL crop sheet 037: Mg low and lime not recommended, 25 lb of Mg an acre; with lime, dolomitic limestone.
    said = {"k_mg_kg": 200.0, "mg_mg_kg": 10.0, "extractant": "Mehlich-1", "soil_group": "coastal plain"}
    (flag,) = flagged(samples(lab(ph=6.5, **said)))["flags"]
    assert (flag.code, round(flag.values["mg_kg_ha"] / 1.120851)) == ("mg_low_no_lime", 25)
    acid = lab(ph=5.0, buffer="Adams-Evans", buffer_ph=7.6, ph_method="water", **said)
    assert "mg_low_dolomite" in codes(flagged(samples(acid)))
