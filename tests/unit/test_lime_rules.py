"""What reading the rules of lime promises."""

import math

import pytest

from spatial.inputs.checks import Report
from spatial.inputs.soil.lime import read_lime_rules
from tests.unit.making import lines_of, write_text

TON_AC = 2.2417023  # t/ha: 0.90718474 t on 0.40468564224 ha
SIEVES = {"cce_pct": 90, "through_10_mesh_pct": 95, "through_50_mesh_pct": 40}
METHOD = 'name = "ours"\nsource = "own trial"\nbuffers = ["Ours"]\n'
RATES = "[[rates]]\nleast_buffer_ph = 6.5\nrate_tons_ac = 1.0\n"


def read(section=None, labs=None, own=None):
    report = Report()
    return read_lime_rules(section or {}, labs or {}, report, own), report


def refusal(section=None, labs=None, own=None):
    _rules, report = read(section, labs, own)
    (line,) = lines_of(report.wrong)
    return line


def test_the_shipped_methods_are_read_without_a_word():
    rules, report = read()
    assert [one.method for one in rules.methods] == ["adams_evans", "mehlich_north_carolina"]
    assert report == Report()
    assert all(one.source for one in rules.methods)


def test_a_region_that_says_nothing_spreads_two_tons_at_once_of_no_known_lime():
    rules, _report = read()
    assert rules.most_t_ha == pytest.approx(2 * TON_AC)
    assert rules.product is None and math.isnan(rules.depth_cm)


def test_a_product_is_known_by_its_rnv():
    rules, _report = read({"product": "quarry lime", "rnv_pct": 65})
    assert (rules.product.name, rules.product.quality_share) == ("quarry lime", pytest.approx(0.65))


def test_a_product_is_known_by_its_cce_and_sieves():
    # By hand: 90 % * (0.5 * (95 - 40) + 40) % = 60.75 %.
    rules, report = read(SIEVES)
    assert rules.product.quality_share == pytest.approx(0.6075)
    assert report == Report()


def test_an_rnv_goes_before_a_cce_and_it_is_told():
    rules, report = read({"rnv_pct": 80, **SIEVES})
    assert rules.product.quality_share == pytest.approx(0.80)
    (line,) = lines_of(report.told)
    assert line.startswith("region.toml: [lime] rnv_pct and cce_pct: are both given; the RNV is used.")


def test_a_product_without_a_quality_is_told_and_not_used():
    rules, report = read({"product": "quarry lime"})
    assert rules.product is None
    (line,) = lines_of(report.told)
    assert line.startswith("region.toml: [lime] product = 'quarry lime': has no RNV")


@pytest.mark.parametrize(
    ("section", "said"),
    [
        ({"rnv_pct": 0}, "[lime] rnv_pct = 0: is not possible. It lies between 1 and 130"),
        ({"rnv_pct": 131}, "[lime] rnv_pct = 131: is not possible. It lies between 1 and 130"),
        ({"rnv_pct": math.nan}, "[lime] rnv_pct = nan: is not possible"),
        (SIEVES | {"cce_pct": 200}, "[lime] cce_pct = 200: is not possible. It lies between 1 and 130"),
        (
            SIEVES | {"through_10_mesh_pct": 101},
            "[lime] through_10_mesh_pct = 101: is not possible. It lies between 0 and 100",
        ),
        (
            SIEVES | {"through_50_mesh_pct": 96},
            "[lime] through_10_mesh_pct and through_50_mesh_pct: are 95 and 96. No more can pass",
        ),
        (
            SIEVES | {"through_10_mesh_pct": 0, "through_50_mesh_pct": 0},
            "[lime] cce_pct, through_10_mesh_pct, through_50_mesh_pct: make an RNV of less than 1 %",
        ),
        ({"cce_pct": 90}, "[lime] through_10_mesh_pct, through_50_mesh_pct: is not there"),
        ({"through_10_mesh_pct": 90}, "[lime] cce_pct, through_50_mesh_pct: is not there"),
        ({"depth_in": 0.5}, "[lime] depth_in = 0.5: is not possible. It lies between 1 and 12"),
        ({"depth_in": 13}, "[lime] depth_in = 13: is not possible"),
        ({"depth_in": 4, "depth_cm": 10}, "say the same. Keep one of them"),
        ({"most_tons_ac": 0}, "[lime] most_tons_ac = 0: is not possible"),
        ({"most_tons_ac": 2, "most_t_ha": 5}, "say the same. Keep one of them"),
    ],
)
def test_what_cannot_be_is_one_clear_line(section, said):
    line = refusal(section)
    assert line.startswith("region.toml: [lime] ")
    assert said in line


@pytest.mark.parametrize("depth", [{"depth_in": 4}, {"depth_cm": 10.16}])
def test_a_depth_is_read_in_either_unit(depth):
    assert read(depth)[0].depth_cm == pytest.approx(10.16)


def test_a_laboratory_is_what_region_toml_says_of_it():
    said = {"buffer": "Mehlich", "extractant": "Mehlich-3", "unit": "ppm", "depth_in": 4, "lime_rnv_pct": 65}
    rules, report = read(labs={"Two Rivers": said})
    found = rules.laboratories["Two Rivers"]
    assert (found.buffer, found.extractant, found.unit, found.ph_method) == (
        "Mehlich",
        "Mehlich-3",
        "ppm",
        "",
    )
    assert (found.depth_cm, found.lime_quality_share) == (pytest.approx(10.16), pytest.approx(0.65))
    assert report == Report()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"lime_rnv_pct": 650}, "lime_rnv_pct = 650: is not possible"),
        ({"depth_in": 4, "depth_cm": 10}, "say the same"),
    ],
)
def test_a_laboratory_that_cannot_be_is_one_clear_line(said, words):
    line = refusal(labs={"Two Rivers": said})
    assert line.startswith("region.toml: [labs.Two Rivers] ")
    assert words in line


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("Hill Lab", "hill-lab"), "[labs.'Hill Lab'] and [labs.'hill-lab']: name the same laboratory"),
        (("", "Hill Lab"), "[labs.'']: is no name of a laboratory"),
        (("--",), "[labs.'--']: is no name of a laboratory"),
    ],
)
def test_laboratories_that_are_not_told_apart_are_one_clear_line(names, words):
    assert words in refusal(labs={name: {} for name in names})


def test_a_regions_own_method_goes_before_the_shipped_one(tmp_path):
    own = METHOD.replace("Ours", "Mehlich") + 'formula = "mehlich_north_carolina"\n'
    write_text(tmp_path / "own_mehlich.toml", own)
    rules, report = read(own=tmp_path)
    assert [one.method for one in rules.methods] == ["own_mehlich", "adams_evans", "mehlich_north_carolina"]
    assert report == Report()


def test_a_regions_own_file_of_the_same_name_takes_the_place_of_the_shipped(tmp_path):
    write_text(tmp_path / "adams_evans.toml", METHOD + RATES)
    rules, _report = read(own=tmp_path)
    assert [one.name for one in rules.methods if one.method == "adams_evans"] == ["ours"]


def test_a_method_for_a_grass_goes_before_one_for_all(tmp_path):
    write_text(tmp_path / "all.toml", METHOD + RATES)
    write_text(tmp_path / "one.toml", METHOD + 'grasses = ["bahiagrass"]\n' + RATES)
    rules, report = read(own=tmp_path)
    assert [one.method for one in rules.methods][:2] == ["one", "all"]
    assert report == Report()


def test_a_table_is_read_in_either_unit_and_any_order(tmp_path):
    rows = "[[rates]]\nrate_t_ha = 4.0\nleast_buffer_ph = 6.0\n"
    write_text(tmp_path / "ours.toml", METHOD + rows + RATES)
    (first, *_others), report = read(own=tmp_path)[0].methods, read(own=tmp_path)[1]
    assert first.table == ((6.5, pytest.approx(TON_AC)), (6.0, 4.0))
    assert report == Report()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name = ", "is not readable TOML"),
        (METHOD, "ours.toml: formula, rates: needs one of the two"),
        (METHOD + 'formula = "a"\n' + RATES, "ours.toml: formula, rates: needs one of the two"),
        (METHOD.replace('source = "own trial"\n', "") + RATES, "ours.toml: source: is not a text"),
        (METHOD.replace('["Ours"]', "[]") + RATES, "ours.toml: buffers: is not a list of texts"),
        (METHOD + "depth = 8\n" + RATES, "ours.toml: depth: is not known in a lime method"),
        (METHOD + "depth_in = 8\n" + RATES, "ours.toml: depth_in: needs a value and its source"),
        (
            METHOD + 'depth_in = { value = 80, source = "x" }\n' + RATES,
            "ours.toml: depth_in = 80: is not possible. It lies between 1 and 12",
        ),
        (
            METHOD + 'most_buffer_ph = { value = 3.5, source = "x" }\n' + RATES,
            "ours.toml: least_buffer_ph and most_buffer_ph: are 4 and 3.5. The least is the lower",
        ),
        (METHOD + 'formula = "a"\n', "ours.toml: formula 'a': is not known (spatial.lime_methods)"),
        (METHOD.replace('"ours"', '" "') + RATES, "ours.toml: name: is not a text"),
        (METHOD.replace('["Ours"]', '[" "]') + RATES, "ours.toml: buffers: is not a list of texts"),
        (METHOD + "rates = 3\n", "ours.toml: rates: cannot be used"),
        (METHOD + "rates = []\n", "ours.toml: rates: cannot be used"),
        (METHOD + RATES.replace("6.5", '"6.5"'), "ours.toml: rates: cannot be used"),
        (METHOD + RATES.replace("1.0", "100"), "ours.toml: rates, row 1 rate_tons_ac = 100: is not possible"),
        (
            METHOD + RATES + RATES.replace("6.5", "6.0").replace("1.0", "0.5"),
            "ours.toml: rates: must rise as the buffer pH falls",
        ),
    ],
)
def test_a_method_that_cannot_be_used_is_one_clear_line(tmp_path, text, said):
    write_text(tmp_path / "ours.toml", text)
    assert said in refusal(own=tmp_path)


def test_two_methods_for_one_buffer_are_refused(tmp_path):
    for name in ("one", "two"):
        write_text(tmp_path / f"{name}.toml", METHOD + RATES)
    assert "two.toml: buffer 'ours': stands in one.toml too" in refusal(own=tmp_path)


def test_a_folder_that_is_not_there_is_one_clear_line(tmp_path):
    assert "is not a folder. Check [rules] lime in region.toml" in refusal(own=tmp_path / "gone")
