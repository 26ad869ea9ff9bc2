"""The round of each crew on each day, as plain data: its yard, its stops in order, and their words."""

from typing import Any

import pandas as pd

from maps import labels
from maps.page_words import PAGE
from maps.sheets import Row, known
from spatial.plan import Plan

Round = dict[str, Any]


def crew_days(plan: Plan, rows: list[Row]) -> list[Round]:
    """Return one round for each crew and day of the route, by day, then crew; none where there is no route."""
    if plan.route is None or plan.route.empty:
        return []
    fields = {row["field_id"]: row for row in rows}
    route = plan.route.assign(
        crew=plan.route["crew"].astype(str), field_id=plan.route["field_id"].astype(str)
    )
    by_day = route.sort_values(["date", "crew", "stop"]).groupby(["date", "crew"], sort=True)
    return [_round(str(crew), date, stops, fields, plan) for (date, crew), stops in by_day]


def of_field(field_id: str, rounds: list[Round]) -> list[dict[str, Any]]:
    """Return the stops at one field, in order of time: their round, a short word for the list and a full line."""
    return [
        {
            "round": one["id"],
            "stop": stop["stop"],
            "short": f"{one['day']}, {PAGE['stop'].format(stop=stop['stop'])}",
            "words": ", ".join(
                (one["day"], one["crew"], PAGE["stop"].format(stop=stop["stop"]), stop["words"])
            ),
        }
        for one in rounds
        for stop in one["stops"]
        if stop["field"] == field_id
    ]


def _round(crew: str, date: Any, stops: pd.DataFrame, fields: dict[str, Row], plan: Plan) -> Round:
    units = plan.region.units
    records = [{str(name): known(value) for name, value in stop.items()} for stop in stops.to_dict("records")]
    count = PAGE["one_stop"] if len(records) == 1 else PAGE["stops"].format(count=len(records))
    size = labels.area(float(stops["area_ha"].sum()), units)
    return {
        "id": f"{date:%Y-%m-%d} {crew}",
        "crew": crew,
        "date": f"{date:%Y-%m-%d}",
        "day": labels.weekday(date),
        "count": count,
        "size": size,
        "sum": PAGE["round_sum"].format(
            stops=count,
            area=size,
            start=labels.clock(records[0].get("start")),
            end=labels.clock(records[-1].get("end")),
        ),
        "yard": _yard(crew, plan),
        "stops": [_stop(record, fields.get(record["field_id"], {}), units) for record in records],
    }


def _yard(crew: str, plan: Plan) -> list[float] | None:
    crews = plan.region.crews
    if crews is None or crew not in crews.index:
        return None
    return _place(known(crews.at[crew, "yard_lon"]), known(crews.at[crew, "yard_lat"]))  # noqa: PD008 - one cell


def _stop(record: Row, field: Row, units: str) -> dict[str, Any]:
    label = field.get("label")
    return {
        "stop": int(record["stop"]),
        "field": record["field_id"],
        "name": field.get("name", record["field_id"]),
        "client": str(field.get("client") or ""),
        "at": _place(field.get("gate_lon"), field.get("gate_lat")) or (label[:2] if label else None),
        "words": ", ".join(part for part in _stop_words(record, units) if part),
    }


def _stop_words(record: Row, units: str) -> list[str]:
    start, end = labels.clock(record.get("start")), labels.clock(record.get("end"))
    parts = int(record.get("parts") or 1)
    drive = record.get("travel_min")
    return [
        f"{start} to {end}" if start and end else start or end,
        "" if drive is None else PAGE["drive"].format(minutes=round(drive)),
        PAGE["part"].format(part=int(record["part"]), parts=parts) if parts > 1 else "",
        labels.area(record["area_ha"], units) if record.get("area_ha") is not None else "",
        labels.CUT_KINDS.get(record.get("cut_kind") or "", ""),
    ]


def _place(lon: float | None, lat: float | None) -> list[float] | None:
    return None if lon is None or lat is None else [round(float(lon), 6), round(float(lat), 6)]
