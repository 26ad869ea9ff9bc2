"""What reading a vector layer promises."""

import json

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely

from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.layers import mend, read_layer, read_shapes
from tests.unit.making import (
    bow_tie_with_a_hole,
    contents,
    lines_of,
    remove,
    shapes,
    square,
    write_layer,
    write_measured,
    write_pending,
    write_text,
    zipped,
)

FORMATS = [
    "fields.gpkg",
    "fields.shp",
    "fields.geojson",
    "fields.kml",
    "fields.fgb",
    "fields.gml",
    "fields.gdb",
]


def read(path, kind="polygon", **how):
    report = Report()
    return read_layer(path, kind, report, **how), lines_of(report.told)


def refusal(path, kind="polygon", **how):
    with pytest.raises(InputError) as refused:
        read_layer(path, kind, Report(), **how)
    return lines_of(refused.value.problems)


@pytest.mark.parametrize("name", [*FORMATS, "fields.parquet"])
def test_every_format_gives_the_same_shapes_in_longitude_and_latitude(tmp_path, name):
    found, told = read(write_layer(tmp_path / name))
    assert told == []
    assert found.crs.to_epsg() == 4326
    found = found.sort_values("field_id")  # FlatGeobuf sorts by place
    assert found["field_id"].tolist() == ["a", "b"]
    assert found.geometry.iloc[0].symmetric_difference(square(0)).area == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("name", [*FORMATS, "fields.parquet"])
def test_reading_leaves_the_file_and_its_folder_as_they_were(tmp_path, name):
    path = write_layer(tmp_path / name)
    before = contents(tmp_path)
    read(path)
    assert contents(tmp_path) == before


def test_changes_that_another_program_left_beside_a_geopackage_stay_there(tmp_path):
    path, program = write_pending(tmp_path / "fields.gpkg")
    before = contents(tmp_path)
    found, _ = read(path)
    after = contents(tmp_path)
    program.close()
    assert found["field_id"].tolist() == ["z", "b"]
    assert {name.name for name in before} == {"fields.gpkg", "fields.gpkg-shm", "fields.gpkg-wal"}
    assert after == before


@pytest.mark.parametrize("folder", ["a!b", "with space", "Ñandú ü", "what?", "[x]*"])
@pytest.mark.parametrize("name", ["fields.gpkg", "fields.shp", "fields.gdb", "fields.parquet"])
def test_a_path_may_have_any_letter(tmp_path, folder, name):
    found, _ = read(write_layer(tmp_path / folder / name))
    assert found["field_id"].tolist() == ["a", "b"]


@pytest.mark.parametrize("name", ["fields!.gpkg", "fields!.shp", "fel [1]!.shp"])
def test_a_file_name_may_have_an_archive_mark(tmp_path, name):
    found, _ = read(write_layer(tmp_path / name))
    assert found["field_id"].tolist() == ["a", "b"]


def test_a_zip_in_a_folder_with_an_archive_mark_is_read(tmp_path):
    inner = write_layer(tmp_path / "fields.gpkg")
    (tmp_path / "a!b").mkdir()
    found, _ = read(zipped(tmp_path / "a!b" / "all!.zip", inner))
    assert len(found) == 2


@pytest.mark.parametrize("name", ["fields.gpkg", "fields.shp", "fields.gdb", "fields.geojson", "fields.kml"])
@pytest.mark.parametrize("folder", ["", "deep/Größe 1"])
def test_a_zip_is_read_with_the_layer_in_a_folder_or_not(tmp_path, name, folder):
    path = write_layer(tmp_path / "parts" / name)
    parts = [path] if path.is_dir() else sorted(path.parent.iterdir())
    found, told = read(zipped(tmp_path / "all.zip", *parts, folder=folder))
    assert found["field_id"].tolist() == ["a", "b"]
    assert told == []


@pytest.mark.parametrize("name", ["fields.gpkg", "fields.gdb"])
def test_a_zip_in_a_zip_is_read(tmp_path, name):
    inner = zipped(tmp_path / "inner.zip", write_layer(tmp_path / name), folder="sub")
    found, _ = read(zipped(tmp_path / "outer.zip", inner, folder="top"))
    assert len(found) == 2
    outermost = zipped(tmp_path / "outermost.zip", tmp_path / "outer.zip")
    assert len(read(outermost)[0]) == 2


def test_of_several_layers_in_a_zip_the_one_read_is_told(tmp_path):
    one, two = write_layer(tmp_path / "one.gpkg"), write_layer(tmp_path / "two.gpkg")
    _, told = read(zipped(tmp_path / "all.zip", two, one))
    (line,) = told
    assert line.startswith("all.zip: file 'one.gpkg': is the one read of one.gpkg, two.gpkg.")


def test_the_litter_of_other_systems_in_a_zip_is_passed_over(tmp_path):
    litter = write_text(tmp_path / "__MACOSX" / "._fields.gpkg", "x")
    found, told = read(zipped(tmp_path / "all.zip", litter.parent, write_layer(tmp_path / "fields.gpkg")))
    assert (len(found), told) == (2, [])


def test_a_zip_without_a_layer_is_one_line(tmp_path):
    path = zipped(tmp_path / "all.zip", write_text(tmp_path / "readme.txt", "x"))
    assert refusal(path) == [
        "all.zip: holds no map layer. Put a GeoPackage, shapefile or .gdb folder into it"
    ]


@pytest.mark.parametrize(
    "name", ["x.gpkg", "x.shp", "x.geojson", "x.zip", "x.parquet", "x.kml", "x.fgb", "x.dwg"]
)
def test_a_file_of_rubbish_is_one_line(tmp_path, name):
    (line,) = refusal(write_text(tmp_path / name, "rubbish"))
    assert line.startswith(f"{name}: cannot be read as a map layer (")


def test_a_zip_cut_short_is_one_line(tmp_path):
    path = zipped(tmp_path / "all.zip", write_layer(tmp_path / "fields.gpkg"))
    path.write_bytes(path.read_bytes()[:5000])
    assert len(refusal(path)) == 1


def test_an_absent_file_is_one_line(tmp_path):
    (line,) = refusal(tmp_path / "none.gpkg")
    assert line.endswith("none.gpkg: is not there. Check its name")


def test_a_shapefile_without_its_index_is_read_and_told(tmp_path):
    path = write_layer(tmp_path / "fields.shp")
    path.with_suffix(".shx").unlink()
    before = contents(tmp_path)
    found, told = read(path)
    assert found["field_id"].tolist() == ["a", "b"]
    assert told == ["fields.shp: has no .shx beside it. It was read without; send all its files"]
    assert contents(tmp_path) == before


def test_a_shapefile_without_prj_asks_for_its_coordinate_system(tmp_path):
    path = write_layer(tmp_path / "fields.shp")
    path.with_suffix(".prj").unlink()
    assert refusal(path) == [
        'fields.shp: does not say its coordinate system. Say it in region.toml, as crs = "EPSG:4326"'
    ]
    found, told = read(path, crs="EPSG:4326")
    assert (len(found), told) == (2, [])


def test_a_coordinate_system_of_metres_is_brought_to_degrees(tmp_path):
    path = write_layer(tmp_path / "fields.shp", shapes().to_crs("EPSG:32617"))
    path.with_suffix(".prj").unlink()
    found, _ = read(path, crs="EPSG:32617")
    assert found.total_bounds == pytest.approx([-83.5, 32.5, -83.486, 32.504], abs=1e-9)


def test_an_unknown_coordinate_system_is_one_line(tmp_path):
    path = write_layer(tmp_path / "fields.shp")
    path.with_suffix(".prj").unlink()
    (line,) = refusal(path, crs="EPSG:999999")
    assert line == "region.toml: crs = 'EPSG:999999': is not known. Use EPSG:number"


def test_a_stated_coordinate_system_that_differs_from_the_files_own_is_told(tmp_path):
    _, told = read(write_layer(tmp_path / "fields.gpkg"), crs="EPSG:32617")
    assert told == [
        "fields.gpkg: crs = 'EPSG:32617': was not used, because the file says WGS 84. Take it out, or mend the file"
    ]


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:5070"])
def test_places_that_are_not_on_the_globe_show_a_wrong_coordinate_system(tmp_path, crs):
    far = shapely.box(4e8, 4e8, 4.001e8, 4.001e8)
    (line,) = refusal(write_layer(tmp_path / "fields.gpkg", shapes([far], crs=crs)))
    assert "has coordinates that are not on the globe" in line


def test_an_empty_first_layer_is_skipped_with_a_word(tmp_path):
    path = write_layer(tmp_path / "fields.gpkg", shapes([]), layer="a_empty")
    write_layer(path, layer="b_full", mode="a")
    found, told = read(path)
    assert len(found) == 2
    assert told[0].startswith("fields.gpkg: layer 'a_empty': is empty and was skipped")
    assert told[1].startswith("fields.gpkg: layer 'b_full': is the one read of a_empty, b_full")


def test_a_table_without_shapes_before_the_layer_is_passed_over(tmp_path):
    path = tmp_path / "fields.gpkg"
    pyogrio.write_dataframe(pd.DataFrame({"a": [1]}), path, layer="a_table")
    write_layer(path, layer="fields", mode="a")
    assert len(read(path)[0]) == 2
    assert refusal(path, layer="a_table") == [
        "fields.gpkg: a_table: is a table without shapes. Name another layer"
    ]


def test_a_layer_is_read_by_its_name(tmp_path):
    path = write_layer(tmp_path / "fields.gpkg", layer="one")
    write_layer(path, shapes([square(5)]), layer="two", mode="a")
    found, told = read(path, layer="two")
    assert (len(found), told) == (1, [])


def test_a_layer_that_is_not_there_is_one_line(tmp_path):
    (line,) = refusal(write_layer(tmp_path / "fields.gpkg"), layer="hay")
    assert line.startswith("fields.gpkg: hay: cannot be read as a map layer (")


@pytest.mark.parametrize("how", [{}, {"layer": "none"}])
def test_a_file_without_any_shape_is_one_line(tmp_path, how):
    (line,) = refusal(write_layer(tmp_path / "fields.gpkg", shapes([]), layer="none"), **how)
    assert line.startswith("fields.gpkg: holds no ")


def test_geoparquet_may_name_its_shapes_as_it_likes(tmp_path):
    path = tmp_path / "fields.parquet"
    shapes().rename_geometry("outline").to_parquet(path)
    found, _ = read(path)
    assert found.geometry.iloc[0].equals(square(0))
    assert found["field_id"].tolist() == ["a", "b"]


def test_geoparquet_with_an_index_of_ids_keeps_them_as_a_column(tmp_path):
    path = tmp_path / "fields.parquet"
    shapes().set_index("field_id").to_parquet(path)
    found, _ = read(path)
    assert found["field_id"].tolist() == ["a", "b"]
    assert found.index.tolist() == [0, 1]


def test_geoparquet_with_a_repeated_index_is_read(tmp_path):
    path = tmp_path / "fields.parquet"
    shapes().set_axis([7, 7]).to_parquet(path)
    assert read(path)[0].index.tolist() == [0, 1]


def test_parquet_without_shapes_is_one_line(tmp_path):
    pd.DataFrame({"a": [1]}).to_parquet(tmp_path / "t.parquet")
    assert len(refusal(tmp_path / "t.parquet")) == 1


@pytest.mark.parametrize(
    "name", ["fields.gpkg", "fields.shp", "fields.geojson", "fields.kml", "fields.parquet"]
)
def test_heights_of_vertices_are_dropped(tmp_path, name):
    high = shapes([shapely.force_3d(square(0), 120.0)])
    found, told = read(write_layer(tmp_path / name, high))
    assert not found.has_z.any()
    assert told == []


def test_measures_of_vertices_are_dropped(tmp_path):
    found, told = read(write_measured(tmp_path / "fields.gpkg"))
    assert found.geometry.to_wkt().iloc[0].startswith("POLYGON ((")
    assert told == []


def test_null_shapes_and_other_kinds_are_left_out_and_told_by_row(tmp_path):
    mixed = shapes([square(0), None, shapely.Point(-83.5, 32.5), shapely.Polygon(), square(1)])
    found, told = read(write_layer(tmp_path / "fields.gpkg", mixed))
    assert found["field_id"].tolist() == ["a", "e"]
    assert told == [
        "fields.gpkg: rows 2, 4: no shape that can be read, so left out. Mend them in the file",
        "fields.gpkg: row 3: no polygon, so left out. Mend them in the file",
    ]


def test_polygons_in_a_collection_are_taken_out_of_it(tmp_path):
    both = shapely.GeometryCollection([square(0), shapely.MultiPolygon([square(1)]), shapely.Point(0, 0)])
    found, _ = read(write_layer(tmp_path / "fields.gpkg", shapes([both])))
    assert found.geometry.iloc[0].equals(shapely.MultiPolygon([square(0), square(1)]))


def test_multipart_shapes_stay_multipart(tmp_path):
    parts = shapely.MultiPolygon([square(0), square(2)])
    found, _ = read(write_layer(tmp_path / "fields.gpkg", shapes([parts])))
    assert found.geometry.iloc[0].equals(parts)
    assert len(found) == 1


def test_a_file_of_lines_holds_no_polygons(tmp_path):
    lines = shapes([shapely.LineString([(-83.5, 32.5), (-83.4, 32.5)])])
    path = write_layer(tmp_path / "roads.gpkg", lines)
    assert refusal(path) == ["roads.gpkg: holds no polygons. Choose a file with polygons"]
    assert len(read(path, "line")[0]) == 1


def test_points_are_read_as_points(tmp_path):
    path = write_layer(tmp_path / "towns.gpkg", shapes([shapely.Point(-83.5, 32.5)]))
    assert read(path, "point")[0].geometry.iloc[0].equals(shapely.Point(-83.5, 32.5))


def test_an_outline_that_no_reader_can_build_is_left_out_and_told(tmp_path):
    rings = [
        [[-83.5, 32.5], [-83.4, 32.6], [-83.5, 32.6]],
        [[-83.5, 32.5], [-83.4, 32.6], [-83.5, 32.6], [-83.5, 32.5]],
    ]
    features = [
        {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
        for ring in rings
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    found, told = read(write_text(tmp_path / "fields.geojson", text))
    assert len(found) == 1
    assert any("row 1: no shape that can be read" in line for line in told)


def test_text_that_is_not_in_the_encoding_a_shapefile_states_is_one_line(tmp_path):
    path = write_layer(tmp_path / "fields.shp", shapes(name=["Peña", "x"]), encoding="ISO-8859-1")
    path.with_suffix(".cpg").write_text("UTF-8")
    assert len(refusal(path)) == 1


def test_columns_of_the_file_come_as_they_are(tmp_path):
    found = read_shapes(write_layer(tmp_path / "fields.gpkg", shapes(HT=[1.5, 2.5])), Report())
    assert found["HT"].tolist() == [1.5, 2.5]


def mended(*outlines):
    report = Report()
    layer = gpd.GeoDataFrame(geometry=list(outlines), crs="EPSG:4326")
    names = {place: f"field {place}" for place in layer.index}
    return mend(layer, "f", names, report), lines_of(report.told)


def test_a_crossing_outline_is_opened_with_its_hole_kept_and_told_by_name():
    found, told = mended(square(0), bow_tie_with_a_hole())
    assert found.is_valid.all()
    # Two triangles of 0.1 x 0.05 / 2, less a hole of 0.01 x 0.02.
    assert found.geometry.iloc[1].area == pytest.approx(0.005 - 0.0002)
    assert told == ["f: field 1: its outline was mended (self-intersection). Check it on the map"]


def test_a_sound_outline_is_left_as_it_is():
    found, told = mended(square(0))
    assert found.geometry.iloc[0].equals_exact(square(0))
    assert told == []


def test_an_outline_without_area_is_left_out_and_told():
    flat = shapely.from_wkt("POLYGON ((-83.5 32.5, -83.4 32.5, -83.3 32.5, -83.5 32.5))")
    found, told = mended(flat, square(0))
    assert found.index.tolist() == [1]
    assert "field 0: has no area and was left out" in told[0]


def test_a_removed_zip_part_is_one_line(tmp_path):
    path = write_layer(tmp_path / "fields.gdb")
    for part in path.glob("a00000004.*"):
        remove(part)
    assert len(refusal(path)) == 1
