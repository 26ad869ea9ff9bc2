"""The commands as a person types them: what they say, what they leave behind, how they end."""

import json
import shutil
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely


@pytest.fixture
def own_region(sample_folder, tmp_path) -> Path:
    return Path(shutil.copytree(sample_folder, tmp_path / "region", ignore=shutil.ignore_patterns("out")))


def field_file(folder: Path, **columns: list[object]) -> Path:
    shapes = [
        shapely.box(-100.0 - n, 35.0, -99.99 - n, 35.01) for n in range(len(next(iter(columns.values()))))
    ]
    gpd.GeoDataFrame(columns, geometry=shapes, crs=4326).to_file(folder / "mine.gpkg")
    return folder / "mine.gpkg"


def test_plan_says_what_it_found_and_where_the_map_is(lastcut, own_region):
    code, said, _ = lastcut("plan", own_region, "--on", "2026-09-08", "--quiet")
    assert code == 0 and said.splitlines()[-1] == f"Map: {own_region / 'out' / 'map.html'}"


def test_a_setting_can_be_given_as_an_option(lastcut, own_region, tmp_path):
    code, said, _ = lastcut(
        "plan", own_region, "--on", "2026-09-08", "--out", tmp_path / "o", "--chance", "0.5", "--json"
    )
    assert code == 0 and json.loads(said)["chance"] == 0.5


def test_a_setting_out_of_range_is_one_line_and_2(lastcut, own_region):
    code, _, complaint = lastcut("plan", own_region, "--chance", "1.5", "--quiet")
    assert (code, complaint.strip()) == (2, "settings: chance: 1.5 is out of range. Use 0.02 to 0.9 share")


def test_new_then_check_then_plan_on_a_file_of_ones_own(lastcut, sample_folder, tmp_path):
    fields = field_file(tmp_path, FIELD_ID=["n1", "n2"], kind=["x", "y"])
    region = tmp_path / "mine"
    assert (
        lastcut("new", region, "--fields", fields, "--freeze", sample_folder / "freeze_seasons.tif")[0] == 0
    )
    code, said, _ = lastcut("check", region)
    assert code == 0 and "fields: 2, " in said
    code, said, _ = lastcut("plan", region, "--on", "2026-09-08", "--json")
    assert code == 0
    assert all("No freeze data here" in field["advice"] for field in json.loads(said)["fields"])


def test_new_never_writes_over_a_region(lastcut, own_region):
    before = (own_region / "region.toml").read_bytes()
    code, _, complaint = lastcut("new", own_region, "--fields", own_region / "fields.gpkg")
    assert code == 2 and "already there" in complaint
    assert (own_region / "region.toml").read_bytes() == before


def test_check_lists_the_rules_with_their_sources(lastcut, sample_folder):
    code, said, _ = lastcut("check", sample_folder)
    assert code == 0
    assert (
        "rules for hybrid bermudagrass" in said
        and "common practice, no source" in said
        and "from memory" in said
    )


def test_check_names_every_problem_at_once(lastcut, tmp_path):
    fields = field_file(
        tmp_path, field_id=["a", "a", "c"], grass=["bermudda", "bahiagrass", ""], height_in=[5.0, 999.0, 4.0],
        previous_cut_date=["2026-08-01", "2026-02-31", ""],
    )  # fmt: skip
    lastcut("new", tmp_path / "r", "--fields", fields)
    code, _, complaint = lastcut("check", tmp_path / "r")
    assert code == 2
    for part in ("bermudda", "'999.0'", "2026-02-31", "stands in 2 rows"):
        assert part in complaint
    assert "Traceback" not in complaint


def test_a_folder_without_a_region_is_one_line(lastcut, tmp_path):
    code, _, complaint = lastcut("plan", tmp_path, "--quiet")
    assert code == 2 and len(complaint.strip().splitlines()) == 1


def test_a_recorded_cut_is_remembered_by_the_next_plan(lastcut, own_region):
    def field(name: str) -> dict:
        said = lastcut("plan", own_region, "--on", "2026-09-08", "--json")[1]
        return next(row for row in json.loads(said)["fields"] if row["field_id"] == name)

    assert field("TD-01")["stage"] == "ready"
    assert (
        lastcut("record", own_region, "--field", "TD-01", "--cut", "2026-09-07", "--note", "=SUM(A1)")[0] == 0
    )
    assert field("TD-01")["stage"] == "growing"


def test_a_recorded_freeze_ends_the_early_cuts_of_its_area(lastcut, own_region):
    assert lastcut("record", own_region, "--area", "Quillen", "--killing-freeze", "2026-10-20")[0] == 0
    said = lastcut("plan", own_region, "--on", "2026-10-22", "--json")[1]
    rows = json.loads(said)["fields"]
    assert {row["stage"] for row in rows if row["field_id"].startswith("GB-")} == {"freeze_cut"}
    assert all(row["stage"] != "freeze_cut" for row in rows if row["field_id"].startswith("HT-"))


def test_record_refuses_a_field_the_region_does_not_have(lastcut, own_region):
    before = (own_region / "season_log.csv").read_bytes()
    code, _, complaint = lastcut("record", own_region, "--field", "nowhere", "--cut", "2026-09-01")
    assert code == 2 and "nowhere" in complaint
    assert (own_region / "season_log.csv").read_bytes() == before


def test_a_plan_that_fails_leaves_the_old_one_whole(lastcut, own_region):
    lastcut("plan", own_region, "--on", "2026-09-08", "--quiet")
    before = {path.name: path.read_bytes() for path in (own_region / "out").iterdir()}
    assert lastcut("plan", own_region, "--on", "2026-09-09", "--also", "no such exporter", "--quiet")[0] == 2
    assert {path.name: path.read_bytes() for path in (own_region / "out").iterdir()} == before


def test_text_that_looks_like_a_formula_is_only_text_in_the_csv(lastcut, own_region):
    fields = gpd.read_file(own_region / "fields.gpkg")
    fields.loc[0, "name"] = '=HYPERLINK("x")'
    fields.to_file(own_region / "fields.gpkg", layer="fields")
    lastcut("plan", own_region, "--on", "2026-09-08", "--quiet")
    names = pd.read_csv(own_region / "out" / "fields.csv", encoding="utf-8-sig")["name"].astype(str)
    assert not names.str.startswith("=").any() and names.str.contains("HYPERLINK").any()


def test_help_names_every_setting_with_what_it_means(lastcut):
    _, said, _ = lastcut("plan", "--help")
    assert "--chance" in said and "--road-speed-mph" in said and "killing freeze" in said
