"""The sample region is what the script makes, and holds what its SOURCES.md says."""

import re
import subprocess
import sys
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from platform import machine, system

import geopandas as gpd
import networkx as nx
import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_region"
SCRIPT = ROOT / "scripts" / "make_sample_region.py"
METRES = "EPSG:32617"
M2_PER_ACRE = 4046.8564224
MAKERS = ("geopandas", "numpy", "pandas", "pyogrio", "pyproj", "rasterio", "scipy", "shapely")
LAYERS = ("counties", "fields", "roads", "soil_survey", "streams", "towns")
TABLES = ("clients", "crews", "outlook", "season_log", "soil_tests_mill_creek", "soil_tests_two_rivers")
FILES = {
    "SOURCES.md",
    "daily_minima.csv.gz",
    "elevation.tif",
    "freeze_seasons.tif",
    "region.toml",
    "soil_ph_0_5cm.tif",
    "soil_ph_5_15cm.tif",
    "station_places.csv",
    *(f"{name}.gpkg" for name in LAYERS),
    *(f"{name}.csv" for name in TABLES),
}


def make(out: Path) -> None:
    subprocess.run([sys.executable, str(SCRIPT), str(out)], check=True, timeout=120)


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in files_of(folder)}


def files_of(folder: Path) -> list[Path]:
    """Return the files of a region, without those that planning and recording leave beside them."""
    return [path for path in sorted(folder.iterdir()) if path.is_file() and path.suffix != ".lock"]


def foreign_versions() -> str:
    """Return what differs here from the machine and the versions that the committed bytes come from."""
    pinned = dict(
        re.findall(r"^([\w-]+)==(\S+)$", (ROOT / "scripts/constraints.txt").read_text(), re.MULTILINE)
    )
    found = [f"{name} {version(name)}" for name in MAKERS if version(name) != pinned[name]]
    here = f"{system()} {machine()}"
    return ", ".join(found + [here] * (here != "Linux x86_64"))


def layer(name: str, folder: Path = SAMPLE) -> gpd.GeoDataFrame:
    return gpd.read_file(folder / f"{name}.gpkg")


def table(name: str, folder: Path = SAMPLE) -> pd.DataFrame:
    return pd.read_csv(folder / f"{name}.csv", keep_default_na=False)


def freeze_days(folder: Path = SAMPLE) -> NDArray[np.float64]:
    """Return (seasons, rows, columns), NaN unknown and +inf never."""
    with rasterio.open(folder / "freeze_seasons.tif") as raster:
        days = raster.read().astype(float)
    days[days == -1] = np.nan
    days[days == 999] = np.inf
    return days


def rings(fields: gpd.GeoDataFrame) -> Iterator[BaseGeometry]:
    for shape in fields.geometry:
        for part in shapely.get_parts(shape):
            yield from part.interiors


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("sample") / "region"
    make(out)
    return out


@pytest.fixture(scope="module")
def fields() -> gpd.GeoDataFrame:
    return layer("fields")


@pytest.fixture(scope="module")
def gates(fields: gpd.GeoDataFrame) -> gpd.GeoSeries:
    given = gpd.GeoSeries(gpd.points_from_xy(fields.gate_lon, fields.gate_lat), crs=4326)
    return given.where(fields.gate_lon.notna(), fields.geometry.representative_point()).to_crs(METRES)


def test_the_folder_holds_these_files_and_no_others() -> None:
    assert {path.name for path in files_of(SAMPLE)} == FILES


def test_a_second_run_over_older_files_gives_the_same_bytes(made: Path, tmp_path: Path) -> None:
    (tmp_path / "fields.gpkg").write_bytes((made / "roads.gpkg").read_bytes())
    make(tmp_path)
    assert contents(tmp_path) == contents(made)


def test_the_committed_bytes_are_what_the_script_makes(made: Path) -> None:
    foreign = foreign_versions()
    if foreign:
        pytest.skip(f"the bytes of a GeoPackage follow the versions that wrote it; different here: {foreign}")
    assert contents(made) == contents(SAMPLE)


@pytest.mark.parametrize("name", LAYERS)
def test_a_committed_layer_says_what_the_script_makes_of_it(name: str, made: Path) -> None:
    committed, new = layer(name), layer(name, made)
    pd.testing.assert_frame_equal(committed.drop(columns="geometry"), new.drop(columns="geometry"))
    # A ten-millionth of a degree is what is written; another machine may round the last one otherwise.
    assert shapely.equals_exact(committed.geometry.array, new.geometry.array, tolerance=2e-7).all()


@pytest.mark.parametrize("name", TABLES)
def test_a_committed_table_says_what_the_script_makes_of_it(name: str, made: Path) -> None:
    pd.testing.assert_frame_equal(table(name), table(name, made), rtol=0, atol=2e-7)


def test_the_committed_freeze_layer_says_what_the_script_makes_of_it(made: Path) -> None:
    committed, new = freeze_days(), freeze_days(made)
    same = (committed == new) | (np.isnan(committed) & np.isnan(new))
    # A half day may be rounded otherwise on another machine, here and there.
    assert same.mean() > 0.999


def test_the_region_is_small() -> None:
    assert sum(path.stat().st_size for path in files_of(SAMPLE)) < 4_000_000


def test_there_are_70_fields_of_14_clients_on_4_grasses(fields: gpd.GeoDataFrame) -> None:
    assert (fields.field_id.nunique(), len(fields)) == (70, 70)
    assert set(fields.client) == set(table("clients").client)
    assert fields.client.nunique() == 14
    assert set(fields.grass) == {
        "hybrid_bermudagrass",
        "common_bermudagrass",
        "bahiagrass",
        "native_warm_season",
    }
    assert (fields.grass == "hybrid_bermudagrass").mean() > 0.5


def test_fields_are_of_2_to_120_acres(fields: gpd.GeoDataFrame) -> None:
    acres = fields.to_crs(METRES).area / M2_PER_ACRE
    assert acres.between(1.99, 120).all()
    assert acres.min() < 4
    assert acres.max() > 80


def test_two_fields_have_a_hole_and_one_has_two_parts(fields: gpd.GeoDataFrame) -> None:
    assert len(list(rings(fields))) == 2
    assert sorted(shapely.get_num_geometries(fields.geometry.array))[-2:] == [1, 2]


def test_fields_are_valid_and_touch_neither_each_other_nor_road_nor_stream(fields: gpd.GeoDataFrame) -> None:
    assert fields.geometry.is_valid.all()
    pairs = fields.sindex.query(fields.geometry, predicate="intersects")
    assert (pairs[0] == pairs[1]).all()
    roads = layer("roads").iloc[:-2].union_all()  # the last two are the track that crosses a field
    assert not fields.intersects(roads).any()
    assert not fields.intersects(layer("streams").union_all()).any()


def test_every_gate_is_near_the_main_road_network(gates: gpd.GeoSeries) -> None:
    roads = layer("roads").to_crs(METRES)
    ends = [(line.coords[0], line.coords[-1]) for line in layer("roads").geometry]
    network = nx.Graph((start, end, {"road": number}) for number, (start, end) in enumerate(ends))
    pieces = sorted(nx.connected_components(network), key=len)
    assert [len(piece) for piece in pieces[:-1]] == [3]
    main = [road for _, _, road in network.subgraph(pieces[-1]).edges(data="road")]
    assert 200 <= len(main) <= 400
    assert gates.distance(roads.iloc[main].union_all()).max() < 300


def test_the_loose_track_is_nearer_to_one_gate_than_any_joined_road(gates: gpd.GeoSeries) -> None:
    roads = layer("roads").to_crs(METRES)
    loose, joined = roads.iloc[-2:].union_all(), roads.iloc[:-2].union_all()
    assert (gates.distance(loose) < gates.distance(joined)).sum() == 1


def test_every_field_lies_in_one_of_four_counties(fields: gpd.GeoDataFrame) -> None:
    counties = layer("counties")
    inner = gpd.GeoDataFrame(geometry=fields.geometry.representative_point())
    assert counties.name.nunique() == 4
    assert set(gpd.sjoin(inner, counties).name) == set(counties.name)
    assert len(gpd.sjoin(inner, counties)) == 70


def test_there_are_46_soil_tests_in_two_units() -> None:
    by_lab = {name: table(name) for name in ("soil_tests_mill_creek", "soil_tests_two_rivers")}
    assert [len(tests) for tests in by_lab.values()] == [27, 19]
    assert [tests.columns[-1] for tests in by_lab.values()] == ["k2o_lb_ac", "zone_area_ac"]
    assert [(tests.field_id == "").sum() for tests in by_lab.values()] == [2, 2]
    days = pd.concat(by_lab.values()).sample_date
    assert days.between("2021-01-01", "2026-09-07").all()
    assert (days > "2024-01-01").mean() > 0.5


def test_soil_units_do_not_overlap_and_cover_most_of_the_district() -> None:
    survey = layer("soil_survey").to_crs(METRES)
    first, second = survey.sindex.query(survey.geometry, predicate="intersects")
    shapes = survey.geometry.array
    shared_m2 = shapely.area(shapely.intersection(shapes[first], shapes[second]))[first < second].sum()
    assert shared_m2 < 1_000
    assert 0.9 < survey.area.sum() / 54_000**2 < 0.99
    assert survey.ph_water.dropna().between(4.8, 6.6).all()
    assert set(survey.map_unit[survey.ph_water.isna()]) == {"Water"}


def test_the_freeze_layer_says_what_it_is() -> None:
    with rasterio.open(SAMPLE / "freeze_seasons.tif") as raster:
        tags = raster.tags()
        assert (raster.count, raster.dtypes[0], raster.nodata, raster.res) == (30, "int16", -1, (1000, 1000))
        assert (raster.descriptions[0], raster.descriptions[-1]) == ("1996-97", "2025-26")
    assert (tags["freeze_kind"], tags["threshold_f"], tags["no_freeze_value"]) == ("seasons", "28", "999")
    assert (tags["day_count"], tags["season_start"]) == ("season_start", "08-01")


def test_freeze_comes_later_towards_the_south() -> None:
    middling = np.median(freeze_days(), axis=0)
    north, middle, south = (np.nanmedian(band) for band in np.array_split(middling, 3))
    assert north + 3 < middle
    assert middle + 3 < south


def test_only_the_south_has_seasons_without_a_freeze() -> None:
    rows_with_none = np.isposinf(freeze_days()).any(axis=(0, 2))
    assert rows_with_none[-10:].all()
    assert not rows_with_none[: 2 * len(rows_with_none) // 3].any()


def test_unknown_cells_touch_no_field(fields: gpd.GeoDataFrame) -> None:
    inner = fields.to_crs(METRES).geometry.representative_point()
    with rasterio.open(SAMPLE / "freeze_seasons.tif") as raster:
        values = np.array(list(raster.sample(zip(inner.x, inner.y, strict=True))))
    assert np.isnan(freeze_days()[0]).sum() == 12
    assert (values != -1).all()


def test_one_fall_in_five_freezes_by_early_november_in_the_north() -> None:
    # 28 October is day 88 of the season, 10 November day 101.
    by_then = np.sort(freeze_days(), axis=0)[5]
    north, south = np.nanmedian(by_then[:20]), np.median(by_then[-20:])
    assert 86 <= north <= 96
    assert 101 <= south <= 112


def test_nothing_in_the_log_is_of_a_field_or_county_that_is_not_there(fields: gpd.GeoDataFrame) -> None:
    log = table("season_log")
    assert set(log.field_id) <= {"", *fields.field_id}
    assert set(log.area) <= {"", *layer("counties").name}
    assert set(log.fact) == {"cut", "hay", "height", "sprayed_until", "note"}
    assert log.date.between("2026-06-01", "2026-09-07").all()


def test_the_outlook_has_rain_in_the_middle_of_ten_days() -> None:
    outlook = table("outlook")
    everywhere = outlook[outlook.area == ""].rain_chance_pct.tolist()
    assert len(everywhere) == 10
    assert max(everywhere[4:7]) >= 50
    assert max(everywhere[:3] + everywhere[-3:]) < 40


def test_no_name_carries_markup(fields: gpd.GeoDataFrame) -> None:
    text = "".join([*fields.name, *fields.client, *layer("towns").name, *layer("counties").name])
    assert not set(text) & set("<>&;=") - {"&"}
