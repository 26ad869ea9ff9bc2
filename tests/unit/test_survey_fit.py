"""What is said of a survey that is laid over the fields."""

import geopandas as gpd
import pandas as pd
import pytest
from shapely import box

from spatial.inputs.checks import Report
from spatial.inputs.region import read_region
from spatial.inputs.soil.survey_fit import tell_survey_fit
from tests.unit.making import REGION, lines_of, shapes, square, write_layer, write_text

UTM, EAST, NORTH = 32617, 400_000.0, 3_650_000.0


def at(west, width, height=100.0):
    return box(EAST + west, NORTH, EAST + west + width, NORTH + height)


def told_of(fields, units):
    """Return the lines told of fields a, b, c ... and of map units."""
    ids = pd.Index(list("abcdef"[: len(fields)]), name="field_id")
    survey = gpd.GeoDataFrame(geometry=units, crs=UTM).to_crs(4326)
    survey.attrs["name"] = "survey.gpkg"
    report = Report()
    tell_survey_fit(gpd.GeoDataFrame(index=ids, geometry=fields, crs=UTM).to_crs(4326), survey, report)
    assert report.wrong == []
    return lines_of(report.told)


def test_polygons_side_by_side_need_no_word():
    assert told_of([at(0, 100), at(200, 100)], [at(-10, 60), at(50, 300)]) == []


def test_a_survey_of_another_place_is_told():
    assert told_of([at(0, 100)], [at(5_000, 100)]) == [
        "survey.gpkg: says nothing of any field. Check its place and its coordinate system"
    ]


@pytest.mark.parametrize("copies", [2, 3])
def test_land_under_several_polygons_is_told_once_with_how_it_counts(copies):
    # Field a has 40 m of its 100 m under the copies, field b 50 m: 90 m by 100 m in UTM are 0.9005 ha, or
    # 0.9005 / 0.40469 = 2.225 acres; c has none.
    fields = [at(0, 100), at(200, 100), at(1_000, 100)]
    units = [*[at(60, 190)] * copies, at(0, 60), at(250, 50), at(1_000, 100)]
    assert told_of(fields, units) == [
        (
            "survey.gpkg: fields 'a', 'b': 2.23 acres (0.9 ha) of the land lie under more than one polygon, "
            "and count once for each of them. Keep one polygon for each piece of land"
        )
    ]


@pytest.mark.parametrize(("over_m", "lines"), [(0.9, 0), (1.1, 1)])
def test_over_one_hundredth_of_a_field_is_told(over_m, lines):
    assert len(told_of([at(0, 100)], [at(0, 50), at(50 - over_m, 60)])) == lines


def test_reading_a_region_tells_it(tmp_path):
    write_layer(tmp_path / "fields.gpkg", shapes())
    write_layer(tmp_path / "survey.gpkg", shapes([square(), square()], ph=[5.0, 6.0]))
    sections = '[fields]\nfile = "fields.gpkg"\n[survey]\nfile = "survey.gpkg"\n'
    write_text(tmp_path / "region.toml", REGION + sections)
    lines = [line for line in lines_of(read_region(tmp_path).told) if line.startswith("survey.gpkg")]
    assert len(lines) == 1 and "field 'a'" in lines[0] and "more than one polygon" in lines[0]
