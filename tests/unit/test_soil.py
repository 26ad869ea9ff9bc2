from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import box
from spatial.agronomy.soil.flags import soil_flags

from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.soil.schemes import read_schemes
from spatial.inputs.tables import empty_table
from tests.unit.stands import fields_of, numbers_of

SCHEMES = read_schemes(Report())
ON = date(2026, 9, 8)


def samples(*rows):
    return checked(pd.DataFrame(rows), SOIL_TESTS, Source("tests.csv"), Report())


def flagged(tests=None, survey=None, grass="hybrid_bermudagrass"):
    fields = fields_of(grass=[grass])
    shapes = gpd.GeoDataFrame(fields, geometry=[box(-83.0, 33.0, -82.99, 33.01)], crs=4326)
    known = empty_table(SOIL_TESTS) if tests is None else tests
    return soil_flags(shapes, numbers_of(fields), known, survey, SCHEMES, ON).iloc[0]


def codes(row):
    return [flag.code for flag in row["flags"]]


def lab(**values):
    return {"field_id": "a", "sample_date": "2026-03-01"} | values


@pytest.mark.parametrize(
    ("ph", "code"),
    [(5.4, ["ph_very_low"]), (5.5, ["ph_low"]), (5.9, ["ph_low"]), (6.0, []), (7.0, []), (7.1, ["ph_high"])],
)
def test_a_lab_ph_is_flagged_against_the_grass_target(ph, code):
    # UGA AESL crop sheet 037: target 6.0 for Coastal bermudagrass hay.
    assert codes(flagged(samples(lab(ph=ph)))) == code


def test_bahiagrass_bears_a_lower_ph():
    assert codes(flagged(samples(lab(ph=5.6)), grass="bahiagrass")) == []


def test_the_newest_test_counts_and_later_ones_are_not_known_yet():
    row = flagged(
        samples(lab(ph=5.0, sample_date="2025-01-01"), lab(ph=6.2), lab(ph=4.5, sample_date="2026-10-01"))
    )
    assert (row["soil_ph"], row["soil_ph_origin"]) == (6.2, "lab")


def test_old_samples_are_said_to_be_old():
    old = lab(ph=6.5, k_mg_kg=200.0, extractant="Mehlich-3", sample_date="2023-01-01")
    flags = flagged(samples(old))["flags"]
    assert [flag.values["nutrient"] for flag in flags if flag.code == "soil_test_old"] == ["ph", "k"]


def test_an_extractant_without_a_scheme_is_not_rated():
    assert codes(flagged(samples(lab(ph=6.5, k_mg_kg=10.0, extractant="Olsen")))) == ["no_rating_scheme"]


def test_mehlich_1_without_its_soil_group_is_not_rated():
    assert codes(flagged(samples(lab(ph=6.5, k_mg_kg=10.0, extractant="Mehlich-1")))) == ["no_rating_scheme"]


def test_nutrients_are_rated_by_their_own_scheme():
    # 60 lb/ac K is low on the Coastal Plain (UGA crop sheet 037), and low by Mehlich-3 (Rutgers: 40 to 81).
    plain = lab(ph=6.5, k_mg_kg=30.0, extractant="Mehlich 1", soil_group="coastal plain")
    generic = lab(ph=6.5, k_mg_kg=30.0, extractant="Mehlich-3")
    assert codes(flagged(samples(plain))) == codes(flagged(samples(generic))) == ["k_low"]


def survey_of(*units):
    shapes = [box(west, 33.0, east, 33.01) for west, east, _ph in units]
    return gpd.GeoDataFrame({"map_unit": "x", "ph": [ph for *_x, ph in units]}, geometry=shapes, crs=4326)


def test_a_survey_value_only_asks_for_a_sample():
    row = flagged(survey=survey_of((-83.01, -82.98, 5.2)))
    assert codes(row) == ["sample_ph"] and row["soil_ph_origin"] == "survey"


def test_a_survey_value_is_weighted_by_area():
    row = flagged(survey=survey_of((-83.0, -82.9925, 5.0), (-82.9925, -82.99, 7.0)))
    assert row["soil_ph"] == pytest.approx(5.5, abs=1e-3)
    (flag,) = row["flags"]
    assert flag.values["cover_share"] == pytest.approx(0.75, abs=1e-3)


def test_a_lab_value_goes_before_the_survey():
    row = flagged(samples(lab(ph=6.4)), survey_of((-83.01, -82.98, 5.2)))
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
    assert codes(row) == ["no_rating_scheme"]
