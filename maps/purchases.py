"""What to buy, client by client: lime and K2O that a lab sample stands behind, as rows and words."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import Any

import pandas as pd

from maps.amounts import rate, rate_range, weight, weight_range
from maps.labels import sentence
from maps.spreadsheet import write_csv
from spatial.plan import Plan
from spatial.units import KG_PER_T, farmer_units

Range = tuple[float, float]
ITEMS = {"lime": "Lime", "k2o": "K2O"}
AMOUNT_UNITS = {("lime", "us"): "tons", ("lime", "metric"): "t", ("k2o", "us"): "lb", ("k2o", "metric"): "kg"}
RATE_UNITS = {
    ("lime", "us"): "tons an acre",
    ("lime", "metric"): "t/ha",
    ("k2o", "us"): "lb an acre",
    ("k2o", "metric"): "kg/ha",
}
TENTHS_BELOW = 100.0  # of lime [tons]: larger amounts are told in whole tons
BUY_WORDS: Mapping[str, str] = {
    "lab_only": "Only what a lab sample of the field stands behind is listed; a mapped soil sets no rate. Take off "
    "what was spread since the sample.",
    "k2o": "K2O is not potash: muriate of potash (0-0-60) holds 60 % of it, so divide by 0.6.",
    "ton": "A ton here has 2,000 lb.",
    "nothing": "Nothing can be bought by a lab sample.",
    "sample_first": "To sample before anything more is bought: {clients}.",
    "to_sample": "{client} ({count} field{s})",
    "no_client": "No client named",
    "range": "{low} to {high} {unit}",
    "one": "{low} {unit}",
    "total": "{item}: {amount} in all",
}


@dataclass(frozen=True)
class Need:
    """What one field needs of one item: how much in all, how much on the land, and why."""

    field_id: str
    field: str
    item: str
    amount: str
    rate: str
    reason: str


@dataclass(frozen=True)
class ClientNeeds:
    """What one client is to buy: a row for each field and item, and the sum of each item."""

    client: str
    needs: tuple[Need, ...]
    totals: tuple[str, ...]


def needs_by_client(plan: Plan) -> tuple[ClientNeeds, ...]:
    """Return what each client is to buy, by client, then item, then field; clients with nothing to buy are left out."""
    rows = _rows(plan)
    return tuple(
        _client_needs(client, list(own), plan) for client, own in groupby(rows, key=lambda row: str(row["client"]))
    )  # fmt: skip


def buy_lines(plan: Plan) -> tuple[str, ...]:
    """Return what is said before the tables: what is listed and in which units, and where samples must come first."""
    said = [BUY_WORDS["nothing"]]
    if not plan.purchases.empty:
        ton = (BUY_WORDS["ton"],) if plan.region.units == "us" else ()
        said = [" ".join((BUY_WORDS["lab_only"], BUY_WORDS["k2o"], *ton))]
    counts = plan.fields[plan.fields["to_sample"]].groupby("client").size()
    clients = [
        BUY_WORDS["to_sample"].format(
            client=client or BUY_WORDS["no_client"], count=count, s="s" * (count > 1)
        )
        for client, count in counts.items()
    ]
    return (*said, *([BUY_WORDS["sample_first"].format(clients=", ".join(clients))] if clients else ()))


def write_purchases_csv(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write one row a field and item, in the region's units, as CSV that runs nothing in a spreadsheet."""
    write_csv(purchase_table(plan), path)


def purchase_table(plan: Plan) -> pd.DataFrame:
    """Return what to buy as a flat table: amounts and rates in the region's units, with the reason as a sentence."""
    columns = (
        "client", "field_id", "name", "item", "low", "high", "unit", "rate_low", "rate_high", "rate_unit", "reason",
    )  # fmt: skip
    return pd.DataFrame([_csv_row(row, plan) for row in _rows(plan)], columns=list(columns))


def purchase_records(plan: Plan) -> list[dict[str, Any]]:
    """Return what to buy for programs: inside units (t, t/ha), the reason as a sentence."""
    numbers = ("low_t", "high_t", "rate_low_t_ha", "rate_high_t_ha")
    return [
        {
            **{name: str(row[name]) for name in ("client", "field_id", "item")},
            **{name: round(float(row[name]), 4) for name in numbers},
            "reason": sentence(row["reason"], plan.region.units),
        }
        for row in _rows(plan)
    ]


def total(item: str, amounts_t: Range, units: str) -> str:
    """Return an amount [t] of an item as "19.8 tons" or, a range rounded as sentences round it, "420 to 540 lb"."""
    if item == "k2o":
        low_kg, high_kg = (KG_PER_T * float(amount_t) for amount_t in amounts_t)
        return weight(low_kg, units) if low_kg == high_kg else weight_range((low_kg, high_kg), units)
    low, high = (_amount(item, amount_t, units) for amount_t in amounts_t)
    return _range(low, high, 1 if high < TENTHS_BELOW else 0, AMOUNT_UNITS[item, units])


def per_area(item: str, rates_t_ha: Range, units: str) -> str:
    """Return a rate [t/ha] of an item as "2.0 tons an acre" or "42 to 54 lb an acre"."""
    if item == "k2o":
        low_kg, high_kg = (KG_PER_T * float(rate_t_ha) for rate_t_ha in rates_t_ha)
        return rate(low_kg, units) if low_kg == high_kg else rate_range((low_kg, high_kg), units)
    low, high = (_rate(item, rate_t_ha, units) for rate_t_ha in rates_t_ha)
    return _range(low, high, 2 if round(high, 1) < 1 else 1, RATE_UNITS[item, units])


def _rows(plan: Plan) -> list[dict[Any, Any]]:
    order = {item: place for place, item in enumerate(ITEMS)}
    rows = plan.purchases.to_dict("records")
    return sorted(rows, key=lambda row: (str(row["client"]), order[row["item"]], str(row["field_id"])))


def _client_needs(client: str, rows: list[dict[Any, Any]], plan: Plan) -> ClientNeeds:
    units = plan.region.units
    needs = tuple(_need(row, plan) for row in rows)
    kinds = {
        kind: [row for row in rows if _kind(row, rows) == kind] for kind in (_kind(row, rows) for row in rows)
    }
    sums = tuple(
        BUY_WORDS["total"].format(item=what, amount=total(item, _sum(own), units))
        for (item, what), own in kinds.items()
    )
    return ClientNeeds(client or BUY_WORDS["no_client"], needs, sums)


def _kind(row: Mapping[Any, Any], rows: list[dict[Any, Any]]) -> tuple[str, str]:
    """Return a row's item and what its sum is called: lime by its product where a client buys several."""
    item, products = (
        str(row["item"]),
        {one["reason"].values.get("product") for one in rows if one["item"] == "lime"},
    )
    product = row["reason"].values.get("product")
    return item, f"{ITEMS[item]} ({product})" if item == "lime" and len(products) > 1 else ITEMS[item]


def _sum(rows: list[dict[Any, Any]]) -> Range:
    return sum(float(row["low_t"]) for row in rows), sum(float(row["high_t"]) for row in rows)


def _need(row: Mapping[Any, Any], plan: Plan) -> Need:
    units, item = plan.region.units, str(row["item"])
    return Need(
        field_id=str(row["field_id"]),
        field=_field_name(row, plan),
        item=ITEMS[item],
        amount=total(item, (row["low_t"], row["high_t"]), units),
        rate=per_area(item, (row["rate_low_t_ha"], row["rate_high_t_ha"]), units),
        reason=sentence(row["reason"], units),
    )


def _csv_row(row: Mapping[Any, Any], plan: Plan) -> dict[str, Any]:
    units, item = plan.region.units, str(row["item"])
    amounts = {name: round(_amount(item, row[f"{name}_t"], units), 2) for name in ("low", "high")}
    rates = {name: round(_rate(item, row[f"{name}_t_ha"], units), 2) for name in ("rate_low", "rate_high")}
    return {
        "client": str(row["client"]),
        "field_id": str(row["field_id"]),
        "name": str(plan.fields["name"].get(row["field_id"]) or ""),
        "item": ITEMS[item],
        **amounts,
        "unit": AMOUNT_UNITS[item, units],
        **rates,
        "rate_unit": RATE_UNITS[item, units],
        "reason": sentence(row["reason"], units),
    }


def _field_name(row: Mapping[Any, Any], plan: Plan) -> str:
    return str(plan.fields["name"].get(row["field_id"]) or row["field_id"])


def _amount(item: str, amount_t: float, units: str) -> float:
    """Return an amount in tons of lime or pounds of K2O, or in t and kg."""
    if item == "lime":
        return farmer_units(float(amount_t), "_t", "_tons") if units == "us" else float(amount_t)
    kg = KG_PER_T * float(amount_t)
    return farmer_units(kg, "_kg", "_lb") if units == "us" else kg


def _rate(item: str, rate_t_ha: float, units: str) -> float:
    if item == "lime":
        return farmer_units(float(rate_t_ha), "_t_ha", "_tons_ac") if units == "us" else float(rate_t_ha)
    kg_ha = KG_PER_T * float(rate_t_ha)
    return farmer_units(kg_ha, "k2o_kg_ha", "k2o_lb_ac") if units == "us" else kg_ha


def _range(low: float, high: float, decimals: int, unit: str) -> str:
    first, last = f"{low:,.{decimals}f}", f"{high:,.{decimals}f}"
    return BUY_WORDS["one" if first == last else "range"].format(low=first, high=last, unit=unit)
