"""What the cells under a field promise."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from spatial.errors import InputError
from spatial.raster.cover import (
    MOST_CELLS,
    TILE_CELLS,
    cell_values,
    cells_under,
    cover_share,
    least,
    weighted_mean,
    weighted_median,
)
from spatial.values import Grid, Window

ALBERS = "EPSG:5070"
GRID = Grid(ALBERS, left=1_000_000.0, top=900_000.0, cell_width=100.0, cell_height=50.0, rows=20, columns=30)


class Recorder:
    """A layer with one band that holds row * 1,000 + column, and remembers what was read."""

    def __init__(self):
        self.windows = []

    def read(self, window: Window):
        self.windows.append(window)
        row = np.arange(window.row, window.row + window.rows, dtype=np.float64)
        column = np.arange(window.column, window.column + window.columns, dtype=np.float64)
        return (row[:, np.newaxis] * 1_000 + column)[np.newaxis].astype(np.float32)


def box(column, row, columns, rows, grid=GRID):
    left, top = grid.left + column * grid.cell_width, grid.top - row * grid.cell_height
    return shapely.box(left, top - rows * grid.cell_height, left + columns * grid.cell_width, top)


def series(*geometries):
    return gpd.GeoSeries(list(geometries), crs=ALBERS)


def cover_of(*geometries, grid=GRID):
    return cells_under(series(*geometries), grid)


@st.composite
def stars(draw):
    """A polygon without self-crossings, wholly on the grid."""
    corners = draw(st.integers(3, 12))
    radius = draw(st.lists(st.floats(1, 400), min_size=corners, max_size=corners))
    middle = [
        draw(st.floats(GRID.left + 500, GRID.left + 2_500)),
        draw(st.floats(GRID.top - 550, GRID.top - 450)),
    ]
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return shapely.Polygon(
        middle + np.array(radius)[:, np.newaxis] * np.column_stack([np.cos(angle), np.sin(angle)])
    )


def test_a_field_of_whole_cells_has_just_those_cells():
    cover = cover_of(box(3, 5, 2, 1))
    assert cover.field.tolist() == [0, 0]
    assert cover.row.tolist() == [5, 5]
    assert cover.column.tolist() == [3, 4]
    assert cover.share_of_cell.tolist() == [1.0, 1.0]
    assert cover.field_area_cells.tolist() == [2.0]


def test_a_field_smaller_than_a_cell_keeps_its_share():
    cover = cover_of(box(7.25, 2.5, 0.5, 0.25))
    assert (cover.row.tolist(), cover.column.tolist()) == ([2], [7])
    assert cover.share_of_cell.tolist() == [0.125]


def test_fields_are_told_apart_by_their_place_in_the_series():
    cover = cover_of(box(0, 0, 1, 1), None, shapely.Polygon(), box(500, 500, 1, 1), box(29, 19, 1, 1))
    assert cover.field.tolist() == [0, 4]
    assert cover.row.tolist() == [0, 19]
    assert cover.column.tolist() == [0, 29]


@pytest.mark.parametrize(
    "geometry",
    [None, shapely.Polygon(), box(-2, 3, 1, 1), box(31, 3, 1, 1), box(3, -2, 1, 1), box(3, 21, 1, 1)],
)
def test_nothing_on_the_grid_has_no_cells_and_no_values(geometry):
    cover = cover_of(geometry)
    nothing = cell_values(Recorder(), cover)
    assert nothing.shape == (1, 0)
    assert np.isnan(weighted_median(nothing[0], cover, 1)).all()
    assert np.isnan(weighted_mean(nothing[0], cover, 1)).all()
    assert np.isnan(least(nothing[0], cover, 1)).all()
    assert cover_share(cover, np.empty(0, dtype=bool), cover.field_area_cells).tolist() == [0.0]


def test_no_fields_have_no_cells():
    cover = cells_under(gpd.GeoSeries([], crs=ALBERS), GRID)
    assert cover.field.size == 0
    assert weighted_median(np.empty(0), cover, 0).size == 0


def test_a_geometry_that_the_grid_cannot_hold_has_no_cells():
    mercator = Grid("EPSG:3857", left=0.0, top=0.0, cell_width=1e6, cell_height=1e6, rows=9, columns=9)
    pole = gpd.GeoSeries([shapely.box(0, -90, 10, -80)], crs="EPSG:4326")
    assert cells_under(pole, mercator).field.size == 0


def test_a_vertex_rounded_over_a_cell_edge_does_not_touch_the_next_cell():
    ends = np.nextafter(GRID.left + 3 * GRID.cell_width, np.inf)
    field = shapely.box(GRID.left + 2 * GRID.cell_width, GRID.top - 50, ends, GRID.top)
    assert cover_of(field).column.tolist() == [2]


def test_half_a_field_off_the_grid_is_half_covered():
    cover = cover_of(box(-1, 4, 2, 1))
    share = cover_share(cover, np.array([True]), cover.field_area_cells)
    assert share.tolist() == [0.5]


def test_cells_without_a_known_value_do_not_cover():
    cover = cover_of(box(0, 0, 4, 1), box(8, 8, 1, 1))
    share = cover_share(cover, np.array([True, False, False, False, True]), cover.field_area_cells)
    assert share.tolist() == [0.25, 1.0]


@given(stars())
def test_the_shares_sum_to_the_area_of_the_field(star):
    cover = cover_of(star)
    cell_m2 = GRID.cell_width * GRID.cell_height
    # Shares are in single precision.
    assert cover.share_of_cell.sum() * cell_m2 == pytest.approx(star.area, rel=2e-7)
    assert cover.field_area_cells[0] * cell_m2 == pytest.approx(star.area, rel=1e-9)


@given(st.lists(stars(), min_size=1, max_size=4), st.floats(-1e3, 1e3))
def test_a_constant_raster_gives_its_constant(fields, constant):
    cover = cover_of(*fields)
    values = np.full(len(cover.row), constant)
    assert (weighted_median(values, cover, len(fields)) == constant).all()
    assert (least(values, cover, len(fields)) == constant).all()
    np.testing.assert_allclose(weighted_mean(values, cover, len(fields)), constant, rtol=1e-12, atol=1e-9)


@given(st.lists(stars(), min_size=2, max_size=5), st.randoms(use_true_random=False))
def test_the_order_of_the_fields_changes_nothing(fields, random):
    order = list(range(len(fields)))
    random.shuffle(order)
    straight, shuffled = cover_of(*fields), cover_of(*(fields[place] for place in order))
    for reduce in (weighted_median, weighted_mean, least):
        first = reduce(cell_values(Recorder(), straight)[0], straight, len(fields))
        second = reduce(cell_values(Recorder(), shuffled)[0], shuffled, len(fields))
        np.testing.assert_array_equal(first[order], second)


@given(st.lists(stars(), min_size=1, max_size=4), st.data())
def test_the_median_lies_among_the_values_of_its_field(fields, data):
    cover = cover_of(*fields)
    some = st.one_of(st.floats(0, 366), st.just(np.inf), st.just(np.nan))
    values = np.array(data.draw(st.lists(some, min_size=len(cover.row), max_size=len(cover.row))))
    for field, median in enumerate(weighted_median(values, cover, len(fields))):
        own = values[cover.field == field]
        assert median in own[~np.isnan(own)] if not np.isnan(own).all() else np.isnan(median)


@pytest.mark.parametrize(
    ("values", "median"),
    [
        ([100, 110, 120], 110),
        ([120, 100, 110], 110),
        ([100, 110, np.inf], 110),
        ([100, np.inf, np.inf], np.inf),
        ([np.inf, np.inf, np.inf], np.inf),
        ([np.nan, 110, np.nan], 110),
        ([np.nan, 110, 120], 110),
        ([np.nan, np.nan, np.nan], np.nan),
    ],
)
def test_no_freeze_counts_in_the_median_and_no_data_does_not(values, median):
    cover = cover_of(box(4, 4, 3, 1))
    np.testing.assert_array_equal(weighted_median(np.array(values, dtype=float), cover, 1), [median])


def test_the_median_goes_by_area_not_by_number_of_cells():
    cover = cover_of(box(4.9, 4, 1.2, 1))  # a tenth of cell 4, cell 5, a tenth of cell 6
    assert weighted_median(np.array([90.0, 120.0, 95.0]), cover, 1).tolist() == [120.0]


@given(st.floats(1e-4, 0.999))
def test_two_equal_halves_give_the_earlier_value(half):
    cover = cover_of(box(5 - half, 4, 2 * half, 1))
    assert weighted_median(np.array([100.0, 120.0]), cover, 1).tolist() == [100.0]
    assert weighted_median(np.array([120.0, 100.0]), cover, 1).tolist() == [100.0]


@pytest.mark.parametrize("values", [[120.0, 120.0, 100.0], [100.0, 100.0, 120.0]])
def test_halves_that_differ_by_rounding_give_the_earlier_value(values):
    # In single precision a tenth and two tenths are less than three tenths.
    parts = shapely.union_all([box(2, 4, 0.1, 1), box(6, 4, 0.2, 1), box(10, 4, 0.3, 1)])
    assert weighted_median(np.array(values), cover_of(parts), 1).tolist() == [100.0]


def test_the_least_value_passes_over_no_data_and_prefers_any_freeze():
    cover = cover_of(box(4, 4, 3, 1), box(9, 9, 1, 1), box(12, 12, 1, 1))
    found = least(np.array([np.nan, np.inf, 130.0, np.inf, np.nan]), cover, 3)
    np.testing.assert_array_equal(found, [130.0, np.inf, np.nan])


def test_the_mean_goes_by_area_and_passes_over_no_data():
    cover = cover_of(box(4.75, 4, 2.25, 1))  # a quarter of cell 4, cells 5 and 6
    found = weighted_mean(np.array([0.0, 1.0, np.nan]), cover, 1)
    assert found.tolist() == [pytest.approx(0.8)]


def test_the_vertices_move_and_the_grid_stays():
    there = series(box(3.2, 5.1, 6.7, 4.4), box(20.5, 10.5, 0.2, 0.2))
    moved = cells_under(there.to_crs("EPSG:4326"), GRID)
    stayed = cells_under(there, GRID)
    np.testing.assert_array_equal(moved.row, stayed.row)
    np.testing.assert_array_equal(moved.column, stayed.column)
    np.testing.assert_allclose(moved.share_of_cell, stayed.share_of_cell, atol=1e-5)


def test_a_grid_of_ten_thousand_million_cells_is_never_made():
    huge = Grid(ALBERS, left=0.0, top=0.0, cell_width=10.0, cell_height=10.0, rows=100_000, columns=100_000)
    cover = cover_of(box(50_000, 99_999, 1, 1, huge), box(99_999, 0, 1, 1, huge), grid=huge)
    assert cover.row.tolist() == [99_999, 0]
    assert cover.column.tolist() == [50_000, 99_999]


def test_only_windows_with_a_field_are_read_and_no_further_than_the_fields():
    wide = Grid(ALBERS, left=0.0, top=0.0, cell_width=10.0, cell_height=10.0, rows=9_000, columns=9_000)
    layer = Recorder()
    values = cell_values(layer, cover_of(box(8_000, 8_000, 2, 1, wide), box(10, 20, 1, 3, wide), grid=wide))
    assert layer.windows == [Window(20, 10, 3, 1), Window(8_000, 8_000, 1, 2)]
    assert values.tolist() == [[8_008_000, 8_008_001, 20_010, 21_010, 22_010]]


def test_no_window_is_larger_than_a_tile_and_a_field_over_tiles_gets_its_own_values():
    wide = Grid(ALBERS, left=0.0, top=0.0, cell_width=10.0, cell_height=10.0, rows=9_000, columns=9_000)
    layer = Recorder()
    far = box(TILE_CELLS - 1, TILE_CELLS - 1, TILE_CELLS + 2, 2, wide)
    cover = cover_of(far, box(0, 0, 1, 1, wide), grid=wide)
    values = cell_values(layer, cover)
    assert max(max(window.rows, window.columns) for window in layer.windows) == TILE_CELLS
    assert len(layer.windows) == 6
    np.testing.assert_array_equal(values[0], cover.row * 1_000 + cover.column)


def test_twenty_thousand_fields_on_30_m_are_far_from_too_many_cells():
    # 20,000 fields of 8 ha, 283 m by 283 m, 1.5 km apart.
    grid = Grid(ALBERS, 1_000_000.0, 900_000.0, 30.0, 30.0, rows=10_000, columns=10_000)
    west, south = np.meshgrid(1_000_010.0 + 1_500 * np.arange(160), 610_010.0 + 1_500 * np.arange(125))
    shapes = shapely.box(west.ravel(), south.ravel(), west.ravel() + 283, south.ravel() + 283)
    cover = cells_under(gpd.GeoSeries(shapes, crs=ALBERS), grid)
    assert len(np.unique(cover.field)) == 20_000
    assert len(cover.row) < MOST_CELLS / 5


@pytest.mark.parametrize("cells", [1_000_000, 1_000_000_000])
def test_a_grid_so_fine_that_its_cells_would_fill_the_memory_is_refused(cells):
    fine = Grid(ALBERS, 1_000_000.0, 900_000.0, 1_000 / cells, 1_000 / cells, rows=cells, columns=cells)
    with pytest.raises(InputError, match=r"^fine.tif: is too fine: about .* million of its cells"):
        cells_under(series(shapely.box(1_000_100, 899_100, 1_000_300, 899_300)), fine, "fine.tif")


def test_a_small_field_on_a_very_large_grid_is_not_refused():
    wide = Grid(ALBERS, 1_000_000.0, 900_000.0, 1e-3, 1e-3, rows=10**9, columns=10**9)
    shape = shapely.box(1_000_100, 899_100, 1_000_100.1, 899_100.1)
    assert len(cells_under(series(shape), wide).row) == pytest.approx(10_000, rel=0.05)


def test_only_the_land_on_the_grid_counts_to_too_many_cells():
    corner = Grid(ALBERS, 1_000_000.0, 900_000.0, 1.0, 1.0, rows=10, columns=10)
    assert len(cells_under(series(shapely.box(995_000, 895_000, 1_005_000, 905_000)), corner).row) == 100


def test_fields_of_one_very_thin_shape_are_not_refused_for_their_box():
    # The box of a strip across has 25 million cells, the strip itself some 10,000.
    grid = Grid(ALBERS, 0.0, 5_000.0, 1.0, 1.0, rows=5_000, columns=5_000)
    strip = shapely.LineString([(0, 0), (5_000, 5_000)]).buffer(0.5)
    assert len(cells_under(series(strip), grid).row) < 20_000
