"""The fields of the district: outline, owner, grass, what was done to each this season, and its gate."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from sample.farms import FARMS, Farm, Place
from sample.land import METRES, Floats, Shape, dice, lon_lat
from sample.outlines import blob, outlines, stream_banks
from sample.season import SPECIAL, THIS_DAY

GRASSES = {
    "h": "hybrid_bermudagrass",
    "c": "common_bermudagrass",
    "b": "bahiagrass",
    "n": "native_warm_season",
}
CULTIVARS = {
    "h": ("Coastal", "Tifton 85", "Russell", "Tifton 44", None),
    "b": ("Pensacola", "Tifton 9", None),
}
NAMES_AT_STREAM = (
    "Creek Bottom", "River Field", "Lower Bottom", "Sandbar", "Beaver Dam", "Spring Head", "Shoal Piece", "Long Slough",
)  # fmt: skip
NAMES = (
    "Back Forty", "Barn Field", "Church Lot", "Pecan Grove", "Old Orchard", "Gin House", "Upper Piece", "Tower Hill",
    "Red Gate", "Home Place", "Cemetery Field", "Mule Lot", "Twin Oaks", "School House", "Far Side", "Pond Field",
    "Chimney Field", "Store Corner", "Sand Hill", "Terrace Field", "Ridge", "Little Ten", "Airstrip", "Bell Field",
    "Silo Side", "Crossroads", "Wind Break", "Deer Stand", "Gravel Pit", "Long Rows", "Cane Patch", "Lightning Pine",
    "Sawmill Set", "Widow's Piece", "North Slope", "Three Corner", "Turkey Run", "Rock Pile", "Well Lot", "Lane Field",
    "Clay Bank", "Dogleg", "Powerline", "Persimmon", "New Ground", "Hog Wallow", "Ball Field", "Quarter Moon",
    "Old Terrace", "Tin Roof", "Fox Den", "Bee Yard", "Granny's", "Windmill", "Rail Side", "High Gate", "Cotton House",
    "Peach Rows", "Whistle Stop", "Sunrise", "Buckeye", "Kudzu Edge", "Muscadine", "Half Mile", "Sweetgum",
    "Plum Hedge", "Grape Arbor", "Blacksmith", "Scale House", "Washboard", "Mailbox", "Ditch Bank",
)  # fmt: skip


def fields(
    roads: gpd.GeoDataFrame, lanes: Mapping[Place, shapely.LineString], streams: gpd.GeoDataFrame
) -> gpd.GeoDataFrame:
    """Return the fields in metres, in the columns and units that people write."""
    shapes = outlines(roads, lanes, stream_banks(streams))
    rows = [row for farm in FARMS for row in _rows(farm, shapes)]
    table = gpd.GeoDataFrame(rows, geometry="geometry", crs=METRES)
    table.insert(2, "name", _names(table.geometry, streams))
    table = _with_gates(table, roads)
    return table[[*table.columns.drop("geometry"), "geometry"]]


def _finished(place: Place, shapes: list[shapely.Polygon]) -> list[Shape]:
    """Return the outlines from north to south, with the place's hole cut out or two of them made one field."""
    ordered: list[Shape] = sorted(shapes, key=lambda shape: -shape.centroid.y)
    if place.oddity == "two parts":
        return _nearest_two_joined(ordered)
    if place.oddity:
        largest = max(range(len(ordered)), key=lambda number: ordered[number].area)
        ordered[largest] = ordered[largest].difference(_hole(ordered[largest], place.oddity))
    return ordered


def _nearest_two_joined(shapes: list[Shape]) -> list[Shape]:
    large = [i for i, shape in enumerate(shapes) if shape.area > 20_000]
    pairs = [(shapes[i].distance(shapes[j]), i, j) for i in large for j in large if i < j]
    _, first, second = min(pairs)
    joined = shapely.MultiPolygon([shapes[first], shapes[second]])
    return [joined if i == first else shape for i, shape in enumerate(shapes) if i != second]


def _hole(field: shapely.Polygon, what: str) -> shapely.Polygon:
    """Return a pond, or a house with its yard, well inside the field."""
    chance = dice(what)
    inner = field.buffer(-0.16 * np.sqrt(field.area)).representative_point()
    middle = np.array(inner.coords[0])
    if what == "pond":
        return blob(middle, 0.09 * np.sqrt(field.area), chance)
    half = np.array([38, 27])
    yard = shapely.box(*(middle - half), *(middle + half))
    return shapely.affinity.rotate(yard, chance.uniform(10, 40))


def _rows(farm: Farm, shapes: Mapping[Place, list[shapely.Polygon]]) -> list[dict[str, Any]]:
    """Return the farm's fields, numbered through its places; each place was cut within a few days."""
    chance = dice(f"fields {farm.code}")
    rows: list[dict[str, Any]] = []
    for place in farm.places:
        first_day = THIS_DAY - timedelta(days=int(chance.integers(24, 46)))
        for shape, letter in zip(_finished(place, shapes[place]), place.grasses, strict=True):
            field_id = f"{farm.code}-{len(rows) + 1:02d}"
            row = {"field_id": field_id, "client": farm.client, **_usual(letter, first_day, chance)}
            rows.append(row | SPECIAL.get(field_id, {}) | {"geometry": shape})
    return rows


def _usual(letter: str, first_day: date, chance: np.random.Generator) -> dict[str, Any]:
    """Return what a field has unless something special is known of it: cut with its neighbours, a few days apart."""
    early = {"n": 38, "b": 4}.get(letter, 0)
    cut = first_day - timedelta(days=early) + timedelta(days=int(chance.integers(0, 4)))
    measured = bool(chance.random() < 0.3)
    height_in = 4 + 0.31 * min((THIS_DAY - cut).days, 50) + chance.normal(0, 1.2)
    height_date = THIS_DAY - timedelta(days=int(chance.integers(1, 6)))
    cultivars = CULTIVARS.get(letter, (None,))
    stubble_in = 8.0 if letter == "n" else float(chance.choice([3, 4, 4, 4, 5, np.nan]))
    return {
        "grass": GRASSES[letter],
        "cultivar": cultivars[int(chance.integers(len(cultivars)))],
        "previous_cut_date": cut.isoformat(),
        "height_in": round(height_in * 2) / 2 if measured else np.nan,
        "height_date": height_date.isoformat() if measured else None,
        "stubble_in": stubble_in,
        "intent": "hay",
        "water": bool(chance.random() < 0.45),
        "weedy": False,
        "promised_by": None,
        "cold_offset_f": np.nan,
    }


def _names(shapes: gpd.GeoSeries, streams: gpd.GeoDataFrame) -> list[str]:
    """Return a name for every field, no two alike; fields by a stream take theirs from it."""
    chance = dice("names")
    wet, dry = (list(chance.permutation(names)) for names in (NAMES_AT_STREAM, NAMES))
    gap_m = shapes.distance(streams.union_all())
    return [str(wet.pop() if gap < 130 and wet else dry.pop()) for gap in gap_m]


def _with_gates(table: gpd.GeoDataFrame, roads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the fields with a gate on the side that faces a road; a few owners gave none."""
    ways = shapely.union_all(roads.geometry.to_numpy())
    chance = dice("gates")
    gates = np.array([_gate(shape, ways, chance) for shape in table.geometry])
    lon, lat = lon_lat(gates[:, 0], gates[:, 1])
    unknown = chance.random(len(table)) < 0.07
    return table.assign(gate_lon=np.where(unknown, np.nan, lon), gate_lat=np.where(unknown, np.nan, lat))


def _gate(shape: Shape, ways: Shape, chance: np.random.Generator) -> Floats:
    rim = shapely.get_coordinates(shapely.segmentize(shape.boundary, 12))
    gap_m = shapely.distance(shapely.points(rim), ways)
    front = rim[gap_m < gap_m.min() + 5]
    return front[chance.integers(len(front))]
