"""What reading region.toml promises."""

from datetime import date

import pytest

from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.region_file import SECTIONS, TOP, read_region_file, settings_said
from spatial.settings import settings_with
from tests.unit.making import REGION, lines_of, write_text

FIELDS = '[fields]\nfile = "f.gpkg"\n'


def read(tmp_path, text):
    write_text(tmp_path / "region.toml", text)
    report = Report()
    return read_region_file(tmp_path, report), lines_of(report.wrong)


def refusal(tmp_path, text):
    write_text(tmp_path / "region.toml", text)
    with pytest.raises(InputError) as refused:
        read_region_file(tmp_path, Report())
    return lines_of(refused.value.problems)


def test_a_good_file_is_taken_as_it_is(tmp_path):
    said, wrong = read(tmp_path, REGION + FIELDS)
    assert wrong == []
    assert (said["name"], said["fields"]) == ("Test", {"file": "f.gpkg"})


def test_a_byte_order_mark_does_no_harm(tmp_path):
    _, wrong = read(tmp_path, "\ufeff" + REGION + FIELDS)
    assert wrong == []


def test_an_absent_file_says_how_to_start_one(tmp_path):
    with pytest.raises(InputError, match=r"is not there\. Start one with: lastcut new"):
        read_region_file(tmp_path / "none", Report())


def test_a_broken_line_is_one_line_with_its_number(tmp_path):
    (line,) = refusal(tmp_path, "format = \n")
    assert "is not readable TOML" in line
    assert "line 1" in line


def test_text_that_is_not_utf_8_is_one_line(tmp_path):
    write_text(tmp_path / "region.toml", 'name = "Cañón"', "latin-1")
    with pytest.raises(InputError, match="is not readable TOML"):
        read_region_file(tmp_path, Report())


def test_another_format_number_is_all_that_is_said(tmp_path):
    (line,) = refusal(tmp_path, "format = 2\nnew_thing = true\n")
    assert line == (
        "region.toml: format: is 2, and this lastcut reads 1. Write format = 1, or get a newer lastcut"
    )


def test_what_every_region_needs_is_asked_for(tmp_path):
    _, wrong = read(tmp_path, "")
    for place in ("format", "name", "time_zone", "[fields]"):
        assert any(line.startswith(f"region.toml: {place}: is not there") for line in wrong)


def test_an_unknown_key_and_an_unknown_section_name_the_known(tmp_path):
    _, wrong = read(tmp_path, REGION + "colour = 1\n" + FIELDS + "fiel = 1\n[feilds]\nfile = 'x'\n")
    assert len(wrong) == 3
    assert "[fields] fiel: is not known here. Use one of: file, layer, crs, columns, defaults" in wrong[2]
    assert "colour: is not known here. Use one of: format, name" in wrong[0]
    assert "feilds: is not known here" in wrong[1]
    assert "fields, freeze" in wrong[1]


@pytest.mark.parametrize(
    "line",
    [
        "fields = 3",
        "[[fields]]\nfile = 'f'",
        "[fields]\nfile = 3",
        "[fields]\nfile = 'f'\ncolumns = 'HT'",
        "[fields]\nfile = 'f'\ncolumns = { height_in = ['HT'] }",
        "[fields]\nfile = 'f'\ndefaults = { grass = ['x'] }",
        f"{FIELDS}[soil_tests]\nfiles = 'one.csv'",
        f"{FIELDS}[soil_tests]\nfiles = [1]",
        f"{FIELDS}[freeze]\nfile = 'z.tif'\nkind = 'means'",
        f"{FIELDS}[freeze]\nfile = 'z.tif'\nthreshold_f = '28'",
        f"{FIELDS}[freeze]\nfile = 'z.tif'\nthreshold_f = true",
        f"{FIELDS}[freeze]\nfile = 'z.tif'\nchances = ['0.1']",
        f"{FIELDS}[rules]\ngrass = 5",
        f"{FIELDS}[settings]\nchance = 'low'",
        f"{FIELDS}[settings]\neffort = 'hard'",
        "units = 'imperial'\n" + FIELDS,
        "season_start = '08-15'\n" + FIELDS,
        "season_start = 'August'\n" + FIELDS,
        "time_zone = 'Georgia/Macon'\n" + FIELDS,
        "time_zone = '../passwd'\n" + FIELDS,
    ],
)
def test_a_wrong_value_is_a_line_and_is_not_passed_on(tmp_path, line):
    head = REGION.replace('time_zone = "America/New_York"\n', "") if "time_zone" in line else REGION
    _, wrong = read(tmp_path, head + line + "\n")
    assert len([one for one in wrong if "[fields] file: is not there" not in one]) == 1


def test_a_refused_value_does_not_reach_the_readers(tmp_path):
    said, _ = read(tmp_path, REGION + FIELDS + "columns = 'HT'\n")
    assert said["fields"] == {"file": "f.gpkg"}


def test_settings_come_in_inside_units(tmp_path):
    said, wrong = read(tmp_path, REGION + FIELDS + "[settings]\nroad_speed_mph = 20\nchance = 0.1\n")
    assert wrong == []
    assert settings_said(said)["road_speed_km_h"] == pytest.approx(32.18688)
    assert settings_with(date(2026, 9, 8), settings_said(said)).chance == 0.1


def test_a_setting_out_of_range_is_found_on_reading(tmp_path):
    _, wrong = read(tmp_path, REGION + FIELDS + "[settings]\nchance = 3\nhorizon_days = 1.5\n")
    assert [line.split(":")[1].strip() for line in wrong] == ["[settings] chance", "[settings] horizon_days"]


def test_one_setting_in_two_units_is_refused(tmp_path):
    _, wrong = read(tmp_path, REGION + FIELDS + "[settings]\nroad_speed_mph = 20\nroad_speed_km_h = 30\n")
    assert len(wrong) == 1
    assert "say the same" in wrong[0]


def test_every_key_says_what_it_means():
    for keys in (TOP, *SECTIONS.values()):
        for name, key in keys.items():
            assert key.help.strip(), name
