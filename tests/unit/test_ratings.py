from dataclasses import replace
from datetime import date

import pandas as pd
import pytest

from spatial import addons
from spatial.agronomy.soil.ratings import rate_mapped, rate_tests
from spatial.agronomy.soil.standing import standing_tests
from spatial.columns import SOIL_TESTS
from spatial.errors import InputError
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.soil.schemes import read_schemes
from spatial.values import NUTRIENTS
from tests.unit.stands import fields_of

ON = date(2026, 9, 8)
SHIPPED = read_schemes(Report())


def rated(*rows, schemes=SHIPPED, grass="hybrid_bermudagrass"):
    whole = [{"field_id": "a", "sample_date": "2026-03-01"} | row for row in rows]
    tests = checked(pd.DataFrame(whole), SOIL_TESTS, Source("tests.csv"), Report())
    standing = {kind: standing_tests(tests, ON, kind) for kind in NUTRIENTS}
    return rate_tests(fields_of(grass=[grass]), standing, schemes, ON).iloc[0]


def codes(row, nutrient="k"):
    return [flag.code for flag in row[f"soil_{nutrient}_flags"]]


@pytest.fixture
def schemes_of(tmp_path):
    """Return a call that reads a region's own scheme: the schemes, and why it was refused."""

    def reading(text):
        (tmp_path / "own.toml").write_text(text, encoding="utf-8")
        report = Report()
        return read_schemes(report, tmp_path), [problem.cause for problem in report.wrong]

    return reading


OWN = 'name = "own"\nextractant = "Own"\nunit = "index"\nratings = ["low", "high"]\nsource = "invented"\n'


def test_a_mehlich_3_sample_is_never_rated_by_a_mehlich_1_table():
    only_mehlich_1 = tuple(scheme for scheme in SHIPPED if scheme.extractant == "Mehlich-1")
    row = rated({"k_mg_kg": 30, "extractant": "Mehlich-3", "soil_group": "piedmont"}, schemes=only_mehlich_1)
    assert (row["soil_k_rating"], codes(row)) == ("", ["no_rating_scheme"])


def test_a_scheme_without_an_extractant_rates_nothing():
    unnamed = tuple(replace(scheme, extractant="") for scheme in SHIPPED)
    assert rated({"k_mg_kg": 30}, schemes=unnamed)["soil_k_class"] == ""


def test_an_unnamed_extractant_is_not_rated():
    row = rated({"k_mg_kg": 30})
    assert (row["soil_k_class"], codes(row)) == ("", ["no_rating_scheme"])


def test_a_soil_group_that_the_scheme_lacks_is_said_with_those_it_has():
    row = rated({"k_mg_kg": 30, "extractant": "Mehlich-1", "soil_group": "delta"})
    (flag,) = row["soil_k_flags"]
    groups = ("coastal_plain", "limestone_valley", "mountain", "piedmont")
    assert (flag.code, flag.values["soil_groups"]) == ("no_soil_group", groups)


def test_an_index_is_rated_only_by_a_scheme_of_that_index(schemes_of):
    schemes, refused = schemes_of(OWN + "[limits.any]\nk = [25]\n")
    assert refused == []
    assert rated({"k_index": 20, "extractant": "own"}, schemes=schemes)["soil_k_class"] == "low"
    assert codes(rated({"k_mg_kg": 20, "extractant": "own"}, schemes=schemes)) == ["no_rating_scheme"]
    assert codes(rated({"k_index": 20, "extractant": "Mehlich-3"}, schemes=schemes)) == ["no_rating_scheme"]


RICH = {"zone": "x", "k_mg_kg": 300, "extractant": "Mehlich-3"}  # above optimum


def test_zones_by_two_schemes_are_rated_by_the_lowest_in_the_name_of_its_scheme():
    row = rated(RICH, {"zone": "y", "k_mg_kg": 20, "extractant": "Mehlich-1", "soil_group": "piedmont"})
    (flag,) = row["soil_k_flags"]
    assert (row["soil_k_class"], flag.code) == ("low", "k_low")
    assert row["soil_k_scheme"] == flag.values["scheme"] == "UGA crop sheet 037, Coastal bermudagrass hay"


def test_a_rich_zone_is_never_named_as_low():
    row = rated(RICH, {"zone": "y", "k_mg_kg": 20, "extractant": "Olsen"})
    assert (row["soil_k_rating"], codes(row)) == ("", ["no_rating_scheme"])


def test_a_very_low_zone_of_a_low_field_is_named():
    # 70 and 20 lb/ac, 57.5 in the mean: low, very low and low (Rutgers NJAES).
    upper = {"zone": "x", "zone_area_ha": 3, "k_mg_kg": 35, "extractant": "Mehlich-3"}
    row = rated(upper, {"zone": "y", "zone_area_ha": 1, "k_mg_kg": 10, "extractant": "M3"})
    assert row["soil_k_rating"] == "low"
    assert [flag.values["zone"] for flag in row["soil_k_flags"] if flag.code == "zone_low"] == ["y"]


@pytest.mark.parametrize("name", ["Mehlich 3", "Mehlich III", "M3"])
def test_an_extractant_is_known_under_its_usual_names(name):
    row = rated({"k_mg_kg": 30, "extractant": name})
    assert row["soil_k_scheme"] == "generic Mehlich-3 levels, not southern"


def test_a_scheme_of_k_alone_leaves_p_to_the_others(schemes_of):
    schemes, _refused = schemes_of(
        OWN.replace('"Own"', '"Mehlich-3"').replace("index", "ppm") + "[limits.any]\nk = [25]\n"
    )
    row = rated({"p_mg_kg": 20, "k_mg_kg": 20, "extractant": "Mehlich-3"}, schemes=schemes)
    assert (row["soil_k_scheme"], row["soil_p_scheme"]) == ("own", "generic Mehlich-3 levels, not southern")


def test_a_nutrient_that_no_scheme_rates_is_said_alone(schemes_of):
    schemes, _refused = schemes_of(OWN.replace("index", "ppm") + "[limits.any]\nk = [25]\n")
    row = rated({"p_mg_kg": 20, "k_mg_kg": 20, "extractant": "Own"}, schemes=schemes)
    assert (codes(row, "k"), codes(row, "p")) == (["k_low"], ["nutrient_unrated"])


def test_words_in_capitals_are_the_same_words(schemes_of):
    text = OWN.replace('["low", "high"]', '["Very Low", "Low", "High"]').replace("index", "ppm")
    schemes, refused = schemes_of(text + "[limits.any]\nk = [10, 25]\n")
    assert refused == []
    assert codes(rated({"k_mg_kg": 20, "extractant": "Own"}, schemes=schemes)) == ["k_low"]


def test_limits_of_a_soil_group_go_before_those_of_any(schemes_of):
    schemes, _refused = schemes_of(
        OWN.replace("index", "ppm") + "[limits.sand]\nk = [25]\n[limits.any]\nk = [5]\n"
    )
    sandy = {"k_mg_kg": 20, "extractant": "Own", "soil_group": "Sand"}
    assert rated(sandy, schemes=schemes)["soil_k_class"] == "low"
    assert rated(sandy | {"soil_group": "clay"}, schemes=schemes)["soil_k_class"] == "enough"


@pytest.mark.parametrize(
    ("words", "cause"),
    [
        ('["low", "fine"]', "has ratings ['fine'], which say neither low nor enough"),
        ('["high", "low"]', "has ratings that do not rise"),
        ('["low", "Low"]', "has ratings that do not rise"),
    ],
)
def test_words_that_could_never_be_flagged_are_refused(schemes_of, words, cause):
    _schemes, refused = schemes_of(OWN.replace('["low", "high"]', words) + "[limits.any]\nk = [25]\n")
    assert refused == [cause]


@pytest.mark.parametrize(
    ("nutrient", "year", "old"), [("k", 2025, True), ("p", 2025, False), ("p", 2023, True)]
)
def test_k_is_old_after_a_season_and_p_after_three_years(nutrient, year, old):
    sample = {f"{nutrient}_mg_kg": 500, "extractant": "Mehlich-3", "sample_date": f"{year}-03-01"}
    assert ("soil_test_old" in codes(rated(sample), nutrient)) == old


def test_a_mapped_value_is_rated_and_asks_for_a_sample_only():
    mapped = pd.DataFrame(
        {
            "mapped_k_mg_kg": [30.0], "mapped_k_extractant": ["Mehlich-3"], "mapped_k_soil_group": [""],
            "mapped_k_cover_share": [0.8], "mapped_k_date": [pd.NaT],
        },
        index=["a"],
    )  # fmt: skip
    row = rate_mapped(fields_of(grass=["hybrid_bermudagrass"]), mapped, SHIPPED).iloc[0]
    assert (row["soil_k_class"], codes(row), row["soil_p_class"]) == ("low", ["sample_nutrient"], "")


def test_a_mapped_value_without_an_extractant_is_not_rated():
    mapped = pd.DataFrame(
        {
            "mapped_k_mg_kg": [30.0], "mapped_k_extractant": [""], "mapped_k_soil_group": [""],
            "mapped_k_cover_share": [0.8], "mapped_k_date": [pd.NaT],
        },
        index=["a"],
    )  # fmt: skip
    assert (
        rate_mapped(fields_of(grass=["hybrid_bermudagrass"]), mapped, SHIPPED).iloc[0]["soil_k_class"] == ""
    )


class Offer:
    """An entry point of spatial.soil_ratings, as an installed package offers it."""

    name, value, dist = "by_cec", "package:rate", None

    def __init__(self, formula):
        self.formula = formula

    def load(self):
        return self.formula


@pytest.fixture
def by_formula(schemes_of, monkeypatch):
    """Return a call that rates a sample by an add-on."""

    def rating_by(formula):
        monkeypatch.setattr(
            addons, "entry_points", lambda group: [Offer(formula)] if "ratings" in group else []
        )
        schemes, refused = schemes_of(OWN.replace("index", "ppm") + 'formula = "by_cec"\n')
        assert refused == []
        return rated({"k_mg_kg": 50, "cec_meq": 4, "extractant": "own"}, schemes=schemes)

    return rating_by


def by_share(_nutrient, sample):
    # K as a share of the exchange sites: 391 mg/kg are one meq in 100 g (atomic weight of K 39.1).
    return "low" if sample["k_mg_kg"] / 391 / sample["cec_meq"] < 0.04 else "high"


def unknown_word(_nutrient, _sample):
    return "poor"


def failing(_nutrient, _sample):
    return 1 / 0


def test_an_add_on_rates_by_a_formula(by_formula):
    assert by_formula(by_share)["soil_k_class"] == "low"


def leaving(_nutrient, _sample):
    raise SystemExit(3)


@pytest.mark.parametrize("formula", [unknown_word, failing, leaving])
def test_an_add_on_that_fails_stops_the_run_in_one_line(by_formula, formula):
    with pytest.raises(InputError) as caught:
        by_formula(formula)
    (problem,) = caught.value.problems
    assert problem.file == "spatial.soil_ratings" and problem.place == "by_cec"
    assert problem.cause.startswith(f"of {__name__} ")


@pytest.mark.parametrize(
    ("more", "cause"),
    [
        ("", "lacks limits"),
        ('formula = ""\n', "has formula ''"),
        ('formula = "x"\n[limits.any]\nk = [25]\n', "has a formula and limits"),
        ("grasses = 3\n[limits.any]\nk = [25]\n", "has grasses 3"),
        ("[limits.any]\nk = [25, 20]\n", "has limits for 'any' that cannot be used"),
    ],
)
def test_a_scheme_that_cannot_be_is_refused(schemes_of, more, cause):
    _schemes, refused = schemes_of(OWN + more)
    assert refused == [cause]
