"""What starting a region promises."""

import tomllib

import pytest

from spatial.errors import InputError
from spatial.inputs.region import read_region
from spatial.new_region import new_region
from tests.unit.making import contents, lines_of, shapes, write_freeze, write_layer, write_text, zipped

ZONE = "America/New_York"


def start(folder, **files):
    path = new_region(folder, files, ZONE)
    return path.read_text(encoding="utf-8"), tomllib.loads(path.read_text(encoding="utf-8"))


def refusal(folder, **files):
    with pytest.raises(InputError) as refused:
        new_region(folder, files, ZONE)
    return lines_of(refused.value.problems)


def test_a_started_region_can_be_read_at_once(tmp_path):
    fields = write_layer(tmp_path / "mine" / "fields.gpkg")
    start(tmp_path / "region", fields=fields)
    region = read_region(tmp_path / "region")
    assert (region.name, region.time_zone, len(region.fields)) == ("region", ZONE, 2)


def test_files_are_named_from_the_region_and_stay_where_they_are(tmp_path):
    fields = write_layer(tmp_path / "mine" / "fields.gpkg")
    before = contents(tmp_path / "mine")
    _, said = start(tmp_path / "region", fields=fields)
    assert said["fields"]["file"] == "../mine/fields.gpkg"
    assert contents(tmp_path / "mine") == before
    assert [path.name for path in (tmp_path / "region").iterdir()] == ["region.toml"]


def test_the_column_that_names_the_fields_is_found(tmp_path):
    layer = shapes(ACRES=[3.5, 3.5]).rename(columns={"field_id": "PARCEL_ID"})
    _, said = start(tmp_path / "region", fields=write_layer(tmp_path / "f.gpkg", layer))
    assert said["fields"]["columns"] == {"field_id": "PARCEL_ID"}
    assert read_region(tmp_path / "region").fields.index.tolist() == ["a", "b"]


def test_a_column_with_a_repeated_or_empty_name_does_not_name_fields(tmp_path):
    layer = shapes().assign(field_id=["x", "x"], farm_id=["y", None]).rename(columns={"field_id": "owner_id"})
    text, said = start(tmp_path / "region", fields=write_layer(tmp_path / "f.gpkg", layer))
    assert "columns" not in said["fields"]
    assert '# columns = { field_id = "..." }' in text


def test_what_is_missing_stands_there_to_fill_in(tmp_path):
    text, _ = start(tmp_path / "region", fields=write_layer(tmp_path / "f.gpkg"))
    assert '# defaults = { grass = "..." }  # one of: bahiagrass, ' in text
    assert "# Columns not found, all optional: client, name, grass" in text


def test_fields_without_a_coordinate_system_get_a_line_to_fill_in(tmp_path):
    path = write_layer(tmp_path / "fields.shp")
    path.with_suffix(".prj").unlink()
    text, said = start(tmp_path / "region", fields=path)
    assert '# crs = "EPSG:4326"' in text
    assert "crs" not in said["fields"]


def test_what_a_freeze_layer_says_of_itself_is_written_down(tmp_path):
    tags = {"FREEZE_KIND": "seasons", "THRESHOLD_C": "-2.2", "NO_FREEZE_VALUE": "999"}
    freeze = write_freeze(tmp_path / "f.tif", tags=tags)
    text, said = start(tmp_path / "region", fields=write_layer(tmp_path / "f.gpkg"), freeze=freeze)
    assert said["freeze"] == {
        "file": "../f.tif",
        "kind": "seasons",
        "threshold_c": -2.2,
        "no_freeze_value": 999,
    }
    assert '# day_count = "season_start"' in text
    assert "# threshold_f" not in text


def test_what_a_freeze_layer_does_not_say_is_never_guessed(tmp_path):
    freeze = write_freeze(tmp_path / "f.tif")
    text, said = start(tmp_path / "region", fields=write_layer(tmp_path / "f.gpkg"), freeze=freeze)
    assert said["freeze"] == {"file": "../f.tif"}
    for line in ("# kind = ", "# threshold_f = 28", "# day_count = "):
        assert line in text


def test_other_files_get_their_section(tmp_path):
    crews = write_text(tmp_path / "crews.csv", "crew,yard_lon,yard_lat,work_rate_ac_h\nA,-83,32,9\n")
    tests = write_text(tmp_path / "lab.csv", "field_id,sample_date\na,2026-01-05\n")
    fields = write_layer(tmp_path / "f.gpkg")
    _, said = start(tmp_path / "region", fields=fields, crews=crews, soil_tests=tests)
    assert said["crews"] == {"file": "../crews.csv"}
    assert said["soil_tests"] == {"files": ["../lab.csv"]}
    region = read_region(tmp_path / "region")
    assert (len(region.crews), len(region.soil.tests)) == (1, 1)


@pytest.mark.parametrize("name", ['He said "hay"', "back\\slash", "Ñandú #1"])
def test_a_folder_may_have_any_name(tmp_path, name):
    (tmp_path / name).mkdir()
    fields = zipped(tmp_path / name / "all.zip", write_layer(tmp_path / "f.gpkg"))
    _, said = start(tmp_path / name, fields=fields)
    assert said["name"] == name
    assert len(read_region(tmp_path / name).fields) == 2


def test_a_region_that_is_there_is_never_written_over(tmp_path):
    fields = write_layer(tmp_path / "f.gpkg")
    write_text(tmp_path / "region.toml", "mine")
    (line,) = refusal(tmp_path, fields=fields)
    assert "region.toml: is already there" in line
    assert (tmp_path / "region.toml").read_text(encoding="utf-8") == "mine"


def test_files_that_cannot_be_read_are_one_line_and_nothing_is_written(tmp_path):
    fields, rubbish = write_layer(tmp_path / "f.gpkg"), write_text(tmp_path / "r.tif", "rubbish")
    assert "cannot be read as a map layer" in refusal(tmp_path / "region", fields=rubbish)[0]
    assert "cannot be read as a raster" in refusal(tmp_path / "region", fields=fields, freeze=rubbish)[0]
    assert "is not there" in refusal(tmp_path / "region", fields=fields, roads=tmp_path / "none.gpkg")[0]
    assert not (tmp_path / "region").exists()


def test_a_file_in_the_folders_place_is_one_line(tmp_path):
    place = write_text(tmp_path / "region", "a file")
    assert len(refusal(place, fields=write_layer(tmp_path / "f.gpkg"))) == 1
