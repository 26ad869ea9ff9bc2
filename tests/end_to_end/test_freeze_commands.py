"""Freeze dates by command: from the files people have to dates, layers and pictures, or one line that says why not."""

import json
import shutil

import numpy as np
import pandas as pd
import pytest
import rasterio
import xarray as xr

DAYS = pd.date_range("2001-08-01", "2011-07-31")


def record(**changes: object) -> pd.DataFrame:
    """Return ten seasons of whole deg F: 70 in summer, and from 10 November on 28 F in every even fall."""
    fall = DAYS.year - (DAYS.month < 8)
    cold = (pd.to_datetime([f"{year}-11-10" for year in fall]) <= DAYS) & (fall % 2 == 0)
    late = pd.to_datetime([f"{year}-11-20" for year in fall]) <= DAYS
    tmin = np.where(DAYS.month.isin([5, 6, 7, 8, 9]), 66, 45)
    tmin = np.where((cold | late) & DAYS.month.isin([11, 12, 1]), 28, tmin)
    table = pd.DataFrame({"DATE": DAYS.strftime("%Y-%m-%d"), "TMAX": tmin + 15, "TMIN": tmin})
    return table.assign(**changes)


@pytest.fixture
def station_file(tmp_path):
    def write(table: pd.DataFrame, name: str = "own.csv") -> str:
        table.to_csv(tmp_path / name, index=False)
        return str(tmp_path / name)

    return write


def stations(lastcut, *words: object) -> dict[str, object]:
    code, said, complaint = lastcut("freeze", "stations", *words, "--json")
    assert code == 0, complaint
    return json.loads(said)["stations"][0]


def test_the_dates_of_a_station_are_json_with_their_errors(lastcut, station_file):
    found = stations(lastcut, station_file(record()), "--threshold", "28F", "--seasons", "2001-2010")
    assert (found["valid_seasons"], found["invalid_seasons"], found["no_freeze_share"]) == (10, 0, 0)
    assert found["chances"]["0.1"]["month_day"] == "11-10" and found["chances"]["0.9"]["month_day"] == "11-20"
    assert found["earliest"] == "2002-11-10" and found["chances"]["0.5"]["se_days"] > 0


def test_a_chance_that_is_not_reached_is_null(lastcut, station_file):
    falls = pd.Series(DAYS.year - (DAYS.month < 8))
    mild = record().assign(
        TMIN=lambda table: table["TMIN"].where(~(falls % 2).eq(1), table["TMIN"].clip(lower=40))
    )
    found = stations(lastcut, station_file(mild), "--threshold", "28F")
    assert found["no_freeze_share"] == 0.5 and found["chances"]["0.9"] is None


def test_the_table_and_a_picture_a_station_are_written(lastcut, station_file, tmp_path):
    code, said, _ = lastcut(
        "freeze",
        "stations",
        station_file(record()),
        "--threshold",
        "28F",
        "--out",
        tmp_path / "o" / "dates.csv",
    )
    assert code == 0 and said.splitlines()[-1] == f"Table: {tmp_path / 'o' / 'dates.csv'}"
    assert sorted(path.name for path in (tmp_path / "o").iterdir()) == ["dates.csv", "dates_own.png"]


def test_one_bad_station_does_not_hide_the_good_one(lastcut, station_file):
    bad = station_file(record(TMIN=np.nan), "bad.csv")
    code, said, complaint = lastcut(
        "freeze", "stations", station_file(record()), bad, "--threshold", "28F", "--json"
    )
    assert code == 0 and len(json.loads(said)["stations"]) == 1
    assert "Left out: bad.csv" in complaint


MONTHLY = pd.DataFrame({"DATE": pd.date_range("2001-01-01", periods=120, freq="MS"), "TMIN": 40})


@pytest.mark.parametrize(
    ("table", "words", "said"),
    [
        (record(), ["--unit", "C"], "'TMIN'"),
        (record(TMIN=record()["TMAX"] + 20), [], "'TMIN'"),
        (record().rename(columns={"TMIN": "TMAX", "TMAX": "TMIN"}), [], "'TMIN'"),
        (record(), ["--column", "tmin=TMAX"], "'TMAX'"),
        (MONTHLY, ["--unit", "F"], "monthly"),
        (record().head(0), [], "own.csv"),
        (record(TMIN=np.nan), [], "'TMIN'"),
    ],
    ids=["wrong unit", "too warm", "shifted", "maximum", "monthly", "empty", "all missing"],
)
def test_a_file_that_cannot_serve_is_one_line_and_2(lastcut, station_file, table, words, said):
    code, printed, complaint = lastcut(
        "freeze", "stations", station_file(table), "--threshold", "28F", "--quiet", *words
    )
    assert (code, printed, len(complaint.splitlines())) == (2, "", 1)
    assert complaint.startswith("own.csv") and said in complaint


def test_one_season_gives_no_dates_and_says_why(lastcut, station_file):
    found = stations(lastcut, station_file(record().head(365)), "--threshold", "28F")
    assert found["valid_seasons"] == 1 and found["chances"]["0.5"] is None
    assert any("season" in line for line in found["told"])


@pytest.mark.parametrize("text", ["28", "warm", "90F"])
def test_a_threshold_without_sense_is_one_line_and_2(lastcut, station_file, text):
    code, _, complaint = lastcut("freeze", "stations", station_file(record()), "--threshold", text)
    assert (code, len(complaint.splitlines())) == (2, 1) and complaint.startswith("--threshold")


def grid_file(path, values_c: np.ndarray, **attributes: object) -> str:
    lat, lon = np.linspace(34, 33, values_c.shape[1]), np.linspace(-84, -83, values_c.shape[2])
    xr.Dataset(
        {"tmin": (("time", "lat", "lon"), values_c, {"units": "degC", **attributes})},
        coords={"time": DAYS, "lat": lat, "lon": lon},
    ).to_netcdf(path)
    return str(path)


def minima_c() -> np.ndarray:
    cells = np.repeat((record()["TMIN"].to_numpy()[:, None, None] - 32) / 1.8, 5, axis=1).repeat(4, axis=2)
    cells[:, 0, 0] = np.nan
    return cells.astype(np.float32)


def test_a_grid_becomes_two_layers_and_a_picture(lastcut, tmp_path):
    file, out = grid_file(tmp_path / "tmin.nc", minima_c()), tmp_path / "o" / "freeze.tif"
    code, said, complaint = lastcut("freeze", "grid", file, "--out", out, "--json")
    assert code == 0, complaint
    assert json.loads(said)["known_cells"] == 19
    assert sorted(path.name for path in out.parent.iterdir()) == [
        "freeze.png",
        "freeze.tif",
        "freeze_seasons.tif",
    ]
    with rasterio.open(out) as layer:
        assert layer.descriptions[0] == "0.1" and layer.tags()["no_freeze_value"] == "999"
        assert (layer.read(1)[1:].astype(int) == 101).all()  # 10 November


@pytest.mark.parametrize(
    ("attributes", "words", "said"),
    [
        ({"long_name": "daily maximum temperature"}, [], "maximum"),
        ({"units": "furlong"}, [], "unit"),
        ({}, ["--variable", "tmax"], "tmax"),
        ({"units": "K"}, [], "tmin"),
    ],
)
def test_a_grid_that_cannot_serve_is_one_line_and_2(lastcut, tmp_path, attributes, words, said):
    file = grid_file(tmp_path / "tmin.nc", minima_c(), **attributes)
    code, _, complaint = lastcut("freeze", "grid", file, "--out", tmp_path / "o.tif", "--quiet", *words)
    assert (code, len(complaint.splitlines())) == (2, 1) and said in complaint
    assert not (tmp_path / "o.tif").exists()


@pytest.fixture
def station_table(lastcut, sample_folder, tmp_path):
    """Return the table of the sample district's stations, as the first command leaves it for the second."""
    words = ["--places", sample_folder / "station_places.csv", "--threshold", "28F", "--seasons", "2004-2013"]
    code, *_ = lastcut(
        "freeze",
        "stations",
        sample_folder / "daily_minima.csv.gz",
        *words,
        "--out",
        tmp_path / "s.csv",
        "--quiet",
    )
    assert code == 0
    return tmp_path / "s.csv"


def test_a_table_of_stations_becomes_a_layer_that_a_plan_takes(
    lastcut, sample_folder, station_table, tmp_path
):
    out = tmp_path / "o" / "freeze.tif"
    dem = sample_folder / "elevation.tif"
    code, said, complaint = lastcut("freeze", "surface", station_table, "--dem", dem, "--out", out, "--json")
    assert code == 0, complaint
    assert json.loads(said)["stations"] == 18 and out.with_suffix(".png").exists()
    region = shutil.copytree(sample_folder, tmp_path / "own", ignore=shutil.ignore_patterns("out"))
    text = (
        (region / "region.toml")
        .read_text()
        .replace(
            'file = "freeze_seasons.tif"\nkind = "seasons"', f'file = "{out.as_posix()}"\nkind = "chances"'
        )
    )
    (region / "region.toml").write_text(text)
    code, said, complaint = lastcut("plan", region, "--on", "2026-09-08", "--json")
    assert code == 0, complaint
    assert all(field["freeze_error_days"] > 0 for field in json.loads(said)["fields"])


def test_records_may_be_given_for_the_table(lastcut, sample_folder, station_table, tmp_path):
    words = ["--places", sample_folder / "station_places.csv", "--threshold", "28F", "--seasons", "2004-2013"]
    for number, given in enumerate(([station_table], [sample_folder / "daily_minima.csv.gz", *words])):
        dem = sample_folder / "elevation.tif"
        code, *_ = lastcut(
            "freeze", "surface", *given, "--dem", dem, "--out", tmp_path / f"{number}.tif", "--quiet"
        )
        assert code == 0
    with rasterio.open(tmp_path / "0.tif") as one, rasterio.open(tmp_path / "1.tif") as other:
        # The table keeps a tenth of a day.
        assert np.abs(one.read(range(1, 10)) - other.read(range(1, 10))).max() < 0.5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--dem-unit", "cm"], "elevation.tif"),
        (["--coast", "nowhere.gpkg"], "nowhere.gpkg"),
    ],
)
def test_a_surface_that_cannot_be_made_is_one_line_and_2(
    lastcut, sample_folder, station_table, tmp_path, words, said
):
    dem = sample_folder / "elevation.tif"
    code, _, complaint = lastcut(
        "freeze", "surface", station_table, "--dem", dem, "--out", tmp_path / "x.tif", "--quiet", *words
    )
    assert (code, len(complaint.splitlines())) == (2, 1) and said in complaint


def test_a_record_is_never_written_over(lastcut, station_file):
    file = station_file(record())
    code, _, complaint = lastcut("freeze", "stations", file, "--threshold", "28F", "--out", file)
    assert code == 2 and "is one of the files read" in complaint
    assert len(pd.read_csv(file)) == len(DAYS)


@pytest.mark.parametrize(("out", "said"), [(".", "by another name"), ("full/dates.csv", "cannot be written")])
def test_a_table_that_cannot_be_written_is_one_line_and_2(lastcut, station_file, tmp_path, out, said):
    (tmp_path / "full").write_text("a file")
    code, _, complaint = lastcut(
        "freeze", "stations", station_file(record()), "--threshold", "28F", "--quiet", "--out", tmp_path / out
    )
    assert code == 2 and said in complaint.splitlines()[-1] and "Traceback" not in complaint


def test_records_without_a_threshold_and_tables_with_one_are_told_apart(
    lastcut, sample_folder, station_table, tmp_path
):
    dem = ["--dem", sample_folder / "elevation.tif", "--out", tmp_path / "x.tif"]
    code, _, complaint = lastcut("freeze", "surface", sample_folder / "daily_minima.csv.gz", *dem)
    assert code == 2 and "say --threshold 28F" in complaint
    code, _, complaint = lastcut("freeze", "surface", station_table, "--threshold", "28F", *dem)
    assert code == 2 and "holds dates already" in complaint


def test_a_cell_is_never_surer_than_the_stations_own_seasons_make_it(
    lastcut, sample_folder, station_table, tmp_path
):
    out = tmp_path / "x.tif"
    dem = sample_folder / "elevation.tif"
    assert lastcut("freeze", "surface", station_table, "--dem", dem, "--out", out, "--quiet")[0] == 0
    with rasterio.open(out) as layer:
        errors = layer.read(layer.descriptions.index("error_days 0.2") + 1)
    assert errors.min() >= pd.read_csv(station_table)["error_20"].median()
