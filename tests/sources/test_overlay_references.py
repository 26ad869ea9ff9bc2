"""Shared land of fields and map units against geopandas.overlay, pH of fields against rasterstats, areas geodesic."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterstats
import shapely
from affine import Affine
from geographiclib.geodesic import Geodesic

from spatial.agronomy.soil.mapped import mapped_soil
from spatial.inputs.soil.ground_rules import read_ground_rules
from spatial.raster.overlay import equal_area_plane, overlaps
from spatial.soil import SoilRaster
from spatial.values import Grid

UTM, SIDE_M = 32617, 6_000.0
CORNER = np.array([400_000.0, 3_650_000.0])
SAME = 1e-9


def map_units(random, count=150):
    """Return map units with wavy edges that neighbours share, a tenth of them left out and some without a pH."""
    square = shapely.box(0, 0, SIDE_M, SIDE_M)
    seeds = shapely.multipoints(random.uniform(0, SIDE_M, (count, 2)))
    cells = shapely.get_parts(shapely.voronoi_polygons(seeds, extend_to=square))
    shapes = shapely.segmentize(shapely.intersection(cells, square), 20.0)

    def waved(xy):
        east, north = xy.T
        wave = np.stack([20 * np.sin(north / 90), 20 * np.sin(east / 80)], axis=1)
        return np.round(CORNER + xy + wave, 3)

    kept = shapely.make_valid(shapely.transform(shapes, waved))[count // 10 :]
    ph = random.uniform(4.8, 6.8, len(kept)).round(1)
    ph[::9] = np.nan
    units = {"map_unit": [f"u{n}" for n in range(len(kept))], "ph": ph, "drainage": "", "slope_share": np.nan}
    return gpd.GeoDataFrame(units, geometry=kept, crs=UTM).to_crs(4326)


def fields_over(random, count=120):
    """Return fields with many corners, some with a hole or in two parts, some over the edge of the survey."""
    angle = np.linspace(0, 2 * np.pi, 15, endpoint=False)
    ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    shapes = []
    for place in range(count):
        middle = CORNER + random.uniform(-100, SIDE_M + 100, 2)
        reach = random.uniform(20, 400) * random.uniform(0.6, 1, (15, 1))
        field = shapely.Polygon(middle + reach * ring)
        if place % 4 == 1:
            field = field.difference(shapely.Polygon(middle + 0.4 * reach * ring))
        if place % 4 == 2:
            field = field.union(shapely.Polygon(middle + [900, 0] + 0.7 * reach * ring))
        shapes.append(field)
    index = pd.Index([f"f{place:03}" for place in range(count)], name="field_id")
    return gpd.GeoDataFrame(index=index, geometry=shapes, crs=UTM).to_crs(4326)


@pytest.fixture(scope="module")
def layers():
    random = np.random.default_rng(11)
    return fields_over(random), map_units(random)


@pytest.fixture(scope="module")
def pieces(layers):
    """Return what geopandas.overlay makes of the two layers, with its default settings, in the same plane."""
    fields, units = layers
    plane = equal_area_plane(fields.geometry)
    found = gpd.overlay(fields.reset_index().to_crs(plane), units.to_crs(plane), how="intersection")
    return found.assign(m2=found.area)


def test_every_pair_shares_what_geopandas_overlay_finds(layers, pieces):
    fields, units = layers
    found = overlaps(fields.geometry, units.geometry)
    ours = pd.Series(
        found.area_m2, index=[fields.index[found.left], units["map_unit"].to_numpy()[found.right]]
    )
    theirs = pieces.set_index(["field_id", "map_unit"])["m2"]
    whole = pd.Series(found.left_area_m2, index=fields.index)
    large = theirs[theirs > SAME * whole.reindex(theirs.index.get_level_values(0)).to_numpy()]
    assert len(large) > 250
    assert sorted(ours.index) == sorted(large.index)
    of_field = whole.reindex(large.index.get_level_values(0)).to_numpy()
    np.testing.assert_allclose(ours.reindex(large.index) / of_field, large / of_field, rtol=0, atol=SAME)


def test_the_mapped_ph_of_every_field_is_that_of_geopandas_overlay(layers, pieces):
    fields, units = layers
    limits = pd.Series(6.0, index=fields.index)
    ours = mapped_soil(fields, units, (), limits, read_ground_rules())
    known = pieces[pieces["ph"].notna()]
    weight = known["m2"].groupby(known["field_id"]).sum()
    mean = (known["ph"] * known["m2"]).groupby(known["field_id"]).sum() / weight
    low = known["m2"].where(known["ph"] < 6.0, 0.0).groupby(known["field_id"]).sum() / weight
    assert 0 < ours["mapped_ph"].isna().sum() < len(fields) / 2
    some = ours.loc[weight.index]
    # The mean is rounded to the ninth decimal.
    np.testing.assert_allclose(some["mapped_ph"], mean, rtol=SAME)
    np.testing.assert_allclose(some["mapped_low_share"], low, atol=1e-8)
    whole = fields.to_crs(equal_area_plane(fields.geometry)).area.loc[weight.index]
    np.testing.assert_allclose(some["mapped_cover_share"], weight / whole, atol=1e-8)
    ends = known.groupby("field_id")["ph"].agg(["min", "max"])
    np.testing.assert_array_equal(some[["mapped_ph_least", "mapped_ph_greatest"]], ends)
    assert ours.drop(weight.index)["mapped_cover_share"].eq(0).all()


def test_areas_are_those_of_geodesics_from_florida_to_maine():
    # Karney's geodesic polygons (geographiclib); sides of 300 m, so that straight in either sense is the same.
    corners = [(-81.3, 27.1), (-86.9, 33.2), (-69.0, 45.3)]
    fields = [shapely.box(lon, lat, lon + 0.003, lat + 0.002) for lon, lat in corners]
    around = [field.buffer(0.01) for field in fields]
    found = overlaps(gpd.GeoSeries(fields, crs=4326), gpd.GeoSeries(around, crs=4326))
    np.testing.assert_allclose(found.area_m2, [geodesic_m2(field) for field in fields], rtol=1e-7)


def geodesic_m2(polygon):
    ring = Geodesic.WGS84.Polygon()
    for lon, lat in polygon.exterior.coords[:-1]:
        ring.AddPoint(lat, lon)
    return abs(ring.Compute(reverse=False, sign=True)[2])


def test_a_raster_of_ph_agrees_with_rasterstats_on_fields_of_whole_cells():
    # Where a field is made of whole cells, a rule by cell centres is exact.
    random = np.random.default_rng(5)
    cells = random.uniform(4.8, 7.0, (40, 60)).astype(np.float32)
    grid = Grid(f"EPSG:{UTM}", CORNER[0], CORNER[1], 30.0, 30.0, 40, 60)
    places = [(*random.integers(0, 30, 2), *random.integers(1, 9, 2)) for _ in range(30)]
    shapes = [
        shapely.box(grid.left + 30 * c, grid.top - 30 * (r + h), grid.left + 30 * (c + w), grid.top - 30 * r)
        for r, c, h, w in places
    ]
    fields = gpd.GeoDataFrame(geometry=shapes, crs=UTM)

    def read(window):
        rows = slice(window.row, window.row + window.rows)
        return cells[np.newaxis, rows, window.column : window.column + window.columns]

    raster = SoilRaster("ph", grid, read, "", "", pd.Timestamp("2025-01-01"), "ph.tif")
    ours = mapped_soil(fields, None, (raster,), pd.Series(6.0, index=fields.index), read_ground_rules())
    affine = Affine(30.0, 0, grid.left, 0, -30.0, grid.top)
    theirs = pd.DataFrame(
        rasterstats.zonal_stats(fields, cells, affine=affine, stats="min max mean", nodata=-1)
    )
    lows = rasterstats.zonal_stats(
        fields, (cells < 6.0).astype(np.float32), affine=affine, stats="mean", nodata=-1
    )
    np.testing.assert_allclose(ours["mapped_ph"], theirs["mean"], atol=1e-5)
    np.testing.assert_allclose(ours["mapped_ph_least"], theirs["min"], atol=1e-5)
    np.testing.assert_allclose(ours["mapped_ph_greatest"], theirs["max"], atol=1e-5)
    np.testing.assert_allclose(ours["mapped_low_share"], [one["mean"] for one in lows], atol=1e-6)
