"""What reading a soil raster promises: depths, scale, units, and what it says of files that people really send."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from rasterio.transform import Affine, from_origin
from shapely import box

from spatial.inputs.checks import Report
from spatial.inputs.soil.rasters import read_soil_rasters
from spatial.values import Window

WEST, NORTH, CELL = -83.0, 33.0, 0.001
FIELDS = gpd.GeoDataFrame(
    index=pd.Index(["a"], name="field_id"),
    geometry=[box(WEST, NORTH - CELL, WEST + 4 * CELL, NORTH)],
    crs=4326,
)  # the first row of cells


def write(path, *bands, dtype="float32", scale=None, offset=0.0, **profile):
    """Write a raster of four columns, one row of cells for each row of a band."""
    values = np.array([np.atleast_2d(band) for band in bands], dtype=dtype)
    about = {"crs": "EPSG:4326", "transform": from_origin(WEST, NORTH, CELL, CELL)} | profile
    about = {key: value for key, value in about.items() if value is not None}
    count, height, width = values.shape
    with rasterio.open(
        path, "w", driver="GTiff", count=count, height=height, width=width, dtype=dtype, **about
    ) as raster:
        raster.write(values)
        if scale is not None:
            raster.scales, raster.offsets = (scale,) * count, (offset,) * count
    return path


def read(folder, section, name="ph", fields=FIELDS):
    """Return the raster (None where left out), its first row of cells, and the lines told and refused."""
    report = Report()
    found = read_soil_rasters({name: section}, folder, fields, report)
    raster = found[0] if found else None
    cells = [] if raster is None else raster.read(Window(0, 0, 1, 4))[0, 0].tolist()
    return (
        raster,
        pytest.approx(cells, abs=1e-6, nan_ok=True),
        [[str(line) for line in lines] for lines in (report.told, report.wrong)],
    )


def one_file(folder, *bands, section=(), name="ph", **how):
    write(folder / "grid.tif", *bands, **how)
    return read(folder, {"files": ["grid.tif"], **dict(section)}, name)


def test_a_raster_of_one_depth_is_read_as_it_stands(tmp_path):
    raster, cells, said = one_file(tmp_path, [5.5, 6.0, np.nan, 6.5], section={"date": "2025-09-01"})
    assert cells == [5.5, 6.0, np.nan, 6.5]
    assert said == [[], []]
    assert (raster.value, raster.name, raster.made_date) == ("ph", "grid.tif", pd.Timestamp("2025-09-01"))
    assert raster.read(Window(0, 0, 1, 4)).dtype == np.float32


def test_the_depths_of_0_to_5_and_5_to_15_cm_count_by_their_thickness(tmp_path):
    # 0-15 cm = (5 v(0-5) + 10 v(5-15)) / 15, the weights for the depths of the global grids:
    # (5 * 5.0 + 10 * 6.5) / 15 = 6.0.
    write(tmp_path / "a.tif", [5.0] * 4)
    write(tmp_path / "b.tif", [6.5] * 4)
    raster, cells, said = read(tmp_path, {"files": ["a.tif", "b.tif"], "depths_cm": [0, 5, 15]})
    assert cells == [6.0] * 4
    assert raster.name == "a.tif, b.tif" and said == [[], []]


def test_a_band_counts_by_its_part_in_the_top_15_cm(tmp_path):
    # 10 of the 20 cm of the second band, none of the third: (5 * 5.0 + 10 * 6.5) / 15 = 6.0.
    bands = ([5.0] * 4, [6.5] * 4, [9.0] * 4)
    _raster, cells, said = one_file(tmp_path, *bands, section={"depths_cm": [0, 5, 25, 60]})
    assert cells == [6.0] * 4 and said == [[], []]


def test_depths_in_inches_reach_as_far(tmp_path):
    # 2 in are 5.08 cm; of 2 to 6 in 9.92 cm lie above 15 cm: (5.08 * 5 + 9.92 * 6.5) / 15.
    _raster, cells, _said = one_file(tmp_path, [5.0] * 4, [6.5] * 4, section={"depths_in": [0, 2, 6]})
    assert cells == [5.992] * 4


def test_a_missing_depth_is_stood_for_by_the_others_where_they_are_half_of_it(tmp_path):
    top, below = [np.nan, 5.0, 5.0, np.nan], [6.5, np.nan, 6.5, np.nan]
    _raster, cells, (told, wrong) = one_file(tmp_path, top, below, section={"depths_cm": [0, 5, 15]})
    assert cells == [6.5, np.nan, 6.0, np.nan]
    assert wrong == [] and len(told) == 1
    assert "67 % of the cells under the fields" in told[0] and "lack a depth" in told[0]


def test_depths_that_leave_some_of_the_topsoil_out_are_told(tmp_path):
    _raster, cells, (told, _wrong) = one_file(tmp_path, [5.0] * 4, section={"depths_cm": [0, 5]})
    assert cells == [5.0] * 4
    assert len(told) == 1 and "5 of the top 15 cm" in told[0]


@pytest.mark.parametrize(
    ("depths", "cause"),
    [
        ({"depths_cm": [0, 5, 15]}, "3 limits for 1 bands"),
        ({"depths_cm": [15, 5]}, "does not rise"),
        ({"depths_cm": [-5, 5]}, "does not rise"),
        ({"depths_cm": [30, 60]}, "below the top 15 cm"),
        ({"depths_cm": [0, 15], "depths_in": [0, 6]}, "say the same"),
        ({"depths_cm": []}, "0 limits for 1 bands"),
    ],
)
def test_depths_that_cannot_be_are_refused(tmp_path, depths, cause):
    raster, _cells, (_told, wrong) = one_file(tmp_path, [5.0] * 4, section=depths)
    assert raster is None and len(wrong) == 1 and cause in wrong[0]


def test_several_bands_without_depths_are_left_out_not_guessed(tmp_path):
    raster, _cells, (told, wrong) = one_file(tmp_path, [5.0] * 4, [6.0] * 4)
    assert raster is None and wrong == []
    assert len(told) == 1 and "2 bands" in told[0]


# The scale.


def test_ph_times_ten_is_found_and_told(tmp_path):
    # The global pH grids store pH x 10 as whole numbers.
    _raster, cells, (told, wrong) = one_file(tmp_path, [52, 61, 70, -32768], dtype="int16", nodata=-32768)
    assert cells == [5.2, 6.1, 7.0, np.nan]
    assert wrong == [] and len(told) == 1 and "pH x 10" in told[0]


def test_only_the_band_that_holds_ph_times_ten_is_divided(tmp_path):
    write(tmp_path / "a.tif", [50] * 4, dtype="uint8")
    write(tmp_path / "b.tif", [6.5] * 4)
    _raster, cells, (told, _wrong) = read(tmp_path, {"files": ["a.tif", "b.tif"], "depths_cm": [0, 5, 15]})
    assert cells == [6.0] * 4
    # scale = 0.1 would break the other.
    assert told == [
        (
            "a.tif: holds pH x 10 and was divided by 10; the other depths hold other numbers. "
            "Bring all depths to the same numbers"
        )
    ]


def test_the_band_that_holds_ph_times_ten_is_named_in_a_file_of_several(tmp_path):
    _raster, _cells, (told, _wrong) = one_file(
        tmp_path, [5.0] * 4, [65.0] * 4, section={"depths_cm": [0, 5, 15]}
    )
    assert len(told) == 1 and told[0].startswith("grid.tif: band 2: holds pH x 10")


def test_the_scale_that_a_file_states_is_used_and_told(tmp_path):
    _raster, cells, (told, _wrong) = one_file(
        tmp_path, [21, 22, 23, 24], dtype="uint8", scale=0.1, offset=3.5
    )
    assert cells == [5.6, 5.7, 5.8, 5.9]
    assert len(told) == 1 and "0.1 by the file itself" in told[0]


def test_the_scale_of_region_toml_wins_over_the_file_and_over_finding_and_needs_no_word(tmp_path):
    values = [560, 570, 580, 590]
    _raster, cells, said = one_file(tmp_path, values, dtype="int16", scale=0.1, section={"scale": 0.01})
    assert cells == [5.6, 5.7, 5.8, 5.9] and said == [[], []]


def test_ph_times_a_hundred_is_never_guessed(tmp_path):
    raster, _cells, (told, wrong) = one_file(tmp_path, [560, 570, 580, 590], dtype="int16")
    assert raster is None and wrong == []
    assert told == [
        "grid.tif: holds no possible pH under the fields, as 560, so left out. If it holds pH x 100, say scale = 0.01"
    ]


@pytest.mark.parametrize(
    ("cell", "section", "mend"),
    [
        (57.0, {"scale": 1.0}, "If it holds pH x 10, say scale = 0.1"),
        (-5.7, {}, "Check what it holds: pH lies between 2.5 and 10.5"),
        (0.2, {}, "Check what it holds: pH lies between 2.5 and 10.5"),
    ],
)
def test_a_scale_is_named_only_where_it_mends(tmp_path, cell, section, mend):
    raster, _cells, (told, wrong) = one_file(tmp_path, [cell] * 4, section=section)
    assert raster is None and wrong == [] and len(told) == 1
    assert told[0].endswith(mend)


def test_potassium_that_cannot_be_is_told_by_what_it_can_be(tmp_path):
    raster, _cells, (told, _wrong) = one_file(tmp_path, [-57.0] * 4, name="k", section={"unit": "ppm"})
    assert raster is None and len(told) == 1
    assert told[0].endswith("Check what it holds: K lies between 0 and 10000 mg/kg")


def test_a_scale_that_is_none_is_refused(tmp_path):
    raster, _cells, (_told, wrong) = one_file(tmp_path, [5.0] * 4, section={"scale": 0.0})
    assert raster is None and len(wrong) == 1 and "scale" in wrong[0]


# Units and values.


@pytest.mark.parametrize(("unit", "first"), [("lb/ac", 30.0), ("ppm", 60.0), ("mg/kg", 60.0)])
def test_potassium_comes_in_mg_kg(tmp_path, unit, first):
    # ppm x 2 = lb/ac (Penn State Agronomy Guide).
    section = {"unit": unit, "extractant": "Mehlich-3", "soil_group": "piedmont"}
    raster, cells, said = one_file(tmp_path, [60.0, 60.0, 60.0, 60.0], name="k", section=section)
    assert cells == [first] * 4 and said == [[], []]
    assert (raster.value, raster.extractant, raster.soil_group) == ("k", "Mehlich-3", "piedmont")
    assert pd.isna(raster.made_date)


def test_potassium_without_a_unit_is_left_out_and_told(tmp_path):
    raster, _cells, (told, wrong) = one_file(tmp_path, [60.0] * 4, name="k")
    assert raster is None and wrong == [] and len(told) == 1 and "unit" in told[0]


def test_potassium_is_never_divided_by_ten(tmp_path):
    section = {"unit": "ppm", "extractant": "Mehlich-1"}
    _raster, cells, said = one_file(tmp_path, [52.0] * 4, name="k", section=section)
    assert cells == [52.0] * 4 and said == [[], []]


@pytest.mark.parametrize(
    ("name", "bad", "section"),
    [("ph", 0.0, {}), ("ph", 20.0, {}), ("k", -5.0, {"unit": "ppm", "extractant": "Mehlich-1"})],
)
def test_values_that_cannot_be_are_unknown_and_told_once(tmp_path, name, bad, section):
    _raster, cells, (told, wrong) = one_file(tmp_path, [6.0, bad, 6.0, 6.0], name=name, section=section)
    assert cells == [6.0, np.nan, 6.0, 6.0]
    assert wrong == [] and len(told) == 1
    assert "25 % of the cells under the fields" in told[0] and f"{bad:g}" in told[0]


def test_bad_values_where_no_field_lies_are_unknown_and_not_told(tmp_path):
    raster, _cells, said = one_file(tmp_path, [[6.0] * 4, [0.0] * 4])
    assert said == [[], []]
    assert np.isnan(raster.read(Window(1, 0, 1, 4))).all()


def test_a_code_for_no_data_that_the_file_does_not_state_hides_no_scale(tmp_path):
    _raster, cells, (told, _wrong) = one_file(tmp_path, [255, 255, 255, 61], dtype="uint8")
    assert cells == [np.nan, np.nan, np.nan, 6.1]
    assert any("pH x 10" in line for line in told) and any("75 %" in line for line in told)


def test_a_raster_that_says_nothing_of_any_field_is_left_out_and_told(tmp_path):
    for place in ({"transform": from_origin(10, 50, CELL, CELL)}, {"nodata": 6.0}):
        raster, _cells, (told, wrong) = one_file(tmp_path, [6.0] * 4, **place)
        assert raster is None and wrong == [] and len(told) == 1 and "nothing of any field" in told[0]


# Files that people really send.


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")  # while it is written
@pytest.mark.parametrize(
    ("how", "cause"),
    [
        ({"transform": from_origin(WEST, NORTH, CELL, CELL) * Affine.rotation(20)}, "rotated"),
        ({"transform": Affine(CELL, 0, WEST, 0, CELL, NORTH - CELL)}, "north down"),
        ({"crs": None}, "coordinate system"),
        ({"transform": None, "crs": None}, "where it lies"),
    ],
)
def test_a_raster_that_is_not_placed_is_refused(tmp_path, how, cause):
    raster, _cells, (_told, wrong) = one_file(tmp_path, [6.0] * 4, **how)
    assert raster is None and any(cause in line for line in wrong)


def test_region_toml_may_say_the_coordinate_system(tmp_path):
    raster, _cells, said = one_file(tmp_path, [6.0] * 4, crs=None, section={"crs": "EPSG:4326"})
    assert raster is not None and said == [[], []]
    raster, _cells, (_told, wrong) = one_file(tmp_path, [6.0] * 4, crs=None, section={"crs": "EPSG:nonsense"})
    assert raster is None and len(wrong) == 1 and "is not known" in wrong[0]


@pytest.mark.parametrize(
    "how",
    [
        {"transform": from_origin(WEST + CELL / 2, NORTH, CELL, CELL)},
        {"transform": from_origin(WEST, NORTH, CELL, CELL * 1.001)},
        {"crs": "EPSG:4269"},
    ],
)
def test_depths_on_other_grids_are_refused_in_one_line(tmp_path, how):
    write(tmp_path / "a.tif", [5.0] * 4)
    write(tmp_path / "b.tif", [6.5] * 4, **how)
    raster, _cells, (told, wrong) = read(tmp_path, {"files": ["a.tif", "b.tif"], "depths_cm": [0, 5, 15]})
    assert raster is None and told == []
    assert len(wrong) == 1 and wrong[0].startswith("b.tif") and "the grid of a.tif" in wrong[0]


def test_files_that_are_not_there_not_rasters_or_damaged_are_refused(tmp_path):
    (tmp_path / "text.tif").write_text("no raster")
    for file in ("gone.tif", "text.tif"):
        raster, _cells, (_told, wrong) = read(tmp_path, {"files": [file]})
        assert raster is None and len(wrong) == 1 and wrong[0].startswith(file)
    whole = write(
        tmp_path / "cut.tif", np.random.default_rng(1).uniform(5, 7, (400, 400)), compress="deflate"
    )
    whole.write_bytes(whole.read_bytes()[:-200_000])
    inside = FIELDS.set_geometry([box(WEST, NORTH - 0.39, WEST + 0.3, NORTH - 0.3)], crs=4326)
    raster, _cells, (_told, wrong) = read(tmp_path, {"files": ["cut.tif"]}, fields=inside)
    assert raster is None and len(wrong) == 1 and "damaged" in wrong[0]


@pytest.mark.parametrize(
    ("section", "cause"),
    [({"files": []}, "no file"), ({"files": ["grid.tif"], "date": "September"}, "September")],
)
def test_sections_that_cannot_be_are_refused(tmp_path, section, cause):
    write(tmp_path / "grid.tif", [6.0] * 4)
    raster, _cells, (_told, wrong) = read(tmp_path, section)
    assert raster is None and len(wrong) == 1 and cause in wrong[0]


def test_what_a_layer_is_stands_in_its_name_or_its_section(tmp_path):
    write(tmp_path / "grid.tif", [6.0] * 4)
    raster, _cells, _said = read(tmp_path, {"files": ["grid.tif"], "value": "ph"}, name="county grid")
    assert raster.value == "ph"
    assert read(tmp_path, {"files": ["grid.tif"]}, name="pH")[0].value == "ph"
    raster, _cells, (_told, wrong) = read(tmp_path, {"files": ["grid.tif"]}, name="county grid")
    assert raster is None and len(wrong) == 1 and "county grid" in wrong[0]


def test_layers_keep_the_order_of_region_toml_and_a_bad_one_stops_no_other(tmp_path):
    write(tmp_path / "grid.tif", [6.0] * 4)
    good = {"files": ["grid.tif"], "value": "ph"}
    named = {"z": good, "bad": {"files": ["gone.tif"], "value": "ph"}, "a": {**good, "date": "2025-01-01"}}
    report = Report()
    found = read_soil_rasters(named, tmp_path, FIELDS, report)
    assert [pd.isna(raster.made_date) for raster in found] == [True, False]
    assert len(report.wrong) == 1


def test_no_fields_and_no_layers_give_no_rasters(tmp_path):
    assert read_soil_rasters({}, tmp_path, FIELDS, Report()) == ()
    write(tmp_path / "grid.tif", [6.0] * 4)
    for fields in (None, FIELDS.iloc[:0]):
        assert read(tmp_path, {"files": ["grid.tif"]}, fields=fields)[0] is None


def test_nothing_is_read_beyond_the_window_asked_for(tmp_path):
    values = np.full((300, 300), 6.0)
    write(tmp_path / "grid.tif", values, tiled=True, blockxsize=16, blockysize=16)
    raster, _cells, _said = read(tmp_path, {"files": ["grid.tif"]})
    assert raster.read(Window(280, 290, 5, 3)).shape == (1, 5, 3)
    assert (raster.grid.rows, raster.grid.columns) == (300, 300)


@pytest.mark.parametrize("extractant", [{}, {"extractant": ""}])
def test_potassium_without_an_extractant_is_told_to_be_never_rated(tmp_path, extractant):
    raster, _cells, (told, wrong) = one_file(
        tmp_path, [60.0] * 4, name="k", section={"unit": "ppm", **extractant}
    )
    assert raster is not None and wrong == []
    assert told == [
        (
            "region.toml: [soil_rasters.k] extractant: is not said, so its K is never rated. "
            'Give its extractant, as extractant = "Mehlich-1"'
        )
    ]


def test_two_layers_of_one_value_are_told_with_the_one_that_counts(tmp_path):
    write(tmp_path / "grid.tif", [6.0] * 4)
    named = {"ph": {"files": ["grid.tif"]}, "new": {"files": ["grid.tif"], "value": "ph"}}
    report = Report()
    assert len(read_soil_rasters(named, tmp_path, FIELDS, report)) == 2
    assert [str(line) for line in report.told] == [
        (
            "region.toml: [soil_rasters.ph], [soil_rasters.new]: all give pH; in each field the first counts that "
            "covers half of it. Put the best one first, or keep one of them"
        )
    ]


@pytest.mark.parametrize("again", ["a.tif", "./a.tif"])
def test_one_file_for_two_depths_is_refused(tmp_path, again):
    write(tmp_path / "a.tif", [6.0] * 4)
    raster, _cells, (told, wrong) = read(tmp_path, {"files": ["a.tif", again], "depths_cm": [0, 5, 15]})
    assert raster is None and told == []
    assert len(wrong) == 1 and "names a.tif more than once" in wrong[0]


def test_a_coordinate_system_that_contradicts_the_file_is_told_and_not_used(tmp_path):
    write(tmp_path / "b.tif", [6.0] * 4)
    section = {"files": ["grid.tif", "b.tif"], "depths_cm": [0, 5, 15], "crs": "EPSG:32617"}
    write(tmp_path / "grid.tif", [6.0] * 4)
    _raster, cells, (told, wrong) = read(tmp_path, section)
    assert cells == [6.0] * 4 and wrong == []
    assert told == [
        (
            "region.toml: [soil_rasters.ph] crs = 'EPSG:32617': is not used, because the file states its own, WGS 84. "
            "Take it out; if the file is wrong, mend the file"
        )
    ]


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:5070", "EPSG:32617", "EPSG:3857", "EPSG:2240"])
def test_a_coordinate_system_that_the_file_states_too_needs_no_word(tmp_path, crs):
    place = FIELDS.to_crs(crs).total_bounds
    step = (place[2] - place[0]) / 4
    transform = from_origin(place[0], place[3], step, step)
    raster, _cells, said = one_file(tmp_path, [6.0] * 4, crs=crs, transform=transform, section={"crs": crs})
    assert raster is not None and said == [[], []]


def test_an_unknown_coordinate_system_is_refused_also_where_the_file_states_one(tmp_path):
    raster, _cells, (_told, wrong) = one_file(tmp_path, [6.0] * 4, section={"crs": "EPSG:nonsense"})
    assert raster is None and len(wrong) == 1 and "is not known" in wrong[0]


def test_a_unit_of_ph_is_told_to_say_nothing(tmp_path):
    _raster, cells, (told, wrong) = one_file(tmp_path, [6.0] * 4, section={"unit": "ppm"})
    assert cells == [6.0] * 4 and wrong == []
    assert told == ["region.toml: [soil_rasters.ph] unit: says nothing of a pH, so not used. Take it out"]


@pytest.mark.parametrize("dtype", ["complex64", "complex128", "complex_int16"])
def test_complex_numbers_are_refused_in_one_line(tmp_path, dtype):
    about = {"crs": "EPSG:4326", "transform": from_origin(WEST, NORTH, CELL, CELL)}
    with rasterio.open(
        tmp_path / "grid.tif", "w", driver="GTiff", count=1, height=1, width=4, dtype=dtype, **about
    ) as raster:
        raster.write(np.full((1, 1, 4), 6.0, dtype="complex64"))
    raster, _cells, (told, wrong) = read(tmp_path, {"files": ["grid.tif"]})
    assert raster is None and told == []
    assert wrong == ["grid.tif: holds complex numbers. Save it with plain numbers, as float32"]


@pytest.mark.parametrize("cells", [100_000, 1_000_000_000])
def test_a_raster_whose_cells_would_fill_the_memory_is_refused_at_once(tmp_path, cells):
    step = 4 * CELL / cells
    (tmp_path / "fine.vrt").write_text(
        f'<VRTDataset rasterXSize="{cells}" rasterYSize="{cells}"><SRS>EPSG:4326</SRS>'
        f"<GeoTransform>{WEST}, {step!r}, 0, {NORTH}, 0, {-step!r}</GeoTransform>"
        '<VRTRasterBand dataType="Float32" band="1"></VRTRasterBand></VRTDataset>'
    )
    raster, _cells, (told, wrong) = read(tmp_path, {"files": ["fine.vrt"]})
    assert raster is None and told == []
    assert len(wrong) == 1 and wrong[0].startswith("fine.vrt: is too fine: about ")
    assert "Resample it" in wrong[0]
