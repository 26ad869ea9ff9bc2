"""What recording a fact promises."""

from datetime import date, datetime

import pytest

from maps.recording import facts_of
from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.region import read_region
from spatial.inputs.region_file import read_region_file
from spatial.record import Fact, record
from tests.unit.making import contents, lines_of, shapes, write_region, write_text

DAY = date(2026, 6, 1)
HEADING = "date,fact,field_id,area,value,note"


def region_of(folder, more=""):
    return write_region(folder, more, shapes(area=["Bibb", "Twiggs"]))


def write(folder, *facts):
    for fact in facts:
        path = record(read_region(folder), read_region_file(folder, Report()), fact)
    return path


def refusal(folder, fact):
    with pytest.raises(InputError) as refused:
        write(folder, fact)
    return lines_of(refused.value.problems)


def log_of(folder, name="season_log.csv"):
    return (folder / name).read_text(encoding="utf-8").splitlines()


def test_a_fact_is_a_line_of_a_new_log_that_the_region_then_reads(tmp_path):
    folder = region_of(tmp_path)
    path = write(folder, Fact(DAY, "cut", "a", value="10"), Fact(DAY, "killing_freeze", area="Bibb"))
    assert path == tmp_path / "season_log.csv"
    assert log_of(tmp_path) == [HEADING, "2026-06-01,cut,a,,10,", "2026-06-01,killing_freeze,,Bibb,,"]
    log = read_region(folder).season_log
    assert log["fact"].tolist() == ["cut", "killing_freeze"]


def test_nothing_but_the_log_is_changed(tmp_path):
    folder = region_of(tmp_path)
    before = contents(tmp_path)
    write(folder, Fact(DAY, "cut", "a"))
    after = contents(tmp_path)
    assert {name for name in after if after[name] != before.get(name)} <= {
        path.relative_to(tmp_path) for path in tmp_path.glob("season_log.csv*")
    }


def test_the_log_that_region_toml_names_is_written(tmp_path):
    folder = region_of(tmp_path, "[season_log]\nfile = 'my_log.csv'\n")
    assert write(folder, Fact(DAY, "note", "a", note="x")) == tmp_path / "my_log.csv"


def test_a_log_of_ones_own_keeps_its_columns_their_order_and_their_names(tmp_path):
    folder = region_of(
        tmp_path, "[season_log]\nfile = 'log.csv'\ncolumns = { field_id = 'Feld', date = 'Tag' }\n"
    )
    write_text(tmp_path / "log.csv", "\ufeffFeld,,Tag,FACT,who,area,value,note\nb,,2026-05-01,cut,Lee,,,\n")
    write(folder, Fact(DAY, "height", "a", value="20"))
    assert log_of(tmp_path, "log.csv")[-1] == "a,,2026-06-01,height,,,20,"
    assert read_region(folder).season_log["field_id"].tolist() == ["b", "a"]


def test_a_log_that_lacks_a_column_is_left_as_it_is(tmp_path):
    folder = region_of(tmp_path)
    write_text(tmp_path / "season_log.csv", "date,fact,field_id\n")
    (line,) = refusal(folder, Fact(DAY, "cut", "a"))
    assert "season_log.csv: has no column area, note, value" in line
    assert log_of(tmp_path) == ["date,fact,field_id"]


@pytest.mark.parametrize("note", ["with, comma", 'a "quoted" word', "two\nlines", "  spaces  ", "Größe"])
def test_a_note_is_one_line_of_the_log_whatever_is_in_it(tmp_path, note):
    folder = region_of(tmp_path)
    write(folder, Fact(DAY, "note", "a", note=note))
    assert len(log_of(tmp_path)) == 2
    assert read_region(folder).season_log["note"].tolist() == [" ".join(note.split())]


@pytest.mark.parametrize(
    ("fact", "cause"),
    [
        (Fact(DAY, "cut"), "record: names neither a field nor an area"),
        (Fact(DAY, "cut", "c"), "record: field 'c': is not in the region. Known: names a, b"),
        (Fact(DAY, "killing_freeze", area="Pulaski"), "record: area 'Pulaski': is not in the region"),
        (Fact(DAY, "cut", area="Bibb"), "record: row 1: names no field"),
        (Fact(DAY, "height", "a"), "record: row 1: has no value"),
        (Fact(DAY, "height", "a", value="nan"), "record: row 1: has no value"),
        (Fact(DAY, "height", "a", value="900"), "record: row 1, value = '900': is not a possible number"),
        (
            Fact(DAY, "sprayed_until", "a", value="soon"),
            "record: row 1, value = 'soon': is not a possible date",
        ),
        (Fact(DAY, "mown", "a"), "record: row 1, fact = 'mown': is not known"),
        (Fact(date(1626, 6, 1), "cut", "a"), "record: row 1, date = '1626-06-01': is not a possible date"),
    ],
)
def test_a_fact_that_the_region_would_not_take_back_is_never_written(tmp_path, fact, cause):
    folder = region_of(tmp_path)
    (line,) = refusal(folder, fact)
    assert line.startswith(cause)
    assert not (tmp_path / "season_log.csv").exists()


@pytest.mark.parametrize("name", ["../log.csv", "fields.gpkg"])
def test_only_a_csv_file_inside_the_region_is_ever_written_to(tmp_path, name):
    region = read_region(region_of(tmp_path / "region"))
    before = contents(tmp_path)
    with pytest.raises(InputError, match="is not a CSV file inside the region's folder"):
        record(region, {"season_log": {"file": name}}, Fact(DAY, "cut", "a"))
    assert contents(tmp_path) == before


def test_a_log_that_cannot_be_written_is_one_line(tmp_path):
    folder = region_of(tmp_path, "[season_log]\nfile = 'none/log.csv'\n")
    write_text(tmp_path / "none", "a file in the place of the folder")
    (line,) = refusal(folder, Fact(DAY, "cut", "a"))
    assert line.startswith("log.csv: cannot be written (")


def typed(days=(), height_in=None, height_cm=None, note="", field_id="a", area=""):
    heights = {"height_in": height_in, "height_cm": height_cm}
    return facts_of(dict(days), heights, note, DAY, field_id, area)


def test_each_thing_that_was_said_is_a_fact():
    at = datetime(2026, 5, 20)  # noqa: DTZ001 - as the command line parses a day
    assert typed([("cut", at), ("killing_freeze", None)], height_in=10, note="thin") == [
        Fact(date(2026, 5, 20), "cut", "a", "", "", "thin"),
        Fact(DAY, "height", "a", "", "25.4", "thin"),
    ]


def test_a_label_is_recorded_today_with_its_last_day():
    until = datetime(2026, 7, 1)  # noqa: DTZ001 - as the command line parses a day
    assert typed([("sprayed_until", until)]) == [Fact(DAY, "sprayed_until", "a", "", "2026-07-01")]


def test_a_note_alone_is_a_fact():
    assert typed(note="gate is broken") == [Fact(DAY, "note", "a", "", "", "gate is broken")]


def test_nothing_said_is_one_line():
    with pytest.raises(InputError, match="record: nothing is said"):
        typed()


def test_a_height_in_both_units_is_refused():
    with pytest.raises(InputError, match="in inches and in cm"):
        typed(height_in=10, height_cm=30)
