"""What a map shows, as plain data: the fields and their words, the rounds of the crews, the ground beneath."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from maps import ground, labels, rounds, sheets
from maps.page_words import PAGE, SHORT_URGENCIES
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
        "head": _head(plan),
        "words": dict(PAGE),
        "units": plan.region.units,
        "bounds": ground.bounds(plan.fields),
        "classes": {
            "urgency": _classes(URGENCY_LOOKS, labels.URGENCIES, SHORT_URGENCIES, rows, "urgency"),
            "stage": _classes(STAGE_LOOKS, labels.STAGES, labels.STAGES, rows, "stage"),
        },
        "fields": [_field(row, plan, crew_days) for row in rows],
        "rounds": crew_days,
        "ground": ground.ground(plan.fields, plan.region.context, plan.region.roads),
        "notes": [labels.sentence(note, plan.region.units) for note in plan.notes],
        "cautions": list(labels.CAUTIONS),
        "clients": [
            labels.sentences(reasons, plan.region.units)
            for reasons in plan.clients.get("reasons", ())
            if reasons
        ],
        "rules": [
            {"title": PAGE["rules"].format(grass=name), "lines": lines}
            for name, lines in rules_in_use(plan.region)
        ],
    }


def field_rows(plan: Plan) -> list[Row]:
    """Return the fields in the order they are listed, each with its `field_id`, shape and known values (else None)."""
    table = plan.fields.assign(field_id=plan.fields.index.astype(str))
    points = ground.label_points(plan.fields)
    rows = [
        {name: known(value) for name, value in zip(table.columns, values, strict=True)} | {"label": point}
        for values, point in zip(table.itertuples(index=False, name=None), points, strict=True)
    ]
    return sorted((_with_classes(row, plan.region.grasses) for row in rows), key=_place_in_list)


def _with_classes(row: Row, grasses: Mapping[str, Grass]) -> Row:
    days, grass = row.get("days_left"), str(row.get("grass") or "")
    return row | {
        "urgency": row.get("urgency") or "",
        "stage": row.get("stage") or "",
        "days_left": None if days is None else int(days),
        "name": str(row.get("name") or row["field_id"]),
        "grass_name": grasses[grass].name if grass in grasses else grass,
    }


def _place_in_list(row: Row) -> tuple[float, int, str]:
    days = row["days_left"]
    return URGENCY_ORDER.get(row["urgency"], len(URGENCY_ORDER)), 0 if days is None else days, row["field_id"]


def _head(plan: Plan) -> dict[str, str]:
    chance = labels.chance_words(plan.settings.chance)
    when = f"{labels.weekday(plan.settings.on)} {plan.settings.on:%Y}"
    return {
        "title": PAGE["title"].format(region=plan.region.name),
        "under": PAGE["under_title"].format(day=when, chance=chance),
        "how_chance": PAGE["how_chance"].format(chance=chance),
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
        "days": days,
        "days_words": labels.days_left(days),
        "by": sheets.cut_by(row),
        "facts": sheets.facts(row, units),
        "flags": list(dict.fromkeys(labels.FLAGS[flag.code] for flag in row.get("flags") or ())),
        "on_rounds": on_rounds,
        "sheet": sheets.sheet(row, plan.settings, units, [line["words"] for line in on_rounds]),
        "rings": ground.rings(row["geometry"]),
        "at": row["label"] and row["label"][:2],
        "room_m": row["label"] and row["label"][2],
    }
