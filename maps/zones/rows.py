"""The zones in the order they are read, layer by layer, each with its look and the words that page and paper share."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd
from shapely.geometry.base import BaseGeometry

from maps import labels
from maps.freeze.words import degrees
from maps.style import Look
from maps.zones import words as zone_words
from maps.zones.ground import area_outlines, land_without_date
from maps.zones.looks import zone_looks
from spatial.inputs.region import Region
from spatial.zones import Zones


@dataclass(frozen=True)
class ZoneRow:
    """One zone as it is shown: its shape (EPSG:4326), look, dates and words."""

    zone_id: str
    cut_by: date
    shape: BaseGeometry
    look: Look
    day: str  # "24 Sep"
    by: str  # "cut by 24 Sep"
    latest: str  # "30 Sep"
    size: str
    freeze: str
    stubble: str
    advice: tuple[str, ...]  # sentences
    risk: tuple[tuple[date, float], ...]


@dataclass(frozen=True)
class CountyRow:
    """One row of the table by county: dates in words, and the zone of its middle date ("" where none is).

    `outside`: no freeze data reach it.
    """

    county: str
    earliest: str
    middle: str
    latest: str
    average_middle: str
    cover: str
    zone_id: str
    outside: bool


@dataclass(frozen=True)
class ShownLayer:
    """One grass at one chance: its zones from early to late, its table by county, and land of these without a date."""

    grass: str
    grass_name: str
    chance: float
    zones: tuple[ZoneRow, ...]
    counties: tuple[CountyRow, ...]
    unknown: BaseGeometry  # EPSG:4326


def shown_layers(zones: Zones) -> tuple[ShownLayer, ...]:
    """Return what is shown of every layer, in the order of `zones.layers`; one without zones stays, empty."""
    tables = [_of_layer(zones.bands, layer.grass, layer.chance) for layer in zones.layers]
    days = [[_date(value) for value in table["cut_by_date"]] for table in tables]
    looks = zone_looks(days, zones.season.start)
    outlines, shown = area_outlines(zones), []
    for layer, table in zip(zones.layers, tables, strict=True):
        rows = table.to_dict("records")
        bands = tuple(_zone(row, looks[_date(row["cut_by_date"])], zones.region.units) for row in rows)
        counties = _of_layer(zones.areas, layer.grass, layer.chance).to_dict("records")
        shown.append(
            ShownLayer(
                layer.grass,
                grass_name(zones.region, layer.grass),
                layer.chance,
                bands,
                tuple(_county(row, bands) for row in sorted(counties, key=lambda row: str(row["area"]))),
                land_without_date(outlines, [band.shape for band in bands]),
            )
        )
    return tuple(shown)


def grass_name(region: Region, grass: str) -> str:
    """Return what people call a grass."""
    return region.grasses[grass].name if grass in region.grasses else grass


def sources(zones: Zones) -> list[str]:
    """Return one sentence for each source of the zones: the freeze layer with its seasons, and the ground."""
    region, lines = zones.region, []
    if (freeze := region.freeze) is not None:
        seasons = (
            zone_words.SOURCE_SEASONS.format(
                count=len(freeze.seasons), first=min(freeze.seasons), last=max(freeze.seasons)
            )
            if freeze.seasons
            else ""
        )
        threshold = degrees(freeze.threshold_c, region.units)
        lines.append(zone_words.SOURCE_FREEZE.format(name=freeze.name, threshold=threshold, seasons=seasons))
    return [*lines, zone_words.SOURCE_CONTEXT[zones.area_kind]] if region.context else lines


def is_outside(row: Mapping[Any, Any]) -> bool:
    """Return whether no freeze data reach an area of the table."""
    return bool(row["cover_share"] == 0)


def _of_layer(table: pd.DataFrame, grass: str, chance: float) -> pd.DataFrame:
    own = table[(table["grass"] == grass) & (table["chance"] == chance)]
    return own.sort_values("cut_by_date", kind="stable") if "cut_by_date" in own else own


def _zone(row: Mapping[Any, Any], look: Look, units: str) -> ZoneRow:
    stubble = "" if pd.isna(row["stubble_cm"]) else labels.height(row["stubble_cm"], units)
    by = _date(row["cut_by_date"])
    return ZoneRow(
        zone_id=str(row["zone_id"]),
        cut_by=by,
        shape=row["geometry"],
        look=look,
        day=labels.day(by),
        by=zone_words.cut_by(by),
        latest=labels.day(row["latest_date"]),
        size=zone_words.land(row["area_ha"], units),
        freeze=_freeze(row),
        stubble=stubble and zone_words.PAGE["stubble_or_more"].format(height=stubble),
        advice=tuple(labels.sentence(why, units) for why in row["reasons"]),
        risk=tuple((_date(day), float(share)) for day, share in row["risk"]),
    )


def _freeze(row: Mapping[Any, Any]) -> str:
    """Return the freeze dates of a zone as "29 Oct to 4 Nov", or that no freeze is reached in all or part of it."""
    never = zone_words.PAGE["not_reached"]
    first = labels.day(row["freeze_from_date"])
    if row["no_freeze"] or not first:
        return never
    if pd.isna(row["freeze_to_date"]):
        return zone_words.PAGE["not_everywhere"].format(first=first)
    return zone_words.days_between(row["freeze_from_date"], row["freeze_to_date"])


def _county(row: Mapping[Any, Any], bands: Iterable[ZoneRow]) -> CountyRow:
    cover = row["cover_share"]
    middle = row["middle_date"]
    within = [band for band in bands if not pd.isna(middle) and band.cut_by <= _date(middle)]
    return CountyRow(
        county=str(row["area"]),
        earliest=labels.day(row["earliest_date"]),
        middle=labels.day(middle),
        latest=labels.day(row["latest_date"]),
        average_middle=labels.day(row["average_middle_date"]),
        cover="" if pd.isna(cover) else f"{100 * cover:.0f} %",
        zone_id=max(within, key=lambda band: band.cut_by).zone_id if within else "",
        outside=is_outside(row),
    )


def _date(value: object) -> date:
    return pd.Timestamp(value).date()  # type: ignore[arg-type]
