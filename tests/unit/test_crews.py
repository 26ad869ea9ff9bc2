"""What reading the crews promises."""

from datetime import date

import pytest

from spatial.inputs.checks import Report
from spatial.inputs.crews import no_crews, read_crews
from tests.unit.making import lines_of, write_text

HEADING = (
    "crew,yard_lon,yard_lat,work_rate_ac_h,width_ft,speed_mph,field_efficiency_pct,"
    "shift_start,shift_end,days_off\n"
)
COLUMNS = ["yard_lon", "yard_lat", "work_rate_ha_h", "shift_start_min", "shift_end_min", "days_off"]


def read(tmp_path, *rows):
    report = Report()
    path = write_text(tmp_path / "crews.csv", HEADING + "\n".join(rows) + "\n")
    return read_crews(path, {}, report), lines_of(report.wrong)


def test_a_given_work_rate_goes_before_a_computed_one(tmp_path):
    crews, wrong = read(tmp_path, "North,-83.5,32.5,10,12,6,75,09:30,18:30,sun")
    assert wrong == []
    assert crews.loc["North", "work_rate_ha_h"] == pytest.approx(4.0468564224)


def test_a_work_rate_is_computed_from_width_speed_and_efficiency(tmp_path):
    # 12 ft, 6 mph, 75 %: 6.55 ac/h (Iowa State A3-24); 0.40469 ha to the acre.
    crews, _ = read(tmp_path, "North,-83.5,32.5,,12,6,75,,,")
    assert crews.loc["North", "work_rate_ha_h"] == pytest.approx(6.55 * 0.40469, abs=0.01)


def test_times_are_minutes_after_midnight_and_a_shift_not_given_is_the_usual(tmp_path):
    crews, _ = read(tmp_path, "A,-83,32,9,,,,9:30,18:00,", "B,-83,32,9,,,,,,")
    assert crews[["shift_start_min", "shift_end_min"]].to_numpy().tolist() == [[570, 1080], [540, 1080]]


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("sun", (6,)),
        ("Sat Sunday", (5, 6)),
        ('"sat,sun"', (5, 6)),
        ("tues thurs", (1, 3)),
        ("sun 2026-09-12", (6, date(2026, 9, 12))),
        ("", ()),
    ],
)
def test_days_off_are_weekdays_and_dates(tmp_path, text, days):
    crews, wrong = read(tmp_path, f"A,-83,32,9,,,,,,{text}")
    assert wrong == []
    assert crews.loc["A", "days_off"] == days


@pytest.mark.parametrize(
    ("row", "cause"),
    [
        ("A,-83,32,,12,6,,,,", "crew 'A': has no work rate"),
        ("A,,32,9,,,,,,", "crew 'A': has no yard"),
        ("A,-83,32,9,,,,18:00,9:00,", "crew 'A': has no possible shift"),
        ("A,-83,32,9,,,,9.30,18:00,", "crew 'A': has no possible shift"),
        ("A,-83,32,9,,,,,,sunny", "crew 'A': has a day off that is not known"),
        ("A,-83,32,9,,,,,,su", "crew 'A': has a day off that is not known"),
        ("A,-283,32,9,,,,,,", "crew 'A', yard_lon = '-283': is not a possible number here"),
        ("A,-83,32,9,,,850,,,", "crew 'A', field_efficiency_pct = '850': is not a possible number here"),
    ],
)
def test_what_a_crew_lacks_is_said_with_its_name(tmp_path, row, cause):
    _, wrong = read(tmp_path, row)
    assert any(line.startswith(f"crews.csv: {cause}") for line in wrong)


def test_crews_come_by_name(tmp_path):
    crews, _ = read(tmp_path, "South,-83,32,9,,,,,,", "North,-83,32,9,,,,,,")
    assert crews.index.tolist() == ["North", "South"]
    assert list(crews.columns) == COLUMNS


def test_no_crews_are_a_table_of_the_same_columns():
    assert no_crews().empty
    assert list(no_crews().columns) == COLUMNS
    assert no_crews().index.name == "crew"


def test_a_file_with_only_a_heading_has_no_crews(tmp_path):
    crews, wrong = read(tmp_path)
    assert crews.empty
    assert wrong == []
