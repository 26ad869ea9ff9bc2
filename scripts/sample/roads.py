"""Towns, counties and the roads between the towns: highways, county roads and lanes to the farms."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import distance_matrix

from sample.land import BOTTOM_M, LEFT_M, METRES, SIDE_M, Floats, Shape, at_km, box, dice, metres, smooth_line

SPACING_M = 4_600.0
TOWNS = (  # name, km east, km north, people
    ("Quillen", 11.5, 42.0, 4_100),
    ("Dunmar Springs", 40.5, 45.5, 2_600),
    ("Peasley", 25.5, 33.5, 900),
    ("Varnum", 12.0, 16.5, 3_300),
    ("Sallow Ford", 30.5, 11.0, 1_200),
    ("Lorimer", 43.5, 22.5, 6_800),
    ("Teal Crossing", 24.5, 49.0, 350),
    ("Old Bellamy", 4.5, 28.5, 240),
    ("Cotter's Mill", 50.0, 34.0, 410),
    ("Gadwall", 46.0, 6.5, 520),
)
LOOSE_TRACK_FIELD = "TH-05"
HIGHWAYS = (
    ("Quillen", "Varnum"), ("Quillen", "Dunmar Springs"), ("Dunmar Springs", "Lorimer"), ("Varnum", "Sallow Ford"),
    ("Sallow Ford", "Lorimer"), ("Quillen", "Lorimer"), ("Lorimer", "Gadwall"), ("Peasley", "Varnum"),
)  # fmt: skip


@dataclass(frozen=True)
class Network:
    """Road junctions (n, 2) [m] and the edges between them: pairs of junctions, and which are highways."""

    junctions: Floats
    edges: NDArray[np.int64]
    is_highway: NDArray[np.bool_]


def towns() -> gpd.GeoDataFrame:
    """Return the towns (`name`, `people`, points in metres)."""
    points = [shapely.Point(*at_km(east, north)) for _, east, north, _ in TOWNS]
    columns = {"name": [town[0] for town in TOWNS], "people": [town[3] for town in TOWNS]}
    return gpd.GeoDataFrame(columns, geometry=points, crs=METRES)


def main_roads(river: Shape) -> gpd.GeoDataFrame:
    """Return highways and county roads (`road_class`, lines in metres) that meet end to end; few cross the river."""
    network = _network(river)
    lines = [_road(network, edge) for edge in range(len(network.edges))]
    classes = np.where(network.is_highway, "highway", "county")
    return gpd.GeoDataFrame({"road_class": classes}, geometry=lines, crs=METRES)


def with_loose_track(roads: gpd.GeoDataFrame, fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the roads with a farm track in two pieces across one field; nobody joined it to the road at the gate."""
    field = fields.set_index("field_id").loc[LOOSE_TRACK_FIELD]
    gate = np.array(metres(field.gate_lon, field.gate_lat))
    middle = np.array(field.geometry.centroid.coords[0])
    points = np.round(gate + np.array([[0.03], [0.5], [0.9]]) * (middle - gate), 2)
    track = gpd.GeoDataFrame(
        {"road_class": ["farm", "farm"]},
        geometry=list(shapely.linestrings([points[:2], points[1:]])),
        crs=METRES,
    )
    return pd.concat([roads, track], ignore_index=True)


def _network(river: Shape) -> Network:
    junctions = _junctions()
    edges = _without_fords(junctions, _near_pairs(junctions), river)
    on_highway = _highway_edges(junctions, edges)
    return Network(_straightened(junctions, edges[on_highway]), edges, on_highway)


def _junctions() -> Floats:
    """Return the towns, then a shaken six-sided lattice of crossroads that keeps off them."""
    chance = dice("crossroads")
    rows = np.arange(SPACING_M / 2, SIDE_M, SPACING_M * 0.87)
    lattice = [
        (LEFT_M + east + (SPACING_M / 2) * (row % 2), BOTTOM_M + north)
        for row, north in enumerate(rows)
        for east in np.arange(SPACING_M / 3, SIDE_M - SPACING_M / 2, SPACING_M)
    ]
    shaken = np.array(lattice) + chance.normal(0, 0.2 * SPACING_M, (len(lattice), 2))
    town_points = np.array([at_km(east, north) for _, east, north, _ in TOWNS])
    clear = distance_matrix(shaken, town_points).min(axis=1) > 0.6 * SPACING_M
    inside = shapely.contains_xy(box(-600), shaken)
    return np.vstack([town_points, shaken[clear & inside]])


def _near_pairs(junctions: Floats) -> NDArray[np.int64]:
    """Return pairs with no third junction nearer to both (the relative neighbourhood graph), and some more.

    The more are half of the Gabriel pairs: no third junction inside the circle between the two.
    """
    gaps = distance_matrix(junctions, junctions)
    first, second = np.triu_indices(len(junctions), 1)
    close = gaps[first, second] < 2.2 * SPACING_M
    first, second = first[close], second[close]
    span = gaps[first, second]
    third = np.maximum(gaps[first], gaps[second])
    third[np.arange(len(span)), first] = third[np.arange(len(span)), second] = np.inf
    squares = gaps[first] ** 2 + gaps[second] ** 2
    squares[np.arange(len(span)), first] = squares[np.arange(len(span)), second] = np.inf
    related, gabriel = span <= third.min(axis=1), span**2 <= squares.min(axis=1)
    kept = related | (gabriel & (dice("more roads").random(len(span)) < 0.45))
    return np.column_stack([first[kept], second[kept]])


def _without_fords(junctions: Floats, edges: NDArray[np.int64], river: Shape) -> NDArray[np.int64]:
    """Return `edges` with every third bridge over the river kept, from north to south."""
    crossing = shapely.intersects(shapely.linestrings(junctions[edges]), river)
    bridges = np.flatnonzero(crossing)
    southward = bridges[np.argsort(-junctions[edges[bridges]][:, :, 1].mean(axis=1), kind="stable")]
    dropped = np.setdiff1d(southward, southward[1::3])
    edges = np.delete(edges, dropped, axis=0)
    pieces, piece_of = connected_components(_graph(junctions, edges), directed=False)
    largest = np.bincount(piece_of, minlength=pieces).argmax()
    return edges[piece_of[edges[:, 0]] == largest]


def _graph(junctions: Floats, edges: NDArray[np.int64]) -> csr_array:
    lengths_m = np.hypot(*(junctions[edges[:, 0]] - junctions[edges[:, 1]]).T)
    return coo_array((lengths_m, (edges[:, 0], edges[:, 1])), shape=(len(junctions), len(junctions))).tocsr()


def _highway_edges(junctions: Floats, edges: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which edges lie on the shortest way between two towns that a highway joins."""
    number = {town[0]: i for i, town in enumerate(TOWNS)}
    _, before = dijkstra(
        _graph(junctions, edges), directed=False, indices=np.arange(len(TOWNS)), return_predecessors=True
    )
    used = set()
    for start, end in HIGHWAYS:
        here = number[end]
        while here != number[start]:
            there = int(before[number[start], here])
            used.add((min(here, there), max(here, there)))
            here = there
    return np.array([(int(a), int(b)) in used for a, b in edges])


def _straightened(junctions: Floats, highways: NDArray[np.int64]) -> Floats:
    """Return the junctions with those along highways drawn towards their neighbours, so that highways run straight."""
    moved = junctions.copy()
    along = np.vstack([highways, highways[:, ::-1]])
    degree = np.bincount(along[:, 0], minlength=len(moved))
    free = np.flatnonzero(degree == 2)
    free = free[free >= len(TOWNS)]
    for _ in range(12):
        sums = np.zeros_like(moved)
        np.add.at(sums, along[:, 0], moved[along[:, 1]])
        moved[free] = 0.5 * moved[free] + 0.5 * sums[free] / degree[free, None]
    return moved


def _road(network: Network, edge: int) -> shapely.LineString:
    """Return one road, gently winding between its two junctions; highways hardly wind."""
    ends = network.junctions[network.edges[edge]]
    return winding(ends, f"road {edge}", 0.012 if network.is_highway[edge] else 0.05)


def winding(ends: Floats, topic: str, swing_share: float) -> shapely.LineString:
    """Return a smooth line between two ends (2, 2) that swings aside by about `swing_share` of its length."""
    along = ends[1] - ends[0]
    length_m = float(np.hypot(*along))
    shares = np.linspace(0, 1, max(4, round(length_m / 450)) + 1)
    walk = np.cumsum(dice(topic).normal(size=len(shares)))
    bridge = walk - walk[0] - shares * (walk[-1] - walk[0])
    bridge *= swing_share / max(float(np.abs(bridge).max()), 0.5)
    points = ends[0] + shares[:, None] * along + bridge[:, None] * np.array([-along[1], along[0]])
    return shapely.LineString(np.round(smooth_line(points, 2), 2))
