"""What the files of the zones promise: they open anywhere, say what they hold, and repeat byte for byte."""

import csv
import hashlib
import json
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio

from maps.zones.files import ZONE_FILES
from spatial.inputs.region import Region
from spatial.settings import settings_with
from spatial.zones import Zones, make_zones

ON = date(2026, 9, 8)
MADE_ON = datetime(2026, 9, 8, 6, 30)  # noqa: DTZ001 - a local clock time, as printed
FORMULA = "=HYPERLINK(1)"


def write(zones: Zones, folder: Path) -> Path:
    folder.mkdir()
    for name, writer in ZONE_FILES.items():
        writer(zones, folder / name, MADE_ON)
    return folder


@pytest.fixture(scope="module")
def zones(region: Region) -> Zones:
    counties = region.context["counties"]
    named = counties.assign(name=counties["name"].replace("Quillen", FORMULA))
    grasses = ["hybrid_bermudagrass", "native_warm_season"]
    return make_zones(region, settings_with(ON, region.settings), grasses=grasses, areas=named)


@pytest.fixture(scope="module")
def out(zones: Zones, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(zones, tmp_path_factory.mktemp("zones") / "out")


def test_the_same_zones_give_the_same_bytes(zones, out, tmp_path):
    again = write(zones, tmp_path / "again")
    for name in ZONE_FILES:
        one, other = (hashlib.sha256((folder / name).read_bytes()).hexdigest() for folder in (out, again))
        assert one == other, name


def test_the_raster_holds_the_days_of_every_layer_under_its_name(zones, out):
    with rasterio.open(out / "zones.tif") as raster:
        assert raster.descriptions == (
            "hybrid bermudagrass, 1 fall in 5",
            "hybrid bermudagrass, 1 fall in 2",
            "native warm-season grass, 1 fall in 5",
            "native warm-season grass, 1 fall in 2",
        )
        assert raster.dtypes[0] == "int16"
        assert (raster.width, raster.height, raster.crs.to_epsg()) == (60, 60, 32617)
        days, known = raster.read(), raster.read_masks() > 0
    for band, layer in enumerate(zones.layers):
        assert (known[band] == ~np.isnan(layer.last_cut_days)).all()
        assert (days[band][known[band]] == layer.last_cut_days[known[band]]).all()
    assert (days[2][known[2]] == 30).all()  # natives: 31 August, thirty days after the first


def test_the_raster_says_in_words_what_its_numbers_mean(out):
    with rasterio.open(out / "zones.tif") as raster:
        tags = raster.tags()
    assert tags["unit"] == "days since the season's first day, 2026-08-01 (that day is 0)"
    assert tags["no_data"] == "-9999: no last-cut date is known"
    assert tags["season_start"] == "2026-08-01"
    assert "not a forecast" in tags["caution"]


def test_the_geopackage_has_zones_and_areas_with_real_dates_and_no_styles(zones, out):
    layers = [name for name, _kind in pyogrio.list_layers(out / "zones.gpkg")]
    assert layers == ["zones", "areas"]
    shown = gpd.read_file(out / "zones.gpkg", layer="zones")
    assert shown.crs.to_epsg() == 4326
    assert len(shown) == len(zones.bands)
    assert pd.api.types.is_datetime64_any_dtype(shown["cut_by_date"])
    assert shown["cut_by_date"].dt.date.tolist() == zones.bands["cut_by_date"].dt.date.tolist()
    assert shown["advice"].str.contains("Make the last early cut of").all()
    assert gpd.read_file(out / "zones.gpkg", layer="areas")["area"].nunique() == 4


def test_dates_stay_dates_where_no_freeze_is_reached_at_all(zones, tmp_path):
    never = replace(zones, bands=zones.bands.assign(freeze_from_date=pd.NaT, freeze_to_date=pd.NaT))
    ZONE_FILES["zones.gpkg"](never, tmp_path / "zones.gpkg", MADE_ON)
    shown = gpd.read_file(tmp_path / "zones.gpkg", layer="zones")
    assert pd.api.types.is_datetime64_any_dtype(shown["freeze_to_date"])
    assert shown["freeze_to_date"].isna().all()


def test_the_outlines_in_the_geopackage_are_those_of_the_zones(zones, out):
    shown = gpd.read_file(out / "zones.gpkg", layer="zones")
    assert shown.geometry.geom_equals(zones.bands.geometry).all()


def test_the_table_is_by_area_and_runs_nothing_in_a_spreadsheet(out):
    raw = (out / "zones.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(raw.decode("utf-8-sig").splitlines()))
    assert len(rows) == 4 * 4
    assert {row["area"] for row in rows} == {"Averell", "Gadwall", "Lorimer", f"'{FORMULA}"}
    first = next(row for row in rows if row["area"] == "Gadwall")
    assert list(first) == [
        "area", "grass", "grass_name", "chance", "chance_words", "earliest_date", "middle_date", "latest_date",
        "average_middle_date", "cover_share", "note",
    ]  # fmt: skip
    assert first["chance_words"] == "1 fall in 5"
    assert (
        first["earliest_date"] <= first["middle_date"] <= first["latest_date"] <= first["average_middle_date"]
    )


def test_the_json_has_every_zone_with_its_risk_and_the_cautions(zones, out):
    document = json.loads((out / "zones.json").read_text(encoding="utf-8"))
    assert (document["on"], document["season_start"], document["chance"]) == ("2026-09-08", "2026-08-01", 0.2)
    assert [one["zone_id"] for one in document["zones"]] == zones.bands["zone_id"].tolist()
    assert len(document["zones"][0]["risk"]) == 50
    assert document["areas"][0]["area"] == FORMULA
    assert document["cautions"]
    assert any("30 past seasons" in note for note in document["notes"])


def test_advice_is_in_the_units_of_the_region(zones, tmp_path):
    metric = replace(zones, region=replace(zones.region, units="metric"))
    ZONE_FILES["zones.json"](metric, tmp_path / "zones.json", MADE_ON)
    zone = json.loads((tmp_path / "zones.json").read_text(encoding="utf-8"))["zones"][0]
    assert "leave 10 cm of stubble or more" in zone["advice"]
    assert zone["stubble_cm"] == 10.16
