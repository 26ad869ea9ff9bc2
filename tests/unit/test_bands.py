"""What the bands of a surface promise: safe without specks, edge on edge, every cell's centre in its own band."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst
from pyproj import CRS
from scipy import ndimage

from spatial.raster.bands import LEAST_CELLS, NO_BAND, band_polygons, bands_of, without_specks
from spatial.raster.places import cell_places, part_of, window_around
from spatial.values import Grid, Window

UTM = CRS.from_epsg(32617)
NAN = np.nan
WEEK = 7
surfaces = npst.arrays(
    np.float64,
    npst.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9),
    elements=st.sampled_from([NAN, *range(-9, 40)]),
)


def grid_of(surface, crs=UTM, left=250_000.0, top=3_660_000.0, cell=1000.0):
    return Grid(crs, left, top, cell, cell, *surface.shape)


def polygons_of(surface, **grid):
    surface = np.array(surface, dtype=np.float64)
    bands = without_specks(bands_of(surface, WEEK))
    return band_polygons(bands, surface, WEEK, grid_of(surface, **grid))


def on_grid(polygons):
    """The polygons in cells, columns east and rows south, from the corner of `grid_of`."""
    metres = polygons.geometry.to_crs(UTM)
    return gpd.GeoSeries(
        shapely.transform(metres.to_numpy(), lambda xy: (xy - [250_000, 3_660_000]) / [1000, -1000])
    )


def patches(bands):
    """The size of every patch of cells with one band."""
    return [
        size
        for band in np.unique(bands[bands != NO_BAND])
        for size in np.bincount(ndimage.label(bands == band)[0].ravel())[1:]
    ]


def test_a_band_is_the_whole_steps_in_a_value_also_below_nought():
    assert bands_of(np.array([[0.0, 6.9, 7.0, -0.5, NAN]]), WEEK).tolist() == [[0, 0, 1, -1, NO_BAND]]


@given(surfaces)
def test_without_specks_no_cell_gets_a_later_band_and_none_unknown_gets_one(surface):
    before = bands_of(surface, WEEK)
    after = without_specks(before)
    known = before != NO_BAND
    assert (after[known] <= before[known]).all()
    assert (after[~known] == NO_BAND).all()
    assert (after[known] != NO_BAND).all()


@given(surfaces)
def test_only_an_island_of_few_known_cells_stays_a_speck(surface):
    before = bands_of(surface, WEEK)
    islands = np.bincount(ndimage.label(before != NO_BAND)[0].ravel())[1:]
    small = [size for size in patches(without_specks(before)) if size < LEAST_CELLS]
    assert sorted(small) == sorted(size for size in islands if size < LEAST_CELLS)


def test_a_late_speck_joins_the_latest_of_the_earlier_bands_beside_it():
    bands = np.array([[1, 1, 1, 2, 2, 2], [1, 1, 5, 2, 2, 2], [1, 1, 1, 2, 2, 2]], dtype=np.int32)
    assert without_specks(bands)[1, 2] == 2


def test_an_early_speck_is_widened_by_the_cells_beside_it():
    bands = np.full((7, 7), 4, dtype=np.int32)
    bands[3, 3] = 1
    cross = [(2, 3), (3, 2), (3, 3), (3, 4), (4, 3)]
    assert [tuple(cell) for cell in np.argwhere(without_specks(bands) == 1)] == cross


def test_a_hole_as_large_as_a_patch_must_be_stays():
    bands = np.full((6, 6), 1, dtype=np.int32)
    bands[2:4, 2:4] = 3
    assert (without_specks(bands) == bands).all()


@given(surfaces)
def test_bands_do_not_overlap_and_leave_no_gap(surface):
    found = polygons_of(surface)
    assert shapely.coverage_is_valid(found.geometry.to_numpy())
    assert found.geometry.is_valid.all()
    # What is unknown and what lies about a grid's corner is cut at half a cell, so a full grid is covered whole.
    if len(found) and not np.isnan(surface).any():
        whole = shapely.box(0, 0, surface.shape[1], surface.shape[0])
        assert shapely.union_all(on_grid(found)).symmetric_difference(whole).area < 1e-3 * whole.area


@given(surfaces)
def test_the_centre_of_every_cell_lies_in_its_own_band_and_of_an_unknown_one_in_none(surface):
    cleared = without_specks(bands_of(surface, WEEK))
    found = polygons_of(surface)
    row, column = np.mgrid[0 : surface.shape[0], 0 : surface.shape[1]]
    centres = shapely.points(column.ravel() + 0.5, row.ravel() + 0.5)
    for band, shape in zip(found["band"], on_grid(found), strict=True):
        assert (shapely.contains(shape, centres) == (cleared.ravel() == band)).all()


def test_an_edge_lies_where_the_line_between_two_centres_crosses_the_limit():
    # 4 at the centre of the first column and 8 at that of the second: 7 is three quarters of the way.
    west = on_grid(polygons_of([[4, 8]] * 4))[0]
    assert west.bounds[2] == pytest.approx(0.5 + 0.75, abs=1e-6)


def test_an_edge_over_several_weeks_at_once_lies_at_their_middle():
    # Weeks 0 and 4, so the middle limit is 17.5; from 3.5 to 31.5 it is half way.
    west = on_grid(polygons_of([[3.5, 31.5]] * 4))[0]
    assert west.bounds[2] == pytest.approx(1.0, abs=1e-6)


def test_a_constant_surface_is_one_band_to_the_edge_of_the_grid():
    found = polygons_of(np.full((4, 6), 10.0))
    assert found["band"].tolist() == [1]
    assert on_grid(found)[0].area == pytest.approx(24, rel=1e-6)


def test_a_slanting_limit_gives_a_straight_edge_and_no_stairs():
    row, column = np.mgrid[0:20, 0:20]
    found = on_grid(polygons_of((row + column) * 0.3 + 1.2))
    shared = found[0].intersection(found[1])
    ends = shapely.get_coordinates(shared)
    # Along the sides of cells it would be 1.41 times as long.
    assert shapely.length(shared) == pytest.approx(np.hypot(*(ends[0] - ends[-1])), rel=0.03)


def test_a_band_in_two_places_is_one_row():
    found = polygons_of([[1, 1, 20, 20, 1, 1]] * 3)
    assert found["band"].tolist() == [0, 2]
    assert len(shapely.get_parts(found.geometry[0])) == 2


def test_a_grid_in_degrees_needs_no_other_call():
    found = polygons_of(np.full((3, 3), 10.0), crs=CRS.from_epsg(4326), left=-84.0, top=33.0, cell=0.1)
    assert found.total_bounds == pytest.approx([-84.0, 32.7, -83.7, 33.0], abs=1e-9)


def test_a_surface_that_is_all_unknown_has_no_bands():
    found = polygons_of(np.full((3, 3), NAN))
    assert found.empty
    assert found.crs == CRS.from_epsg(4326)


def test_a_cell_nearer_the_pole_has_less_land_by_the_cosine_of_its_latitude():
    places = cell_places(Grid(CRS.from_epsg(4326), 0.0, 61.0, 1.0, 1.0, rows=61, columns=1))
    assert places.latitude[0, 0] == pytest.approx(60.5)
    assert places.land[0, 0] / places.land[-1, 0] == pytest.approx(
        0.4924, abs=1e-4
    )  # cos 60.5 over cos 0.5 deg


def test_cells_on_both_sides_of_the_date_line_have_the_same_land():
    fiji = Grid(CRS.from_epsg(3832), 3_100_000.0, -1_900_000.0, 10_000.0, 10_000.0, rows=2, columns=40)
    land = cell_places(fiji).land
    assert land.max() / land.min() == pytest.approx(1, abs=0.01)


def test_the_window_around_shapes_is_cut_at_the_grid_and_whole_where_they_lie_elsewhere():
    grid = Grid(UTM, 0.0, 1000.0, 100.0, 100.0, rows=10, columns=10)
    inside = gpd.GeoSeries([shapely.box(250, 420, 430, 610), shapely.box(-500, 500, -400, 520)], crs=UTM)
    assert window_around([inside], grid) == Window(3, 0, 3, 5)
    assert window_around([gpd.GeoSeries([shapely.box(5000, 0, 6000, 9)], crs=UTM)], grid) == Window(
        0, 0, 10, 10
    )
    assert window_around([gpd.GeoSeries([], crs=UTM)], grid) == Window(0, 0, 10, 10)


def test_the_grid_of_a_window_begins_at_its_corner():
    grid = part_of(Grid(UTM, 0.0, 1000.0, 100.0, 50.0, rows=20, columns=10), Window(4, 3, 5, 6))
    assert grid == Grid(UTM, 300.0, 800.0, 100.0, 50.0, 5, 6)
