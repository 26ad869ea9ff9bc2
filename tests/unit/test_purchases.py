"""What to buy: only what a laboratory's sample stands behind, with its reason, summed by client."""

import pandas as pd
import pytest

from maps import labels
from spatial.agronomy.soil.nutrients import k2o_wanted
from spatial.agronomy.soil.purchases import COLUMNS, purchases
from spatial.reasons import reason

NAN = float("nan")
SAMPLED = pd.Timestamp("2026-02-12")
BARE = {
    "client": "Dell", "area_ha": 10.0, "flags": (), "intent": "hay", "lime_t_ha": NAN, "lime_t": NAN, "lime": (),
    "soil_k_scheme": "UGA",
    "lime_applications": 0, "lime_product": "",
    "lime_sample_date": SAMPLED, "taken_basis": "", "k2o_taken_low_kg_ha": NAN,
    "k2o_taken_high_kg_ha": NAN, "soil_k_origin": "", "soil_k_class": "", "soil_k_date": SAMPLED, "lab_k2o_kg_ha": NAN,
}  # fmt: skip
LIMED = {"lime_t_ha": 2.0, "lime_t": 20.0, "lime_applications": 1}
LOW_K = {
    "soil_k_origin": "lab", "soil_k_class": "low", "taken_basis": "weighed",
    "k2o_taken_low_kg_ha": 80.0, "k2o_taken_high_kg_ha": 120.0,
}  # fmt: skip


def old(nutrient):
    return (reason("soil_test_old", sample_date=SAMPLED, nutrients=(nutrient,)),)


def bought(*fields):
    ids = pd.Index([chr(ord("a") + place) for place in range(len(fields))], name="field_id")
    table = pd.DataFrame([BARE | field for field in fields], index=ids)
    return purchases(table.assign(k2o_wanted=k2o_wanted(table)))


def why(table, units="us"):
    return labels.sentence(table["reason"].iloc[0], units)


def test_lime_is_bought_at_the_rate_of_the_lab_sample_for_the_whole_field():
    row = bought(LIMED).iloc[0]
    assert (row["client"], row["field_id"], row["item"]) == ("Dell", "a", "lime")
    assert row[list(COLUMNS[3:7])].tolist() == [20.0, 20.0, 2.0, 2.0]


@pytest.mark.parametrize(
    "more",
    [
        {"lime_t_ha": NAN, "lime_t": NAN},
        {"lime_t_ha": 0.0, "lime_t": 0.0},
        {"lime_sample_date": pd.NaT},
    ],
)
def test_without_a_fresh_lab_sample_that_asks_for_lime_there_is_none_to_buy(more):
    assert bought(LIMED | more).empty


def test_lime_says_its_product_its_parts_and_who_set_the_rate():
    # By hand: 2 t/ha are 0.89 short tons an acre.
    assert why(bought(LIMED)).startswith(
        "Lime at 0.89 tons an acre, by the laboratory, from the sample of 12 Feb 2026."
    )
    split = why(bought(LIMED | {"lime_product": "Pit lime", "lime_applications": 2}), "metric")
    assert split.startswith(
        "Pit lime for the first of 2 parts, one each fall; in all it is 2.0 t/ha, by the laboratory"
    )


def test_a_rate_that_was_worked_out_here_is_not_the_laboratorys():
    assert "not the laboratory's rate" in why(bought(LIMED | {"lime": (reason("lime_method"),)}))


def test_low_mg_makes_it_dolomitic():
    flag = reason("mg_low_dolomite", rating="low", scheme="UGA", sample_date=SAMPLED)
    assert why(bought(LIMED | {"flags": (flag,)})).endswith(
        "buy it only if it is dolomitic; else ask for dolomitic lime."
    )


def test_the_laboratorys_own_k2o_rate_goes_before_what_the_hay_took():
    table = bought(LOW_K | {"lab_k2o_kg_ha": 112.085})
    assert table.loc[0, list(COLUMNS[3:7])].tolist() == pytest.approx([1.12085, 1.12085, 0.112085, 0.112085])
    assert why(table) == (
        "At most 100 lb an acre of K2O for the year, by the laboratory (sample of 12 Feb 2026), in halves; take off "
        "what was spread since."
    )


def test_low_k_without_a_rate_replaces_what_the_hay_took():
    table = bought(LOW_K)
    assert table.loc[0, list(COLUMNS[3:7])].tolist() == pytest.approx([0.8, 1.2, 0.08, 0.12])
    assert why(table, "metric") == (
        "K is low (UGA, sample of 12 Feb 2026): 80 to 120 kg/ha of K2O replaces what the recorded hay took; ask the "
        "laboratory for its rate."
    )


def test_hay_that_is_only_expected_is_not_said_to_be_taken():
    assert "what the next cut would take" in why(bought(LOW_K | {"taken_basis": "expected"}))


@pytest.mark.parametrize(
    "more",
    [
        {"soil_k_class": "enough"},
        {"soil_k_class": ""},
        {"soil_k_origin": "raster"},
        {"flags": old("k")},
        {"k2o_taken_low_kg_ha": NAN, "k2o_taken_high_kg_ha": NAN},
        {"lab_k2o_kg_ha": 0.0},
        {"lab_k2o_kg_ha": 112.0, "flags": old("k")},
    ],
)
def test_without_a_fresh_lab_rating_that_asks_for_k_there_is_no_k2o_to_buy(more):
    assert bought(LOW_K | more).empty


def test_rows_are_by_client_item_and_field_whatever_the_order_of_the_fields():
    table = bought(LOW_K | LIMED, LIMED | {"client": "Abel"}, LOW_K | LIMED)
    rows = list(zip(table["client"], table["item"], table["field_id"], strict=True))
    assert rows == [
        ("Abel", "lime", "b"), ("Dell", "k2o", "a"), ("Dell", "k2o", "c"), ("Dell", "lime", "a"), ("Dell", "lime", "c"),
    ]  # fmt: skip


def test_where_nothing_is_to_be_bought_the_table_is_empty_and_whole():
    table = bought({})
    assert table.empty and list(table) == list(COLUMNS)


def test_of_several_applications_only_the_first_is_bought():
    table = bought(LIMED | {"lime_applications": 2})
    assert table.loc[0, list(COLUMNS[3:7])].tolist() == [10.0, 10.0, 1.0, 1.0]


def test_land_that_was_not_sampled_is_not_bought_for():
    assert bought(LIMED | {"lime_t": 12.0}).loc[0, "low_t"] == 12.0


def test_k_of_a_stockpiled_field_is_not_replaced_by_what_hay_took():
    assert bought(LOW_K | {"intent": "stockpile"}).empty
