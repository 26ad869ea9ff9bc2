"""What the lime of a field promises."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from maps.labels import sentence
from spatial.agronomy.soil.lime import lime_needs
from spatial.agronomy.soil.lime_methods import FORMULAS
from spatial.columns import SOIL_TESTS
from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.soil.lime import read_lime_rules
from spatial.inputs.soil.lime_files import BUILT_IN
from spatial.soil import Laboratory, LimeMethod, LimeProduct, LimeRules
from tests.unit.making import lines_of, write_text

ON = date(2026, 9, 9)
TON_AC = 2.2417023  # t/ha: 0.90718474 t on 0.40468564224 ha
EMPTY = {"text": "", "number": np.nan, "date": pd.NaT}


def shipped():
    """Return the shipped methods by name."""
    return {one.method: one for one in read_lime_rules({}, {}, Report(), None).methods}


def method(name):
    return shipped()[name]


def fields(grass="hybrid_bermudagrass", area_ha=4.0):
    return pd.DataFrame(
        {"grass": [grass], "area_ha": area_ha, "growth_end_date": pd.NaT},
        index=pd.Index(["f1"], name="field_id"),
    )


def lab(**said):
    """Return one sample that stands for the whole of field f1."""
    row = {column.name: EMPTY[column.kind] for column in SOIL_TESTS}
    given = {"field_id": "f1", "sample_date": pd.Timestamp("2026-03-08"), "ph_method": "water"}
    return row | given | {"lab": "Mill Creek", "weight_share": 1.0} | said


def samples(*rows):
    columns = [*(column.name for column in SOIL_TESTS), "weight_share"]
    return pd.DataFrame(list(rows), columns=columns)


def needs(*rows, on=ON, target_ph=6.0, area_ha=4.0, **rules):
    given = {"methods": tuple(shipped().values())} | rules
    standing = samples(*rows)
    return lime_needs(
        fields(area_ha=area_ha), pd.Series({"f1": target_ph}), standing, LimeRules(**given), on
    ).loc["f1"]


def codes(need):
    return [why.code for why in need["lime"]]


SOUR = {"ph": 5.0, "buffer": "Adams-Evans", "buffer_ph": 7.6}  # 2206 lb of CaCO3 an acre to pH 6.0
MEHLICH = {"ph": 5.0, "buffer": "Mehlich", "buffer_ph": 6.3}  # 0.75 tons an acre to pH 6.0


def test_the_laboratorys_own_rate_goes_before_a_method():
    need = needs(lab(**SOUR, lime_t_ha=3.0))
    assert need["lime_t_ha"] == 3.0
    assert "lime_lab_rate" in codes(need)
    assert "lime_method" not in codes(need)


def test_the_laboratorys_own_rate_is_turned_from_its_lime_into_the_product():
    # Univ. of Tennessee: 2 t in lime of 65 % are 2.6 t of a product of 50 %.
    need = needs(
        lab(ph=5.0, lime_t_ha=2.0),
        laboratories={"MILL-CREEK": Laboratory(lime_quality_share=0.65)},
        product=LimeProduct("quarry lime", 0.5),
    )
    assert need["lime_t_ha"] == pytest.approx(2.6)
    assert need["lime_product"] == "quarry lime"


def test_a_laboratorys_lime_of_unknown_quality_stays_its_own():
    need = needs(lab(ph=5.0, lime_t_ha=2.0), product=LimeProduct("quarry lime", 0.5))
    assert (need["lime_t_ha"], need["lime_product"]) == (2.0, "")
    assert "lime_lab_base_unknown" in codes(need)


def test_a_laboratory_that_asks_for_no_lime_is_followed():
    need = needs(lab(**SOUR, lime_t_ha=0.0))
    assert (need["lime_t_ha"], need["lime_applications"]) == (0.0, 0)
    assert codes(need) == ["lime_lab_none"]


def test_a_laboratory_may_lime_to_a_target_of_its_own_but_it_is_said():
    need = needs(lab(ph=6.2, lime_t_ha=2.0))
    assert need["lime_t_ha"] == 2.0
    assert "lime_lab_over_target" in codes(need)


@pytest.mark.parametrize(
    ("said", "tons"), [(SOUR, 2206 / 2000), (MEHLICH, 0.75), (SOUR | {"buffer": "adams evans"}, 2206 / 2000)]
)
def test_a_sample_is_limed_by_the_method_of_its_buffer(said, tons):
    assert needs(lab(**said))["lime_t_ha"] / TON_AC == pytest.approx(tons, abs=5e-4)


def test_the_whole_field_gets_its_rate_times_its_area():
    need = needs(lab(**MEHLICH), area_ha=10.0)
    assert need["lime_t"] == pytest.approx(7.5 * TON_AC)


@pytest.mark.parametrize("ph", [6.0, 6.3])
def test_a_ph_at_or_over_the_target_needs_no_lime(ph):
    need = needs(lab(**SOUR | {"ph": ph}))
    assert (need["lime_t_ha"], need["lime_t"], need["lime_applications"]) == (0.0, 0.0, 0)
    assert codes(need) == ["lime_none"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"buffer": ""}, "lime_no_buffer"),
        ({"buffer": "Woodruff"}, "lime_buffer_unknown"),
        ({"buffer_ph": np.nan}, "lime_no_buffer_ph"),
        ({"buffer_ph": 8.2}, "lime_buffer_ph_impossible"),
        ({"buffer_ph": 5.5}, "lime_buffer_ph_impossible"),
        ({"ph": 4.4}, "lime_method_out"),
        ({"ph_method": "0.01 M CaCl2"}, "lime_ph_in_salt"),
    ],
)
def test_a_low_ph_that_no_method_can_use_is_for_the_laboratory(changed, code):
    need = needs(lab(**SOUR | changed))
    assert np.isnan(need["lime_t_ha"])
    assert need["lime_applications"] == 0
    assert codes(need) == [code, "lime_ask_rate"]


def test_one_buffer_method_never_stands_in_for_another():
    only_mehlich = (method("mehlich_north_carolina"),)
    assert np.isnan(needs(lab(**SOUR), methods=only_mehlich)["lime_t_ha"])


def test_a_cacl2_ph_that_was_brought_to_water_is_limed():
    assert needs(lab(**SOUR, ph_method=""))["lime_t_ha"] > 0
    assert needs(lab(**SOUR | {"ph_method": "CaCl2 brought to water"}))["lime_t_ha"] > 0


def test_a_ph_whose_method_is_not_said_is_taken_as_in_water_and_said():
    assert "lime_ph_method_unsaid" in codes(needs(lab(**SOUR, ph_method="")))


@pytest.mark.parametrize(("sampled", "stands"), [("2023-09-10", True), ("2023-09-09", False)])
def test_a_sample_of_more_than_three_years_sets_no_rate(sampled, stands):
    need = needs(lab(**SOUR, lime_t_ha=2.0, sample_date=pd.Timestamp(sampled)))
    assert np.isfinite(need["lime_t_ha"]) == stands
    assert (codes(need) == ["lime_sample_old"]) != stands


def test_a_field_without_a_sample_has_no_rate_and_no_reason():
    need = needs()
    assert np.isnan(need["lime_t_ha"]) and np.isnan(need["lime_t"])
    assert (need["lime_applications"], need["lime"]) == (0, ())


def test_a_grass_without_a_target_has_only_the_laboratorys_rate():
    assert codes(needs(lab(**SOUR), target_ph=np.nan)) == ["lime_no_target"]
    assert needs(lab(**SOUR, lime_t_ha=2.0), target_ph=np.nan)["lime_t_ha"] == 2.0


def test_a_product_changes_the_rate_by_its_quality():
    need = needs(lab(**SOUR), product=LimeProduct("quarry lime", 0.5))
    assert need["lime_t_ha"] / TON_AC == pytest.approx(2 * 2206 / 2000, abs=1e-3)
    assert need["lime_product"] == "quarry lime"


def test_without_a_product_the_rate_stays_in_the_lime_of_the_method():
    need = needs(lab(**SOUR))
    assert need["lime_product"] == "pure CaCO3"
    assert "lime_base" in codes(need)


def test_north_carolinas_standard_lime_has_no_rnv_unless_the_laboratory_says_one():
    product = LimeProduct("quarry lime", 0.45)
    unsaid = needs(lab(**MEHLICH), product=product)
    assert unsaid["lime_t_ha"] / TON_AC == pytest.approx(0.75)
    assert (unsaid["lime_product"], "lime_base_unknown" in codes(unsaid)) == (
        "standard agricultural lime",
        True,
    )
    said = needs(
        lab(**MEHLICH), product=product, laboratories={"Mill Creek": Laboratory(lime_quality_share=0.9)}
    )
    assert said["lime_t_ha"] / TON_AC == pytest.approx(1.5)


def test_a_shallower_layer_needs_less():
    half = needs(lab(**MEHLICH), depth_cm=10.16)  # 4 of the method's 8 in
    assert half["lime_t_ha"] / TON_AC == pytest.approx(0.375)
    assert "lime_other_depth" in codes(half)


def test_the_laboratorys_rate_is_not_changed_for_another_depth():
    need = needs(lab(ph=5.0, lime_t_ha=2.0), depth_cm=10.0)
    assert need["lime_t_ha"] == 2.0
    assert "lime_depth_unknown" in codes(need)


@pytest.mark.parametrize(
    ("rate", "count"), [(0.1, 1), (2 * TON_AC, 1), (2.01 * TON_AC, 2), (4 * TON_AC, 2), (5 * TON_AC, 3)]
)
def test_a_rate_over_the_most_is_split(rate, count):
    need = needs(lab(ph=5.0, lime_t_ha=rate), most_t_ha=2 * TON_AC)
    assert need["lime_applications"] == count
    assert ("lime_split" in codes(need)) == (count > 1)


def test_the_product_as_it_is_spread_is_what_is_split():
    need = needs(lab(**SOUR), product=LimeProduct("quarry lime", 0.5), most_t_ha=2 * TON_AC)
    assert need["lime_applications"] == 2


def test_a_rate_too_small_to_spread_is_none():
    # NCDA&CS, lime and fertilizer requirements: under 0.3 ton an acre no lime. pH 5.8, target 6.0: 1.2 * 0.25.
    assert needs(lab(**MEHLICH | {"ph": 5.79}))["lime_t_ha"] > 0
    need = needs(lab(**MEHLICH | {"ph": 5.85}))
    assert (need["lime_t_ha"], codes(need)) == (0.0, ["lime_too_little"])


def zone(name, share, **said):
    return lab(zone=name, weight_share=share, **said)


def test_zones_are_weighted_by_their_land_and_each_rate_is_said():
    need = needs(zone("low end", 0.25, **MEHLICH), zone("upper end", 0.75, **MEHLICH | {"ph": 6.1}))
    assert need["lime_t_ha"] / TON_AC == pytest.approx(0.75 / 4)
    told = {why.values["zone"]: why.values["lime_t_ha"] for why in need["lime"] if why.code == "lime_zone"}
    assert told == {"low end": pytest.approx(0.75 * TON_AC), "upper end": 0.0}


def test_the_applications_of_a_field_are_those_of_its_sourest_zone():
    rates = [zone("a", 0.5, ph=5.0, lime_t_ha=2.0), zone("b", 0.5, ph=5.0, lime_t_ha=9.0)]
    need = needs(*rates, most_t_ha=4.0)
    assert need["lime_applications"] == 3
    assert "lime_split_zones" in codes(need)


def test_a_zone_without_a_rate_leaves_the_field_without_a_total():
    need = needs(zone("a", 0.5, **MEHLICH), zone("b", 0.5, **MEHLICH | {"buffer_ph": np.nan}))
    assert np.isnan(need["lime_t_ha"])
    assert {"lime_zone", "lime_zone_unknown", "lime_zones_part"} <= set(codes(need))


def test_repeats_of_one_zone_are_averaged_over_those_that_have_a_rate():
    need = needs(
        lab(ph=5.0, lime_t_ha=2.0, weight_share=0.4),
        lab(ph=5.0, lime_t_ha=4.0, weight_share=0.4),
        lab(**MEHLICH | {"buffer_ph": np.nan}, weight_share=0.2),
    )
    assert need["lime_t_ha"] == pytest.approx(3.0)


def test_rates_in_different_limes_are_not_added_up():
    need = needs(zone("a", 0.5, **MEHLICH), zone("b", 0.5, **SOUR))
    assert np.isnan(need["lime_t_ha"])
    assert "lime_mixed" in codes(need)


def test_zones_in_the_same_lime_of_unknown_quality_are_added_up():
    need = needs(zone("a", 0.5, **MEHLICH), zone("b", 0.5, **MEHLICH | {"ph": 5.4}))
    assert np.isfinite(need["lime_t_ha"])


def test_zones_that_name_far_more_land_than_the_field_are_told_and_count_by_their_share():
    said = {"ph": 5.0, "lime_t_ha": 2.0}
    need = needs(zone("a", 0.999, zone_area_ha=2000.0, **said), zone("b", 0.001, zone_area_ha=2.0, **said))
    assert (need["lime_t_ha"], need["lime_t"]) == (pytest.approx(2.0), pytest.approx(8.0))
    (told,) = [why for why in need["lime"] if why.code == "lime_zones_over"]
    assert (told.values["zones_ha"], told.values["area_ha"]) == (2002.0, 4.0)


def test_zones_that_name_a_little_more_land_than_the_field_are_taken_for_it():
    said = {"ph": 5.0, "lime_t_ha": 2.0}
    need = needs(zone("a", 0.5, zone_area_ha=2.2, **said), zone("b", 0.5, zone_area_ha=2.1, **said))
    assert need["lime_t"] == pytest.approx(8.0) and "lime_zones_over" not in codes(need)


def test_the_laboratorys_own_rate_needs_no_ph():
    need = needs(lab(lime_t_ha=3.0))
    assert need["lime_t_ha"] == 3.0 and need["lime_sample_date"] == pd.Timestamp("2026-03-08")


def test_many_zones_are_told_up_to_four():
    shares = [0.3, 0.25, 0.2, 0.15, 0.1]
    need = needs(
        *(zone(f"z{place}", share, ph=5.0, lime_t_ha=1.0 + place) for place, share in enumerate(shares))
    )
    assert codes(need).count("lime_zone") == 4
    assert [why.values["more_zones"] for why in need["lime"] if why.code == "lime_more_zones"] == [1]


def test_the_order_of_the_samples_changes_nothing():
    rows = [zone("a", 0.5, **MEHLICH), zone("b", 0.5, **MEHLICH | {"ph": 5.4})]
    assert needs(*rows)["lime"] == needs(*reversed(rows))["lime"]


def test_the_steps_are_told_in_the_readers_units():
    need = needs(lab(**SOUR), product=LimeProduct("quarry lime", 0.6075), most_t_ha=2 * TON_AC)
    told = [sentence(why, "us") for why in need["lime"]]
    assert told[0] == (
        "From pH 5.0, buffer pH 7.60 (sample of 8 Mar 2026), to pH 6.0: 1.1 tons an acre of pure CaCO3, by the "
        "Adams-Evans buffer (Adams and Evans 1962, as in Huluka 2007; its equation of pH and acid share from memory)."
    )
    assert any(
        line.startswith(
            "That is 1.8 tons an acre of quarry lime (RNV 61 %), if the rate is for lime of RNV 100 %"
        )
        for line in told
    )
    assert "3 to 12 months" in told[-1]
    assert "2.5 t/ha" in sentence(need["lime"][0], "metric")


def test_every_reason_has_a_sentence_that_its_values_fill():
    many = [
        needs(lab(**SOUR | {"buffer_ph": 8.2})),
        needs(lab(**SOUR | {"buffer": "Woodruff"})),
        needs(lab(ph=5.0, lime_t_ha=9.0), most_t_ha=4.0, depth_cm=10.0),
        needs(zone("a", 0.5, **MEHLICH), zone("", 0.5, **SOUR), most_t_ha=4.0),
    ]
    told = [sentence(why, units) for need in many for why in need["lime"] for units in ("us", "metric")]
    assert not [text for text in told if "{" in text or "nan" in text]
    assert (
        "A buffer pH of 8.20 cannot be in the buffer Adams-Evans, which reads 6.00 to 8.00: check the report."
        in told
    )
    assert (
        "The buffer Woodruff is not one that lime is worked out from here; known: Adams-Evans and Mehlich."
        in told
    )


ADD_ON = LimeMethod("ours", "our method", ("ours",), "own trial", quality_share=1.0, formula="ours")


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Install a package that offers a formula of the name `ours`."""
    monkeypatch.syspath_prepend(tmp_path)

    def offer(body):
        module = f"lime_{abs(hash(body))}"
        write_text(tmp_path / f"{module}.py", f"def made(ph, buffer_ph, target_ph):\n    {body}\n")
        about = tmp_path / "haylime-1.2.dist-info"
        write_text(about / "METADATA", "Metadata-Version: 2.1\nName: haylime\nVersion: 1.2\n")
        write_text(about / "entry_points.txt", f"[spatial.lime_methods]\nours = {module}:made\n")

    return offer


def by_add_on():
    return needs(lab(ph=5.0, buffer="ours", buffer_ph=7.0), methods=(ADD_ON,))


def test_an_add_on_gives_a_rate(install):
    install("return target_ph - ph + (8 - buffer_ph)")
    assert by_add_on()["lime_t_ha"] == pytest.approx(2.0)


@pytest.mark.parametrize(
    "body",
    [
        "raise ValueError('no soil')",
        "raise SystemExit(3)",
        "return 41 + 0 * ph",
        "return -ph",
        "return ph[:0]",
        "return 'much'",
        "return ph / 0 * 1",
    ],
)
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_an_add_on_that_fails_is_named(install, body):
    install(body)
    with pytest.raises(InputError) as refused:
        by_add_on()
    (line,) = lines_of(refused.value.problems)
    assert line.startswith("spatial.lime_methods: ours: ")


def test_the_reader_knows_the_formulas_that_are_built_in():
    assert set(BUILT_IN) == set(FORMULAS)


def test_a_formula_that_nobody_offers_lists_the_known():
    with pytest.raises(InputError) as refused:
        by_add_on()
    (line,) = lines_of(refused.value.problems)
    assert "adams_evans, mehlich_north_carolina" in line


def test_a_formula_that_no_sample_asks_for_is_not_loaded():
    broken = replace(ADD_ON, formula="nobody offers this")
    assert needs(lab(**SOUR), methods=(broken, method("adams_evans")))["lime_t_ha"] > 0


def test_a_table_for_one_target_is_used_for_no_other():
    table = replace(ADD_ON, formula="", table=((6.0, 2.0),), target_ph=6.5)
    row = lab(ph=5.0, buffer="ours", buffer_ph=7.0)
    assert codes(needs(row, methods=(table,))) == ["lime_method_target", "lime_ask_rate"]
    assert needs(row, methods=(table,), target_ph=6.5)["lime_t_ha"] == 2.0


def test_rates_in_different_limes_of_one_zone_are_said_to_be_mixed():
    said = {"lab": "Mill Creek", "lime_t_ha": 2.0}
    other = said | {"lab": "Dale", "lime_t_ha": 3.0}
    labs = {"Mill Creek": Laboratory(lime_quality_share=0.9), "Dale": Laboratory(lime_quality_share=1.0)}
    need = needs(lab(**said, weight_share=0.5), lab(**other, weight_share=0.5), laboratories=labs)
    assert np.isnan(need["lime_t_ha"]) and "lime_mixed" in [why.code for why in need["lime"]]


def test_a_sample_that_will_be_old_when_lime_is_spread_sets_no_rate():
    one = fields().assign(growth_end_date=pd.Timestamp(ON) + pd.Timedelta(days=70))
    taken = pd.Timestamp(ON) - pd.Timedelta(days=3 * 365 - 30)
    sample = samples(lab(**SOUR | {"sample_date": taken}))
    need = lime_needs(
        one, pd.Series({"f1": 6.0}), sample, LimeRules(methods=(method("adams_evans"),)), ON
    ).iloc[0]
    assert np.isnan(need["lime_t_ha"]) and [why.code for why in need["lime"]] == ["lime_sample_soon_old"]
