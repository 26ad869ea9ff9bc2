"""What reading the heights of the ground promises."""

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from rasterio.transform import Affine, from_origin

from spatial.inputs.checks import Report
from spatial.inputs.terrain import read_terrain
from tests.unit.making import lines_of

UTM, PLACE = "EPSG:32617", from_origin(300_000, 3_800_000, 1000, 1000)
HEIGHTS = np.array([[100, 200, 300], [400, 500, 600]], np.float32)


def write(path, heights=HEIGHTS, tags=None, unit="", nodata=None, scale=(1.0, 0.0), crs=UTM, transform=PLACE):
    bands = heights if heights.ndim == 3 else heights[None]
    shape = {"count": len(bands), "height": bands.shape[1], "width": bands.shape[2], "dtype": bands.dtype}
    with rasterio.open(path, "w", "GTiff", crs=crs, transform=transform, nodata=nodata, **shape) as file:
        file.write(bands)
        file.update_tags(**(tags or {}))
        file.scales, file.offsets = [scale[0]] * len(bands), [scale[1]] * len(bands)
        if unit:
            file.units = [unit] * len(bands)
    return path


def read(path, **how):
    report = Report()
    terrain = read_terrain(path, report, **how)
    return terrain, lines_of(report.wrong), lines_of(report.told)


def heights(path, **how):
    terrain, wrong, told = read(path, **how)
    assert (wrong, told) == ([], [])
    return terrain.height_m


def refusal(path, **how):
    terrain, wrong, _ = read(path, **how)
    assert terrain.height_m.size == 0
    return wrong


def test_heights_without_a_unit_are_metres(tmp_path):
    terrain, wrong, told = read(write(tmp_path / "d.tif"))
    assert (wrong, told) == ([], [])
    np.testing.assert_array_equal(terrain.height_m, HEIGHTS)
    grid = terrain.grid
    assert (grid.left, grid.top, grid.cell_width, grid.cell_height) == (300_000, 3_800_000, 1000, 1000)
    assert (grid.rows, grid.columns, grid.crs.to_epsg(), terrain.name) == (2, 3, 32617, "d.tif")


@pytest.mark.parametrize(
    ("unit", "factor"),
    # A foot is 0.3048 m since 1959; the US survey foot was 1200/3937 m (National Bureau of Standards, 1959).
    [
        ("metre", 1),
        ("m", 1),
        ("ft", 0.3048),
        ("Feet", 0.3048),
        ("US survey foot", 0.3048006096),
        ("US_survey_foot", 0.3048006096),
        ("cm", 0.01),
        ("centimetre", 0.01),
    ],
)
def test_the_bands_unit_is_taken(tmp_path, unit, factor):
    np.testing.assert_allclose(heights(write(tmp_path / "d.tif", unit=unit)), HEIGHTS * factor, rtol=1e-6)


@pytest.mark.parametrize("tag", ["UNITS", "vertical_unit", "unitType"])
def test_a_tag_may_say_the_unit(tmp_path, tag):
    np.testing.assert_allclose(
        heights(write(tmp_path / "d.tif", tags={tag: "ft"})), HEIGHTS * 0.3048, rtol=1e-6
    )


def test_vertical_coordinates_may_say_the_unit(tmp_path):
    # EPSG:6360 is NAVD88 height in US survey feet.
    terrain, wrong, _ = read(write(tmp_path / "d.tif", crs=CRS("EPSG:32617+6360").to_wkt()))
    assert wrong == []
    np.testing.assert_allclose(terrain.height_m, HEIGHTS * 0.3048006096, rtol=1e-6)
    assert terrain.grid.crs.to_epsg() == 32617


def test_what_the_user_says_wins(tmp_path):
    np.testing.assert_allclose(
        heights(write(tmp_path / "d.tif", unit="ft"), unit="cm"), HEIGHTS * 0.01, rtol=1e-6
    )


def test_a_unit_that_is_not_known_is_asked_for(tmp_path):
    assert refusal(write(tmp_path / "d.tif", unit="fathom")) == [
        "d.tif: unit: of the heights is 'fathom', which is not known. Say --dem-unit m, ft or cm"
    ]


def test_no_data_is_unknown_and_packed_heights_are_unpacked(tmp_path):
    packed = np.array([[1000, -9999], [2000, 3000]], np.int16)
    found = heights(write(tmp_path / "d.tif", packed, nodata=-9999, scale=(0.1, 50)))
    np.testing.assert_allclose(found, [[150, np.nan], [250, 350]], rtol=1e-6)


@pytest.mark.parametrize("factor", [100, -10])
def test_heights_of_no_ground_are_refused(tmp_path, factor):
    (line,) = refusal(write(tmp_path / "d.tif", HEIGHTS * np.float32(factor)))
    assert "which is no ground on this earth. Say --dem-unit m, ft or cm" in line


def test_heights_that_no_district_spans_are_refused(tmp_path):
    (line,) = refusal(write(tmp_path / "d.tif", np.linspace(0, 8800, 400, dtype=np.float32).reshape(20, 20)))
    assert "which no district does. Say --dem-unit m, ft or cm" in line


def test_centimetres_are_read_where_they_are_said(tmp_path):
    np.testing.assert_allclose(
        heights(write(tmp_path / "d.tif", HEIGHTS * 100), unit="cm"), HEIGHTS, rtol=1e-6
    )


def test_a_raster_without_a_height_is_refused(tmp_path):
    (line,) = refusal(write(tmp_path / "d.tif", np.full((3, 3), -9999, np.int16), nodata=-9999))
    assert line.startswith("d.tif: has no height in any cell")


def test_too_many_cells_are_averaged_and_told(tmp_path):
    fine = np.arange(70, dtype=np.float32).reshape(7, 10)
    terrain, wrong, told = read(write(tmp_path / "d.tif", fine), most_cells=20)
    assert wrong == []
    # By hand: the first block of 2 x 2 holds 0, 1, 10, 11; the last whole one 48, 49, 58, 59.
    assert terrain.height_m.shape == (3, 5)
    assert (terrain.height_m[0, 0], terrain.height_m[2, 4]) == (5.5, 53.5)
    assert (terrain.grid.cell_width, terrain.grid.cell_height, terrain.grid.top) == (2000, 2000, 3_800_000)
    assert told == ["d.tif: has 70 cells, averaged 2 by 2. Cut it to the district for finer dates"]


def test_only_the_first_band_is_read_and_told(tmp_path):
    terrain, _, told = read(write(tmp_path / "d.tif", np.stack([HEIGHTS, HEIGHTS * 2])))
    np.testing.assert_array_equal(terrain.height_m, HEIGHTS)
    assert told == ["d.tif: has 2 bands; the first was read. Nothing, if it is the heights"]


def test_degrees_are_read(tmp_path):
    terrain, wrong, _ = read(
        write(tmp_path / "d.tif", crs="EPSG:4326", transform=from_origin(-84, 33, 0.01, 0.01))
    )
    assert wrong == []
    assert (terrain.grid.crs.to_epsg(), terrain.grid.left) == (4326, -84)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"crs": None}, "does not say its coordinate system"),
        (
            {"crs": "EPSG:4326", "transform": from_origin(-84, 134, 0.1, 0.1)},
            "lies at latitudes from 133.8 to 134",
        ),
        ({"transform": Affine(np.nan, 0, 300_000, 0, -1000, 3_800_000)}, "has a place that is no number"),
        ({"transform": Affine(1000, 50, 300_000, 50, -1000, 3_800_000)}, "is rotated or has north down"),
        ({"transform": Affine(1000, 0, 300_000, 0, 1000, 3_800_000)}, "is rotated or has north down"),
        ({"crs": 'LOCAL_CS["site",UNIT["metre",1]]'}, "has a coordinate system that leads to no place"),
    ],
)
def test_a_raster_without_a_place_is_refused(tmp_path, how, said):
    (line,) = refusal(write(tmp_path / "d.tif", **how))
    assert said in line


def test_files_that_are_no_rasters_are_refused(tmp_path):
    (tmp_path / "d.tif").write_text("heights", encoding="utf-8")
    assert "cannot be read as a raster" in refusal(tmp_path / "d.tif")[0]
    assert "is not there" in refusal(tmp_path / "none.tif")[0]
