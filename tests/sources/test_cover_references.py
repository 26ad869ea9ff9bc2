"""Cell shares and values by field, against shapely's intersections and rasterstats."""

import geopandas as gpd
import numpy as np
import pytest
import rasterstats
import shapely
from affine import Affine

from spatial.raster.cover import cell_values, cells_under, least, weighted_mean, weighted_median
from spatial.values import FreezeLayer, Grid

PROJECTED = Grid("EPSG:5070", 1_000_000.0, 900_000.0, 800.0, 800.0, rows=40, columns=60)
DEGREES = Grid("EPSG:4326", -85.0, 33.0, 1 / 120, 1 / 120, rows=40, columns=60)
# exactextract keeps shares in single precision: half a unit in the last place, and as much again to spare.
SINGLE = 1.2e-7


def star(random, middle, radius):
    corners = random.integers(3, 25)
    angle = np.sort(random.uniform(0, 2 * np.pi, corners))
    reach = radius * random.uniform(0.4, 1, corners)[:, np.newaxis]
    return shapely.Polygon(middle + reach * np.column_stack([np.cos(angle), np.sin(angle)])).buffer(0)


def shapes(grid, count=40):
    """Polygons with holes and in parts, tiny inside one cell and large, some over the grid's edge."""
    random = np.random.default_rng(7)
    corner, extent = [grid.left, grid.top], [grid.columns * grid.cell_width, -grid.rows * grid.cell_height]
    found = []
    for _ in range(count):
        middle = corner + random.uniform(0, 1, 2) * extent
        radius = grid.cell_width * 10 ** random.uniform(-2, 0.8)
        field = star(random, middle, radius).difference(star(random, middle, radius * 0.3))
        found += [field, field.union(star(random, np.add(middle, (3 * radius, radius)), radius))]
    return gpd.GeoSeries(found, crs=grid.crs)


def cells_of(grid):
    column, row = np.meshgrid(np.arange(grid.columns), np.arange(grid.rows))
    left, top = grid.left + column * grid.cell_width, grid.top - row * grid.cell_height
    return shapely.box(left, top - grid.cell_height, left + grid.cell_width, top)


@pytest.mark.parametrize("grid", [PROJECTED, DEGREES], ids=["metres", "degrees"])
def test_the_share_of_every_cell_is_that_of_shapely(grid):
    fields, cells = shapes(grid), cells_of(grid)
    cover = cells_under(fields, grid)
    for place, field in enumerate(fields):
        expected = shapely.area(shapely.intersection(cells, field)) / (grid.cell_width * grid.cell_height)
        own = cover.field == place
        found = np.zeros_like(expected)
        found[cover.row[own], cover.column[own]] = cover.share_of_cell[own]
        # A billionth of the field on a cell is a rounded vertex, and left out.
        np.testing.assert_allclose(found, expected, rtol=SINGLE, atol=2e-9 * expected.sum())


def test_holes_parts_and_tiny_fields_are_among_the_shapes():
    fields = shapes(PROJECTED)
    assert shapely.get_num_interior_rings(shapely.get_geometry(fields.array, 0)).sum() >= 10
    assert (shapely.get_num_geometries(fields.array) > 1).sum() >= 10
    one_cell = np.bincount(cells_under(fields, PROJECTED).field, minlength=len(fields)) == 1
    assert one_cell.sum() >= 10


def layer(values, grid=PROJECTED):
    def read(window):
        rows = slice(window.row, window.row + window.rows)
        return values[np.newaxis, rows, window.column : window.column + window.columns]

    return FreezeLayer("seasons", -2.2, grid, (), (2020,), "season_start", read, "freeze.tif")


def zonal(fields, values, *stats):
    affine = Affine(PROJECTED.cell_width, 0, PROJECTED.left, 0, -PROJECTED.cell_height, PROJECTED.top)
    return rasterstats.zonal_stats(fields, values, affine=affine, stats=stats, nodata=-9999)


def test_fields_of_whole_cells_agree_with_rasterstats():
    # Where a field is made of whole cells, a rule by cell centres is exact; an odd number has one median.
    random = np.random.default_rng(11)
    values = random.uniform(60, 150, (PROJECTED.rows, PROJECTED.columns)).astype(np.float32)
    sizes = [(1, 1), (3, 5), (7, 9), (15, 3)]
    corners = [
        (column, row, *size) for size in sizes for column, row in random.integers(0, 30, (6, 2)) if row < 25
    ]
    fields = gpd.GeoSeries(
        [
            shapely.box(
                PROJECTED.left + 800 * column,
                PROJECTED.top - 800 * (row + height),
                PROJECTED.left + 800 * (column + width),
                PROJECTED.top - 800 * row,
            )
            for column, row, width, height in corners
        ],
        crs=PROJECTED.crs,
    )
    expected = zonal(fields, values, "min", "median", "mean", "count")
    cover = cells_under(fields, PROJECTED)
    found = cell_values(layer(values), cover)[0]
    n = len(fields)
    assert np.bincount(cover.field, minlength=n).tolist() == [one["count"] for one in expected]
    np.testing.assert_array_equal(least(found, cover, n), [one["min"] for one in expected])
    np.testing.assert_array_equal(weighted_median(found, cover, n), [one["median"] for one in expected])
    np.testing.assert_allclose(weighted_mean(found, cover, n), [one["mean"] for one in expected], rtol=1e-6)


def test_large_fields_agree_with_rasterstats_within_their_edge():
    # On a plane that rises by 0.5 a cell, a rule by cell centres is wrong by less than a cell along the edge.
    row, column = np.mgrid[0 : PROJECTED.rows, 0 : PROJECTED.columns]
    plane = (90 + 0.5 * column + 0.1 * row).astype(np.float32)
    middles = [(12_000, -12_000), (24_000, -16_000), (36_000, -14_000)]
    fields = gpd.GeoSeries(
        [shapely.Point(PROJECTED.left + x, PROJECTED.top + y).buffer(9_000) for x, y in middles],
        crs=PROJECTED.crs,
    )
    expected = zonal(fields, plane, "median", "mean", "count")
    cover = cells_under(fields, PROJECTED)
    found = cell_values(layer(plane), cover)[0]
    n = len(fields)
    area_cells = np.bincount(cover.field, cover.share_of_cell, minlength=n)
    np.testing.assert_allclose(area_cells, [one["count"] for one in expected], rtol=0.02)
    np.testing.assert_allclose(
        weighted_median(found, cover, n), [one["median"] for one in expected], atol=0.5
    )
    np.testing.assert_allclose(weighted_mean(found, cover, n), [one["mean"] for one in expected], atol=0.1)


def test_fields_that_a_rule_by_cell_centres_loses_keep_their_value():
    values = np.full((PROJECTED.rows, PROJECTED.columns), 100.0, dtype=np.float32)
    corner = shapely.box(PROJECTED.left + 10, PROJECTED.top - 60, PROJECTED.left + 60, PROJECTED.top - 10)
    fields = gpd.GeoSeries([corner], crs=PROJECTED.crs)
    assert zonal(fields, values, "count") == [{"count": 0}]
    cover = cells_under(fields, PROJECTED)
    assert weighted_median(cell_values(layer(values), cover)[0], cover, 1).tolist() == [100.0]
