"""Makes small invented zones, with names that try to break the page, for the tests of page and paper."""

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS
from shapely.geometry import LineString, Point, Polygon, box

from spatial.reasons import reason
from spatial.settings import Settings
from spatial.values import Grid
from spatial.zones import ZoneLayer, Zones
from tests.browser.make_believe import NASTY_NAME, ON

FIRST = pd.Timestamp(2026, 9, 3)
WEST, SOUTH, EAST, NORTH = -83.9, 32.5, -83.1, 33.1
GRASSES = ("bahiagrass", "native")


def make_believe_zones(
    count: int = 4,
    units: str = "us",
    *,
    counties: int = 4,
    reach: float = 1.0,
    grasses: Sequence[str] = GRASSES,
    **region: Any,
) -> Zones:
    """Return `count` zones in bands from north, early, to south, late, for two grasses at two chances.

    The average chance is a week later; the second grass has one zone less. `reach` stretches the district from east
    to west.
    """
    layers = [(grass, chance) for grass in grasses for chance in (0.2, 0.5)]
    names = [NASTY_NAME, *(f"County {number}" for number in range(1, counties))][:counties]
    bands = [row for grass, chance in layers for row in _bands(count, grass, chance, reach)]
    return Zones(
        region=SimpleNamespace(**(_region(units, names, reach) | region)),
        settings=Settings(on=ON),
        season=SimpleNamespace(year=2026, start=date(2026, 8, 1)),
        grid=Grid(CRS.from_epsg(4326), WEST, NORTH, (EAST - WEST) * reach / 8, (NORTH - SOUTH) / 6, 6, 8),
        layers=tuple(
            ZoneLayer(grass, chance, np.zeros((1, 1)), np.zeros((1, 1))) for grass, chance in layers
        ),
        bands=gpd.GeoDataFrame(bands, geometry="geometry", crs=4326),
        areas=gpd.GeoDataFrame(
            [
                _area(name, grass, chance) | {"geometry": shape}
                for grass, chance in layers
                for name, shape in zip(names, _county_shapes(counties, reach), strict=True)
            ],
            geometry="geometry",
            crs=4326,
        ),
        notes=(reason("note_statistics", chance=0.2, seasons=30),),
    )


def _bands(count: int, grass: str, chance: float, reach: float) -> list[dict[str, Any]]:
    shown = count if grass == GRASSES[0] else max(count - 1, 1)
    later = 0 if chance < 0.5 else 1
    return [_band(week + later, grass, chance, _wave(week, shown, reach)) for week in range(shown)]


def _band(week: int, grass: str, chance: float, shape: Polygon) -> dict[str, Any]:
    cut = FIRST + pd.Timedelta(days=7 * week)
    freeze = cut + pd.Timedelta(days=35)
    return {
        "zone_id": f"{grass}-{chance}-{cut:%m%d}", "grass": grass, "chance": chance, "cut_by_date": cut,
        "latest_date": cut + pd.Timedelta(days=6), "freeze_from_date": freeze,
        "freeze_to_date": pd.NaT if week == 1 else freeze + pd.Timedelta(days=6), "area_ha": 4_000.0 + 1_234 * week,
        "stubble_cm": 10.16, "no_freeze": False,
        "reasons": (
            reason("this_is_the_last", last_cut_date=cut),
            reason("leave_stubble", stubble_cm=10.16),
            reason("wait_for_freeze_cut", least_height_cm=20.32, short_height_cm=15.24),
            reason("few_seasons", seasons=12),
        ),
        "risk": tuple(
            (cut + pd.Timedelta(days=step), round(1 / (1 + np.exp(-(step - 10) / 7)), 3)) for step in range(-21, 29)
        ),
        "geometry": shape,
    }  # fmt: skip


def _wave(place: int, count: int, reach: float) -> Polygon:
    """Return one of `count` bands that share their wavy edges; the second has a hole."""
    east = np.linspace(WEST, WEST + (EAST - WEST) * reach, 40)
    high = (NORTH - SOUTH) / count
    top, bottom = (
        NORTH - high * edge + (0 if edge in {0, count} else 0.2 * high) * np.sin((east - WEST) * 14)
        for edge in (place, place + 1)
    )
    outline = [*zip(east, top, strict=True), *zip(east[::-1], bottom[::-1], strict=True)]
    middle = Point(east[20], (top[20] + bottom[20]) / 2).buffer(0.1 * high)
    return Polygon(outline, [middle.exterior.coords] if place == 1 else [])


def _area(name: str, grass: str, chance: float) -> dict[str, Any]:
    later = pd.Timedelta(days=0 if chance < 0.5 else 7)
    return {
        "area": name, "grass": grass, "chance": chance, "earliest_date": FIRST + later,
        "middle_date": FIRST + later + pd.Timedelta(days=9), "latest_date": FIRST + later + pd.Timedelta(days=16),
        "average_middle_date": FIRST + pd.Timedelta(days=16), "cover_share": 0.93,
    }  # fmt: skip


def _region(units: str, counties: list[str], reach: float) -> dict[str, Any]:
    shapes = _county_shapes(len(counties), reach)
    edges = np.linspace(WEST, WEST + (EAST - WEST) * reach, len(counties) + 1)
    line = LineString([(WEST, 32.7), (edges.mean(), 32.8), (edges[-1], 32.75)])
    towns = [
        Point(WEST + step * (edges[-1] - WEST), SOUTH + step * 0.5 + 0.05)
        for step in (0.1, 0.4, 0.45, 0.8, 0.99)
    ]
    return {
        "name": "Make-Believe <b>Hills</b>", "units": units, "grasses": {}, "freeze": None,
        "context": {
            "towns": _named(towns, [NASTY_NAME, "Oak", "Elm Crossing", "حقل", "Far East Corner Town"]),
            "counties": _named(shapes, counties),
            "streams": _named([line], ["Brook"]),
        },
    }  # fmt: skip


def _county_shapes(count: int, reach: float) -> list[Polygon]:
    edges = np.linspace(WEST, WEST + (EAST - WEST) * reach, count + 1)
    return [box(west, SOUTH, east, NORTH) for west, east in pairwise(edges)]


def _named(shapes: list[Any], names: list[str]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame({"name": names}, geometry=shapes, crs=4326)
