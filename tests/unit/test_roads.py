"""What travel times promise."""

from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from spatial.routing.roads import travel_minutes
from spatial.settings import Settings

SETTINGS = Settings(on=date(2026, 9, 1), circuity=1.5, road_speed_km_h=30)

# Metres in a degree on the WGS84 ellipsoid at the equator: east pi/180 * 6378137; north from the meridian's
# radius of curvature there, 6335439 m.
EAST_M, NORTH_M = 111319.491, 110574.276
KM_EAST = 1000 / EAST_M
KM_NORTH = 1000 / NORTH_M


def at(*km_east_north):
    """Return places given in km east and north of a point on the equator."""
    lon_lat = [(80 + east * KM_EAST, north * KM_NORTH) for east, north in km_east_north]
    return pd.DataFrame(lon_lat, columns=["lon", "lat"], index=list(range(len(lon_lat))))


def road(*km_east_north):
    return shapely.LineString(at(*km_east_north).to_numpy())


def roads(*lines, speed_km_h=60.0):
    speeds = np.broadcast_to(speed_km_h, len(lines))
    return gpd.GeoDataFrame({"speed_km_h": speeds}, geometry=list(lines), crs="EPSG:4326")


def minutes(places, network, settings=SETTINGS):
    return travel_minutes(places, network, settings).minutes


def test_without_roads_distance_counts_times_circuity_at_road_speed():
    # 10 km x 1.5 at 30 km/h is half an hour.
    assert minutes(at((0, 0), (10, 0)), None)[0, 1] == pytest.approx(30, rel=1e-6)


def test_without_roads_no_place_has_a_gap():
    assert list(travel_minutes(at((0, 0), (10, 0)), None, SETTINGS).gap_m) == [0, 0]


def test_a_road_that_bends_is_driven_along_its_bend():
    bent = roads(road((0, 0), (3, 0), (3, 4)))
    assert minutes(at((0, 0), (3, 4)), bent)[0, 1] == pytest.approx(14, rel=1e-4)


def test_the_machine_drives_no_faster_than_itself_or_the_road():
    ends = at((0, 0), (10, 0))
    line = road((0, 0), (10, 0))
    assert minutes(ends, roads(line, speed_km_h=90))[0, 1] == pytest.approx(20, rel=1e-4)
    assert minutes(ends, roads(line, speed_km_h=15))[0, 1] == pytest.approx(40, rel=1e-4)
    assert minutes(ends, roads(line, speed_km_h=np.nan))[0, 1] == pytest.approx(20, rel=1e-4)


def test_the_quicker_way_wins_over_the_shorter():
    both = roads(road((0, 0), (4, 0)), road((0, 0), (0, 1), (4, 1), (4, 0)), speed_km_h=[10, 30])
    assert minutes(at((0, 0), (4, 0)), both)[0, 1] == pytest.approx(12, rel=1e-3)


def test_of_two_parallel_roads_the_quicker_counts():
    pieces = [road((0, 0), (2, 0)), road((2, 0), (4, 0)), road((2, 0), (4, 0)), road((4, 0), (6, 0))]
    network = roads(*pieces, speed_km_h=[30, 10, 30, 30])
    assert minutes(at((0, 0), (6, 0)), network)[0, 1] == pytest.approx(12, rel=1e-3)


def test_a_place_joins_its_road_between_two_vertices():
    line = roads(road((0, 0), (10, 0)))
    assert minutes(at((2, 0), (3, 0), (7, 0)), line)[0] == pytest.approx([0, 2, 10], rel=1e-3)


def test_the_way_to_the_road_counts_at_both_ends_with_circuity():
    line = roads(road((0, 0), (10, 0)))
    told = travel_minutes(at((2, 0.4), (4, -0.2)), line, SETTINGS)
    assert told.gap_m == pytest.approx([400, 200], rel=1e-3)
    # 2 km of road at 2 min/km, and 0.6 km to it at 3 min/km.
    assert told.minutes[0, 1] == pytest.approx(4 + 1.8, rel=1e-3)


def test_roads_meet_where_they_share_a_vertex_in_the_middle():
    cross = roads(road((0, 0), (2, 0), (4, 0)), road((2, -2), (2, 0), (2, 2)))
    assert minutes(at((0, 0), (2, 2)), cross)[0, 1] == pytest.approx(8, rel=1e-3)


def test_roads_that_only_cross_on_the_map_do_not_meet():
    under = roads(road((0, 0), (4, 0)), road((2, -2), (2, 2)), road((0, 0), (0, 2), (2, 2)))
    assert minutes(at((1, 0), (2, -1)), under)[0, 1] == pytest.approx(2 * (1 + 2 + 2 + 3), rel=1e-3)


def test_a_place_joins_the_longest_network_and_not_a_lane_of_its_own():
    network = roads(road((0, 0), (10, 0)), road((4, 1), (5, 1)))
    assert travel_minutes(at((4, 1), (9, 0)), network, SETTINGS).gap_m == pytest.approx([1000, 0], abs=1)


def test_a_place_over_5_km_from_any_road_cannot_be_reached():
    line = roads(road((0, 0), (10, 0)))
    told = minutes(at((1, 0), (2, 5.1), (3, 4.9)), line)
    assert np.isnan(told[1]).all()
    assert np.isnan(told[:, 1]).all()
    assert np.isfinite(told[np.ix_([0, 2], [0, 2])]).all()


@pytest.mark.parametrize("network", [None, roads(road((0, 0), (10, 0)))])
def test_a_place_without_coordinates_cannot_be_reached(network):
    places = at((0, 0), (10, 0), (5, 0))
    places.loc[2, "lon"] = np.nan
    told = travel_minutes(places, network, SETTINGS)
    assert np.isnan(told.minutes[2]).all()
    assert np.isnan(told.gap_m[2])
    assert told.minutes[0, 1] == pytest.approx(20 if network is not None else 30, rel=1e-3)


def test_two_fields_with_one_gate_are_no_drive_apart():
    line = roads(road((0, 0), (10, 0)))
    assert minutes(at((2, 0.4), (2, 0.4)), line).tolist() == [[0, 0], [0, 0]]


def test_a_file_without_any_line_counts_as_no_roads():
    places = at((0, 0), (10, 0))
    assert minutes(places, roads(road((0, 0), (1, 0))).iloc[:0]).tolist() == minutes(places, None).tolist()


def test_lines_of_several_parts_and_with_heights_are_roads_too():
    parts = shapely.force_3d(shapely.MultiLineString([road((0, 0), (5, 0)), road((5, 0), (10, 0))]), 120.0)
    assert minutes(at((0, 0), (10, 0)), roads(parts))[0, 1] == pytest.approx(20, rel=1e-4)


@pytest.mark.parametrize("network", [None, roads(road((0, 0), (10, 0)))])
def test_without_places_there_is_no_travel(network):
    assert travel_minutes(at(), network, SETTINGS).minutes.shape == (0, 0)


def test_places_name_the_rows():
    places = at((0, 0), (10, 0)).set_index(pd.Index(["yard", "gate"]))
    assert list(travel_minutes(places, None, SETTINGS).places) == ["yard", "gate"]


def test_the_order_of_roads_and_places_changes_nothing():
    rng = np.random.default_rng(3)
    lines = [road(*rng.uniform(0, 6, (3, 2)).round()) for _ in range(30)]
    network = roads(*lines, speed_km_h=rng.choice([10.0, 20.0, 30.0], 30))
    places = at(*rng.uniform(0, 6, (12, 2)))
    order = rng.permutation(12)
    told = minutes(places, network)
    again = minutes(places.iloc[order], network.sample(frac=1, random_state=1))
    assert np.array_equal(again, told[np.ix_(order, order)])
