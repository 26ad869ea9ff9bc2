"""Field areas against Karney's own GeographicLib (Karney 2013, J. Geodesy 87:43-55), ring by ring."""

import geopandas as gpd
import pytest
import shapely
from geographiclib.geodesic import Geodesic

from spatial.inputs.fields import geodesic_area_ha

M2_PER_HA = 10_000.0


def ring_area_ha(ring):
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in list(ring.coords)[:-1]:
        polygon.AddPoint(lat, lon)
    return abs(polygon.Compute()[2]) / M2_PER_HA


def karney_ha(shape):
    """Return the area ring by ring: outlines less their holes."""
    parts = getattr(shape, "geoms", [shape])
    return sum(ring_area_ha(p.exterior) - sum(map(ring_area_ha, p.interiors)) for p in parts)


def field(lon, lat, width=0.006, height=0.004):
    return shapely.Polygon(
        [
            (lon, lat),
            (lon + width, lat + 0.0003),
            (lon + 0.9 * width, lat + height),
            (lon, lat + 0.8 * height),
        ]
    )


def holed(outline):
    return outline.difference(shapely.box(*(outline.centroid.buffer(0.0005).bounds)))


SHAPES = {
    "Georgia": field(-83.5, 32.5),
    "Georgia, clockwise": field(-83.5, 32.5).reverse(),
    "with a hole": holed(field(-83.5, 32.5)),
    "two parts, one with a hole": shapely.MultiPolygon([field(-83.5, 32.5), holed(field(-83.4, 32.5))]),
    "Queensland": field(151.2, -27.5),
    "Argentina, with a hole": holed(field(-60.0, -31.0)),
    "over the equator": field(36.0, -0.002),
    "a county": shapely.box(-84.0, 32.0, -83.0, 33.0),
    "thin": shapely.Polygon([(-83.5, 32.5), (-83.4, 32.5), (-83.4, 32.50001)]),
}


@pytest.mark.parametrize("name", SHAPES)
def test_the_area_is_karneys(name):
    shapes = gpd.GeoSeries([SHAPES[name]], index=["north"], crs="EPSG:4326")
    area = geodesic_area_ha(shapes)
    assert area["north"] == pytest.approx(karney_ha(SHAPES[name]), rel=1e-9, abs=1e-9)


def test_a_hole_whichever_way_it_runs_is_taken_out():
    outline = shapely.box(-83.5, 32.5, -83.49, 32.51)
    hole = shapely.box(-83.497, 32.503, -83.494, 32.506).exterior.coords
    for ring in (list(hole), list(hole)[::-1]):
        shape = shapely.Polygon(outline.exterior.coords, [ring])
        area = geodesic_area_ha(gpd.GeoSeries([shape], crs="EPSG:4326")).iloc[0]
        assert area == pytest.approx(karney_ha(shape), rel=1e-9)
        assert area < geodesic_area_ha(gpd.GeoSeries([outline], crs="EPSG:4326")).iloc[0]


def test_a_lune_of_one_degree_is_a_360th_of_the_earth():
    # The surface of the WGS 84 ellipsoid is 510 065 621.7 km2 (from memory).
    steps = [n / 10 for n in range(-900, 901)]
    lune = shapely.Polygon([(0, lat) for lat in steps] + [(1, lat) for lat in reversed(steps)])
    area = geodesic_area_ha(gpd.GeoSeries([lune], crs="EPSG:4326")).iloc[0]
    assert area / 100 == pytest.approx(510_065_621.7 / 360, rel=1e-7)
