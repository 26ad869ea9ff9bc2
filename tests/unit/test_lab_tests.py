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
from spatial.soil import Laboratory, LimeMethod, LimeRules

FIELDS = gpd.GeoDataFrame(
    index=pd.Index(["a", "b"], name="field_id"),
    geometry=[box(-83.0, 33.0, -82.99, 33.01), box(-82.98, 33.0, -82.97, 33.01)],
    crs=4326,
)

# Exchangeable H is (8.00 - buffer pH) * 8 (UGA AESL method page): no sample reads over 8. NCDA&CS: none over 6.6.
ADAMS_EVANS = LimeMethod(
    "adams", "Adams-Evans", ("Adams-Evans",), "", least_buffer_ph=6.0, most_buffer_ph=8.0
)
MEHLICH = LimeMethod("mehlich", "Mehlich", ("Mehlich",), "", least_buffer_ph=4.0, most_buffer_ph=6.6)


@pytest.fixture
def read(tmp_path):
    """Return a call that reads one lab file of these lines: the tests, and what was told of them."""

    def reading(*lines, labs=None, columns=None, refused=()):
        path = tmp_path / "lab.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        report = Report()
        rules = LimeRules((ADAMS_EVANS, MEHLICH), labs or {})
        tests = read_soil_tests([path], {"columns": columns or {}}, FIELDS, report, rules)
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
    ("unit", "inside"),
    [
        ("ppm", 80.0),
        ("mg/kg", 80.0),
        ("lb/ac", 40.0),
        ("lbs/acre", 40.0),
        ("Lb/A", 40.0),
        ("lbs per acre", 40.0),
    ],
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


@pytest.mark.parametrize("unit", ["meq/100g", "mg/dm3"])  # of a volume of soil, whose weight is not known
def test_an_unknown_unit_is_no_unit(read, unit):
    tests, told = read("field_id,sample_date,k,unit", f"a,2026-03-01,80,{unit}")
    assert np.isnan(tests["k_mg_kg"][0])
    (line,) = told
    assert line.startswith(
        f"lab.csv: row 2: unit '{unit.lower()}' is not known for k, so not read. Say it in a column"
    )


def test_a_unit_that_is_not_available_is_the_laboratorys(read):
    labs = {"Hill Lab": Laboratory(unit="lb/ac")}
    tests, told = read("field_id,sample_date,lab,k,unit", "a,2026-03-01,Hill Lab,80,N/A", labs=labs)
    assert tests["k_mg_kg"][0] == 40 and told == []


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


@pytest.mark.parametrize(
    "method", ["1:2 water", "soil:water 1:1", "distilled water", "H\u2082O", "pHw", "equivalent water pH"]
)
def test_ph_in_water_is_known_under_its_usual_names(read, method):
    tests, told = read("field_id,sample_date,ph,ph_method", f"a,2026-03-01,5.2,{method}")
    assert (tests["ph"][0], tests["ph_method"][0]) == (5.2, "water") and told == []


# Whether CaCl2 in water was brought to water nobody can tell from these words.
@pytest.mark.parametrize("method", ["KCl", "1 M KCl in water", "salt", "0.01 M CaCl2 in water"])
def test_ph_by_a_method_that_is_not_known_is_not_used(read, method):
    tests, told = read("field_id,sample_date,ph,ph_method", f"a,2026-03-01,5.2,{method}")
    assert np.isnan(tests["ph"][0]) and len(told) == 1 and method in told[0]


@pytest.mark.parametrize("unsaid", ["", "N/A", "-"])
def test_ph_whose_method_is_not_said_is_kept_and_told(read, unsaid):
    tests, told = read("field_id,sample_date,ph,ph_method", f"a,2026-03-01,5.2,{unsaid}")
    assert (tests["ph"][0], tests["ph_method"][0]) == (5.2, "")
    assert len(told) == 1 and told[0].startswith("lab.csv: row 2: how pH was measured is not said")


def test_a_buffer_ph_that_its_buffer_cannot_read_is_told_and_left_out(read):
    header = "field_id,sample_date,buffer,buffer_ph"
    tests, told = read(header, "a,2026-03-01,adams evans,8.2", "b,2026-03-01,Mehlich,6.3")
    assert np.isnan(tests["buffer_ph"][0]) and tests["buffer_ph"][1] == 6.3
    (line,) = told
    assert line.startswith(
        "lab.csv: row 2, buffer_ph = 8.2: cannot be in the buffer 'adams evans', so left out. It reads 6 to 8:"
    )


def test_a_buffer_ph_is_judged_by_the_buffer_of_its_laboratory(read):
    labs = {"Hill Lab": Laboratory(buffer="Mehlich")}
    tests, told = read("field_id,sample_date,lab,buffer_ph", "a,2026-03-01,Hill Lab,7.4", labs=labs)
    assert np.isnan(tests["buffer_ph"][0]) and len(told) == 1 and "'Mehlich'" in told[0]


@pytest.mark.parametrize("buffer", ["", "Woodruff"])
def test_a_buffer_ph_of_a_buffer_that_no_method_names_is_not_judged(read, buffer):
    header = "field_id,sample_date,buffer,buffer_ph"
    tests, told = read(header, f"a,2026-03-01,{buffer},8.2", f"b,2026-03-01,{buffer},9.4")
    assert tests["buffer_ph"][0] == 8.2 and np.isnan(tests["buffer_ph"][1])
    assert len(told) == 1 and "row 3, buffer_ph = '9.4'" in told[0]


def test_trailing_commas_are_not_a_word_and_give_no_values(read):
    tests, told = read("field_id,sample_date,k_ppm,,", "a,2026-03-01,80,,", "b,2026-03-01,90")
    assert tests["k_mg_kg"].tolist() == [80, 90] and told == []
    assert tests[["p_mg_kg", "mg_mg_kg", "p_index", "mg_index"]].isna().all(axis=None)


def test_a_column_without_a_heading_is_told_and_is_no_nutrient(read):
    labs = {"Hill Lab": Laboratory(unit="ppm")}
    tests, told = read(
        "field_id,sample_date,lab,ph,ph_method,", "a,2026-03-01,Hill Lab,6.1,water,80", labs=labs
    )
    assert tests[["p_mg_kg", "k_mg_kg", "mg_mg_kg"]].isna().all(axis=None)
    assert told == ["lab.csv: column 6: has no heading, so it was not read. Name it, or remove it"]


@pytest.mark.parametrize(
    "lines",
    [
        ("a,,,2026-03-01,80", "b,,,2026-03-01,90"),  # its first row is a sample
        ("field_id,,,sample_date,k_ppm", "a,1,2,2026-03-01,80"),
    ],
)
def test_a_file_without_its_heading_line_is_refused_by_one_line(read, lines):
    read(*lines, refused=["has no heading line"])


def test_a_file_of_strange_headings_is_refused_by_one_line(read):
    read("Feld,Tag,Kalium", "a,2026-03-01,80", refused=["has no column that lastcut knows"])


@pytest.mark.parametrize(("heading", "unit"), [("k_ppm", "lb/ac"), ("k_lb_ac", "ppm"), ("k_ppm", "kg/ha")])
def test_a_unit_that_contradicts_the_heading_is_told_and_the_value_not_read(read, heading, unit):
    rows = (f"a,2026-03-01,80,{unit}", "b,2026-03-01,,ppm")
    tests, told = read(f"field_id,sample_date,{heading},unit", *rows)
    assert tests["k_mg_kg"].isna().all()
    (line,) = told
    assert line.startswith(
        f"lab.csv: row 2: unit '{unit}' contradicts the heading {heading}, so not read. Ask"
    )


def test_a_unit_that_agrees_with_the_heading_is_no_word(read):
    tests, told = read("field_id,sample_date,k_lb_ac,unit", "a,2026-03-01,80,lbs/acre", "b,2026-03-01,90,")
    assert tests["k_mg_kg"].tolist() == [40, 45] and told == []


def test_a_unit_beside_a_column_without_one_is_that_columns(read):
    tests, told = read("field_id,sample_date,p_ppm,k,unit", "a,2026-03-01,20,80,lb/ac")
    assert (tests["p_mg_kg"][0], tests["k_mg_kg"][0]) == (20, 40) and told == []


def test_a_column_mapped_with_its_unit_is_read_without_a_word(read):
    tests, told = read("field_id,sample_date,K", "a,2026-03-01,80", columns={"k_lb_ac": "K"})
    assert tests["k_mg_kg"][0] == 40 and told == []


def test_a_column_that_is_mapped_for_two_of_ours_is_refused(read):
    columns = {"ph": "PH", "buffer_ph": "PH"}
    read("field_id,sample_date,PH", columns=columns, refused=["stands for 'buffer_ph' and 'ph'"])


def test_a_column_that_is_mapped_is_read_by_its_own_unit_column(read):
    columns = {"k": "Potassium", "unit": "Units", "sample_date": "Taken"}
    tests, told = read("field_id,Taken,Potassium,Units", "a,2026-03-01,80,lb/ac", columns=columns)
    assert tests["k_mg_kg"][0] == 40 and told == []


def test_a_bare_column_that_is_mapped_and_not_there_is_refused(read):
    read(
        "field_id,sample_date,ph_method",
        "a,2026-03-01,",
        columns={"k": "Potassium"},
        refused=["is not there"],
    )


def test_a_zone_that_is_not_available_is_the_whole_field(read):
    tests, told = read("field_id,sample_date,zone,k_ppm", "a,2026-03-01,N/A,80")
    assert tests["zone"][0] == "" and told == []


def test_of_two_columns_the_one_with_its_unit_is_read(read):
    tests, told = read("field_id,sample_date,k,k_ppm,unit", "a,2026-03-01,1,80,lb/ac")
    assert tests["k_mg_kg"][0] == 80 and len(told) == 1 and "'k'" in told[0]


@pytest.mark.parametrize("columns", [{}, {"k_ppm": "K in ppm"}])
def test_an_empty_column_with_a_unit_hides_no_filled_one_without(read, columns):
    twin = columns.get("k_ppm", "k_ppm")
    header = f"field_id,sample_date,{twin},k_index,k,unit"
    tests, told = read(header, "a,2026-03-01,,,80,lb/ac", columns=columns)
    assert tests["k_mg_kg"][0] == 40 and told == []


def test_a_file_with_a_heading_alone_has_no_tests(read):
    tests, told = read("field_id,sample_date,k,unit")
    assert tests.empty and list(tests) == [column.name for column in SOIL_TESTS] and told == []


def test_a_sample_is_placed_by_its_point(read):
    tests, told = read(*water("lon,lat,sample_date,ph", "-82.975,33.005,2026-03-01,6", "-80,33,2026-03-01,6"))
    assert tests["field_id"].tolist() == ["b", ""]
    assert len(told) == 1 and "row 3" in told[0]


WORDS = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=12)
CELLS = WORDS | st.sampled_from(
    ["65", "-5", "1e999", "nan", "<1", "CaCl2", "KCl", "lb/ac", "index", "2026-13-01"]
)
SOUND = dict.fromkeys((column.name for column in SOIL_TESTS), "") | {
    "field_id": "a", "sample_date": "2026-03-01", "lab": "Hill Lab", "ph": "6.1", "ph_method": "water", "k": "80",
}  # fmt: skip
SPOILED = st.dictionaries(st.sampled_from(sorted(SOUND)), CELLS, max_size=4)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(SPOILED, max_size=4))
def test_whatever_the_cells_hold_the_tests_are_possible(tmp_path, spoiled):
    file = io.StringIO()
    csv.writer(file).writerows([list(SOUND), *((SOUND | row).values() for row in spoiled)])
    path = tmp_path / "lab.csv"
    path.write_text(file.getvalue(), encoding="utf-8", newline="")
    labs = {"Hill Lab": Laboratory(unit="ppm", ph_method="CaCl2", extractant="Mehlich-1")}
    tests = read_soil_tests([path], {}, FIELDS, Report(), LimeRules((ADAMS_EVANS,), labs))
    assert tests["sample_date"].notna().all()
    assert (
        tests["ph"].dropna().between(2.5, 11.1).all() and tests["k_mg_kg"].dropna().between(0, 10_000).all()
    )
