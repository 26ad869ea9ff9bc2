"""Field outlines as people make them: bounded by roads, lanes, streams and woods, and cut in two where too large."""

from collections.abc import Mapping

import geopandas as gpd
import numpy as np
import shapely
from shapely.ops import split

from sample.farms import FARMS, Place
from sample.land import Floats, Shape, dice, waves

M2_PER_ACRE = 4046.8564224
LEAST_AC, MOST_AC = 2.0, 118.0
VERGE_M = {"highway": 24.0, "county": 13.0, "farm": 7.0}
HEDGE_M = 5.0
REACH_M = 900.0  # from a lane to the farthest road along which the place has fields
SCATTER_M = 1_500.0


def outlines(
    roads: gpd.GeoDataFrame, lanes: Mapping[Place, shapely.LineString], barriers: Shape
) -> dict[Place, list[shapely.Polygon]]:
    """Return the outlines of each place's fields in metres; none touches another or a `barrier`."""
    verges = shapely.union_all(
        [
            line.buffer(VERGE_M[road_class])
            for line, road_class in zip(roads.geometry, roads.road_class, strict=True)
        ]
    )
    kept_out = shapely.union_all([verges, barriers])
    ways = shapely.union_all(roads.geometry.to_numpy())
    return {
        place: _of_place(place, farm.usual_ac, _ground(farm.usual_ac, lanes[place], ways, kept_out), ways)
        for farm in FARMS
        for place in farm.places
    }


def _ground(usual_ac: float, lane: shapely.LineString, ways: Shape, kept_out: Shape) -> Shape:
    """Return the land along a lane and the roads about it, as deep as the farm's fields."""
    near_ways = ways.intersection(lane.buffer(REACH_M))
    ground = near_ways.buffer(260 + 48 * np.sqrt(usual_ac))
    return ground.difference(shapely.clip_by_rect(kept_out, *ground.bounds))


def _of_place(place: Place, usual_ac: float, ground: Shape, ways: Shape) -> list[shapely.Polygon]:
    """Return the place's fields: parcels that lie at a lane or road, on the whole nearest the middle first."""
    chance = dice(f"parcels {place.east_km} {place.north_km}")
    pieces = [parcel for part in shapely.get_parts(ground) for parcel in _parcels(part, usual_ac, chance)]
    near_ways = shapely.clip_by_rect(ways, *ground.buffer(500).bounds)
    shaped = [_shaped(piece, near_ways, chance) for piece in pieces]
    usable = [field for field in shaped if _is_field(field, near_ways)]
    middle = ground.centroid
    usable.sort(key=lambda field: field.distance(middle) + chance.uniform(0, SCATTER_M))
    return usable[: len(place.grasses) + (place.oddity == "two parts")]


def _parcels(part: shapely.Polygon, usual_ac: float, chance: np.random.Generator) -> list[shapely.Polygon]:
    """Return `part` cut across its longer side, again and again, until its pieces are of the farm's usual size."""
    limit_ac = min(usual_ac * float(chance.lognormal(0.25, 0.6)), MOST_AC)
    if part.area <= limit_ac * M2_PER_ACRE:
        return [part]
    halves = [
        piece for piece in shapely.get_parts(split(part, _cut(part, chance))) if piece.area > M2_PER_ACRE
    ]
    if len(halves) < 2:
        return halves
    return [parcel for half in halves for parcel in _parcels(half, usual_ac, chance)]


def _cut(part: shapely.Polygon, chance: np.random.Generator) -> shapely.LineString:
    """Return a line with a slight bend across the longer side of `part`, near its middle."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))
    sides = np.diff(corners[:3], axis=0)
    longer, shorter = sorted(sides, key=lambda side: -float(np.hypot(*side)))
    middle = corners[:4].mean(axis=0) + chance.uniform(-0.14, 0.14) * longer
    lean = chance.uniform(-0.12, 0.12)
    across = shorter + lean * longer * (np.hypot(*shorter) / np.hypot(*longer))
    bend = chance.uniform(-0.05, 0.05) * longer
    return shapely.LineString([middle - 0.8 * across, middle + bend, middle + 0.8 * across])


def _shaped(piece: shapely.Polygon, ways: Shape, chance: np.random.Generator) -> shapely.Polygon:
    """Return the parcel without its hedges and the woods that reach into it, its corners rounded by the machine."""
    field = piece.buffer(-HEDGE_M)
    for _ in range(int(chance.integers(0, 3))):
        field = _largest(field.difference(_wood(field, ways, chance)))
    field = _largest(field.buffer(-11).buffer(9))
    return shapely.simplify(field, 1.2)


def _wood(field: Shape, ways: Shape, chance: np.random.Generator) -> Shape:
    """Return a patch of wood over a point of the field's edge that lies away from the road."""
    if field.is_empty:
        return field
    rim = shapely.get_coordinates(shapely.segmentize(field.boundary, 25))
    far = rim[np.argsort(shapely.distance(shapely.points(rim), ways), kind="stable")[len(rim) // 2 :]]
    radius_m = chance.uniform(0.25, 0.5) * np.sqrt(field.area)
    edge = far[chance.integers(len(far))]
    outward = edge - np.array(field.centroid.coords[0])
    return blob(edge + chance.uniform(0.2, 0.75) * radius_m * outward / np.hypot(*outward), radius_m, chance)


def blob(centre: Floats, radius_m: float, chance: np.random.Generator) -> shapely.Polygon:
    """Return a rounded, uneven patch around `centre` (2,) [m]."""
    angles = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    uneven = sum(
        chance.normal(0, 0.16 / k) * np.cos(k * angles + chance.uniform(0, 2 * np.pi)) for k in (2, 3, 4)
    )
    radii = radius_m * (1 + uneven)
    return shapely.Polygon(centre + radii[:, None] * np.column_stack([np.cos(angles), np.sin(angles)]))


def _largest(geometry: Shape) -> Shape:
    parts = shapely.get_parts(geometry)
    return max(parts, key=lambda part: part.area) if len(parts) else geometry


def _is_field(field: Shape, ways: Shape) -> bool:
    """Return whether the outline is large enough, not a sliver, and reached from a road or lane."""
    if field.is_empty or not LEAST_AC * M2_PER_ACRE <= field.area <= MOST_AC * M2_PER_ACRE:
        return False
    roundness = 4 * np.pi * field.area / field.length**2
    return roundness > 0.4 and field.distance(ways) < 60


def stream_banks(streams: gpd.GeoDataFrame) -> Shape:
    """Return the wooded banks of the streams in metres, wider along the river and uneven everywhere."""
    uneven = waves("banks", 1_500, 250)
    banks = []
    for line, stream_class in zip(streams.geometry, streams.stream_class, strict=True):
        points = shapely.get_coordinates(shapely.segmentize(line, 40))
        width_m = 90 if stream_class == "river" else 32
        widths = width_m * np.clip(1 + 0.4 * uneven(points[:, 0], points[:, 1]), 0.5, 2)
        banks.append(shapely.union_all(shapely.buffer(shapely.points(points), widths)))
    return shapely.union_all(banks)
