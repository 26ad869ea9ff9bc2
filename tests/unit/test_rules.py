"""What reading the rule files promises."""

import math
from dataclasses import MISSING, fields

import pytest

from spatial.inputs.checks import Report
from spatial.inputs.rules import read_drying_days, read_grasses, read_road_speeds
from spatial.inputs.soil.schemes import read_schemes
from spatial.values import Grass
from tests.unit.making import lines_of, write_text

SCHEME = """name = "Own"
extractant = "Mehlich-3"
unit = "ppm"
ratings = ["low", "medium", "high"]
source = "own laboratory"
[limits.any]
k = [40, 80]
"""


def entry(name, value, source="own trial"):
    return f'[{name}]\nvalue = {value}\nsource = "{source}"\n'


def grasses_with(tmp_path, text, file="own.toml"):
    write_text(tmp_path / "grass" / file, text)
    report = Report()
    return read_grasses(report, tmp_path / "grass"), lines_of(report.wrong)


def schemes_with(tmp_path, text):
    write_text(tmp_path / "soil" / "own.toml", text)
    report = Report()
    return read_schemes(report, tmp_path / "soil"), lines_of(report.wrong)


def test_every_shipped_number_has_its_source():
    report = Report()
    grasses = read_grasses(report)
    assert report.wrong == []
    needed = {f.name for f in fields(Grass) if f.default is MISSING} - {"grass", "name", "sources"}
    for grass in grasses.values():
        assert all(grass.sources.values())
        regrows = not math.isnan(grass.regrowth_days)  # an annual has no last cut to count back to
        assert not regrows or needed <= set(grass.sources)


def test_the_usual_killing_freeze_is_28_f():
    # UGA climate blog, Nov 2017; NC State Climate Office: 28 F = -2.2 C.
    for grass in read_grasses(Report()).values():
        assert grass.killing_freeze_c == pytest.approx(-2.222, abs=0.001)


def test_natives_are_not_cut_after_31_august():
    # Tennessee guidance on native grass hay: no cut after late August, leave 8 in.
    native = read_grasses(Report())["native_warm_season"]
    assert native.last_cut_cap == (8, 31)
    assert native.stubble_cm == pytest.approx(20.32)


def test_a_file_of_ones_own_changes_some_numbers_of_a_shipped_grass(tmp_path):
    text = 'grass = "bahiagrass"\n' + entry("regrowth_days", 42)
    grasses, wrong = grasses_with(tmp_path, text)
    assert wrong == []
    bahia = grasses["bahiagrass"]
    assert (bahia.regrowth_days, bahia.sources["regrowth_days"]) == (42, "own trial")
    assert bahia.target_ph == 5.5


def test_a_new_grass_starts_from_a_known_one(tmp_path):
    grasses, wrong = grasses_with(tmp_path, 'like = "dallisgrass"\nname = "Our mix"\n', "our_mix.toml")
    assert wrong == []
    assert (grasses["our_mix"].name, grasses["our_mix"].may_burn) == ("Our mix", False)


def test_a_grass_that_is_like_itself_keeps_the_shipped_numbers(tmp_path):
    text = 'grass = "bahiagrass"\nlike = "bahiagrass"\n' + entry("regrowth_days", 42)
    grasses, wrong = grasses_with(tmp_path, text)
    assert wrong == []
    assert grasses["bahiagrass"].regrowth_days == 42


def test_another_unit_in_the_grass_it_is_like_does_not_win_over_its_own_number(tmp_path):
    text = 'grass = "hybrid_bermudagrass"\n' + entry("killing_freeze_c", -4)
    grasses, _ = grasses_with(tmp_path, text)
    assert grasses["hybrid_bermudagrass"].killing_freeze_c == -4
    # bahiagrass is like hybrid bermudagrass, but states 28 F of its own.
    assert grasses["bahiagrass"].killing_freeze_c == pytest.approx(-2.222, abs=0.001)


@pytest.mark.parametrize(
    ("key", "value", "cause"),
    [
        ("killing_freeze_f", 280, "killing_freeze_f = 280: is not possible"),
        ("regrowth_days", '"long"', "regrowth_days = 'long': is not possible. Write a whole number"),
        ("regrowth_days", 35.5, "regrowth_days = 35.5: is not possible. Write a whole number"),
        ("stubble_in", "true", "stubble_in = True: is not possible. Write a number"),
        ("target_ph", "nan", "target_ph = nan: is not possible"),
        ("may_burn", 1, "may_burn = 1: is not possible. Write true or false"),
        ("last_cut_cap", '"31 Aug"', "last_cut_cap = '31 Aug': is not possible. Write the day as"),
        ("last_cut_cap", '"02-29"', "last_cut_cap = '02-29': is not possible"),
        ("last_cut_cap", "8", "last_cut_cap = 8: is not possible"),
        ("mowing_height_in", 4, "mowing_height_in: is not a number lastcut knows"),
    ],
)
def test_an_impossible_number_is_one_line(tmp_path, key, value, cause):
    _, wrong = grasses_with(tmp_path, 'grass = "bahiagrass"\n' + entry(key, value))
    assert len(wrong) == 1
    assert wrong[0].startswith(f"own.toml: {cause}")


@pytest.mark.parametrize(
    "text",
    ["regrowth_days = 35\n", "[regrowth_days]\nvalue = 35\n", '[regrowth_days]\nsource = "x"\n'],
)
def test_a_number_without_its_source_is_refused(tmp_path, text):
    _, wrong = grasses_with(tmp_path, 'grass = "bahiagrass"\n' + text)
    assert len(wrong) == 1
    assert "regrowth_days: needs a value and its source" in wrong[0]


def test_a_grass_with_numbers_missing_names_them(tmp_path):
    grasses, wrong = grasses_with(tmp_path, entry("regrowth_days", 35), "vetiver.toml")
    assert "vetiver" not in grasses
    assert "grass 'vetiver': cutting_interval_days, " in wrong[0]
    assert "is not given" in wrong[0]


@pytest.mark.parametrize("like", ['"tall_fescue"', "3", '["bahiagrass"]'])
def test_a_grass_like_an_unknown_one_is_refused(tmp_path, like):
    _, wrong = grasses_with(tmp_path, f"like = {like}\n")
    assert any("is not a grass to start from" in line for line in wrong)


def test_grasses_that_are_like_each_other_are_refused(tmp_path):
    write_text(tmp_path / "grass" / "a.toml", 'like = "b"\n')
    _, wrong = grasses_with(tmp_path, 'like = "a"\n', "b.toml")
    assert any("is not a grass to start from" in line for line in wrong)


def test_a_broken_rule_file_and_an_absent_folder_are_lines(tmp_path):
    _, wrong = grasses_with(tmp_path, "value = \n")
    assert any("own.toml: is not readable TOML" in line for line in wrong)
    report = Report()
    read_schemes(report, tmp_path / "none")
    assert "is not a folder. Check [rules] soil in region.toml" in str(report.wrong[0])


def test_a_scheme_of_ones_own_comes_before_the_shipped(tmp_path):
    schemes, wrong = schemes_with(tmp_path, SCHEME)
    assert wrong == []
    assert (schemes[0].name, schemes[0].limits_mg_kg) == ("Own", {"k": (40.0, 80.0)})


def test_a_scheme_without_an_extractant_is_refused(tmp_path):
    line = next(line for line in SCHEME.splitlines() if line.startswith("extractant"))
    _, wrong = schemes_with(tmp_path, SCHEME.replace(line, 'extractant = " "'))
    assert wrong == ["own.toml: lacks extractant. Give each as a text"]


def test_blanks_about_the_name_of_a_soil_group_do_not_count(tmp_path):
    schemes, wrong = schemes_with(tmp_path, SCHEME.replace("[limits.any]", "[limits.'piedmont ']"))
    assert wrong == [] and schemes[0].soil_group == "piedmont"


@pytest.mark.parametrize(
    ("old", "new", "cause"),
    [
        ('"ppm"', '"kg/ha"', "has unit 'kg/ha'. Units known: lb/ac, ppm, mg/kg"),
        ('source = "own laboratory"\n', "", "lacks source"),
        ('["low", "medium", "high"]', '"low"', "lacks ratings"),
        ("[limits.any]\nk = [40, 80]\n", "", "lacks limits"),
        ("k = [40, 80]", "k = [80, 40]", "has limits for 'any' that cannot be used"),
        ("k = [40, 80]", "k = [40, 80, 120]", "has limits for 'any' that cannot be used"),
        ("k = [40, 80]", "k = [-40, 80]", "has limits for 'any' that cannot be used"),
        ("k = [40, 80]", "k = [40, inf]", "has limits for 'any' that cannot be used"),
        ('source = "own laboratory"\n', 'source = " "\n', "lacks source"),
        ('unit = "ppm"', 'unit = "ppm"\ncolour = 1', "has colour, which is not known"),
        (
            "[limits.any]\n",
            "[limits.Any]\nk = [1, 2]\n[limits.'any ']\n",
            "has limits of a group without a name, or",
        ),
        (
            "[limits.any]\nk = [40, 80]\n",
            'formula = "nope"\n',
            "formula 'nope': is not known (spatial.soil_ratings)",
        ),
        ("k = [40, 80]", 'k = "40"', "has limits for 'any' that cannot be used"),
        ("k = [40, 80]", "zinc = [1, 2]", "has limits for 'any' that cannot be used"),
        ("[limits.any]\nk = [40, 80]", "[limits]\nany = 3", "has limits for 'any' that cannot be used"),
    ],
)
def test_a_scheme_that_cannot_be_used_is_one_line(tmp_path, old, new, cause):
    assert old in SCHEME
    _, wrong = schemes_with(tmp_path, SCHEME.replace(old, new))
    assert len(wrong) == 1
    assert wrong[0].startswith(f"own.toml: {cause}")


def test_hay_takes_longer_to_dry_in_november_than_in_july():
    days = read_drying_days()
    assert sorted(days) == list(range(1, 13))
    assert days[11] > days[7] >= 1


def test_road_speeds_come_in_km_h():
    assert read_road_speeds()["track"] == pytest.approx(12 * 1.609344)
