"""What to buy and the soil in files: the right amounts in the region's units, each with its reason."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest

from maps.handoffs import write_geopackage
from maps.purchases import (
    buy_lines,
    needs_by_client,
    per_area,
    purchase_records,
    purchase_table,
    total,
    write_purchases_csv,
)
from maps.tables import FIELD_KEYS, plan_document, write_fields_csv
from spatial.plan import Plan
from spatial.reasons import reason
from tests.browser.make_believe import (
    MADE_ON,
    NASTY_CLIENT,
    field,
    make_believe_plan,
    purchases_of,
    with_fields,
)

WHY = reason("ph_low", ph=5.4, target_ph=6.0, origin="lab", sample_date=pd.Timestamp(2025, 11, 3))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_believe_plan()


def bought(plan: Plan, *rows: tuple[object, ...]) -> Plan:
    return replace(plan, purchases=purchases_of(*rows))


# NIST Handbook 44, appendix C: the short ton is 907.18474 kg, the pound 0.45359237 kg, the acre 4046.8564224 m2.


@pytest.mark.parametrize(
    ("item", "amounts_t", "us", "metric"),
    [
        ("lime", (9.0718474, 9.0718474), "10.0 tons", "9.1 t"),
        ("lime", (9.0718474, 10.88621688), "10.0 to 12.0 tons", "9.1 to 10.9 t"),
        ("lime", (1814.36948, 1814.36948), "2,000 tons", "1,814 t"),
        ("k2o", (0.45359237, 0.90718474), "1,000 to 2,000 lb", "455 to 905 kg"),
        ("k2o", (0.02, 0.02), "44 lb", "20 kg"),
    ],
)
def test_lime_is_in_tons_and_k2o_in_pounds(
    item: str, amounts_t: tuple[float, float], us: str, metric: str
) -> None:
    assert (total(item, amounts_t, "us"), total(item, amounts_t, "metric")) == (us, metric)


@pytest.mark.parametrize(
    ("item", "rate_t_ha", "us", "metric"),
    [
        # 1 short ton an acre = 0.90718474 t / 0.40468564224 ha; 47 lb an acre = 47 * 0.45359237 kg / 0.40468564224 ha.
        ("lime", 2.2417023, "1.0 tons an acre", "2.2 t/ha"),
        ("k2o", 0.0526800, "47 lb an acre", "53 kg/ha"),
    ],
)
def test_rates_are_on_the_acre_or_the_hectare(item: str, rate_t_ha: float, us: str, metric: str) -> None:
    assert per_area(item, (rate_t_ha, rate_t_ha), "us") == us
    assert per_area(item, (rate_t_ha, rate_t_ha), "metric") == metric


def test_each_client_has_a_table_with_its_fields_and_reasons(plan: Plan) -> None:
    tables = {table.client: table for table in needs_by_client(plan)}
    assert list(tables) == [NASTY_CLIENT, "A. Grower"]
    lime, k2o = tables["A. Grower"].needs
    assert (lime.field, lime.item, lime.amount, lime.rate) == (
        "North Forty",
        "Lime",
        "17.6 tons",
        "1.8 tons an acre",
    )
    assert lime.reason == "pH 5.4 (lab sample, 3 Nov 2025) is below its target, 6.0."
    # 0.19 and 0.25 t at 2.2046226 lb a kg; 0.0475 and 0.0625 t/ha at 0.8921791 lb/ac a kg/ha; ranges are rounded to
    # 5 lb from 100 on and to 50 lb from 1,000 on.
    assert (k2o.item, k2o.amount, k2o.rate) == ("K2O", "420 to 550 lb", "42 to 56 lb an acre")


def test_a_clients_fields_add_up(plan: Plan) -> None:
    rows = (
        ("A", "F1", "lime", 9.0718474, 9.0718474, 2.0, 2.0, WHY),
        ("A", "F2", "lime", 18.1436948, 18.1436948, 4.0, 4.0, WHY),
        ("A", "F1", "k2o", 0.1, 0.2, 0.02, 0.05, WHY),
        ("A", "F3", "k2o", 0.3, 0.4, 0.02, 0.05, WHY),
    )
    (table,) = needs_by_client(bought(plan, *rows))
    assert table.totals == ("Lime: 30.0 tons in all", "K2O: 880 to 1,300 lb in all")


def test_the_order_of_the_rows_changes_nothing(plan: Plan) -> None:
    turned = replace(plan, purchases=plan.purchases.iloc[::-1])
    assert needs_by_client(turned) == needs_by_client(plan)
    assert purchase_records(turned) == purchase_records(plan)


def test_it_says_that_only_lab_samples_count_and_whose_fields_to_sample_first(plan: Plan) -> None:
    said = buy_lines(plan)
    assert said[0].startswith("Only what a lab sample of the field stands behind is listed")
    assert (
        said[1].startswith("To sample before anything more is bought: ") and "B. Grower (2 fields)" in said[1]
    )


def test_a_plan_without_a_purchase_says_so(plan: Plan) -> None:
    nothing = bought(plan)
    assert buy_lines(nothing)[0] == "Nothing can be bought by a lab sample."
    assert needs_by_client(nothing) == ()
    assert list(purchase_table(nothing).columns)[:4] == ["client", "field_id", "name", "item"]
    assert purchase_records(nothing) == []


def test_a_field_without_name_or_client_goes_by_its_own_name(plan: Plan) -> None:
    bare = with_fields(plan, field("F9", 0.0, 3, name="", client=""))
    (table,) = needs_by_client(bought(bare, ("", "F9", "lime", 9.0718474, 9.0718474, 2.0, 2.0, WHY)))
    assert (table.client, table.needs[0].field) == ("No client named", "F9")


def test_the_csv_has_amounts_with_their_units_and_runs_no_formula(plan: Plan, tmp_path: Path) -> None:
    rows = (("=A1", "F1", "lime", 9.0718474, 9.0718474, 2.2417023, 2.2417023, WHY),)
    write_purchases_csv(bought(plan, *rows), tmp_path / "purchases.csv", datetime(2026, 9, 22))  # noqa: DTZ001 - local
    table = pd.read_csv(tmp_path / "purchases.csv", encoding="utf-8-sig")
    row = table.iloc[0].to_dict()
    assert row["client"] == "'=A1"
    assert [row[name] for name in ("low", "high", "unit", "rate_low", "rate_unit")] == [
        10.0, 10.0, "tons", 1.0, "tons an acre",
    ]  # fmt: skip
    assert row["reason"].startswith("pH 5.4 (lab sample")


def test_programs_get_inside_units_and_the_sentence(plan: Plan) -> None:
    rows = (("A", "F1", "k2o", 0.19, 0.25, 0.0475, 0.0625, WHY),)
    assert purchase_records(bought(plan, *rows)) == [
        {
            "client": "A", "field_id": "F1", "item": "k2o", "low_t": 0.19, "high_t": 0.25, "rate_low_t_ha": 0.0475,
            "rate_high_t_ha": 0.0625,
            "reason": "pH 5.4 (lab sample, 3 Nov 2025) is below its target, 6.0.",
        }
    ]  # fmt: skip


# The soil of the fields in fields.csv, plan.json and plan.gpkg

REASONS = ("advice", "why", "mind", "hay", "tasks", "stand_record", "flags", "lime", "nutrients", "ground")


@pytest.fixture(scope="module")
def whole(plan: Plan) -> Plan:
    """Return the plan with every column that the files ask for, empty where the made-believe one has none."""
    fields = plan.fields.reindex(columns=[*dict.fromkeys([*plan.fields.columns, *FIELD_KEYS])])
    lists = {
        name: [one if isinstance(one, tuple) else () for one in fields[name]]
        for name in (*REASONS, "by_chance", "risk")
    }
    lists["lime"][0] = (WHY,)
    return replace(plan, fields=fields.assign(**lists, why_not=None))


def test_the_csv_of_fields_has_the_soil_in_the_units_of_the_region(whole: Plan, tmp_path: Path) -> None:
    write_fields_csv(whole, tmp_path / "fields.csv", MADE_ON)
    table = pd.read_csv(tmp_path / "fields.csv", encoding="utf-8-sig").set_index("field_id")
    # 4 t/ha and 16 t, by NIST Handbook 44, appendix C: 1.78 short tons an acre, 17.64 short tons.
    assert (table.loc["F1", "lime_tons_ac"], table.loc["F1", "lime_tons"]) == (1.78, 17.64)
    assert table.loc["F1", "soil_ph_date"] == "2025-11-03"
    assert table.loc["F1", "lime"].startswith("pH 5.4 (lab sample")
    mapped = (
        "soil_ph_least",
        "soil_ph_greatest",
        "soil_ph_cover_share",
        "soil_ph_low_share",
        "soil_ph_origin",
    )
    assert list(table.loc["F4", list(mapped)]) == [4.9, 6.2, 0.82, 0.4, "survey"]


def test_the_document_has_classes_reasons_and_purchases(whole: Plan) -> None:
    document = plan_document(replace(whole, clients=whole.clients.rename_axis("client")))
    fields = {row["field_id"]: row for row in document["fields"]}
    assert (fields["F1"]["soil_ph_class"], fields["F6"]["soil_ph_class"]) == ("very_low", None)
    assert (fields["F1"]["soil_p_rating"], fields["F4"]["soil_k_origin"]) == ("high", "raster")
    assert (fields["F1"]["lime_t_ha"], fields["F4"]["lime_t_ha"]) == (4.0, None)
    assert fields["F1"]["lime"] == ["pH 5.4 (lab sample, 3 Nov 2025) is below its target, 6.0."]
    assert [(row["field_id"], row["item"]) for row in document["purchases"]] == [
        ("F2", "lime"), ("F1", "lime"), ("F1", "k2o"),
    ]  # fmt: skip


def test_the_part_to_sample_first_is_a_layer_of_its_own(whole: Plan, tmp_path: Path) -> None:
    write_geopackage(whole, tmp_path / "plan.gpkg", MADE_ON)
    part = gpd.read_file(tmp_path / "plan.gpkg", layer="sample_first")
    assert list(part[["field_id", "ph", "share"]].itertuples(index=False, name=None)) == [("F4", 4.9, 0.3)]
    assert part.crs == "EPSG:4326"
    assert part.geometry[0].within(whole.fields.geometry["F4"].buffer(1e-9))


def test_a_plan_without_such_a_part_has_no_such_layer(whole: Plan, tmp_path: Path) -> None:
    bare = replace(whole, sample_parts=whole.sample_parts.iloc[:0])
    write_geopackage(bare, tmp_path / "plan.gpkg", MADE_ON)
    assert "sample_first" not in pyogrio.list_layers(tmp_path / "plan.gpkg")[:, 0]
