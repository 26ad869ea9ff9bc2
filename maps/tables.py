"""The plan as tables: fields.csv and route.csv for a spreadsheet, plan.json for programs."""

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from maps.labels import CAUTIONS, sentence, sentences
from maps.purchases import purchase_records
from maps.spreadsheet import write_csv
from spatial.plan import Plan
from spatial.units import farmer_units

FIELD_KEYS = (
    "client",
    "name",
    "grass",
    "area_ha",
    "killing_freeze_date",
    "average_freeze_date",
    "last_cut_date",
    "last_cut_limit",
    "ready_date",
    "days_left",
    "stage",
    "urgency",
    "advice",
    "soil_ph",
    "flags",
    "crew",
    "cut_date",
    "cut_kind",
    "why_not",
    "why",
    "regrowth_days",
    "growth_end_date",
    "freeze_seasons",
    "freeze_cover_share",
    "killing_freeze_recorded_date",
    "closed_until_date",
    "gate_lon",
    "gate_lat",
    "freeze_error_days",
    "last_cut_10_date",
    "last_cut_20_date",
    "last_cut_30_date",
    "last_cut_50_date",
    "two_cuts_by_date",
    "freeze_height_low_cm",
    "freeze_height_high_cm",
    "canopy_now_cm",
    "hay_low_t_ha",
    "hay_high_t_ha",
    "hay",
    "by_chance",
    "risk",
    "tasks",
    "stand_record",
    "freeze_in_week_share",
    "freeze_in_two_weeks_share",
    "expected_freeze_date",
    "seasons_still_open",
    "soil_ph_class",
    "soil_ph_origin",
    "soil_ph_date",
    "soil_ph_least",
    "soil_ph_greatest",
    "soil_ph_cover_share",
    "soil_ph_low_share",
    *(
        f"soil_{nutrient}_{what}"
        for nutrient in ("p", "k", "mg")
        for what in ("class", "rating", "scheme", "origin")
    ),
    "drainage",
    "slope_share",
    "lime_t_ha",
    "lime_t",
    "lime_applications",
    "lime",
    "nutrients",
    "ground",
)
ROUTE_KEYS = (
    "crew",
    "date",
    "stop",
    "field_id",
    "cut_kind",
    "start",
    "end",
    "travel_min",
    "area_ha",
    "part",
    "parts",
)
CHANCE_KEYS = ("chance", "killing_freeze_date", "last_cut_date", "error_days")
SENTENCE_LISTS = (
    "tasks",
    "stand_record",
    "lime",
    "nutrients",
    "ground",
)  # columns of reasons, a sentence each
US_OF = {"_t_ha": "_tons_ac", "_ha": "_ac", "_cm": "_in", "_t": "_tons"}


def write_fields_csv(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write one row a field, in the region's units, as CSV that a spreadsheet opens without running anything."""
    write_csv(_in_units(field_table(plan), plan.region.units), path)


def field_table(plan: Plan) -> pd.DataFrame:
    """Return the fields as a flat table of numbers and texts, dates as ISO text, in inside units."""
    table = pd.DataFrame([{"field_id": field_id} | row for field_id, row in _field_rows(plan)])
    table["flags"] = [" ".join(flag["reason"] for flag in flags) for flags in table["flags"]]
    for name in SENTENCE_LISTS:
        table[name] = table[name].map(" ".join)
    return table.drop(columns=["risk", "by_chance"])  # a table in a cell is of no use; plan.json has them


def write_route_csv(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write one row a stop, in the region's units, with the field's client and name."""
    route = plan.route[list(ROUTE_KEYS)].assign(
        date=plan.route["date"].dt.strftime("%Y-%m-%d"),
        start=plan.route["start"].dt.strftime("%H:%M"),
        end=plan.route["end"].dt.strftime("%H:%M"),
    )
    who = plan.fields[["client", "name"]].reindex(route["field_id"]).reset_index(drop=True)
    write_csv(_in_units(pd.concat([route.reset_index(drop=True), who], axis=1), plan.region.units), path)


def write_plan_json(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write the whole plan for programs: inside units (ha, days), ISO dates, null where a value is missing."""
    path.write_text(json.dumps(plan_document(plan), ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return the plan as plain values, ready for JSON."""
    return {
        "region": plan.region.name,
        "on": plan.settings.on.isoformat(),
        "chance": plan.settings.chance,
        "season": plan.season.year,
        "fields": [{"field_id": field_id} | row for field_id, row in _field_rows(plan)],
        "route": [{key: _plain(row[key]) for key in ROUTE_KEYS} for row in plan.route.to_dict("records")],
        "clients": [
            _client_row(row, plan.region.units) for row in plan.clients.reset_index().to_dict("records")
        ],
        "purchases": purchase_records(plan),
        "cautions": list(CAUTIONS),
        "notes": [sentence(note, plan.region.units) for note in plan.notes],
    }


def _client_row(row: Mapping[Any, Any], units: str) -> dict[str, Any]:
    numbers = ("client", "need_t", "stored_hay_t", "give_low_t", "give_high_t", "short")
    return {name: _plain(row[name]) for name in numbers} | {"hay": sentences(row["reasons"], units)}


def _field_rows(plan: Plan) -> list[tuple[str, dict[str, Any]]]:
    units = plan.region.units
    rows = plan.fields[[*FIELD_KEYS, "mind"]].to_dict("index")
    return [(str(field_id), _field_row(row, units)) for field_id, row in rows.items()]


def _field_row(row: Mapping[Any, Any], units: str) -> dict[str, Any]:
    words = {
        "advice": sentences((*row["advice"], *row["mind"]), units),
        "why": sentences(row["why"], units),
        "hay": sentences(row["hay"], units),
        "by_chance": [dict(zip(CHANCE_KEYS, map(_plain, one), strict=True)) for one in row["by_chance"]],
        "risk": [{"cut_date": f"{cut_date:%Y-%m-%d}", "share": share} for cut_date, share in row["risk"]],
        **{name: [sentence(one, units) for one in row[name]] for name in SENTENCE_LISTS},
        "flags": [{"flag": flag.code, "reason": sentence(flag, units)} for flag in row["flags"]],
        "why_not": sentence(row["why_not"], units) if row["why_not"] is not None else None,
    }
    return {key: words[key] if key in words else _plain(row[key]) for key in FIELD_KEYS}


def _plain(value: Any) -> Any:
    """Return a table's cell as JSON holds it: None for missing and empty, ISO text for days and times."""
    if value is None or value == "" or pd.isna(value):
        return None
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, pd.Timestamp):
        return value.strftime("%Y-%m-%d") if value == value.normalize() else value.strftime("%Y-%m-%dT%H:%M")
    if isinstance(value, str):
        return value
    return (
        int(value) if float(value).is_integer() and not isinstance(value, float) else round(float(value), 4)
    )


def _in_units(table: pd.DataFrame, units: str) -> pd.DataFrame:
    if units != "us":
        return table.round({"area_ha": 2})
    for name in [name for name in table.columns if name.endswith(tuple(US_OF))]:
        inside = next(end for end in US_OF if name.endswith(end))
        written = farmer_units(table[name].astype(float), inside, US_OF[inside]).round(2)
        table = table.assign(**{name: written}).rename(
            columns={name: name.removesuffix(inside) + US_OF[inside]}
        )
    return table
