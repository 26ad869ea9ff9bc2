"""What reading a region promises."""

import shutil

import geopandas as gpd
import pytest
import shapely

from spatial.errors import InputError, Stopped
from spatial.inputs.region import read_region
from tests.unit.making import (
    contents,
    lines_of,
    shapes,
    square,
    write_freeze,
    write_layer,
    write_region,
    write_text,
    zipped,
)

FREEZE = '[freeze]\nfile = "f.tif"\nkind = "seasons"\nday_count = "season_start"\n'
TESTS = "[soil_tests]\nfiles = ['one.csv', 'two.csv']\n"
LOG = "date,fact,field_id,area,value,note\n"


def told(folder):
    return lines_of(read_region(folder).told)


def refusal(folder):
    with pytest.raises(InputError) as refused:
        read_region(folder)
    return lines_of(refused.value.problems)


def test_fields_alone_are_a_region_and_the_rest_is_empty(tmp_path):
    region = read_region(write_region(tmp_path))
    assert region.fields.index.tolist() == ["a", "b"]
    assert (region.freeze, region.soil.survey, region.roads) == (None, None, None)
    for table in (region.crews, region.outlook, region.clients, region.soil.tests, region.season_log):
        assert table.empty
    assert region.told == ()
    assert region.season_start == (8, 1)


def test_the_southern_season_starts_in_february(tmp_path):
    write_region(tmp_path)
    text = (tmp_path / "region.toml").read_text(encoding="utf-8")
    write_text(tmp_path / "region.toml", 'season_start = "02-01"\n' + text)
    with pytest.raises(InputError, match="does not fit fields north of the equator"):
        read_region(tmp_path)
    fields = gpd.read_file(tmp_path / "fields.gpkg")
    fields.translate(yoff=-66).to_frame("geometry").join(fields.drop(columns="geometry")).to_file(
        tmp_path / "fields.gpkg"
    )
    assert read_region(tmp_path).season_start == (2, 1)


def test_the_sample_region_is_read_without_a_word_and_left_as_it_is(sample_folder, tmp_path):
    folder = shutil.copytree(sample_folder, tmp_path / "sample", ignore=shutil.ignore_patterns("out"))
    before = contents(folder)
    region = read_region(folder)
    assert contents(folder) == before
    assert len(region.fields) == 70
    assert region.told == ()


def test_all_problems_of_a_region_come_at_once_sorted_and_once_each(tmp_path):
    layer = shapes(grass=["bermuda", "bermuda"], height_in=[900, 10])
    more = (
        FREEZE
        + TESTS
        + "[roads]\nfile = 'none.gpkg'\n[crews]\nfile = 'none.csv'\n[context]\ntowns = 'x.gpkg'\n"
    )
    with pytest.raises(InputError) as refused:
        read_region(write_region(tmp_path, more, layer))
    problems = list(refused.value.problems)
    assert problems == sorted(set(problems))
    wrong = lines_of(problems)
    for part in ("f.tif", "one.csv", "two.csv", "none.gpkg", "none.csv", "x.gpkg"):
        assert any(f"{part}: is not there" in line for line in wrong)
    assert any("field 'a', height_in = '900'" in line for line in wrong)
    assert any("field 'b', grass = 'bermuda': is not known. Use one of: bahiagrass" in line for line in wrong)


def test_unreadable_fields_do_not_make_lines_about_what_refers_to_them(tmp_path):
    write_region(tmp_path, TESTS.replace(", 'two.csv'", ""))
    write_text(tmp_path / "fields.gpkg", "rubbish")
    write_text(tmp_path / "one.csv", "field_id,sample_date,ph\na,2026-01-05,6\n")
    (line,) = refusal(tmp_path)
    assert line.startswith("fields.gpkg: cannot be read as a map layer")


@pytest.mark.parametrize("line", ["fields = 3", "", "[fields]\nfile = 3", "[fields]\ncolumns = 4"])
def test_a_region_without_usable_fields_is_lines_not_a_traceback(tmp_path, line):
    head = 'format = 1\nname = "T"\ntime_zone = "UTC"\n'
    write_text(tmp_path / "region.toml", head + line + "\n")
    assert len(refusal(tmp_path)) >= 1


def test_a_freeze_layer_of_the_threshold_the_grass_needs_is_taken(tmp_path):
    write_freeze(tmp_path / "f.tif")
    folder = write_region(tmp_path, FREEZE + "threshold_f = 28\n", shapes(grass=["bahiagrass", None]))
    assert read_region(folder).freeze.name == "f.tif"


def test_a_freeze_layer_of_another_threshold_than_the_grass_needs_is_refused(tmp_path):
    write_freeze(tmp_path / "f.tif")
    folder = write_region(tmp_path, FREEZE + "threshold_f = 32\n", shapes(grass=["bahiagrass", "bahiagrass"]))
    (line,) = refusal(folder)
    assert line.startswith("f.tif: threshold: is 32.0 F, but bahiagrass needs 28.0 F.")


def test_a_freeze_layer_is_checked_also_where_the_fields_have_problems(tmp_path):
    write_freeze(tmp_path / "f.tif")
    layer = shapes(grass=["bahiagrass", None], height_in=[900, 10])
    wrong = refusal(write_region(tmp_path, FREEZE + "threshold_f = 32\n", layer))
    assert len(wrong) == 2
    assert any("needs 28.0 F" in line for line in wrong)


def test_a_freeze_value_that_is_no_day_is_found_on_reading(tmp_path):
    write_freeze(tmp_path / "f.tif", bands=[[999, 90]])
    (line,) = refusal(write_region(tmp_path, FREEZE + "threshold_f = 28\n"))
    assert "holds 999" in line


def test_a_grass_may_be_written_as_it_is_shown(tmp_path):
    layer = shapes(grass=["Hybrid Bermudagrass", "native warm-season grass"])
    region = read_region(write_region(tmp_path, fields=layer))
    assert region.fields["grass"].tolist() == ["hybrid_bermudagrass", "native_warm_season"]


def test_a_grass_file_of_the_regions_own_is_known(tmp_path):
    write_text(tmp_path / "grasses" / "mix.toml", 'like = "bahiagrass"\n')
    folder = write_region(tmp_path, "[rules]\ngrass = 'grasses'\n", shapes(grass=["mix", None]))
    assert read_region(folder).fields["grass"].tolist() == ["mix", ""]


def test_what_was_mended_travels_with_the_region(tmp_path):
    crossing = shapely.Polygon([(-83.5, 32.5), (-83.4, 32.6), (-83.4, 32.5), (-83.5, 32.6)])
    (line,) = told(write_region(tmp_path, fields=shapes([crossing])))
    assert "field 'a': its outline was mended" in line


def test_a_soil_test_is_placed_by_its_point_and_one_outside_is_told(tmp_path):
    write_text(
        tmp_path / "one.csv",
        "field_id,lon,lat,sample_date,k_ppm\nb,-83.498,32.502,2026-01-05,9\n,-83.498,32.502,2026-01-05,9\n,-80,30,2026-01-05,9\n",
    )
    folder = write_region(tmp_path, "[soil_tests]\nfiles = ['one.csv']\n")
    assert read_region(folder).soil.tests["field_id"].tolist() == ["b", "a", ""]
    assert told(folder) == [
        "one.csv: row 4: in no field, so left out. Give them a field_id, or the lon and lat of the sample"
    ]


def test_a_mapped_soil_test_column_need_stand_in_one_file_only(tmp_path):
    write_text(tmp_path / "one.csv", "field_id,sample_date,PHW\na,2026-01-05,6.1\n")
    write_text(tmp_path / "two.csv", "field_id,sample_date,ph\nb,2026-01-05,5.2\n")
    folder = write_region(tmp_path, TESTS + "columns = { ph = 'PHW' }\n")
    assert read_region(folder).soil.tests["ph"].tolist() == [6.1, 5.2]


def test_a_mapped_soil_test_column_that_no_file_has_is_refused(tmp_path):
    for name in ("one.csv", "two.csv"):
        write_text(tmp_path / name, "field_id,sample_date,ph\na,2026-01-05,6.1\n")
    wrong = refusal(write_region(tmp_path, TESTS + "columns = { ph = 'PHW' }\n"))
    assert [line.partition(":")[0] for line in wrong] == ["one.csv", "two.csv"]


def test_soil_test_files_of_one_name_in_two_folders_are_both_read(tmp_path):
    for year in ("2025", "2026"):
        write_text(tmp_path / year / "lab.csv", f"field_id,sample_date,ph\na,{year}-01-05,6.1\n")
    folder = write_region(tmp_path, "[soil_tests]\nfiles = ['2025/lab.csv', '2026/lab.csv']\n")
    assert len(read_region(folder).soil.tests) == 2


def test_tests_and_facts_of_fields_that_are_not_there_are_told_not_refused(tmp_path):
    write_text(tmp_path / "one.csv", "field_id,sample_date,ph,ph_method\nold,2026-01-05,6.1,water\n")
    write_text(tmp_path / "season_log.csv", LOG + "2026-06-01,cut,sold,,,\n")
    lines = told(write_region(tmp_path, "[soil_tests]\nfiles = ['one.csv']\n"))
    assert [line.split(":")[0] for line in lines] == ["soil_tests", "season_log"]
    assert "field 'old'" in lines[0]


def test_an_outlook_for_an_area_without_a_field_is_told(tmp_path):
    write_text(tmp_path / "o.csv", "date,area,rain_chance_pct\n2026-09-08,Bibb County,10\n2026-09-08,,10\n")
    folder = write_region(tmp_path, "[outlook]\nfile = 'o.csv'\n", shapes(area=["Bibb", "Bibb"]))
    (line,) = told(folder)
    assert line.startswith("outlook: area 'Bibb County': not among the areas")


def test_facts_recorded_without_a_word_in_region_toml_are_read(tmp_path):
    write_text(tmp_path / "season_log.csv", LOG + "2026-06-01,Cut,a,,10,\n")
    assert read_region(write_region(tmp_path)).season_log["fact"].tolist() == ["cut"]


def test_a_named_log_need_not_be_there_yet(tmp_path):
    folder = write_region(tmp_path, "[season_log]\nfile = 'log.csv'\n")
    assert told(folder) == ["log.csv: is not there yet. The first fact that is recorded starts it"]


@pytest.mark.parametrize(
    ("fact", "cause"),
    [
        ("2026-06-01,cut,a,,900,", "row 2, value = '900': is not a possible number here"),
        ("2026-06-01,cut,,Bibb,,", "row 2: names no field"),
        ("2026-06-01,height,a,,tall,", "row 2, value = 'tall': is not a possible number here"),
        ("2026-06-01,height,a,,,", "row 2: has no value"),
        ("2026-06-01,sprayed_until,a,,soon,", "row 2, value = 'soon': is not a possible date"),
        ("2026-06-01,sprayed_until,a,,,", "row 2: has no value"),
        ("2026-06-01,killing_freeze,,,,", "row 2: names neither a field nor an area"),
        ("2026-06-01,mown,a,,,", "row 2, fact = 'mown': is not known. Use one of: cut, hay, height"),
        ("2026-06-01,,a,,,", "row 2, fact = '': is not known"),
        (",cut,a,,,", "row 2, date = '': is not a possible date"),
    ],
)
def test_a_fact_without_what_it_needs_is_refused_by_its_row(tmp_path, fact, cause):
    write_text(tmp_path / "season_log.csv", LOG + fact + "\n")
    (line,) = refusal(write_region(tmp_path))
    assert line.startswith(f"season_log.csv: {cause}")


def test_roads_get_their_speed_from_their_class_and_unknown_classes_are_told(tmp_path):
    roads = [shapely.LineString([(-83.5, 32.5 + n), (-83.4, 32.5 + n)]) for n in range(3)]
    layer = shapes(roads, highway=["Track", "alley", "alley"], speed_mph=[None, None, 30.0])
    write_layer(tmp_path / "roads.gpkg", layer)
    region = read_region(write_region(tmp_path, "[roads]\nfile = 'roads.gpkg'\n"))
    assert region.roads["speed_km_h"].tolist() == pytest.approx([12 * 1.609344, 40.0, 30 * 1.609344])
    assert "class 'alley': has no known speed" in str(region.told[0])


def test_counties_give_fields_their_area_whatever_the_case_of_their_heading(tmp_path):
    write_layer(tmp_path / "counties.shp", shapes([square(0, side=0.5)], NAME=["Bibb"]))
    region = read_region(write_region(tmp_path, "[context]\ncounties = 'counties.shp'\n"))
    assert region.fields["area"].tolist() == ["Bibb", "Bibb"]


def test_a_survey_is_mended_and_a_rock_outcrop_may_have_no_ph(tmp_path):
    crossing = shapely.Polygon([(-83.5, 32.5), (-83.4, 32.6), (-83.4, 32.5), (-83.5, 32.6)])
    write_layer(tmp_path / "soil.gpkg", shapes([crossing, square(0)], PHW=[5.4, None], musym=["A", "R"]))
    more = "[survey]\nfile = 'soil.gpkg'\ncolumns = { ph = 'PHW' }\n"
    region = read_region(write_region(tmp_path, more))
    assert region.soil.survey.is_valid.all()
    assert region.soil.survey["map_unit"].tolist() == ["A", "R"]
    assert region.soil.survey["ph"].isna().tolist() == [False, True]
    assert "shape 1: its outline was mended" in str(region.told[0])


@pytest.mark.parametrize("folder", ["a!b", "with space", "Ñandú"])
def test_a_region_may_lie_in_any_folder(tmp_path, folder):
    write_freeze_in = tmp_path / folder
    write_region(write_freeze_in, FREEZE + "threshold_f = 28\n")
    write_freeze(write_freeze_in / "f.tif")
    before = contents(tmp_path)
    assert len(read_region(tmp_path / folder).fields) == 2
    assert contents(tmp_path) == before


def test_a_file_geodatabase_in_a_folder_in_a_zip_is_a_fields_file(tmp_path):
    write_region(tmp_path)
    inner = write_layer(tmp_path / "hay.gdb")
    zipped(tmp_path / "hay.zip", inner, folder="Hay fields 2026")
    text = (tmp_path / "region.toml").read_text(encoding="utf-8").replace("fields.gpkg", "hay.zip")
    write_text(tmp_path / "region.toml", text)
    assert read_region(tmp_path).fields.index.tolist() == ["a", "b"]


def test_reading_can_be_stopped_from_outside(tmp_path):
    def stop(_step, share):
        if share > 0.5:
            raise Stopped

    with pytest.raises(Stopped):
        read_region(write_region(tmp_path), stop)


def test_the_same_folder_read_twice_gives_the_same_region(tmp_path):
    folder = write_region(tmp_path, fields=shapes(grass=["bahiagrass", None]))
    one, two = read_region(folder), read_region(folder)
    assert one.fields.to_wkt().equals(two.fields.to_wkt())


def test_a_day_that_the_outlook_tells_twice_is_told(sample_folder, tmp_path):
    folder = shutil.copytree(sample_folder, tmp_path / "sample", ignore=shutil.ignore_patterns("out"))
    rows = (folder / "outlook.csv").read_text(encoding="utf-8").splitlines()
    write_text(folder / "outlook.csv", "\n".join([*rows, rows[1]]) + "\n")
    day = "outlook: 2026-09-08: stands in more than one row. The rainier and the colder count; keep one"
    assert told(folder) == [day]
