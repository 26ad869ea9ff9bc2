"""What reading a freeze layer promises."""

import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine, from_origin

from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.fields import read_fields
from spatial.inputs.freeze import check_cells, read_freeze
from spatial.inputs.region import read_region
from spatial.values import Window
from tests.unit.making import (
    contents,
    lines_of,
    shapes,
    square,
    write_freeze,
    write_layer,
    write_region,
    write_text,
)

SAID = {"kind": "seasons", "threshold_f": 28, "day_count": "season_start"}
TAGS = {"FREEZE_KIND": "seasons", "THRESHOLD_F": "28", "DAY_COUNT": "season_start"}
ALL = Window(0, 0, 1, 2)


def read(path, **section):
    report = Report()
    return read_freeze(path, section, report), lines_of(report.wrong)


def values(path, **section):
    layer, wrong = read(path, **(SAID | section))
    assert wrong == []
    return layer.read(ALL)[:, 0, :].tolist()


def read_refusal(path, window=ALL, **section):
    layer, _ = read(path, **(SAID | section))
    with pytest.raises(InputError) as refused:
        layer.read(window)
    return lines_of(refused.value.problems)


def test_a_layer_is_what_region_toml_says(tmp_path):
    layer, wrong = read(write_freeze(tmp_path / "f.tif"), **SAID)
    assert wrong == []
    assert (layer.kind, layer.day_count, layer.name) == ("seasons", "season_start", "f.tif")
    assert layer.threshold_c == pytest.approx(-2.2222, abs=1e-4)
    grid = layer.grid
    assert (grid.left, grid.top, grid.cell_width, grid.cell_height) == pytest.approx(
        (-83.55, 32.55, 0.1, 0.1)
    )
    assert (grid.rows, grid.columns, grid.crs.to_epsg()) == (1, 2, 4326)


def test_a_layer_may_say_all_of_itself_in_its_tags(tmp_path):
    layer, wrong = read(write_freeze(tmp_path / "f.tif", tags=TAGS | {"NO_FREEZE_VALUE": "100"}))
    assert wrong == []
    assert layer.read(ALL)[:, 0, :].tolist() == [[90, np.inf], [95, 105]]


def test_region_toml_wins_over_the_tags(tmp_path):
    layer, _ = read(write_freeze(tmp_path / "f.tif", tags=TAGS), day_count="year")
    assert layer.day_count == "year"


def test_all_that_is_not_said_is_asked_for_at_once(tmp_path):
    layer, wrong = read(write_freeze(tmp_path / "f.tif"))
    assert layer is None
    assert [line.split(". ")[0] for line in wrong] == [
        "f.tif: kind: is not said",
        "f.tif: day_count: is not said",
        "f.tif: threshold: is not said",
    ]


@pytest.mark.parametrize(
    ("tag", "value", "cause"),
    [
        ("FREEZE_KIND", "means", "kind: is 'means'"),
        ("DAY_COUNT", "solstice", "day_count: is 'solstice'"),
        ("THRESHOLD_F", "cold", "threshold: is not said"),
        ("THRESHOLD_F", "280", "threshold: of 280.0 F is not possible"),
        ("THRESHOLD_F", "nan", "threshold: of nan F is not possible"),
    ],
)
def test_a_tag_that_cannot_be_used_is_one_line(tmp_path, tag, value, cause):
    _, wrong = read(write_freeze(tmp_path / "f.tif", tags=TAGS | {tag: value}))
    assert len(wrong) == 1
    assert wrong[0].startswith(f"f.tif: {cause}")


@pytest.mark.parametrize(
    ("tags", "section"),
    [
        (TAGS, {"threshold_f": 32}),
        (TAGS, {"threshold_c": 0.0}),
        ({}, SAID | {"threshold_c": 0.0}),
        (TAGS | {"THRESHOLD_C": "0"}, {}),
    ],
    ids=["tag and region", "other unit", "region alone", "tags alone"],
)
def test_two_thresholds_that_differ_are_refused(tmp_path, tags, section):
    layer, wrong = read(write_freeze(tmp_path / "f.tif", tags=tags), **section)
    assert layer is None
    assert len(wrong) == 1
    assert "threshold: is said to be" in wrong[0]
    assert "28.0 F" in wrong[0]
    assert "32.0 F" in wrong[0]


def test_minus_2_2_c_and_28_f_are_one_threshold(tmp_path):
    _, wrong = read(write_freeze(tmp_path / "f.tif", tags=TAGS), threshold_c=-2.2)
    assert wrong == []


def test_unknown_and_known_never_stay_two_things(tmp_path):
    path = write_freeze(tmp_path / "f.tif", bands=[[90, -9999], [999, 95]], nodata=-9999)
    (first, second) = values(path, no_freeze_value=999)
    assert first[0] == 90
    assert np.isnan(first[1])
    assert second == [np.inf, 95]


@pytest.mark.parametrize("nodata", [999, np.nan])
def test_one_value_for_unknown_and_for_never_is_refused(tmp_path, nodata):
    path = write_freeze(tmp_path / "f.tif", dtype="float32", nodata=nodata)
    _, wrong = read(path, **SAID, no_freeze_value=float(nodata))
    assert len(wrong) == 1
    assert "which means no data in the file" in wrong[0]


def test_infinity_is_never_and_nan_is_unknown(tmp_path):
    path = write_freeze(tmp_path / "f.tif", bands=[[np.inf, np.nan], [90.5, -np.inf]], dtype="float32")
    first, second = values(path)
    assert first[0] == np.inf
    assert np.isnan(first[1])
    assert second[0] == 90.5
    assert np.isnan(second[1])


def test_infinity_stays_never_beside_a_code_for_it(tmp_path):
    path = write_freeze(tmp_path / "f.tif", bands=[[np.inf, 999]], dtype="float32", nodata=-1.0)
    assert values(path, no_freeze_value=999) == [[np.inf, np.inf]]


def test_a_code_with_decimals_is_known_in_single_precision(tmp_path):
    path = write_freeze(tmp_path / "f.tif", bands=[[9999.9, 90]], dtype="float32")
    assert values(path, no_freeze_value=9999.9) == [[np.inf, 90]]


def test_scale_and_offset_turn_stored_numbers_into_days_but_not_the_codes(tmp_path):
    path = write_freeze(tmp_path / "f.tif", bands=[[400, 999], [-1, 420]], nodata=-1, scale=0.1, offset=50.0)
    first, second = values(path, no_freeze_value=999)
    assert first == [pytest.approx(90.0), np.inf]
    assert np.isnan(second[0])
    assert second[1] == pytest.approx(92.0)


def test_only_the_window_asked_for_is_given(tmp_path):
    layer, _ = read(write_freeze(tmp_path / "f.tif"), **SAID)
    block = layer.read(Window(0, 1, 1, 1))
    assert block.dtype == np.float32
    assert block.tolist() == [[[100]], [[105]]]


@pytest.mark.parametrize("strange", [-9999, 999, 367])
def test_a_value_that_is_no_day_is_refused_on_reading(tmp_path, strange):
    (line,) = read_refusal(write_freeze(tmp_path / "f.tif", bands=[[90, strange]]))
    assert line.startswith(f"f.tif: values: holds {strange}, which is no day of a season or year")
    assert "no_freeze_value" in line


@pytest.mark.parametrize("day", [0, 366])
def test_the_first_and_the_last_day_are_days(tmp_path, day):
    assert values(write_freeze(tmp_path / "f.tif", bands=[[day, 90]])) == [[day, 90]]


def test_chances_come_from_the_names_of_the_bands(tmp_path):
    path = write_freeze(tmp_path / "f.tif", descriptions=["0.1", "0.5"])
    layer, wrong = read(path, **(SAID | {"kind": "chances"}))
    assert wrong == []
    assert (layer.chances, layer.seasons) == ((0.1, 0.5), ())


def test_chances_come_from_region_toml(tmp_path):
    path = write_freeze(tmp_path / "f.tif", descriptions=["early", "late"])
    layer, wrong = read(path, **(SAID | {"kind": "chances", "chances": [0.2, 0.8]}))
    assert wrong == []
    assert layer.chances == (0.2, 0.8)


@pytest.mark.parametrize(
    "chances", [None, [], [0.2], [0.5, 0.2], [0.2, 0.2], [10, 50], [0.1, 0.5, 0.9], [0, 0.5]]
)
def test_chances_that_do_not_name_the_bands_are_one_line(tmp_path, chances):
    section = SAID | {"kind": "chances"} | ({} if chances is None else {"chances": chances})
    layer, wrong = read(write_freeze(tmp_path / "f.tif"), **section)
    assert layer is None
    (line,) = wrong
    assert line.startswith("f.tif: chances: do not name its bands, of which there are 2. Say in region.toml")


MORE = ["0.1", "0.5", "error_days 0.1", "error_days 0.5", "valid_seasons", "no_freeze_share"]


def write_more(path, *bands, descriptions=MORE, **profile):
    values = [[90, 91], [100, 101], [3.5, 2], [1.5, 1], [30, 28], [0.1, 0], *bands]
    return write_freeze(path, values, dtype="float32", nodata=-9999, descriptions=descriptions, **profile)


def test_bands_beside_the_chances_are_offered_and_no_dates(tmp_path):
    layer, wrong = read(write_more(tmp_path / "f.tif"), **(SAID | {"kind": "chances"}))
    assert wrong == []
    assert layer.chances == (0.1, 0.5)
    assert layer.read(ALL)[:, 0, :].tolist() == [[90, 91], [100, 101]]
    assert layer.more.names == ("error_days 0.1", "error_days 0.5", "valid_seasons", "no_freeze_share")
    assert layer.more.read(ALL)[:, 0, :] == pytest.approx(np.array([[3.5, 2], [1.5, 1], [30, 28], [0.1, 0]]))


def test_chances_in_region_toml_name_the_first_bands(tmp_path):
    names = ["early", "middle", *MORE[2:]]
    path = write_more(tmp_path / "f.tif", descriptions=names)
    layer, wrong = read(path, **(SAID | {"kind": "chances", "chances": [0.1, 0.5]}))
    assert wrong == []
    assert layer.chances == (0.1, 0.5)
    assert "valid_seasons" in layer.more.names


def test_a_layer_without_more_bands_offers_none(tmp_path):
    path = write_freeze(tmp_path / "f.tif", descriptions=["0.1", "0.5"])
    assert read(path, **(SAID | {"kind": "chances"}))[0].more is None
    assert read(path, **SAID)[0].more is None


def test_no_error_where_no_date_is_reached_but_as_many_seasons_as_the_code(tmp_path):
    bands = [[999, 90], [999, 2], [999, -9999]]
    path = write_freeze(
        tmp_path / "f.tif", bands, nodata=-9999, descriptions=["0.1", "error_days 0.1", "valid_seasons"]
    )
    layer, _ = read(path, **(SAID | {"kind": "chances", "no_freeze_value": 999}))
    assert layer.read(ALL)[:, 0, :].tolist() == [[np.inf, 90]]
    error, seasons = layer.more.read(ALL)[:, 0, :]
    assert np.isnan(error[0]) and error[1] == 2
    assert seasons[0] == 999 and np.isnan(seasons[1])


def test_a_band_of_another_name_is_told_and_not_used(tmp_path):
    report, names = Report(), [*MORE, "height_m", "error_days 0.3"]
    path = write_more(tmp_path / "f.tif", [500, 501], [1, 1], descriptions=names)
    layer = read_freeze(path, SAID | {"kind": "chances"}, report)
    assert lines_of(report.wrong) == []
    (line,) = lines_of(report.told)
    assert line.startswith("f.tif: bands 'error_days 0.3', 'height_m': not of a known name, so not used")
    assert layer.chances == (0.1, 0.5)
    assert not {"height_m", "error_days 0.3"} & set(layer.more.names)


@pytest.mark.parametrize("name", [None, "0.9", "50"])
def test_a_band_that_may_be_another_chance_is_not_passed_over(tmp_path, name):
    path = write_freeze(tmp_path / "f.tif", descriptions=["early", name or ""])
    _, wrong = read(path, **(SAID | {"kind": "chances", "chances": [0.2]}))
    assert len(wrong) == 1
    assert "chances: do not name its bands" in wrong[0]


@pytest.mark.parametrize(
    ("band", "value"), [("error_days 0.1", -1), ("valid_seasons", -3), ("no_freeze_share", 1.5)]
)
def test_a_value_that_another_band_cannot_hold_is_one_line(tmp_path, band, value):
    path = write_freeze(tmp_path / "f.tif", [[90], [value]], dtype="float32", descriptions=["0.1", band])
    layer, _ = read(path, **(SAID | {"kind": "chances"}))
    with pytest.raises(InputError) as refused:
        layer.more.read(Window(0, 0, 1, 1))
    assert lines_of(refused.value.problems) == [
        f"f.tif: band '{band}': holds {value:g}, which it cannot be. Write its value for no data"
    ]


STARTS = TAGS | {"SEASON_START": "02-01"}


def starting(path, season_start, **section):
    report = Report()
    return read_freeze(path, section, report, season_start), lines_of(report.wrong)


def test_days_counted_from_another_day_than_the_regions_are_refused(tmp_path):
    path = write_freeze(tmp_path / "f.tif", tags=STARTS)
    layer, wrong = starting(path, (8, 1))
    assert layer is None
    (line,) = wrong
    assert line.startswith(
        "f.tif: season_start: is 02-01 in the layer, and 08-01 in region.toml. Bring a layer"
    )


def test_a_region_compares_its_season_with_that_of_its_layer(tmp_path):
    write_freeze(tmp_path / "f.tif", tags=STARTS)
    folder = write_region(tmp_path, '[freeze]\nfile = "f.tif"\n')
    with pytest.raises(InputError, match=r"f\.tif: season_start: is 02-01 in the layer"):
        read_region(folder)


def test_days_of_the_year_and_days_from_the_regions_start_are_taken(tmp_path):
    path = write_freeze(tmp_path / "f.tif", tags=STARTS)
    assert starting(path, (2, 1))[1] == []
    assert starting(path, (8, 1), day_count="year")[1] == []
    assert starting(write_freeze(tmp_path / "g.tif", tags=TAGS), (8, 1))[1] == []


def test_tags_that_mean_nothing_here_are_passed_over(tmp_path):
    more = {"CALENDAR": "360_day", "CODES": "999 no freeze, -9999 unknown", "KINDS": "x", "FREEZE_MADE": "y"}
    layer, wrong = read(write_freeze(tmp_path / "f.tif", tags=TAGS | more))
    assert wrong == []
    assert layer.kind == "seasons"


def test_seasons_are_named_by_the_bands(tmp_path):
    path = write_freeze(tmp_path / "f.tif", descriptions=["1991/92", "1992"])
    assert read(path, **SAID)[0].seasons == (1991, 1992)


@pytest.mark.parametrize(
    "transform",
    [
        Affine(0.1, 0.02, -83.55, 0.02, -0.1, 32.55),
        Affine(0.1, 0, -83.55, 0, 0.1, 32.45),
        Affine(-0.1, 0, -83.35, 0, -0.1, 32.55),
    ],
    ids=["rotated", "south up", "east left"],
)
def test_a_grid_that_does_not_lie_north_up_is_one_line(tmp_path, transform):
    layer, wrong = read(write_freeze(tmp_path / "f.tif", transform=transform), **SAID)
    assert layer is None
    assert wrong == ["f.tif: is rotated or has north down. Warp it to a north-up grid"]


def test_a_raster_without_a_coordinate_system_asks_for_one(tmp_path):
    path = write_freeze(tmp_path / "f.tif", crs=None)
    layer, wrong = read(path, **SAID)
    assert layer is None
    assert wrong == ['f.tif: does not say its coordinate system. Say it in region.toml, as crs = "EPSG:4326"']
    layer, wrong = read(path, **SAID, crs="EPSG:4326")
    assert wrong == []
    assert layer.grid.crs.to_epsg() == 4326


def test_an_unknown_coordinate_system_is_one_line(tmp_path):
    _, wrong = read(write_freeze(tmp_path / "f.tif", crs=None), **SAID, crs="EPSG:999999")
    assert wrong == ["f.tif: crs = 'EPSG:999999': is not known. Use EPSG:number"]


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")  # of the writer
def test_a_picture_without_a_place_is_refused_without_a_warning(tmp_path):
    path = write_freeze(tmp_path / "f.tif", crs=None, transform=None)
    _, wrong = read(path, **SAID)
    assert wrong[0] == "f.tif: does not say where it lies. Save it as GeoTIFF with its place"


@pytest.mark.parametrize("name", ["f.tif", "f.nc", "f.txt"])
def test_a_file_of_rubbish_is_one_line(tmp_path, name):
    layer, wrong = read(write_text(tmp_path / name, "rubbish"), **SAID)
    assert layer is None
    assert len(wrong) == 1
    assert wrong[0].startswith(f"{name}: cannot be read as a raster (")


def test_an_absent_file_is_one_line(tmp_path):
    assert read(tmp_path / "f.tif", **SAID)[1] == ["f.tif: is not there. Check its name"]


def damaged(path):
    """Write a raster of noise and blank its body, so that it opens and fails when it is read."""
    noise = np.random.default_rng(1).integers(0, 300, (256, 256), dtype="int16")
    place = from_origin(-83.6, 32.6, 0.001, 0.001)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        count=1,
        height=256,
        width=256,
        dtype="int16",
        crs="EPSG:4326",
        transform=place,
        compress="deflate",
    ) as raster:
        raster.write(noise, 1)
    content = bytearray(path.read_bytes())
    content[1000:-2000] = bytes(len(content) - 3000)
    path.write_bytes(content)
    return path


def test_a_damaged_body_is_one_line_when_it_is_read(tmp_path):
    (line,) = read_refusal(damaged(tmp_path / "f.tif"), Window(0, 0, 256, 256))
    assert line.startswith("f.tif: is damaged: it opens but cannot be read (")


def over_fields(tmp_path, path, *geometries):
    fields = read_fields(write_layer(tmp_path / "fields.gpkg", shapes(list(geometries))), {}, Report())
    report = Report()
    layer, _ = read(path, **SAID)
    check_cells(layer, fields, report)
    return lines_of(report.wrong), lines_of(report.told)


def test_damage_under_the_fields_is_found_by_the_check(tmp_path):
    wrong, _ = over_fields(tmp_path, damaged(tmp_path / "f.tif"), square(0))
    assert len(wrong) == 1
    assert "is damaged" in wrong[0]


def test_a_strange_value_beside_the_dates_is_found_by_the_check(tmp_path):
    path = write_freeze(tmp_path / "f.tif", [[90, 90], [-3, 3]], descriptions=["0.1", "valid_seasons"])
    fields = read_fields(write_layer(tmp_path / "fields.gpkg"), {}, Report())
    report = Report()
    check_cells(read(path, **(SAID | {"kind": "chances"}))[0], fields, report)
    assert len(report.wrong) == 1
    assert "band 'valid_seasons': holds -3" in lines_of(report.wrong)[0]


def test_a_code_that_was_not_stated_is_found_by_the_check(tmp_path):
    wrong, _ = over_fields(tmp_path, write_freeze(tmp_path / "f.tif", bands=[[999, 90]]), square(0))
    assert len(wrong) == 1
    assert "holds 999" in wrong[0]


def test_a_layer_that_says_nothing_of_any_field_is_told(tmp_path):
    path = write_freeze(tmp_path / "f.tif")
    assert over_fields(tmp_path, path, square(0)) == ([], [])
    wrong, told = over_fields(tmp_path, path, square(300))
    assert wrong == []
    assert told == ["f.tif: says nothing of any field. Check its place and its coordinate system"]


@pytest.mark.parametrize("folder", ["a!b", "with space", "Ñandú"])
def test_a_path_may_have_any_letter(tmp_path, folder):
    (tmp_path / folder).mkdir()
    assert values(write_freeze(tmp_path / folder / "f.tif")) == [[90, 100], [95, 105]]


def test_reading_leaves_the_file_and_its_folder_as_they_were(tmp_path):
    path = write_freeze(tmp_path / "f.tif", nodata=-1, tags=TAGS)
    before = contents(tmp_path)
    read(path)[0].read(ALL)
    assert contents(tmp_path) == before
