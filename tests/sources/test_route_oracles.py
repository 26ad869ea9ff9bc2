"""The route and its travel times against other ways to the same answer.

The best of small rounds is found by trying all there are; ways along roads by networkx; distances by
GeographicLib (Karney 2013, Algorithms for geodesics, J. Geodesy 87:43-55).
"""

import math
from datetime import date
from itertools import pairwise, permutations

import geopandas as gpd
import networkx as nx
import numpy as np
import pandas as pd
import pytest
import shapely
from geographiclib.geodesic import Geodesic

from spatial.errors import quiet
from spatial.routing.model import Round, solve
from spatial.routing.roads import travel_minutes
from spatial.routing.route import cutting_route
from spatial.settings import Settings

ON = pd.Timestamp("2026-09-01")
SHIFT_MIN = 480
SQUARE_M_PER_ACRE = 43_560 * 0.3048**2  # by definition 43,560 square feet of 0.3048 m


def metres(here, there):
    return Geodesic.WGS84.Inverse(here[1], here[0], there[1], there[0])["s12"]


def drive_min(here, there):
    # 24.14016 km/h is 15 mph; 1.3 is the circuity by default.
    return math.ceil(metres(here, there) * 1.3 / (24140.16 / 60))


def prize_min(area_ha, days_left):
    return round(100 * area_ha * 10_000 / SQUARE_M_PER_ACRE * (1 + 7 / (7 + days_left)))


def small_region(seed, size_ha):
    """Return 3 to 7 fields, one or two crews and one to three days, with a wet area on some."""
    rng = np.random.default_rng(seed)
    count, crew_count, day_count = rng.integers(3, 8), rng.integers(1, 3), rng.integers(1, 4)
    lon, lat = -83.5 + rng.uniform(-0.25, 0.25, count), 31.5 + rng.uniform(-0.25, 0.25, count)
    table = pd.DataFrame(
        {
            "area_ha": rng.gamma(2, size_ha, count), "gate_lon": lon, "gate_lat": lat,
            "area": rng.choice(["Cook", "Tift"], count), "stage": "ready", "intent": "hay",
            "ready_date": ON + pd.to_timedelta(rng.integers(-3, 2, count), unit="D"),
            "last_cut_date": ON + pd.to_timedelta(rng.integers(0, 9, count), unit="D"),
            "closed_until_date": pd.Series(pd.NaT, range(count), dtype="datetime64[us]"), "weedy": False,
            "killing_freeze_recorded_date": pd.Series(pd.NaT, range(count), dtype="datetime64[us]"),
        }
    )  # fmt: skip
    table = table.set_index(pd.Index([f"f{number}" for number in range(count)], name="field_id"))
    fields = gpd.GeoDataFrame(table, geometry=gpd.points_from_xy(lon, lat), crs="EPSG:4326")
    yards = {"yard_lon": -83.5 + rng.uniform(-0.1, 0.1, crew_count), "yard_lat": 31.5}
    names = pd.Index(["ann", "bob"][:crew_count], name="crew")
    crews = pd.DataFrame(yards | {"work_rate_ha_h": rng.uniform(2.5, 5.5, crew_count)}, index=names)
    rows = [
        (
            crew,
            ON + pd.Timedelta(days=number),
            540,
            540 + SHIFT_MIN,
            frozenset({"Cook"} if rng.random() < 0.2 else ()),
        )
        for crew in names
        for number in range(day_count)
    ]
    columns = ["crew", "date", "shift_start_min", "shift_end_min", "wet_areas"]
    return fields, crews, pd.DataFrame(rows, columns=columns)


def may_cut(field, day):
    return field["ready_date"] <= day.date <= field["last_cut_date"] and field["area"] not in day.wet_areas


def parts_of(field, crews, days):
    """Return into how many parts a field goes: work within 0.95 of a shift, the way there and back within it."""
    most_ha = 0.0
    for day in days.itertuples():
        crew = crews.loc[day.crew]
        way = drive_min((crew["yard_lon"], crew["yard_lat"]), (field["gate_lon"], field["gate_lat"]))
        if may_cut(field, day):
            work_min = math.floor(min(0.95 * SHIFT_MIN, SHIFT_MIN - 10 - 2 * way))
            most_ha = max(most_ha, work_min * crew["work_rate_ha_h"] / 60)
    return max(1, math.ceil(field["area_ha"] / most_ha)) if most_ha > 0 else 1


def tours(crew, day, parts):
    """Return the least driving [min] for every set of parts that one crew can cut in one day."""
    yard = (crew["yard_lon"], crew["yard_lat"])
    gates = [(field["gate_lon"], field["gate_lat"]) for field, _ in parts]
    work = [math.ceil(60 * area_ha / crew["work_rate_ha_h"]) + 10 for _, area_ha in parts]
    least = {frozenset(): 0}

    def go_on(done, here, driven, busy):
        for part in set(range(len(parts))) - done:
            out, home = drive_min(here, gates[part]), drive_min(gates[part], yard)
            total = driven + out + home
            if may_cut(parts[part][0], day) and busy + work[part] + total <= SHIFT_MIN:
                more = done | {part}
                least[more] = min(total, least.get(more, total))
                go_on(more, gates[part], driven + out, busy + work[part])

    go_on(frozenset(), yard, 0, 0)
    return least


def best_of_all(fields, crews, days):
    """Return the most prize less driving of all ways to cut fields whole."""
    parts = [
        (field, field["area_ha"] / count, name)
        for name, field in fields.iterrows()
        for count in [parts_of(field, crews, days)]
        for _ in range(count)
    ]
    prizes = [prize_min(area_ha, (field["last_cut_date"] - ON).days) for field, area_ha, _ in parts]
    best = {frozenset(): 0}
    for day in days.itertuples():
        least = tours(crews.loc[day.crew], day, [(field, area_ha) for field, area_ha, _ in parts])
        grown = {}
        for done, value in best.items():
            for also, driven in least.items():
                if not done & also:
                    total = value + sum(prizes[part] for part in also) - driven
                    grown[done | also] = max(total, grown.get(done | also, total))
        best = grown
    by_field = [
        frozenset(part for part, (*_, name) in enumerate(parts) if name == field) for field in fields.index
    ]
    return max(
        value for done, value in best.items() if all(not own & done or own <= done for own in by_field)
    )


def worth(stops, fields, crews):
    """Return the prize less driving of a table of stops, from its fields, areas and order alone."""
    total = 0
    for (crew, _), day in stops.groupby(["crew", "date"]):
        yard = tuple(crews.loc[crew, ["yard_lon", "yard_lat"]])
        places = [
            yard,
            *(tuple(fields.loc[field, ["gate_lon", "gate_lat"]]) for field in day["field_id"]),
            yard,
        ]
        total -= sum(drive_min(here, there) for here, there in pairwise(places))
    for stop in stops.itertuples():
        total += prize_min(stop.area_ha, (fields.loc[stop.field_id, "last_cut_date"] - ON).days)
    return total


@pytest.mark.parametrize("size_ha", [2.5, 8.0, 16.0])
@pytest.mark.parametrize("seed", range(10))
def test_a_small_route_is_the_best_of_all(seed, size_ha):
    fields, crews, days = small_region(seed, size_ha)
    route = cutting_route(
        fields, None, crews, days, Settings(on=ON.date(), horizon_days=3, effort="quick"), quiet
    )
    assert worth(route.stops, fields, crews) == best_of_all(fields, crews, days)


def windowed_round(seed):
    """Return a round of one crew-day and six visits with windows inside the shift."""
    rng = np.random.default_rng(seed)
    places = rng.uniform(0, 60, (7, 2))
    travel = np.ceil(np.hypot(*(places[:, None] - places).transpose(2, 0, 1))).astype("int64")
    early = rng.integers(0, 300, 6)
    return Round(
        travel_min=travel,
        service_min=rng.integers(20, 90, (1, 6)),
        earliest_min=early,
        latest_min=early + rng.integers(40, 160, 6),
        prize=rng.integers(100, 1000, 6),
        field=np.arange(6),
        yard=np.array([0]),
        start_min=np.array([0]),
        end_min=np.array([SHIFT_MIN]),
        closed=rng.random((1, 6)) < 0.1,
    )


def windowed_value(todo, order):
    """Return the prize less driving of one order, None where a visit is not FINISHED in its window."""
    clock, here, value = 0, 0, 0
    for visit in order:
        there = visit + 1
        finish = max(
            clock + todo.travel_min[here, there] + todo.service_min[0, visit], todo.earliest_min[visit]
        )
        if finish > todo.latest_min[visit] or todo.closed[0, visit]:
            return None
        value += todo.prize[visit] - todo.travel_min[here, there]
        clock, here = finish, there
    return value - todo.travel_min[here, 0] if clock + todo.travel_min[here, 0] <= SHIFT_MIN else None


@pytest.mark.parametrize("seed", range(10))
def test_windows_bound_the_finish_and_the_best_order_is_found(seed):
    todo = windowed_round(seed)
    orders = [order for count in range(7) for order in permutations(range(6), count)]
    values = [value for order in orders if (value := windowed_value(todo, order)) is not None]
    (route,) = solve(todo, [[]], 2_000, 1, lambda _share: None)
    assert windowed_value(todo, route) == max(values)


def grid_roads(rng):
    """Return a grid of 7 by 6 crossings as road pieces with a bend each, speeds, and the crossings' places."""
    lon, lat = -83.5 + 0.01 * np.arange(7), 31.5 + 0.008 * np.arange(6)
    crossings = {(east, north): (lon[east], lat[north]) for east in range(7) for north in range(6)}
    pieces = [
        (here, (here[0] + east, here[1] + north))
        for here in crossings
        for east, north in ((1, 0), (0, 1))
        if (here[0] + east, here[1] + north) in crossings
    ]
    kept = [piece for piece in pieces if rng.random() < 0.85]
    bends = [
        np.mean([crossings[here], crossings[there]], axis=0) + rng.uniform(-2e-3, 2e-3, 2)
        for here, there in kept
    ]
    lines = [
        shapely.LineString([crossings[here], bend, crossings[there]])
        for (here, there), bend in zip(kept, bends, strict=True)
    ]
    speeds = rng.choice([10.0, 20.0, 40.0], len(kept))
    return gpd.GeoDataFrame({"speed_km_h": speeds}, geometry=lines, crs="EPSG:4326"), kept, crossings


def piece_min(line, speed_km_h):
    points = list(line.coords)
    length_m = sum(metres(here, there) for here, there in pairwise(points))
    return length_m * 60 / (1000 * min(speed_km_h, 24.14016))


@pytest.mark.parametrize("seed", range(3))
def test_ways_along_a_grid_of_roads_are_those_of_networkx(seed):
    roads, pieces, crossings = grid_roads(np.random.default_rng(seed))
    graph = nx.Graph()
    for (here, there), line, speed in zip(pieces, roads.geometry, roads["speed_km_h"], strict=True):
        graph.add_edge(here, there, weight=piece_min(line, speed))
    joined = sorted(max(nx.connected_components(graph), key=len))
    quickest = dict(nx.all_pairs_dijkstra_path_length(graph, weight="weight"))
    places = pd.DataFrame([crossings[crossing] for crossing in joined], columns=["lon", "lat"])
    told = travel_minutes(places, roads, Settings(on=date(2026, 9, 1)))
    expected = [[quickest[here][there] for there in joined] for here in joined]
    assert told.gap_m == pytest.approx(0, abs=0.01)
    np.testing.assert_allclose(told.minutes, expected, rtol=1e-4, atol=1e-3)


def test_distances_without_roads_are_those_of_geographiclib():
    rng = np.random.default_rng(5)
    places = pd.DataFrame({"lon": rng.uniform(-85, -82, 8), "lat": rng.uniform(30, 33, 8)})
    told = travel_minutes(places, None, Settings(on=date(2026, 9, 1), circuity=1.0, road_speed_km_h=60))
    points = places.to_numpy().tolist()
    # At 60 km/h a minute is a kilometre.
    expected = [[metres(here, there) / 1000 for there in points] for here in points]
    np.testing.assert_allclose(told.minutes, expected, rtol=1e-9, atol=1e-9)
