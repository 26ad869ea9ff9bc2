"""The main job on the sample region: the files, the promises, the same bytes again."""

import hashlib
import json
import shutil
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import geopandas as gpd
import gpxpy
import pandas as pd
import pyogrio
import pytest

from maps.exporters import export
from spatial.inputs.region import read_region
from spatial.plan import Plan, make_plan
from spatial.settings import settings_with

ON = date(2026, 9, 8)
FILES = {"map.html", "fields.csv", "route.csv", "route.gpx", "plan.gpkg", "plan.json", "purchases.csv"}
LAYERS = {"fields", "stops", "rounds", "sample_first"}


@pytest.fixture(scope="module")
def out(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plan") / "out"
    export(plan, folder, datetime(2026, 9, 8, 6, 30))  # noqa: DTZ001 - a local clock time, as printed
    return folder


@pytest.fixture(scope="module")
def document(out: Path) -> dict:
    return json.loads((out / "plan.json").read_text(encoding="utf-8"))


def test_every_file_is_there_and_nothing_else(out):
    assert {path.name for path in out.iterdir()} == FILES


def test_the_json_has_the_promised_keys(document):
    assert {"region", "on", "chance", "season", "fields", "route", "notes"} <= set(document)
    assert (document["on"], document["chance"], document["season"]) == ("2026-09-08", 0.2, 2026)
    assert list(document["fields"][0])[:20] == [
        "field_id", "client", "name", "grass", "area_ha", "killing_freeze_date", "average_freeze_date",
        "last_cut_date", "last_cut_limit", "ready_date", "days_left", "stage", "urgency", "advice", "soil_ph",
        "flags", "crew", "cut_date", "cut_kind", "why_not",
    ]  # fmt: skip
    assert list(document["route"][0])[:9] == [
        "crew", "date", "stop", "field_id", "cut_kind", "start", "end", "travel_min", "area_ha",
    ]  # fmt: skip


def test_no_early_cut_comes_after_its_last_cut_date(document):
    last = {field["field_id"]: field["last_cut_date"] for field in document["fields"]}
    assert document["route"]
    assert all(stop["date"] <= last[stop["field_id"]] for stop in document["route"])


def test_every_field_is_on_the_route_or_told_why_not(document):
    routed = {stop["field_id"] for stop in document["route"]}
    for field in document["fields"]:
        assert (field["why_not"] is None) == (field["field_id"] in routed)


def test_the_average_is_never_before_the_cautious_date(document):
    both = [(f["killing_freeze_date"], f["average_freeze_date"]) for f in document["fields"]]
    assert all(cautious <= average for cautious, average in both if cautious and average)


def test_every_kind_of_limit_shows_in_the_sample(document):
    assert {field["last_cut_limit"] for field in document["fields"]} == {"freeze", "growth", "rule"}


def test_the_csv_opens_with_one_row_a_field_in_us_units(out, document):
    table = pd.read_csv(out / "fields.csv", encoding="utf-8-sig")
    assert len(table) == len(document["fields"]) and "area_ac" in table.columns
    assert table["area_ac"].sum() == pytest.approx(
        sum(f["area_ha"] for f in document["fields"]) / 0.40468564224, abs=0.5
    )


def test_the_geopackage_holds_fields_stops_and_rounds(out, document):
    assert {name for name, _kind in pyogrio.list_layers(out / "plan.gpkg")} == LAYERS
    fields = gpd.read_file(out / "plan.gpkg", layer="fields")
    assert len(fields) == len(document["fields"]) and fields.crs == 4326


def test_the_gpx_has_a_route_a_crew_day_and_a_waypoint_a_field(out, document):
    gpx = gpxpy.parse((out / "route.gpx").read_text(encoding="utf-8"))
    assert len(gpx.waypoints) == len(document["fields"])
    assert len(gpx.routes) == len({(stop["crew"], stop["date"]) for stop in document["route"]})


def same_but_for_the_made_on_line(one: Path, other: Path) -> bool:
    if one.suffix != ".html":
        return hashlib.sha256(one.read_bytes()).digest() == hashlib.sha256(other.read_bytes()).digest()
    lines = zip(one.read_text("utf-8").splitlines(), other.read_text("utf-8").splitlines(), strict=True)
    different = [pair for pair in lines if pair[0] != pair[1]]
    return len(different) <= 1 and all("Made on" in line for pair in different for line in pair)


def shuffled(folder: Path, target: Path) -> Path:
    """Copy a region with the rows of every table in another order."""
    shutil.copytree(folder, target, ignore=shutil.ignore_patterns("out"))
    for path in target.glob("*.csv"):
        table = pd.read_csv(path, dtype=str, keep_default_na=False)
        if path.name != "season_log.csv":  # a log is kept in the order of its lines
            table.sample(frac=1, random_state=7).to_csv(path, index=False)
    for path in target.glob("*.gpkg"):
        layers = {name: gpd.read_file(path, layer=name) for name, _kind in pyogrio.list_layers(path)}
        path.unlink()
        for name, layer in layers.items():
            layer.sample(frac=1, random_state=7).to_file(path, layer=name, mode="a" if path.exists() else "w")
    return target


@pytest.mark.parametrize("change", [lambda folder, _target: folder, shuffled], ids=["again", "shuffled rows"])
def test_the_same_region_gives_the_same_bytes(change, out, sample_folder, tmp_path):
    region = read_region(change(sample_folder, tmp_path / "region"))
    plan = make_plan(region, settings_with(ON, region.settings))
    export(plan, tmp_path / "out", datetime(2026, 9, 8, 7, 45))  # noqa: DTZ001 - as above
    different = [
        name
        for name in sorted(FILES)
        if not same_but_for_the_made_on_line(out / name, tmp_path / "out" / name)
    ]
    assert different == []


def test_an_annual_a_field_without_grass_and_one_off_the_layer_are_planned_and_written(region, tmp_path):
    fields = region.fields.copy()
    fields.loc["BH-01", "grass"] = "pearl_millet"
    fields.loc["BH-02", "grass"] = ""
    far = fields.geometry.where(fields.index != "BH-04", fields.geometry.translate(xoff=9.0))
    plan = make_plan(replace(region, fields=fields.set_geometry(far)), settings_with(ON, region.settings))
    export(plan, tmp_path / "out", datetime(2026, 9, 8, 6, 30))  # noqa: DTZ001 - as above
    rows = {
        row["field_id"]: row
        for row in json.loads((tmp_path / "out" / "plan.json").read_text("utf-8"))["fields"]
    }
    assert "An annual" in rows["BH-01"]["advice"]
    assert "No grass is named" in rows["BH-02"]["advice"]
    assert "No freeze data here" in rows["BH-04"]["advice"]
    assert [rows[name]["risk"] for name in ("BH-01", "BH-02", "BH-04")] == [[], [], []]
