"""The zones for other programs: a GeoTIFF and a GeoPackage for any GIS, a table by county, and all figures as JSON."""

import json
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa

from maps.handoffs import stamped
from maps.labels import chance_words, sentence, sentences
from maps.spreadsheet import write_csv
from maps.zones.rows import grass_name, is_outside, sources
from maps.zones.words import AREA_NOTE, AREA_OUTSIDE, CAUTIONS
from spatial.raster.written import LayerForm, written_layer
from spatial.values import Window
from spatial.zones import Zones

NO_DATE = -9999
DATES = ("cut_by_date", "latest_date", "freeze_from_date", "freeze_to_date")
AREA_DATES = ("earliest_date", "middle_date", "latest_date", "average_middle_date")
DATE = pd.ArrowDtype(pa.date32())
SHARE_DECIMALS, HA_DECIMALS, CM_DECIMALS = 4, 1, 2


def write_zones_tif(zones: Zones, path: Path, _made_on: datetime) -> None:
    """Write a band for each grass and chance: the last cut as days since the season's first day, int16.

    The tags say in words what the numbers mean.
    """
    names = [f"{grass_name(zones.region, one.grass)}, {chance_words(one.chance)}" for one in zones.layers]
    form = LayerForm(zones.grid, tuple(names), "int16", NO_DATE, _tags(zones))
    with written_layer(path, form) as put:
        for band, layer in enumerate(zones.layers, start=1):
            days = np.where(np.isnan(layer.last_cut_days), NO_DATE, layer.last_cut_days).astype(np.int16)
            put(days[np.newaxis], Window(0, 0, zones.grid.rows, zones.grid.columns), band)


def write_zones_gpkg(zones: Zones, path: Path, _made_on: datetime) -> None:
    """Write layers `zones` and `areas` (polygons, EPSG:4326) in inside units; equal zones give equal bytes."""
    with stamped(zones.settings.on):
        for name, layer in (("zones", _zones_layer(zones)), ("areas", _areas_layer(zones))):
            if not layer.empty:
                # Only by way of Arrow do days become dates; else they are texts.
                layer.to_file(
                    path,
                    layer=name,
                    driver="GPKG",
                    engine="pyogrio",
                    mode="a" if path.exists() else "w",
                    use_arrow=True,
                )


def write_zones_csv(zones: Zones, path: Path, _made_on: datetime) -> None:
    """Write one row an area, grass and chance, as CSV that a spreadsheet opens without running anything."""
    write_csv(pd.DataFrame(_area_rows(zones)), path)


def write_zones_json(zones: Zones, path: Path, _made_on: datetime) -> None:
    """Write all figures for programs: inside units, ISO dates, null where missing; outlines are in zones.gpkg."""
    path.write_text(json.dumps(zones_document(zones), ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


ZONE_FILES: Mapping[str, Callable[[Zones, Path, datetime], None]] = {
    "zones.tif": write_zones_tif,
    "zones.gpkg": write_zones_gpkg,
    "zones.csv": write_zones_csv,
    "zones.json": write_zones_json,
}


def zones_document(zones: Zones) -> dict[str, Any]:
    """Return the zones as plain values, ready for JSON."""
    units = zones.region.units
    rows = zones.bands.drop(columns="geometry").to_dict("records")
    return {
        "region": zones.region.name,
        "on": zones.settings.on.isoformat(),
        "chance": zones.settings.chance,
        "season": zones.season.year,
        "season_start": zones.season.start.isoformat(),
        "layers": [{"grass": layer.grass, "chance": layer.chance} for layer in zones.layers],
        "zones": [_zone_row(row, zones) | {"risk": _risk(row)} for row in rows],
        "areas": _area_rows(zones),
        "cautions": list(CAUTIONS),
        "notes": [sentence(note, units) for note in zones.notes],
        "sources": sources(zones),
    }


def _tags(zones: Zones) -> dict[str, str]:
    start = zones.season.start.isoformat()
    layers = [f"{layer.grass} {layer.chance:g}" for layer in zones.layers]
    return {
        "what": "last day of an early cut at the chance, one band a grass and chance",
        "unit": f"days since the season's first day, {start} (that day is 0)",
        "season_start": start,
        "season": str(zones.season.year),
        "no_data": f"{NO_DATE}: no last-cut date is known",
        "chance": "share of past seasons in which the killing freeze has come by the day that is counted back from",
        "layers": ", ".join(layers),
        "sources": " ".join(sources(zones)),
        "caution": CAUTIONS[0],
    }


def _zone_row(row: Mapping[Any, Any], zones: Zones) -> dict[str, Any]:
    return {
        "zone_id": row["zone_id"],
        **_layer_keys(row, zones),
        **{name: _iso(row[name]) for name in DATES},
        "no_freeze": bool(row["no_freeze"]),
        "area_ha": round(float(row["area_ha"]), HA_DECIMALS),
        "stubble_cm": round(float(row["stubble_cm"]), CM_DECIMALS),
        "advice": sentences(row["reasons"], zones.region.units),
    }


def _area_rows(zones: Zones) -> list[dict[str, Any]]:
    return [
        {
            "area": str(row["area"]),
            **_layer_keys(row, zones),
            **{name: _iso(row[name]) for name in AREA_DATES},
            "cover_share": round(float(row["cover_share"]), SHARE_DECIMALS),
            "note": AREA_OUTSIDE if is_outside(row) else AREA_NOTE,
        }
        for row in zones.areas.to_dict("records")
    ]


def _layer_keys(row: Mapping[Any, Any], zones: Zones) -> dict[str, Any]:
    return {
        "grass": row["grass"],
        "grass_name": grass_name(zones.region, row["grass"]),
        "chance": float(row["chance"]),
        "chance_words": chance_words(row["chance"]),
    }


def _risk(row: Mapping[Any, Any]) -> list[dict[str, Any]]:
    return [{"cut_date": _iso(day), "share": share} for day, share in row["risk"]]


def _zones_layer(zones: Zones) -> gpd.GeoDataFrame:
    rows = [_zone_row(row, zones) for row in zones.bands.drop(columns="geometry").to_dict("records")]
    return _layer(rows, DATES, zones.bands)


def _areas_layer(zones: Zones) -> gpd.GeoDataFrame:
    return _layer(_area_rows(zones), AREA_DATES, zones.areas)


def _layer(
    rows: list[dict[str, Any]], dates: tuple[str, ...], outlines: gpd.GeoDataFrame
) -> gpd.GeoDataFrame:
    """Return rows as a layer with real dates, which a GIS sorts and filters."""
    table = pd.DataFrame(rows)
    table = table.assign(
        **{name: pd.to_datetime(table[name]).dt.date.astype(DATE) for name in dates if name in table}
    )
    return gpd.GeoDataFrame(table, geometry=outlines.geometry.to_numpy(), crs=outlines.crs)


def _iso(value: Any) -> str | None:
    return None if pd.isna(value) else f"{pd.Timestamp(value):%Y-%m-%d}"
