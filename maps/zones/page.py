"""The page of the last-cut zones: one file that opens anywhere, with no network, and shows a district's zones."""

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from maps import ground, labels
from maps.offline_page import offline_page
from maps.rules_shown import rule_lines
from maps.zones import words as zone_words
from maps.zones.ground import shown_bounds, zone_ground
from maps.zones.looks import UNKNOWN
from maps.zones.rows import CountyRow, ShownLayer, ZoneRow, shown_layers, sources
from maps.zones.spots import spots
from spatial.zones import Zones

LEAVES = ("zones", "counties", "notes")
SCRIPTS = (
    "make",
    "state",
    "zones_state",
    "hatches",
    "ground",
    "zones_shapes",
    "placing",
    "zones_tags",
    "head",
    "zones_choices",
    "sheet",
    "zones_risk",
    "zones_sheet",
    "zones_entries",
    "zones_counties",
    "leaves",
    "wall",
    "zones_start",
)
OUTLINE_DECIMALS = 5  # about 1 m
DAYS_PER_WEEK = 7


def write_zone_page(zones: Zones, path: Path, made_on: datetime) -> None:
    """Write the page of the zones as one file; raises OSError where it cannot be written."""
    path.write_text(zone_page(zones, made_on), encoding="utf-8", newline="\n")


def zone_page(zones: Zones, made_on: datetime) -> str:
    """Return the page of the zones as HTML that asks no network for anything.

    Equal zones give equal pages but for the line that says when it was made. Raises InputError where the installed
    Leaflet is not the one this page was made for.
    """
    words = {
        "title": zone_words.PAGE["title"].format(region=zones.region.name),
        "made": zone_words.PAGE["made_on"].format(when=f"{labels.day_in_year(made_on)}, {made_on:%H:%M}"),
        "scripts_off": zone_words.PAGE["scripts_off"],
    }
    return offline_page(LEAVES, SCRIPTS, ("page.css", "zones.css"), zone_data(zones), words)


def zone_data(zones: Zones) -> dict[str, Any]:
    """Return all that the page shows, as values JSON can hold; places are [longitude, latitude] [deg]."""
    layers, region = shown_layers(zones), zones.region
    words = zone_words.page_words(zones.area_kind)
    grasses = {layer.grass: layer.grass_name for layer in layers}
    chances = sorted({layer.chance for layer in layers})
    return {
        "head": {
            "title": zone_words.PAGE["title"].format(region=region.name),
            "under": _under(zones, words),
            "how_chance": zone_words.PAGE["how_chance"],
        },
        "words": words,
        "units": region.units,
        "bounds": shown_bounds(zones, [layer.unknown for layer in layers]),
        "classes": {"zone": _classes(layers)},
        "grasses": [{"id": grass, "name": name} for grass, name in grasses.items()],
        "chances": [{"id": str(one), "name": zone_words.chance_name(one)} for one in chances],
        "first": {"grass": layers[0].grass if layers else "", "chance": str(_first_chance(zones, chances))},
        "layers": [_layer(layer, words) for layer in layers],
        "ground": zone_ground(zones),
        "cautions": list(zone_words.CAUTIONS),
        "notes": [labels.sentence(note, region.units) for note in zones.notes],
        "clients": [],
        "rules": [{"title": zone_words.PAGE["sources"], "lines": sources(zones)}, *_rules(zones, grasses)],
    }


def _under(zones: Zones, words: dict[str, str]) -> str:
    past = any(note.code == "zone_past" for note in zones.notes)
    return " ".join([words["under_title"].format(year=zones.season.year), *([words["past"]] if past else [])])


def _first_chance(zones: Zones, chances: Sequence[float]) -> float | str:
    return min(chances, key=lambda one: abs(one - zones.settings.chance), default="")


def _rules(zones: Zones, grasses: dict[str, str]) -> list[dict[str, Any]]:
    known = zones.region.grasses
    return [
        {
            "title": zone_words.PAGE["rules"].format(grass=name),
            "lines": rule_lines(known[grass], zones.region.units),
        }
        for grass, name in grasses.items()
        if grass in known
    ]


def _classes(layers: Sequence[ShownLayer]) -> list[dict[str, str]]:
    looks = {row.look.code: row.look for layer in layers for row in layer.zones}
    if any(not layer.unknown.is_empty for layer in layers):
        looks[UNKNOWN.code] = UNKNOWN
    return [
        {"code": look.code, "fill": look.fill, "mark": look.mark, "hatch": look.hatch}
        for look in looks.values()
    ]


def _layer(layer: ShownLayer, words: dict[str, str]) -> dict[str, Any]:
    return {
        "grass": layer.grass,
        "chance": str(layer.chance),
        "zones": [_zone(row, layer.chance) for row in layer.zones],
        "counties": [_county(row, words) for row in layer.counties],
        "unknown": ground.rings(layer.unknown, OUTLINE_DECIMALS),
    }


def _zone(row: ZoneRow, chance: float) -> dict[str, Any]:
    words, freeze = zone_words.PAGE, zone_words.PAGE["freeze"].format(chance=labels.chance_words(chance))
    dates = [
        [words["last_cut"], labels.day(row.cut_by)],
        [words["last_cut_latest"], row.latest],
        [freeze, row.freeze],
        [words["stubble"], row.stubble],
        [words["size"], row.size],
    ]
    return {
        "id": row.zone_id,
        "zone": row.look.code,
        "day": labels.day(row.cut_by),
        "by": row.by,
        "title": zone_words.sentence_case(row.by),
        "facts": [row.size, words["freeze_short"].format(dates=row.freeze)],
        "label": words["zone_label"].format(by=zone_words.sentence_case(row.by), size=row.size),
        "sheet": [
            {"title": words["to_do"], "lines": list(row.advice)},
            {"title": words["dates"], "pairs": [pair for pair in dates if pair[1]]},
        ],
        "risk": _risk(row),
        "rings": ground.rings(row.shape, OUTLINE_DECIMALS),
        "spots": spots(row.shape),
    }


def _risk(row: ZoneRow) -> dict[str, Any] | None:
    """Return the risk of a cut on each day: points for the drawing, and a line a week for the table."""
    if not row.risk:
        return None
    first = row.risk[0][0]
    at_cut = min(row.risk, key=lambda one: abs((one[0] - row.cut_by).days))
    return {
        "points": [[(day - first).days, share] for day, share in row.risk],
        "cut": [(at_cut[0] - first).days, at_cut[1]],
        "cut_day": labels.day(at_cut[0]),
        "ends": [labels.day(first), labels.day(row.risk[-1][0])],
        "says": zone_words.PAGE["risk_drawing"].format(
            first=zone_words.falls_of_ten(row.risk[0][1]),
            first_day=labels.day(first),
            at_cut=zone_words.falls_of_ten(at_cut[1]),
            cut_day=labels.day(at_cut[0]),
            last=zone_words.falls_of_ten(row.risk[-1][1]),
            last_day=labels.day(row.risk[-1][0]),
        ),
        "rows": [[labels.day(day), zone_words.falls_of_ten(share)] for day, share in _weekly(row, at_cut[0])],
    }


def _weekly(row: ZoneRow, at_cut: date) -> list[tuple[date, float]]:
    """Return the days of the curve that lie whole weeks before or after the zone's day."""
    return [one for one in row.risk if (one[0] - at_cut).days % DAYS_PER_WEEK == 0]


def _county(row: CountyRow, words: dict[str, str]) -> dict[str, Any]:
    pairs = [[words["average_middle"], row.average_middle], [words["cover"], row.cover]]
    return {
        "county": row.county,
        "dates": [row.earliest, row.middle, row.latest],
        "pairs": [pair for pair in pairs if pair[1]],
        "outside": row.outside,
        "zone": row.zone_id,
    }
