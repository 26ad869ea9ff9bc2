"""What reading a CSV table promises."""

import pytest

from spatial.columns import CLIENTS, OUTLOOK, SOIL_TESTS
from spatial.inputs.checks import Report
from spatial.inputs.tables import empty_table, read_table
from tests.unit.making import contents, lines_of, write_text

GOOD = "client,herd,hay_is_short\nSmith,40,yes\nJones,,no\n"


def read(path, columns=CLIENTS, key="client", section=None):
    report = Report()
    return read_table(path, columns, section or {}, report, key), lines_of(report.wrong)


def test_a_table_is_read_and_sorted_by_its_key(tmp_path):
    found, wrong = read(write_text(tmp_path / "c.csv", GOOD))
    assert found["client"].tolist() == ["Jones", "Smith"]
    assert found["herd"].iloc[1] == 40
    assert wrong == []


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + GOOD,
        GOOD.replace("\n", "\r\n"),
        GOOD + ",,\n\n",
        GOOD.replace("Smith,40,yes", '"Smith", 40, yes'),
        GOOD.replace("Jones,,no", "Jones,,no,"),
        GOOD.replace("Jones,,no", "Jones"),
    ],
    ids=["byte order mark", "windows ends", "blank rows", "spaces and quotes", "comma too many", "short row"],
)
def test_the_ways_of_spreadsheets_change_nothing(tmp_path, text):
    found, wrong = read(write_text(tmp_path / "c.csv", text))
    assert wrong == []
    assert found["client"].tolist() == ["Jones", "Smith"]
    assert found["herd"].iloc[1] == 40


@pytest.mark.parametrize(
    ("text", "encoding", "cause"),
    [
        (GOOD.replace(",", ";"), "utf-8", "is parted by semicolons or tabs, not by commas"),
        (GOOD.replace(",", "\t"), "utf-8", "is parted by semicolons or tabs, not by commas"),
        (GOOD.replace("Smith", "Peña"), "latin-1", "is not UTF-8 text"),
        (GOOD, "utf-16", "is not UTF-8 text"),
        ("", "utf-8", "is empty"),
        ("client,herd,herd\nSmith,1,2\n", "utf-8", "has the heading herd more than once"),
        ('client,herd\n"Smith,1\n', "utf-8", "is not a readable CSV table (unexpected end of data)"),
    ],
)
def test_a_file_that_is_no_such_table_is_one_line(tmp_path, text, encoding, cause):
    found, wrong = read(write_text(tmp_path / "c.csv", text, encoding))
    assert len(wrong) == 1
    assert wrong[0].startswith(f"c.csv: {cause}.")
    assert found.empty


def test_an_absent_file_is_one_line(tmp_path):
    found, wrong = read(tmp_path / "none.csv")
    assert wrong == ["none.csv: is not there. Check its name"]
    assert list(found.columns) == [column.name for column in CLIENTS]


def test_a_folder_in_place_of_a_file_is_one_line(tmp_path):
    _, wrong = read(tmp_path)
    assert len(wrong) == 1


def test_a_row_with_a_value_too_many_is_refused_by_its_line(tmp_path):
    _, wrong = read(write_text(tmp_path / "c.csv", GOOD + "Lee,1,no,what\n"))
    assert wrong == [
        "c.csv: row 4: has 4 values for 3 headings. Put quotes around a value with a comma in it"
    ]


def test_a_row_is_named_by_its_line_in_the_file(tmp_path):
    text = "date,rain_chance_pct\n2026-09-08,10\n\n2026-09-09,400\n"
    _, wrong = read(write_text(tmp_path / "o.csv", text), OUTLOOK, "")
    assert wrong[0].startswith("o.csv: row 4, rain_chance_pct = '400'")


def test_repeated_keys_are_refused(tmp_path):
    _, wrong = read(write_text(tmp_path / "c.csv", GOOD + "Smith,2,no\n"))
    assert wrong == ["c.csv: client 'Smith': stands in 2 rows. Give every row its own"]


def test_formula_text_is_kept_as_text(tmp_path):
    found, _ = read(write_text(tmp_path / "c.csv", 'client\n"=cmd()"\n@x\n'))
    assert found["client"].tolist() == ["=cmd()", "@x"]


def test_ids_keep_their_leading_zeros(tmp_path):
    text = "field_id,sample_date\n007,2026-01-05\n"
    found, _ = read(write_text(tmp_path / "s.csv", text), SOIL_TESTS, "")
    assert found["field_id"].tolist() == ["007"]


def test_written_names_are_mapped(tmp_path):
    text = "Datum,POP\n2026-09-08,40\n"
    section = {"columns": {"date": "Datum", "rain_chance_pct": "POP"}}
    found, wrong = read(write_text(tmp_path / "o.csv", text), OUTLOOK, "", section)
    assert wrong == []
    assert found["rain_chance_share"].tolist() == pytest.approx([0.4])


def test_an_empty_table_has_all_its_columns():
    found = empty_table(OUTLOOK)
    assert list(found.columns) == [column.name for column in OUTLOOK]
    assert str(found["date"].dtype).startswith("datetime64")


def test_reading_leaves_the_folder_as_it_was(tmp_path):
    path = write_text(tmp_path / "c.csv", GOOD)
    before = contents(tmp_path)
    read(path)
    assert contents(tmp_path) == before
