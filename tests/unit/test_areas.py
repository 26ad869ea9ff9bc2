"""What reading a file of areas promises: a name for each, and a line where that was not given."""

from pathlib import Path

import geopandas as gpd
import pytest
import shapely

from spatial.errors import InputError
from spatial.inputs.areas import read_areas
from spatial.inputs.checks import Report

BOXES = [shapely.box(place, 0, place + 1, 1) for place in range(4)]


def read(tmp_path: Path, **columns: list[object]) -> tuple[list[str], list[str]]:
    """Return the names of four areas with these columns, and what is told."""
    path, report = tmp_path / "areas.geojson", Report()
    gpd.GeoDataFrame(columns, geometry=BOXES, crs=4326).to_file(path)
    return read_areas(path, report)["name"].tolist(), [str(line) for line in report.told]


def test_a_column_of_names_is_taken_without_a_word(tmp_path):
    assert read(tmp_path, Code=list("wxyz"), Name=list("abcd")) == (["a", "b", "c", "d"], [])


def test_without_one_the_first_column_of_text_is_taken_and_told(tmp_path):
    names, told = read(
        tmp_path, number=[1, 2, 3, 4], Title=["North", "South", "East", "West"], more=list("abcd")
    )
    assert names == ["North", "South", "East", "West"]
    (line,) = told
    assert line.startswith(
        "areas.geojson: column 'Title': was taken for the names of the areas, as no column is called"
    )


def test_areas_without_any_text_are_numbered_in_one_line(tmp_path):
    names, told = read(tmp_path, number=[1, 2, 3, 4])
    assert names == ["unnamed 1", "unnamed 2", "unnamed 3", "unnamed 4"]
    (line,) = told
    assert line.startswith(
        "areas.geojson: shapes 1, 2, 3, 4: without a name, so called unnamed 1, unnamed 2 and so on."
    )


def test_one_area_without_a_name_is_told(tmp_path):
    names, told = read(tmp_path, name=["A", None, "C", "D"])
    assert names == ["A", "unnamed 2", "C", "D"]
    assert told == [
        "areas.geojson: shape 2: without a name, so called unnamed 2. Give the areas a column name"
    ]


def test_a_column_that_is_not_there_is_refused(tmp_path):
    path = tmp_path / "areas.geojson"
    gpd.GeoDataFrame({"Title": list("abcd")}, geometry=BOXES, crs=4326).to_file(path)
    with pytest.raises(InputError) as refused:
        read_areas(path, Report(), "label")
    assert "column 'label' for 'name': is not there" in str(refused.value)
