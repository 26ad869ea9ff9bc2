"""What the height above the valley floor promises."""

import numpy as np
import pytest
from pyproj import CRS

from spatial.climate.surface.valley import above_floor_m
from spatial.daily import Terrain
from spatial.values import Grid

UTM = CRS.from_epsg(32617)


def terrain(height, cell=1000.0, crs=UTM, top=3_800_000.0):
    rows, columns = np.shape(height)
    return Terrain(
        Grid(crs, 300_000 if crs == UTM else -83.0, top, cell, cell, rows, columns), height, "dem.tif"
    )


def v_valley(rows=5, columns=21):
    """Return a valley along the rows whose sides rise 10 m a cell from the middle column, on 200 m."""
    side = np.abs(np.arange(columns) - columns // 2) * 10.0
    return np.broadcast_to(200 + side, (rows, columns)).astype(np.float32)


def test_a_valley_side_lies_above_its_floor():
    above = above_floor_m(terrain(v_valley()), 4.0)
    # Up to 4 km out the floor is in reach; farther out the lowest ground in reach is 4 cells down the side.
    expected = np.minimum(np.abs(np.arange(21) - 10), 4) * 10.0
    np.testing.assert_array_equal(above, np.broadcast_to(expected, (5, 21)))


def test_flat_ground_is_its_own_floor():
    assert (above_floor_m(terrain(np.full((6, 6), 123, np.float32)), 3.0) == 0).all()


def test_a_tilt_is_no_valley_but_its_rise_over_the_reach():
    slope = np.broadcast_to(np.arange(30) * 2.0, (4, 30)).astype(np.float32)
    assert above_floor_m(terrain(slope), 5.0)[:, 5:] == pytest.approx(10.0)


def test_unknown_ground_is_neither_floor_nor_side():
    height = v_valley()
    height[2, 10] = np.nan
    above = above_floor_m(terrain(height), 4.0)
    assert np.isnan(above[2, 10])
    assert np.count_nonzero(np.isnan(above)) == 1
    assert above[2, 11] == 10


def test_cells_too_large_to_show_a_valley_say_nothing():
    assert above_floor_m(terrain(v_valley(), cell=4000.0), 4.0) is None


def test_degrees_reach_as_far_north_as_east():
    # A pit in the middle, at 60 degrees north: a degree of longitude is half as long as one of latitude.
    height = np.full((41, 41), 100, np.float32)
    height[20, 20] = 0
    above = above_floor_m(terrain(height, 0.01, CRS.from_epsg(4326), 60.2), 4.5)
    reached = above == 100
    assert np.count_nonzero(reached[:, 20]) == 9 - 1  # 4.5 km is 4 cells of 1.11 km to each side
    assert np.count_nonzero(reached[20]) == 17 - 1  # and 8 cells of 0.56 km
