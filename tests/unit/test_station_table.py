"""What reading stations with their freeze dates promises."""

import json

import numpy as np
import pytest

from spatial.inputs.checks import Report
from spatial.inputs.stations.table import read_station_table
from tests.unit.making import lines_of, write_text

HEADING = "station,latitude,longitude,elevation_m,threshold_c,valid_seasons,no_freeze_share,day_20,day_50,error_50\n"
TWO = HEADING + "b,32.5,-83.5,100,-2.2,30,0,90,100.5,2.5\na,33,-83,120,-2.2,28,0.4,95,never,\n"


def read(path):
    report = Report()
    return read_station_table(path, report), lines_of(report.wrong), lines_of(report.told)


def table(tmp_path, text):
    found, wrong, told = read(write_text(tmp_path / "s.csv", text))
    assert (wrong, told) == ([], [])
    return found


def refusals(tmp_path, text):
    return read(write_text(tmp_path / "s.csv", text))[1]


def test_a_table_is_sorted_on_its_stations(tmp_path):
    found = table(tmp_path, TWO)
    assert found.index.tolist() == ["a", "b"]
    assert found.index.name == "station"
    assert found.loc["b", ["latitude", "longitude", "elevation_m", "valid_seasons"]].tolist() == [
        32.5,
        -83.5,
        100,
        30,
    ]
    assert found.loc["b", ["day_20", "day_50", "error_50"]].tolist() == [90, 100.5, 2.5]
    assert found["threshold_c"].tolist() == [-2.2, -2.2]
    assert found["season_start"].tolist() == ["08-01", "08-01"]
    assert np.isnan(found[["coast_km", "day_10", "day_90", "error_20"]].to_numpy(float)).all()


@pytest.mark.parametrize("never", ["never", "Never", "999", "999.0", "inf"])
def test_not_reached_is_not_unknown(tmp_path, never):
    found = table(tmp_path, TWO.replace("never", never))
    assert found.loc["a", "day_50"] == np.inf
    assert np.isnan(table(tmp_path, TWO.replace("never", "")).loc["a", "day_50"])


def test_feet_and_degrees_f_come_in_metres_and_degrees_c(tmp_path):
    text = (
        TWO.replace("elevation_m", "elevation_ft").replace("threshold_c", "threshold_f").replace("-2.2", "28")
    )
    found = table(tmp_path, text)
    assert found.loc["b", "elevation_m"] == pytest.approx(30.48)
    assert found.loc["b", "threshold_c"] == pytest.approx(-2.2222, abs=1e-4)


@pytest.mark.parametrize(
    ("latitude", "month_day", "day"),
    # Counted by hand: August has 31 days, September 30, October 31; from 1 August to 1 January are 153 days.
    [
        ("32.5", "08-01", 0),
        ("32.5", "11-01", 92),
        ("32.5", "1/01", 153),
        ("-32.5", "02-01", 0),
        ("-32.5", "06-01", 120),
    ],
)
def test_a_month_and_day_is_counted_from_the_seasons_first_day(tmp_path, latitude, month_day, day):
    text = f"station,latitude,longitude,threshold_c,freeze_10\na,{latitude},20,-2.2,{month_day}\n"
    assert table(tmp_path, text).loc["a", "day_10"] == day


def test_the_seasons_first_day_may_be_said(tmp_path):
    text = "station,latitude,longitude,threshold_c,season_start,freeze_10\na,33,-83,-2.2,07-01,08-01\n"
    assert table(tmp_path, text).loc["a", ["season_start", "day_10"]].tolist() == ["07-01", 31]


def test_the_share_without_freeze_follows_from_what_is_not_reached(tmp_path):
    text = TWO.replace("28,0.4,", "28,,")
    found, wrong, told = read(write_text(tmp_path / "s.csv", text))
    assert wrong == []
    assert found.loc["a", "no_freeze_share"] == pytest.approx(0.65)  # 0.2 is reached, 0.5 is not
    assert len(told) == 1
    assert told[0].startswith("s.csv: station a: says no share without a freeze")


def printed(**changed):
    station = {
        "id": "USW1",
        "name": "One",
        "latitude": 44.0,
        "longitude": -72.0,
        "elevation_m": 180.0,
        "threshold_c": -2.2222,
        "season_start": "08-01",
        "valid_seasons": 30,
        "invalid_seasons": 0,
        "no_freeze_share": 0.3,
        "chances": {
            "0.1": {"month_day": "10-03", "day": 63.3, "se_days": 2.1},
            "0.5": {"month_day": "10-15", "day": 75.0, "se_days": None},
            "0.9": None,
        },
        "earliest": None,
    }
    return {"stations": [station | changed]}


def test_what_the_stations_command_prints_is_read(tmp_path):
    found, wrong, told = read(write_text(tmp_path / "s.json", json.dumps(printed())))
    assert (wrong, told) == ([], [])
    row = found.loc["USW1"]
    assert row[["latitude", "longitude", "elevation_m", "no_freeze_share"]].tolist() == [
        44.0,
        -72.0,
        180.0,
        0.3,
    ]
    assert row[["day_10", "error_10", "day_50", "day_90"]].tolist() == [63.3, 2.1, 75.0, np.inf]
    assert np.isnan(row[["error_50", "day_20"]].to_numpy(float)).all()


@pytest.mark.parametrize("text", ["{", "[]", '{"stations": [{"name": "no id"}]}', '{"stations": 3}', "null"])
def test_other_json_is_refused(tmp_path, text):
    _, wrong, _ = read(write_text(tmp_path / "s.json", text))
    assert "is not what lastcut freeze stations --json prints" in wrong[0]


def test_a_printed_chance_that_is_null_is_never_only_where_it_says_so(tmp_path):
    both = {"chances": {"0.1": None, "0.9": None}, "not_reached": ["0.9"]}
    found, _, _ = read(write_text(tmp_path / "s.json", json.dumps(printed(**both))))
    assert np.isnan(found["day_10"].iloc[0]) and np.isposinf(found["day_90"].iloc[0])


def test_a_printed_station_without_a_place_is_refused(tmp_path):
    _, wrong, _ = read(write_text(tmp_path / "s.json", json.dumps(printed(latitude=None))))
    assert wrong == ["s.json: station USW1: has no latitude or longitude. Give its place, or leave it out"]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("a,33,", "b,33,", "station 'b': stands in 2 rows"),
        ("a,33,", "a,95,", "latitude = '95': is not a possible number here"),
        ("a,33,", "a,,", "station a: has no latitude or longitude"),
        ("-2.2,28", "0,28", "threshold: is -2.2 deg C and 0.0 deg C"),
        ("0.4,95,never,", "0.4,,,", "station a: has no date for any chance"),
        ("95,never", "95,soon", "day_50 = 'soon': is no day of a season"),
        ("95,never", "95,400", "day_50 = '400': is no day of a season"),
        ("95,never", "95,80", "station a: has an earlier date for a higher chance"),
        ("28,0.4", "28,40", "no_freeze_share = '40': is not a possible number here"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path, old, new, said):
    assert old in TWO
    assert any(said in line for line in refusals(tmp_path, TWO.replace(old, new)))


def test_all_that_is_wrong_is_said_at_once(tmp_path):
    text = TWO.replace("a,33,", "b,,").replace("95,never", "95,soon").replace("-2.2,28", "0,28")
    assert len(refusals(tmp_path, text)) == 4


def test_a_table_without_stations_or_a_place_for_them_is_refused(tmp_path):
    assert any(
        "column 'latitude': is not there" in line for line in refusals(tmp_path, "station,day_50\na,100\n")
    )
    assert refusals(tmp_path, HEADING) == ["s.csv: has no station. Give 5 at least, better 30 and more"]


def test_two_first_days_of_a_season_are_refused(tmp_path):
    text = TWO.replace("b,32.5", "b,-32.5")
    assert any("season_start: is 02-01 and 08-01" in line for line in refusals(tmp_path, text))
