"""What a map shows, as plain data: the fields and their words, the rounds of the crews, the ground beneath."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from maps import ground, labels, rounds, sheets, soil_layers
from maps.page_words import PAGE, SHORT_URGENCIES
from maps.purchases import buy_lines, needs_by_client
from maps.rules_shown import rules_in_use
from maps.sheets import Row, known
from maps.style import STAGE_LOOKS, URGENCY_LOOKS, Look
from spatial.plan import Plan
from spatial.values import Grass

# Fields that can still be cut come first; those past their date after them.
URGENCY_ORDER = {look.code: place for place, look in enumerate(URGENCY_LOOKS)} | {
    "past": len(URGENCY_LOOKS) - 1.5
}


def page_data(plan: Plan) -> dict[str, Any]:
    """Return all that the map page shows, as values JSON can hold.

    Places are [longitude, latitude] [deg], rounded to 6 decimals (about 0.1 m). Fields come by urgency, then days
    left, then `field_id`; equal plans give equal data.
    """
    rows = field_rows(plan)
    crew_days = rounds.crew_days(plan, rows)
    return {
        "head": _head(plan, rows),
        "words": dict(PAGE),
        "units": plan.region.units,
        "bounds": ground.bounds(plan.fields),
        "classes": _all_classes(rows),
        "keys": {show.by: _keys(rows, show.by) for show in soil_layers.SOIL_SHOWS},
        "fields": [_field(row, plan, crew_days) for row in rows],
        "rounds": crew_days,
        "ground": ground.ground(plan.fields, plan.region.context, plan.region.roads),
        "buy": {
            "lines": list(buy_lines(plan)),
            "clients": [asdict(needs) for needs in needs_by_client(plan)],
        },
        "notes": [labels.sentence(note, plan.region.units) for note in plan.notes],
        "cautions": list(labels.CAUTIONS),
        "clients": [
            labels.sentences(reasons, plan.region.units)
            for reasons in plan.clients.get("reasons", ())
            if reasons
        ],
        "rules": _rules(plan),
    }


def field_rows(plan: Plan) -> list[Row]:
    """Return the fields in the order they are listed, each with its `field_id`, shape and known values (else None)."""
    table = plan.fields.assign(field_id=plan.fields.index.astype(str))
    points = ground.label_points(plan.fields)
    rows = [
        {name: known(value) for name, value in zip(table.columns, values, strict=True)} | {"label": point}
        for values, point in zip(table.itertuples(index=False, name=None), points, strict=True)
    ]
    parts = soil_layers.sample_parts(plan.sample_parts)
    classed = (_with_classes(row, plan.region.grasses) for row in rows)
    return sorted(
        (soil_layers.with_soil(row, parts.get(row["field_id"])) for row in classed), key=_place_in_list
    )


def _all_classes(rows: Sequence[Row]) -> dict[str, list[dict[str, Any]]]:
    """Return the classes of every way to show the fields; of the soil, where the class of any field is known."""
    return {
        "urgency": _classes(URGENCY_LOOKS, labels.URGENCIES, SHORT_URGENCIES, rows, "urgency"),
        "stage": _classes(STAGE_LOOKS, labels.STAGES, labels.STAGES, rows, "stage"),
        **{
            show.by: _classes(show.looks, show.words, show.short, rows, show.by)
            for show in soil_layers.shows_of(rows)
        },
    }


def _rules(plan: Plan) -> list[dict[str, Any]]:
    return [
        {"title": PAGE["rules"].format(grass=name), "lines": lines}
        for name, lines in rules_in_use(plan.region)
    ]


def _with_classes(row: Row, grasses: Mapping[str, Grass]) -> Row:
    days, grass = row.get("days_left"), str(row.get("grass") or "")
    return row | {
        "urgency": row.get("urgency") or "",
        "stage": row.get("stage") or "",
        "days_left": None if days is None else int(days),
        "name": str(row.get("name") or row["field_id"]),
        "grass_name": grasses[grass].name if grass in grasses else grass,
        "target_ph": known(grasses[grass].target_ph) if grass in grasses else None,
    }


def _place_in_list(row: Row) -> tuple[float, int, str]:
    days = row["days_left"]
    return URGENCY_ORDER.get(row["urgency"], len(URGENCY_ORDER)), 0 if days is None else days, row["field_id"]


def _head(plan: Plan, rows: Sequence[Row]) -> dict[str, str]:
    chance = labels.chance_words(plan.settings.chance)
    when = f"{labels.weekday(plan.settings.on)} {plan.settings.on:%Y}"
    return {
        "title": PAGE["title"].format(region=plan.region.name),
        "under": PAGE["under_title"].format(day=when, chance=chance),
        "how_chance": PAGE["how_chance"].format(chance=chance),
        "how_soil": PAGE["how_soil"] if soil_layers.shows_of(rows) else "",
    }


def _classes(
    looks: Sequence[Look], words: Mapping[str, str], short: Mapping[str, str], rows: Sequence[Row], by: str
) -> list[dict[str, Any]]:
    counts = Counter(row[by] for row in rows)
    return [
        {
            "code": look.code,
            "words": words[look.code],
            "short": short[look.code],
            "count": counts[look.code],
            "fill": look.fill,
            "mark": look.mark,
            "hatch": look.hatch,
        }
        for look in looks
    ]


def _keys(rows: Sequence[Row], by: str) -> list[dict[str, Any]]:
    """Return what stands under the legend of the soil: how what is only mapped is drawn, and the parts to sample."""
    counts = {
        "mapped": sum(by in row["mapped"] for row in rows),
        "part": sum(row["part"] is not None for row in rows) if by == "ph" else 0,
    }
    return [
        {"sign": sign, "words": PAGE[f"{sign}_key"], "count": count}
        for sign, count in counts.items()
        if count
    ]


def _flags(row: Row) -> list[str]:
    """Return the short words of a field's flags; what is only remarked on a flag has none."""
    codes = dict.fromkeys(flag.code for flag in row["flags"] or ())
    return [labels.FLAGS[code] for code in codes if code in labels.FLAGS]


def _field(row: Row, plan: Plan, crew_days: list[dict[str, Any]]) -> dict[str, Any]:
    units = plan.region.units
    days = row["days_left"]
    on_rounds = rounds.of_field(row["field_id"], crew_days)
    return {
        "id": row["field_id"],
        "name": row["name"],
        "client": str(row.get("client") or ""),
        "urgency": row["urgency"],
        "stage": row["stage"],
        **{show.by: row[show.by] for show in soil_layers.SOIL_SHOWS},
        "mapped": row["mapped"],
        "tags": soil_layers.tags(row),
        "said": soil_layers.said(row),
        "part": ground.rings(row["part"]["geometry"]) if row["part"] else [],
        "days": days,
        "days_words": labels.days_left(days),
        "by": sheets.cut_by(row),
        "facts": sheets.facts(row, units),
        "flags": _flags(row),
        "on_rounds": on_rounds,
        "sheet": sheets.sheet(row, plan.settings, units, [line["words"] for line in on_rounds]),
        "rings": ground.rings(row["geometry"]),
        "at": row["label"] and row["label"][:2],
        "room_m": row["label"] and row["label"][2],
    }
