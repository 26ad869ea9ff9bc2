"""Gives the quickest ways along a connected road network between points that join it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

# Vertices of two roads that fall into the same cell of this size are the same junction.
_JUNCTION_M = 0.1

# Sources searched at once: bounds the memory to 16 rows of one number a junction.
_SOURCES_AT_ONCE = 16

# The least weight of an edge: sparse graphs may drop an edge that takes no time.
_LEAST_MINUTES = 1e-9

_Numbers = NDArray[np.float64]
_Positions = NDArray[np.intp]


@dataclass(frozen=True)
class Joined:
    """Where points join the network: `road` (n,), `at_m` (n,) [m along it] and `gap_m` (n,) [m to it]."""

    road: _Positions
    at_m: _Numbers
    gap_m: _Numbers


@dataclass(frozen=True)
class RoadNetwork:
    """The roads of one connected network, in metres; `minutes_per_m` goes with `roads` by position.

    `knots` has the places where roads end or meet: road, at_m [m along it], junction (0, 1, ...).
    """

    roads: NDArray[Any]
    minutes_per_m: _Numbers
    knots: pd.DataFrame

    def nearest(self, metres: _Numbers) -> Joined:
        """Return where each point (n, 2) joins its nearest road, anywhere along it."""
        points: Any = shapely.points(metres)
        _, road = shapely.STRtree(self.roads).query_nearest(points, all_matches=False)
        lines = self.roads[road]
        return Joined(road, shapely.line_locate_point(lines, points), shapely.distance(lines, points))

    def minutes_between(self, joined: Joined) -> _Numbers:
        """Return the minutes of the quickest ways between all points that joined, (n, n)."""
        junctions = int(self.knots["junction"].max()) + 1
        own = junctions + np.arange(len(joined.road))
        joints = pd.DataFrame({"road": joined.road, "at_m": joined.at_m, "junction": own})
        graph = _graph(pd.concat([self.knots, joints]), self.minutes_per_m, junctions + len(own))
        chunks = [own[start : start + _SOURCES_AT_ONCE] for start in range(0, len(own), _SOURCES_AT_ONCE)]
        rows = [dijkstra(graph, indices=chunk)[:, own] for chunk in chunks]
        return np.vstack([np.empty((0, len(own))), *rows])


def road_network(roads: NDArray[Any], minutes_per_m: _Numbers) -> RoadNetwork:
    """Return the longest connected network of `roads` (lines in metres), driven at `minutes_per_m` [min/m].

    Roads meet where they share a vertex, also in the middle of both. The order of the roads changes nothing.
    """
    lines, pace = _plain_lines(roads, minutes_per_m)
    vertices = _vertices(lines)
    in_longest = _in_longest_network(vertices)
    if not in_longest.all():
        lines, pace = lines[in_longest], pace[in_longest]
        vertices = _vertices(lines)
    return RoadNetwork(lines, pace, _knots(vertices))


def _plain_lines(roads: NDArray[Any], minutes_per_m: _Numbers) -> tuple[NDArray[Any], _Numbers]:
    lines, origin = shapely.get_parts(roads, return_index=True)
    pace = minutes_per_m[origin]
    shape = shapely.to_wkb(lines)
    order = sorted(np.flatnonzero(shapely.length(lines) > 0), key=lambda row: (shape[row], pace[row]))
    return lines[order], pace[order]


def _vertices(lines: NDArray[Any]) -> pd.DataFrame:
    """Return one row a vertex in order: road, at_m along it, and the junction it would be."""
    metres, road = shapely.get_coordinates(lines, return_index=True)
    step_m = np.hypot(*np.diff(metres, axis=0, prepend=metres[:1]).T)
    step_m[np.diff(road, prepend=-1) > 0] = 0.0
    at_m = pd.Series(step_m).groupby(road).cumsum()
    cells = np.round(metres / _JUNCTION_M)
    _, junction = np.unique(cells[:, 0] + 1j * cells[:, 1], return_inverse=True)
    return pd.DataFrame({"road": road, "at_m": at_m, "junction": junction})


def _in_longest_network(vertices: pd.DataFrame) -> NDArray[np.bool_]:
    graph = _graph(vertices, np.ones(vertices["road"].iloc[-1] + 1), vertices["junction"].max() + 1)
    _, network_of_junction = connected_components(graph, directed=False)
    ends = vertices.groupby("road").last()
    network = network_of_junction[ends["junction"]]
    return np.asarray(network == np.bincount(network, weights=ends["at_m"]).argmax())


def _knots(vertices: pd.DataFrame) -> pd.DataFrame:
    """Return the vertices where a road ends or another passes, junctions numbered anew."""
    is_end = ~vertices["road"].duplicated() | ~vertices["road"].duplicated(keep="last")
    knots = vertices[is_end | vertices["junction"].duplicated(keep=False)]
    return knots.assign(junction=np.unique(knots["junction"], return_inverse=True)[1])


def _graph(knots: pd.DataFrame, minutes_per_m: _Numbers, size: int) -> csr_array:
    """Return the symmetric graph of the pieces of road between knots; of parallel ones the quickest."""
    along = knots.sort_values(["road", "at_m"], kind="stable")
    road, at_m, junction = (along[name].to_numpy() for name in ("road", "at_m", "junction"))
    piece = np.flatnonzero(road[1:] == road[:-1])
    minutes = np.maximum((at_m[piece + 1] - at_m[piece]) * minutes_per_m[road[piece]], _LEAST_MINUTES)
    ends = np.sort(np.column_stack([junction[piece], junction[piece + 1]]), axis=1)
    edges = pd.DataFrame({"low": ends[:, 0], "high": ends[:, 1], "minutes": minutes})
    edges = edges[edges["low"] < edges["high"]].groupby(["low", "high"], as_index=False).min()
    low, high, weight = (edges[name].to_numpy() for name in ("low", "high", "minutes"))
    pairs = (np.concatenate([low, high]), np.concatenate([high, low]))
    return coo_array((np.concatenate([weight, weight]), pairs), shape=(size, size)).tocsr()
