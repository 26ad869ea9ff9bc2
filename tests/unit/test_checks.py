"""What a checked table promises."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spatial.columns import CREWS, FIELDS, SOIL_TESTS, SURVEY, TABLES, Column
from spatial.inputs.checks import Report, Source, checked, first_line, listed, refuse_repeats
from tests.unit.making import lines_of, table

HEIGHT = Column("height_cm", "number", "canopy height", least=0, most=300)
DAY = Column("cut_date", "date", "day")
NAME = Column("name", "text", "name")
WEEDY = Column("weedy", "yes_no", "weedy")
INTENT = Column("intent", "text", "what for", choices=("hay", "left_alone"))
FILE = Source("fields.csv")


def read(raw, *columns, source=FILE, key=""):
    report = Report()
    return checked(raw, columns, source, report, key), report


def test_inches_come_in_as_centimetres():
    found, _ = read(table(height_in=["10", ""]), HEIGHT)
    assert found["height_cm"].iloc[0] == pytest.approx(25.4)
    assert np.isnan(found["height_cm"].iloc[1])


@pytest.mark.parametrize("heading", ["HEIGHT_IN", " Height_in "])
def test_a_heading_is_found_whatever_its_case_and_spaces(heading):
    found, _ = read(table(**{heading: ["10"]}), HEIGHT)
    assert found["height_cm"].iloc[0] == pytest.approx(25.4)


def test_a_mapping_gives_a_column_its_name_and_its_unit():
    found, report = read(table(HT=["10"]), HEIGHT, source=Source("f", {"height_in": "HT"}))
    assert found["height_cm"].iloc[0] == pytest.approx(25.4)
    assert report == Report()


def test_a_mapped_column_goes_before_one_of_the_same_name():
    found, _ = read(table(name=["old"], LABEL=["new"]), NAME, source=Source("f", {"name": "LABEL"}))
    assert found["name"].tolist() == ["new"]


def test_a_mapping_to_a_column_that_is_not_there_is_one_line():
    must = Column("ph", "number", "pH", required=True, least=2, most=10)
    _, report = read(table(PH=["6"]), must, source=Source("f.csv", {"ph": "PH_W"}))
    assert lines_of(report.wrong) == ["f.csv: column 'PH_W' for 'ph': is not there. The file has: PH"]


def test_a_mapping_of_an_unknown_column_names_the_known():
    _, report = read(table(a=["6"]), NAME, source=Source("f.csv", {"nmae": "a"}))
    assert lines_of(report.wrong) == [
        "region.toml: columns of f.csv: 'nmae' is not a column lastcut knows. Use one of: name"
    ]


def test_a_required_column_that_is_absent_is_refused_with_the_columns_that_are_there():
    _, report = read(table(A=["x"], B=["y"]), FIELDS[0])
    (line,) = lines_of(report.wrong)
    assert "column 'field_id': is not there" in line
    assert "A, B" in line


def test_an_absent_optional_column_comes_as_missing():
    found, report = read(table(other=["x"]), HEIGHT, DAY, NAME, WEEDY)
    assert found["height_cm"].isna().all()
    assert found["cut_date"].isna().all()
    assert found["name"].tolist() == [""]
    assert found["weedy"].tolist() == [False]
    assert report == Report()


def test_a_number_column_without_a_unit_is_not_guessed_at_but_told():
    found, report = read(table(height=["10"]), HEIGHT)
    assert found["height_cm"].isna().all()
    assert "column 'height': has no unit, so it was not read. Name it height_cm or height_in" in str(
        report.told[0]
    )


def test_of_two_units_of_one_thing_one_is_read_and_the_other_told():
    found, report = read(table(height_in=["10"], height_cm=["30"]), HEIGHT)
    assert found["height_cm"].tolist() == [30.0]
    assert "column 'height_in': was not read" in str(report.told[0])


@pytest.mark.parametrize("value", ["-1", "400", "tall", "12,5", "inf", "1e999", "=1+1"])
def test_an_impossible_number_is_refused_with_its_row_and_value(value):
    _, report = read(table(height_cm=["10", value]), HEIGHT)
    (problem,) = report.wrong
    assert problem.place == f"row 2, height_cm = {value!r}"
    assert problem.mend == "Canopy height: 0 to 300 as height_cm"


def test_the_range_is_said_in_the_unit_that_was_written():
    _, report = read(table(height_in=["119"]), HEIGHT)
    assert "0 to 118 as height_in" in str(report.wrong[0])


@pytest.mark.parametrize(
    ("column", "raw", "span"),
    [
        (
            Column("depth_cm", "number", "depth", least=1, most=100),
            {"depth_in": ["99"]},
            "0.4 to 39 as depth_in",
        ),
        (Column("k_mg_kg", "number", "K", least=0, most=10_000), {"k_ppm": ["-1"]}, "0 to 10,000 as k_ppm"),
        (Column("ph", "number", "pH", least=2.5, most=10.5), {"ph": ["65"]}, "2.5 to 10.5 as ph"),
    ],
)
def test_a_range_is_said_in_few_figures(column, raw, span):
    _, report = read(table(**raw), column)
    assert str(report.wrong[0]).endswith(span)


@pytest.mark.parametrize("value", ["NA", "n/a", "NaN", "null", " "])
def test_what_other_programs_write_for_missing_is_missing(value):
    found, report = read(table(height_cm=[value], cut_date=[value]), HEIGHT, DAY)
    assert found.isna().all(axis=None)
    assert report == Report()


@pytest.mark.parametrize(
    "value",
    [
        "2026-09-24",
        "2026-09-24 00:00:00",
        "2026-09-24T13:45",
        dt.date(2026, 9, 24),
        pd.Timestamp("2026-09-24 13:45"),
        pd.Timestamp("2026-09-24", tz="America/New_York"),
    ],
)
def test_a_day_is_read_as_that_midnight(value):
    found, report = read(table(cut_date=[value]), DAY)
    assert found["cut_date"].tolist() == [pd.Timestamp("2026-09-24")]
    assert report == Report()


def test_a_column_of_dates_is_read_as_it_is():
    raw = pd.DataFrame({"cut_date": pd.to_datetime(["2026-09-24", None])})
    found, _ = read(raw, DAY)
    assert found["cut_date"].tolist() == [pd.Timestamp("2026-09-24"), pd.NaT]


@pytest.mark.parametrize(
    "value",
    [
        "2026-02-30",
        "9/24/2026",
        "24.09.2026",
        "46289",
        "1889-01-01",
        "0001-01-01",
        "9999-12-31",
        "2026-09-241",
    ],
)
def test_an_impossible_or_doubtful_day_is_refused(value):
    _, report = read(table(cut_date=[value]), DAY)
    assert lines_of(report.wrong) == [
        f"fields.csv: row 1, cut_date = {value!r}: is not a possible date. Write dates as 2026-09-24"
    ]


def test_a_required_day_must_be_filled_in():
    _, report = read(table(sample_date=["", "2026-01-05"]), *SOIL_TESTS)
    assert [problem.place for problem in report.wrong] == ["row 1, sample_date = ''"]


@pytest.mark.parametrize("value", ["NA", "nan"])
def test_a_required_day_that_is_said_to_be_missing_is_refused(value):
    _, report = read(table(sample_date=[value]), *SOIL_TESTS)
    assert [problem.place for problem in report.wrong] == [f"row 1, sample_date = {value!r}"]


def test_a_default_fills_a_required_day_and_what_is_said_to_be_missing():
    source = Source("f", defaults={"sample_date": "2026-01-05", "ph": 6.0})
    found, report = read(table(sample_date=[""], ph=["NA"]), *SOIL_TESTS, source=source)
    assert found["sample_date"].tolist() == [pd.Timestamp("2026-01-05")]
    assert found["ph"].tolist() == [6.0]
    assert report.wrong == []


def test_a_required_number_may_be_missing_in_a_row():
    found, report = read(table(ph=["6.1", ""]), *SURVEY)
    assert found["ph"].isna().tolist() == [False, True]
    assert report.wrong == []


def test_whole_numbers_that_came_as_decimals_are_the_ids_they_were():
    raw = pd.DataFrame({"field_id": [12.0, 351623000000016.0, np.nan]})
    found, _ = read(raw, FIELDS[0])
    assert found["field_id"].tolist() == ["12", "351623000000016", ""]


def test_single_precision_ids_are_whole_too():
    found, _ = read(pd.DataFrame({"field_id": np.array([7], dtype="float32")}), FIELDS[0])
    assert found["field_id"].tolist() == ["7"]


@pytest.mark.parametrize(
    ("value", "expected"), [("Yes", True), ("TRUE", True), (1.0, True), ("no", False), (None, False)]
)
def test_yes_and_no_are_read_as_people_write_them(value, expected):
    found, _ = read(table(weedy=[value]), WEEDY)
    assert found["weedy"].tolist() == [expected]


def test_what_is_neither_yes_nor_no_is_refused():
    _, report = read(table(weedy=["maybe"]), WEEDY)
    assert "weedy = 'maybe': is neither yes nor no" in str(report.wrong[0])


def test_a_choice_is_known_whatever_its_case_and_spaces():
    found, report = read(table(intent=["Left alone", "HAY", ""]), INTENT)
    assert found["intent"].tolist() == ["left_alone", "hay", ""]
    assert report == Report()


def test_an_unknown_choice_names_the_known():
    _, report = read(table(intent=["silage"]), INTENT)
    assert "intent = 'silage': is not known. Use one of: hay, left_alone" in str(report.wrong[0])


def test_a_default_fills_empty_cells_in_its_own_unit_whatever_the_unit_of_the_column():
    source = Source("f", defaults={"height_in": 10})
    found, _ = read(table(height_cm=["30", ""]), HEIGHT, source=source)
    assert found["height_cm"].tolist() == pytest.approx([30, 25.4])
    found, _ = read(table(height_in=["20", ""]), HEIGHT, source=source)
    assert found["height_cm"].tolist() == pytest.approx([50.8, 25.4])


def test_a_default_serves_an_absent_column_even_a_required_one():
    source = Source("f", defaults={"sample_date": dt.date(2026, 1, 5), "lab": "Ours"})
    found, report = read(table(ph=["6"]), *SOIL_TESTS, source=source)
    assert found["sample_date"].tolist() == [pd.Timestamp("2026-01-05")]
    assert found["lab"].tolist() == ["Ours"]
    assert report.wrong == []


def test_a_default_fills_yes_and_no():
    found, _ = read(table(weedy=["no", ""]), WEEDY, source=Source("f", defaults={"weedy": True}))
    assert found["weedy"].tolist() == [False, True]


def test_an_impossible_default_is_one_line_however_many_rows_it_would_fill():
    _, report = read(table(x=["1"] * 5), HEIGHT, source=Source("f", defaults={"height_cm": 999}))
    assert [problem.place for problem in report.wrong] == ["defaults of f, height_cm = '999'"]


def test_a_default_for_an_unknown_column_is_refused():
    _, report = read(table(x=["1"]), HEIGHT, source=Source("f", defaults={"hieght": 9}))
    assert "defaults of f: 'hieght' is not a column lastcut knows" in str(report.wrong[0])


def test_rows_are_named_by_their_key():
    _, report = read(table(field_id=["north_40"], height_in=["900"]), FIELDS[0], HEIGHT, key="field_id")
    assert report.wrong[0].place == "field 'north_40', height_in = '900'"


def test_a_row_without_its_key_is_named_by_its_number():
    _, report = read(table(field_id=[""], height_in=["900"]), FIELDS[0], HEIGHT, key="field_id")
    assert report.wrong[0].place == "row 1, height_in = '900'"


def test_a_long_value_is_cut_in_the_message():
    _, report = read(table(height_cm=["x" * 5000]), HEIGHT)
    assert len(str(report.wrong[0])) < 300


def test_formula_text_stays_text():
    found, _ = read(table(name=["=HYPERLINK(1)"]), NAME)
    assert found["name"].tolist() == ["=HYPERLINK(1)"]


def test_repeats_and_gaps_in_a_key_are_refused():
    report = Report()
    refuse_repeats(pd.Series(["a", "b", "a", ""], name="field_id"), "f", report)
    assert lines_of(report.wrong) == [
        "f: field_id 'a': stands in 2 rows. Give every row its own",
        "f: row 4: field_id is empty. Give every row its own",
    ]


def test_a_long_list_stays_short():
    assert listed("row", range(1, 10)) == "rows 1, 2, 3, 4, 5, 6 and 3 more"
    assert listed("row", [4]) == "row 4"


def test_an_error_without_words_is_named_by_its_kind():
    assert first_line(ValueError("")) == "ValueError"
    assert first_line(ValueError("one\ntwo")) == "one"


CELLS = st.one_of(
    st.none(),
    st.text(max_size=12),
    st.floats(),
    st.integers(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.binary(max_size=4),
    st.lists(st.integers(), max_size=2),
)


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(sorted(TABLES)), st.data())
def test_no_table_of_anything_at_all_makes_the_check_fail(name, data):
    columns = TABLES[name]
    headings = [column.name for column in columns]
    rows = data.draw(st.lists(st.lists(CELLS, min_size=len(headings), max_size=len(headings)), max_size=4))
    raw = pd.DataFrame(
        {heading: [row[at] for row in rows] for at, heading in enumerate(headings)}, dtype=object
    )
    found = checked(raw, columns, Source("f"), Report(), headings[0])
    assert list(found.columns) == headings
    assert len(found) == len(rows)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(max_size=12), max_size=6))
def test_every_filled_cell_is_either_a_value_or_a_line_of_the_report(cells):
    width = CREWS[4]
    raw = pd.DataFrame({width.name: cells}, dtype=object)
    found, report = read(raw, width)
    empty = [cell.strip().lower() in ("", "na", "n/a", "nan", "null") for cell in cells]
    good = found["width_m"].between(0.5, 30).sum()
    assert good + len(report.wrong) + sum(empty) == len(cells)
