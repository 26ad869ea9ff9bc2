"""What reading the fields promises."""

import geopandas as gpd
import pytest
import shapely

from spatial.columns import FIELDS
from spatial.inputs.checks import Report
from spatial.inputs.fields import read_fields, with_areas
from tests.unit.making import bow_tie_with_a_hole, lines_of, shapes, square, write_layer


def read(tmp_path, layer=None, **section):
    report = Report()
    fields = read_fields(write_layer(tmp_path / "fields.gpkg", layer), section, report)
    return fields, report


def test_fields_come_by_id_with_every_column_of_the_description(tmp_path):
    layer = shapes([square(1), square(0)]).assign(field_id=["b", "a"])
    fields, report = read(tmp_path, layer)
    assert report == Report()
    assert fields.index.tolist() == ["a", "b"]
    assert fields.index.name == "field_id"
    columns = {column.name for column in FIELDS} - {"field_id"} | {"area_ha", "geometry"}
    assert set(fields.columns) == columns
    assert fields.crs.to_epsg() == 4326


def test_the_order_of_the_rows_changes_nothing(tmp_path):
    layer = shapes(name=["one", "two"])
    fields, _ = read(tmp_path / "there", layer)
    turned, _ = read(tmp_path / "back", layer.iloc[::-1])
    assert fields.to_wkt().equals(turned.to_wkt())


def test_columns_are_mapped_with_their_unit(tmp_path):
    layer = shapes(HT=[10, 12]).rename(columns={"field_id": "FLD"})
    fields, report = read(tmp_path, layer, columns={"field_id": "FLD", "height_in": "HT"})
    assert report == Report()
    assert fields["height_cm"].tolist() == pytest.approx([25.4, 30.48])


def test_a_number_that_is_an_id_is_read_as_it_was_written(tmp_path):
    fields, _ = read(tmp_path, shapes().assign(field_id=[3.0, 12.0]))
    assert fields.index.tolist() == ["12", "3"]


def test_a_field_without_a_grass_gets_the_default(tmp_path):
    fields, _ = read(tmp_path, shapes(grass=["dallisgrass", None]), defaults={"grass": "bahiagrass"})
    assert fields["grass"].tolist() == ["dallisgrass", "bahiagrass"]


def test_a_gate_not_given_is_a_place_inside_the_field(tmp_path):
    fields, _ = read(tmp_path, shapes(gate_lon=[-83.49, None], gate_lat=[32.51, 32.51]))
    assert (fields.loc["a", "gate_lon"], fields.loc["a", "gate_lat"]) == (-83.49, 32.51)
    assert shapely.Point(fields.loc["b", ["gate_lon", "gate_lat"]].tolist()).within(square(1))


def test_an_intent_not_given_is_hay(tmp_path):
    fields, _ = read(tmp_path, shapes(intent=["Grazed", None]))
    assert fields["intent"].tolist() == ["grazed", "hay"]


def test_repeated_and_empty_ids_are_refused(tmp_path):
    layer = shapes([square(n) for n in range(4)]).assign(field_id=["a", "a", None, "b"])
    _, report = read(tmp_path, layer)
    assert lines_of(report.wrong) == [
        "fields.gpkg: field_id 'a': stands in 2 rows. Give every row its own",
        "fields.gpkg: row 3: field_id is empty. Give every row its own",
    ]


def test_impossible_heights_and_dates_are_refused_with_field_and_value(tmp_path):
    layer = shapes(height_in=[900, 10], previous_cut_date=["2026-08-01", "2026-13-01"])
    _, report = read(tmp_path, layer)
    assert [problem.place for problem in report.wrong] == [
        "field 'b', previous_cut_date = '2026-13-01'",
        "field 'a', height_in = '900'",
    ]


def test_a_crossing_outline_is_mended_and_told_by_field(tmp_path):
    fields, report = read(tmp_path, shapes([bow_tie_with_a_hole(), square(0)]))
    assert fields.is_valid.all()
    assert [problem.place for problem in report.told] == ["field 'a'"]
    assert fields["area_ha"].gt(0).all()


def test_a_field_without_area_is_left_out_and_one_with_area_keeps_its_own_values(tmp_path):
    flat = shapely.from_wkt("POLYGON ((-83.5 32.5, -83.4 32.5, -83.3 32.5, -83.5 32.5))")
    fields, report = read(tmp_path, shapes([flat, square(0)], name=["flat", "good"]))
    assert fields["name"].to_dict() == {"b": "good"}
    assert [problem.place for problem in report.told] == ["field 'a'"]


def test_only_fields_without_area_are_refused(tmp_path):
    flat = shapely.from_wkt("POLYGON ((-83.5 32.5, -83.4 32.5, -83.3 32.5, -83.5 32.5))")
    _, report = read(tmp_path, shapes([flat]))
    assert [problem.cause for problem in report.wrong] == ["holds no field with an area"]


def counties(*names):
    places = [square(place, side=0.009) for place in range(len(names))]
    return gpd.GeoDataFrame({"name": list(names)}, geometry=places, crs="EPSG:4326")


def test_a_field_gets_its_area_from_the_county_it_lies_in(tmp_path):
    fields, _ = read(tmp_path)
    assert with_areas(fields, counties("West", "East"))["area"].tolist() == ["West", "East"]


def test_a_written_area_stays_and_a_field_outside_has_none(tmp_path):
    fields, _ = read(tmp_path, shapes([square(0), square(9)], county=["Hills", None]))
    assert with_areas(fields, counties("West"))["area"].tolist() == ["Hills", ""]


def test_without_counties_nothing_changes(tmp_path):
    fields, _ = read(tmp_path)
    assert with_areas(fields, None) is fields
