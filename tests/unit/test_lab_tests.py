import csv
import io

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import box

from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report
from spatial.inputs.soil.lab_tests import read_soil_tests
from spatial.soil import Laboratory

FIELDS = gpd.GeoDataFrame(
    index=pd.Index(["a", "b"], name="field_id"),
    geometry=[box(-83.0, 33.0, -82.99, 33.01), box(-82.98, 33.0, -82.97, 33.01)],
    crs=4326,
)


@pytest.fixture
def read(tmp_path):
    """Return a call that reads one lab file of these lines: the tests, and what was told of them."""

    def reading(*lines, labs=None, columns=None, refused=()):
        path = tmp_path / "lab.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        report = Report()
        tests = read_soil_tests([path], {"columns": columns or {}}, FIELDS, report, labs or {})
        assert [problem.cause for problem in report.wrong] == list(refused)
        return tests, [str(problem) for problem in report.told]

    return reading


def water(*lines):
    """Return lines whose pH was measured in water, so that nothing is told of that."""
    heading, *rows = lines
    return [f"{heading},ph_method", *(f"{row},water" for row in rows)]


def test_an_impossible_ph_is_told_with_its_row_and_the_rest_of_the_row_is_kept(read):
    tests, told = read(*water("field_id,sample_date,ph,k_ppm", "a,2026-03-01,65,80", "b,2026-03-01,6.1,90"))
    assert np.isnan(tests["ph"][0]) and tests["k_mg_kg"].tolist() == [80, 90] and tests["ph"][1] == 6.1
    assert told == [
        "lab.csv: row 2, ph = '65': is not a possible number here, so left out. Soil pH: 2.5 to 10.5 as ph"
    ]


def test_a_negative_k_is_told_and_left_out(read):
    tests, told = read(*water("field_id,sample_date,k_lb_ac", "a,2026-03-01,-5"))
    assert np.isnan(tests["k_mg_kg"][0])
    assert len(told) == 1 and told[0].startswith(
        "lab.csv: row 2, k_lb_ac = '-5': is not a possible number here"
    )


def test_a_row_without_a_possible_day_is_left_out_and_told(read):
    tests, told = read(*water("field_id,sample_date,ph", "a,sometime,6.1", "b,2026-03-01,6.2"))
    assert tests["field_id"].tolist() == ["b"]
    assert len(told) == 1 and "row 2, sample_date = 'sometime'" in told[0]


def test_a_file_without_days_is_refused(read):
    read("field_id,ph", "a,6.1", refused=["is not there"])


@pytest.mark.parametrize(
    ("unit", "inside"), [("ppm", 80.0), ("mg/kg", 80.0), ("lb/ac", 40.0), ("lbs/acre", 40.0), ("Lb/A", 40.0)]
)
def test_a_bare_column_is_read_in_the_unit_that_the_row_says(read, unit, inside):
    # ppm x 2 = lb/ac: Penn State Agronomy Guide, section 2.
    tests, told = read("field_id,sample_date,k,unit", f"a,2026-03-01,80,{unit}")
    assert tests["k_mg_kg"][0] == inside and told == []


def test_rows_of_one_file_may_be_in_different_units(read):
    tests, told = read(
        "field_id,sample_date,k,unit", "a,2026-03-01,80,ppm", "b,2026-03-01,80,lb/ac", "a,2026-03-02,33,index"
    )
    assert tests["k_mg_kg"].tolist()[:2] == [80, 40] and tests["k_index"][2] == 33 and told == []


def test_without_a_unit_nothing_is_guessed(read):
    tests, told = read("field_id,sample_date,k,unit", "a,2026-03-01,80,", "b,2026-03-01,90,ppm")
    assert np.isnan(tests["k_mg_kg"][0]) and tests["k_mg_kg"][1] == 90
    (line,) = told
    assert line.startswith(
        "lab.csv: row 2: no unit for k, so not read. Say it in a column unit, or in [labs]: ppm"
    )


def test_an_unknown_unit_is_no_unit(read):
    tests, told = read("field_id,sample_date,k,unit", "a,2026-03-01,80,meq/100g")
    assert np.isnan(tests["k_mg_kg"][0])
    assert [line.split(":")[1] for line in told] == [" unit 'meq/100g'", " row 2"]


def test_the_laboratory_says_what_its_rows_do_not(read):
    labs = {"Hill Lab": Laboratory(unit="lb/ac", extractant="Mehlich-1", ph_method="water", depth_cm=15.0)}
    tests, told = read("field_id,sample_date,lab,ph,k", "a,2026-03-01,hill  lab,6.1,80", labs=labs)
    row = tests.iloc[0]
    assert (row["k_mg_kg"], row["extractant"], row["ph_method"], row["depth_cm"]) == (
        40,
        "Mehlich-1",
        "water",
        15,
    )
    assert told == []


def test_what_a_row_says_goes_before_its_laboratory(read):
    labs = {"Hill Lab": Laboratory(unit="lb/ac", extractant="Mehlich-1")}
    tests, _told = read(
        "field_id,sample_date,lab,extractant,k,unit", "a,2026-03-01,Hill Lab,Olsen,80,ppm", labs=labs
    )
    assert (tests["k_mg_kg"][0], tests["extractant"][0]) == (80, "Olsen")


def test_a_laboratory_that_region_toml_does_not_know_is_told_once(read):
    lines = ("field_id,sample_date,lab,k_ppm", "a,2026-03-01,Dale Lab,80", "b,2026-03-01,Dale Lab,90")
    tests, told = read(*lines, labs={"Hill Lab": Laboratory(extractant="Mehlich-1")})
    assert tests["extractant"].tolist() == ["", ""]
    (line,) = told
    assert line.startswith(
        "lab.csv: lab 'Dale Lab': is not among [labs], so only what its rows say is known."
    )
    assert line.endswith("known: Hill Lab")


def test_ph_in_calcium_chloride_is_brought_to_water(read):
    # +0.6: SERA-IEG-6 fact sheet 3.
    tests, told = read("field_id,sample_date,ph,ph_method", "a,2026-03-01,5.2,0.01 M CaCl2")
    assert tests["ph"][0] == pytest.approx(5.8) and tests["ph_method"][0] == "CaCl2 brought to water"
    assert len(told) == 1 and "brought to water by 0.6" in told[0]


def test_ph_that_the_laboratory_brought_to_water_stays(read):
    tests, told = read("field_id,sample_date,ph,ph_method", "a,2026-03-01,5.2,CaCl2 brought to water")
    assert tests["ph"][0] == 5.2 and told == []


def test_ph_by_a_method_that_is_not_known_is_not_used(read):
    tests, told = read("field_id,sample_date,ph,ph_method", "a,2026-03-01,5.2,KCl")
    assert np.isnan(tests["ph"][0]) and len(told) == 1 and "KCl" in told[0]


def test_a_column_that_is_mapped_is_read_by_its_own_unit_column(read):
    columns = {"k": "Potassium", "unit": "Units", "sample_date": "Taken"}
    tests, told = read("field_id,Taken,Potassium,Units", "a,2026-03-01,80,lb/ac", columns=columns)
    assert tests["k_mg_kg"][0] == 40 and told == []


def test_of_two_columns_the_one_with_its_unit_is_read(read):
    tests, told = read("field_id,sample_date,k,k_ppm,unit", "a,2026-03-01,1,80,lb/ac")
    assert tests["k_mg_kg"][0] == 80 and len(told) == 1 and "'k'" in told[0]


def test_a_sample_is_placed_by_its_point(read):
    tests, told = read(*water("lon,lat,sample_date,ph", "-82.975,33.005,2026-03-01,6", "-80,33,2026-03-01,6"))
    assert tests["field_id"].tolist() == ["b", ""]
    assert len(told) == 1 and "row 3" in told[0]


CELLS = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=12)
NAMES = [column.name for column in SOIL_TESTS] + ["k", "p", "k_lb_ac"]


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(st.lists(CELLS, min_size=len(NAMES), max_size=len(NAMES)), max_size=4))
def test_whatever_the_cells_hold_the_tests_are_possible(tmp_path, rows):
    file = io.StringIO()
    csv.writer(file).writerows([NAMES, *rows])
    path = tmp_path / "lab.csv"
    path.write_text(file.getvalue(), encoding="utf-8", newline="")
    tests = read_soil_tests([path], {}, FIELDS, Report(), {})
    assert tests["sample_date"].notna().all()
    assert tests["ph"].dropna().between(2.5, 11.1).all() and (tests["k_mg_kg"].dropna() >= 0).all()
