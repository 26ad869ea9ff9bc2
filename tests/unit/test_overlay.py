"""What pairs of overlapping shapes promise."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from spatial.raster.overlay import (
    LARGE_VERTICES,
    covered_m2,
    covered_twice_m2,
    land_of,
    overlaps,
    shared_parts,
)

UTM = 32617
EAST, NORTH = 400_000.0, 3_650_000.0


def at(west, south, width, height):
    """Return a box in metres from a corner in Georgia."""
    return box(EAST + west, NORTH + south, EAST + west + width, NORTH + south + height)


def series(*shapes, crs=UTM):
    return gpd.GeoSeries(list(shapes), crs=crs)


def pairs(found):
    return list(zip(found.left.tolist(), found.right.tolist(), strict=True))


def shares(found):
    """Return the share of its left shape of each pair."""
    return found.area_m2 / found.left_area_m2[found.left]


def test_a_field_over_two_map_units_shares_land_with_both():
    # By hand: a field 400 m wide; 100 m of it lie on the first unit, 300 m on the second.
    found = overlaps(series(at(0, 0, 400, 200)), series(at(-500, -500, 600, 1000), at(100, -500, 600, 1000)))
    assert pairs(found) == [(0, 0), (0, 1)]
    # An edge that is straight in UTM bows by a millimetre in another plane.
    np.testing.assert_allclose(shares(found), [0.25, 0.75], atol=1e-5)


def test_shapes_that_only_touch_are_no_pair():
    field = at(0, 0, 100, 100)
    edge, corner, far = at(100, 0, 100, 100), at(100, 100, 50, 50), at(500, 0, 10, 10)
    assert pairs(overlaps(series(field), series(edge, corner, far))) == []


def test_an_edge_that_rounding_blurs_is_no_pair_either():
    # Neighbours that share slanting edges, as they come from a file in degrees.
    left = Polygon([(-83.0, 33.0), (-82.99, 33.003), (-82.993, 33.0101), (-83.0007, 33.0093)])
    right = Polygon([(-82.99, 33.003), (-82.98, 33.001), (-82.981, 33.012), (-82.993, 33.0101)])
    assert pairs(overlaps(series(left, crs=4326), series(right, crs=4326))) == []


def test_pairs_come_by_left_and_then_by_right_place():
    units = series(at(0, 0, 50, 100), at(50, 0, 50, 100))
    fields = gpd.GeoSeries([at(0, 0, 100, 100), at(10, 10, 80, 10)], index=["z", "a"], crs=UTM)
    assert pairs(overlaps(fields, units)) == [(0, 0), (0, 1), (1, 0), (1, 1)]


@pytest.mark.parametrize("nothing", [None, Polygon()])
def test_a_missing_shape_has_no_pair_and_no_area(nothing):
    found = overlaps(series(nothing, at(0, 0, 10, 10)), series(nothing, at(0, 0, 10, 10)))
    assert pairs(found) == [(1, 1)]
    assert found.left_area_m2[0] == 0


def test_no_shapes_have_no_pairs():
    full, empty = series(at(0, 0, 10, 10)), gpd.GeoSeries([], crs=UTM)
    for left, right in ((empty, full), (full, empty), (empty, empty)):
        assert pairs(overlaps(left, right)) == []
    assert covered_m2(full, empty, overlaps(full, empty)).tolist() == [0.0]


def test_a_hole_and_the_parts_of_a_shape_count_as_they_lie():
    holed = at(0, 0, 100, 100).difference(at(25, 25, 50, 50))
    parted = at(200, 0, 10, 100).union(at(290, 0, 10, 100))
    found = overlaps(series(at(0, 0, 100, 100), at(200, 0, 100, 100)), series(holed, parted))
    np.testing.assert_allclose(shares(found), [0.75, 0.2], atol=1e-6)


def test_the_systems_of_the_two_layers_may_differ():
    fields, units = series(at(0, 0, 300, 300)), series(at(100, 0, 900, 300))
    same = overlaps(fields, units)
    other = overlaps(fields.to_crs(4326), units.to_crs(5070))
    assert other.area_m2[0] == pytest.approx(same.area_m2[0], rel=1e-5)


@pytest.mark.parametrize("lat", [-43.0, 0.0, 33.0, 60.0])
@pytest.mark.parametrize("lon", [-179.9, -83.0, 12.0, 179.0])
def test_areas_are_right_wherever_a_district_lies(lat, lon):
    # A square of a hundredth of a degree, against the ellipsoid's own area of it (closed form, WGS 84).
    field = box(lon, lat, lon + 0.01, lat + 0.01)
    found = overlaps(series(field, crs=4326), series(box(lon - 0.05, lat - 1, lon + 0.05, lat + 1), crs=4326))
    assert found.area_m2[0] == pytest.approx(ellipsoid_m2(lat, lat + 0.01, 0.01), rel=1e-8)


def test_a_district_as_wide_as_a_continent_keeps_areas():
    fields = [box(lon, lat, lon + 0.01, lat + 0.01) for lon, lat in ((-122, 25), (-100, 48), (-67, 37))]
    found = overlaps(series(*fields, crs=4326), series(box(-130, 20, -60, 50), crs=4326))
    expected = [ellipsoid_m2(lat, lat + 0.01, 0.01) for lat in (25, 48, 37)]
    np.testing.assert_allclose(found.area_m2, expected, rtol=1e-8)


def ellipsoid_m2(south, north, wide_deg):
    """Return the area between two parallels, from the closed form for an ellipsoid of revolution (from memory)."""
    a, f = 6_378_137.0, 1 / 298.257223563
    e = np.sqrt(f * (2 - f))
    sine = np.sin(np.deg2rad([south, north]))
    q = sine / (1 - e**2 * sine**2) + np.arctanh(e * sine) / e
    return a**2 * (1 - e**2) / 2 * np.deg2rad(wide_deg) * (q[1] - q[0])


def wavy(vertices, radius=4_000.0, hole=True):
    angle = np.linspace(0, 2 * np.pi, vertices, endpoint=False)
    reach = radius * (1 + 0.05 * np.sin(angle * 400) + 0.1 * np.sin(angle * 37))
    ring = np.stack([EAST + reach * np.cos(angle), NORTH + reach * np.sin(angle)], axis=1)
    return Polygon(ring, [shapely.Point(EAST, NORTH).buffer(radius / 2).exterior] if hole else [])


def test_a_map_unit_of_many_vertices_shares_what_it_shares_uncut():
    unit = wavy(20 * LARGE_VERTICES)
    random = np.random.default_rng(3)
    corners = random.uniform(-4_500, 4_500, (60, 2))
    fields = np.array([at(*corner, *random.uniform(20, 600, 2)) for corner in corners])
    found = np.zeros(len(fields))
    parts = shared_parts(fields, np.full(len(fields), unit))
    found[:] = shapely.area(parts)
    expected = np.array([field.intersection(unit).area for field in fields])
    assert (expected > 0).sum() > 20
    assert (expected < shapely.area(fields)).sum() > 20
    np.testing.assert_allclose(found, expected, atol=1e-9 * shapely.area(fields).min())


@given(
    st.lists(st.tuples(*[st.integers(0, 60)] * 2, *[st.integers(1, 40)] * 2), min_size=1, max_size=5),
    st.lists(st.tuples(*[st.integers(0, 60)] * 2, *[st.integers(1, 40)] * 2), min_size=1, max_size=5),
)
def test_boxes_share_the_product_of_what_their_sides_share(fields, units):
    # Along meridians and parallels, of thousandths of a degree: counted here in whole cells.
    def boxes(rows):
        return series(
            *(box((x - 83_000) / 1e3, y / 1e3, (x + w - 83_000) / 1e3, (y + h) / 1e3) for x, y, w, h in rows),
            crs=4326,
        )

    found = overlaps(boxes(fields), boxes(units))
    cells = {
        (i, j): len(set(range(a[0], a[0] + a[2])) & set(range(b[0], b[0] + b[2])))
        * len(set(range(a[1], a[1] + a[3])) & set(range(b[1], b[1] + b[3])))
        for i, a in enumerate(fields)
        for j, b in enumerate(units)
    }
    expected = {pair: count for pair, count in cells.items() if count}
    assert pairs(found) == sorted(expected)
    # At the equator the cells are equal to one in a million.
    whole = np.array([w * h for _x, _y, w, h in fields])
    for pair, share in zip(pairs(found), shares(found), strict=True):
        assert share * whole[pair[0]] == pytest.approx(expected[pair], rel=1e-5)


def test_land_under_two_shapes_is_covered_once():
    fields = series(at(0, 0, 100, 100), at(1000, 0, 100, 100), at(2000, 0, 100, 100))
    twice = at(1000, 0, 40, 100)
    units = series(at(-10, -10, 70, 200), at(40, -10, 200, 200), twice, twice, at(2000, 0, 30, 100))
    covered = covered_m2(fields, units, overlaps(fields, units)) / overlaps(fields, units).left_area_m2
    np.testing.assert_allclose(covered, [1.0, 0.4, 0.3], atol=1e-6)


def test_land_under_three_shapes_is_land_under_more_than_one_and_counts_once():
    fields = series(at(0, 0, 100, 100), at(1000, 0, 100, 100), at(2000, 0, 100, 100))
    thrice = at(1000, 0, 40, 100)
    units = series(at(-10, -10, 70, 200), at(40, -10, 200, 200), thrice, thrice, thrice, at(2000, 0, 30, 100))
    found = overlaps(fields, units)
    twice = covered_twice_m2(fields, units, found, np.array([0, 1, 2])) / found.left_area_m2
    np.testing.assert_allclose(twice, [0.2, 0.4, 0.0], atol=1e-6)
    assert covered_twice_m2(fields, units, found, np.array([], dtype=np.int64)).tolist() == []


def test_a_shape_that_crosses_itself_by_a_hair_is_still_measured():
    bow = Polygon([(0, 0), (100, 100), (100, 0), (0, 100)])
    with pytest.raises(shapely.errors.GEOSException):  # what the library alone makes of it
        shapely.intersection(box(0, 0, 100, 100), bow)
    moved = shapely.transform(bow, lambda xy: xy + np.array([EAST, NORTH]))
    found = overlaps(series(at(0, 0, 100, 100)), series(moved))
    assert shares(found)[0] == pytest.approx(0.5, abs=1e-5)


def test_land_leaves_points_and_lines_out():
    mixed = shapely.GeometryCollection(
        [box(0, 0, 1, 1), shapely.LineString([(1, 0), (5, 0)]), shapely.Point(9, 9)]
    )
    (land,) = land_of(np.array([mixed], dtype=object))
    assert land.equals(box(0, 0, 1, 1))
