"""The public archive's own forms, column by column as its readmes say, with readings of a real station.

Forms: NOAA NCEI, readme of GHCN-Daily, sections III (months, .dly) and IV (list of stations); readme of the by-year
files. Readings: NOAA GHCN-Daily, USW00014839, Milwaukee WI (US public domain).
"""

import numpy as np
import pytest

from tests.unit.making import write_text
from tests.unit.station_files import degrees_f, month_line, read, read_text

MILWAUKEE = "USW00014839"
# Minima of 1 to 30 September 1956 in tenths of deg C; 20 September at 30 F is the earliest 32 F freeze on record
# (a climate-office figure, in press copies).
SEPTEMBER = [
    *(133, 117, 161, 144, 133, 72, 50, 83, 72, 128, 111, 100, 139, 94, 100),
    *(106, 72, 39, 17, -11, 33, 117, 83, 56, 111, 111, 106, 89, 111, 56),
]
# 10 to 20 November 2014, when a half was added and the rest cut off below zero, too: 18 F stands as -77, not -78.
NOVEMBER_2014 = [39, -16, -49, -49, -77, -93, -88, -121, -121, -82, -99]
NOVEMBER_2014_F = [39, 29, 23, 23, 18, 15, 16, 10, 10, 17, 14]


def month(values=SEPTEMBER, flags=None, when="1956-09", element="TMIN"):
    return month_line(MILWAUKEE, when, element, dict(enumerate(values, start=1)), flags)


def test_a_months_line_has_its_values_where_the_readme_says():
    line = month(flags={20: "I"})
    assert line[0:11] == MILWAUKEE
    assert (line[11:15], line[15:17], line[17:21]) == ("1956", "09", "TMIN")
    assert line[21:26] == "  133"  # VALUE1, columns 22-26
    assert line[173:178] == "  -11"  # VALUE20, columns 174-178
    assert line[179] == "I"  # QFLAG20, column 180
    assert line[261:266] == "-9999"  # VALUE31, columns 262-266
    assert len(line) == 269


def test_the_earliest_freeze_of_milwaukee_is_read_at_30_f(tmp_path):
    records, wrong, _told = read_text(tmp_path, month() + "\n", name=f"{MILWAUKEE}.dly")
    assert wrong == []
    (record,) = records
    assert (record.station.station, record.unit) == (MILWAUKEE, "tenthsC")
    found = degrees_f(record)
    assert len(found) == 30
    assert found["1956-09-20"] == pytest.approx(30, abs=1e-9)
    np.testing.assert_allclose(found, found.round(), rtol=0, atol=1e-9)
    assert record.tmin_c[record.tmin_c <= 0].index.strftime("%m-%d").tolist() == ["09-20"]


def test_a_value_that_failed_the_archives_checks_is_missing_and_told(tmp_path):
    records, _wrong, told = read_text(tmp_path, month(flags={3: "I", 20: "S"}))
    assert records[0].tmin_c.isna().sum() == 2
    assert np.isnan(records[0].tmin_c["1956-09-20"])
    assert told[0].startswith("station.csv: failed the archive's own checks in 2 readings")


def test_other_elements_and_missing_months_change_nothing(tmp_path):
    lines = [
        month(element="PRCP"),
        month([-9999] * 31, when="1956-08"),
        month(),
        month(element="TMAX", values=[300] * 30),
    ]
    records, wrong, _told = read_text(tmp_path, "\n".join(lines))
    assert wrong == []
    assert (records[0].tmin_c.index[0], len(records[0].tmin_c)) == (np.datetime64("1956-09-01"), 30)


def test_blanks_cut_from_the_end_of_a_line_change_nothing(tmp_path):
    line = month(values=[*SEPTEMBER, -9999]).replace("X", " ").rstrip()
    records, wrong, _told = read_text(tmp_path, line)
    assert wrong == []
    assert degrees_f(records[0])["1956-09-30"] == pytest.approx(42, abs=1e-9)


def test_a_leap_day_is_read_and_a_30th_of_february_is_refused(tmp_path):
    values = [-11, 0, -22, 17] * 7
    records, wrong, _told = read_text(tmp_path, month([*values, -28], when="1956-02"))
    assert wrong == []
    assert records[0].tmin_c["1956-02-29"] == pytest.approx(-25 / 9)  # 27 F
    _records, wrong, _told = read_text(tmp_path, month([*values, -28, -33], when="1956-02"))
    assert wrong == ["station.csv: row 1: date '19560230' is no day. Mend or remove it"]


@pytest.mark.parametrize("width", [60, 240])
def test_a_line_cut_short_is_refused(tmp_path, width):
    _records, wrong, _told = read_text(tmp_path, month(when="1956-08") + "\n" + month()[:width])
    assert wrong == ["station.csv: line 2: is damaged or cut short. Get the file again"]


def test_months_without_minima_are_refused(tmp_path):
    _records, wrong, _told = read_text(tmp_path, month(element="PRCP"))
    assert wrong == ["station.csv: TMIN: is not there: the file has no minima. Give another file"]


def test_months_are_refused_in_another_unit_than_their_own(tmp_path):
    _records, wrong, _told = read_text(tmp_path, month(), unit="F")
    assert len(wrong) == 1
    assert wrong[0].startswith("station.csv: column 'TMIN': is in tenths of deg C by its form, not in deg F")


def by_year(values, month_start, station=MILWAUKEE, flags=None):
    flags = flags or {}
    first = int(month_start)
    return [
        f"{station},{first + place},TMIN,{value},,{flags.get(place, '')},X,0700"
        for place, value in enumerate(values)
    ]


def test_the_by_year_file_of_several_stations_is_read(tmp_path):
    rain = [f"{MILWAUKEE},19560901,PRCP,0,,,X,", "USC00000001,19560901,TMAX,250,,,X,"]
    other = by_year([100, 106], 19560901, station="USC00000001")
    text = "\n".join([*rain, *by_year(SEPTEMBER, 19560901, flags={2: "I"}), *other])
    records, wrong, told = read_text(tmp_path, text, name="1956.csv")
    assert wrong == []
    assert [record.station.station for record in records] == ["USC00000001", MILWAUKEE]
    assert degrees_f(records[1])["1956-09-20"] == pytest.approx(30, abs=1e-9)
    assert np.isnan(records[1].tmin_c["1956-09-03"])
    assert told[0].startswith("1956.csv: failed the archive's own checks in 1 reading ")


def test_one_reading_a_line_with_a_heading_is_read(tmp_path):
    head = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME"
    records, wrong, _told = read_text(
        tmp_path, "\n".join([head, *by_year(SEPTEMBER, 19560901, flags={2: "I"})])
    )
    assert wrong == []
    assert (records[0].station.station, records[0].unit) == (MILWAUKEE, "tenthsC")
    assert records[0].tmin_c.isna().sum() == 1


def test_the_by_station_table_is_read_with_its_place_and_flags(tmp_path):
    names = ("STATION", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME")
    elements = ("TMAX", "TMAX_ATTRIBUTES", "TMIN", "TMIN_ATTRIBUTES")
    head = ",".join(f'"{name}"' for name in (*names, *elements))
    place = f'"{MILWAUKEE}","1956-09-%02d","42.955","-87.9044","204.8","MILWAUKEE MITCHELL AIRPORT, WI US"'
    rows = [
        f'{place % day},"  250",",,W","{value:5d}","{",I,W" if day == 5 else ",,W,2400"}"'
        for day, value in enumerate(SEPTEMBER, start=1)
    ]
    records, wrong, told = read_text(tmp_path, "\n".join([head, *rows]), unit="tenthsC")
    assert wrong == []
    (record,) = records
    assert record.station.name == "MILWAUKEE MITCHELL AIRPORT, WI US"
    assert (record.station.latitude_deg, record.station.longitude_deg) == (42.955, -87.9044)
    assert record.station.elevation_m == 204.8
    assert degrees_f(record)["1956-09-20"] == pytest.approx(30, abs=1e-9)
    assert np.isnan(record.tmin_c["1956-09-05"])
    assert told[0].startswith("station.csv: failed the archive's own checks in 1 reading ")


def test_a_daily_summary_of_several_stations_in_deg_f_is_read(tmp_path):
    head = '"STATION","NAME","LATITUDE","LONGITUDE","ELEVATION","DATE","TMAX","TMIN"'
    rows = [
        f'"{station}","{station}, GA US","33.1","-83.2","120","1956-09-{day:02d}","75","{value * 0.18 + 32:.0f}"'
        for station in ("USC00000001", MILWAUKEE)
        for day, value in enumerate(SEPTEMBER, start=1)
    ]
    records, wrong, _told = read_text(tmp_path, "\n".join([head, *rows]), unit="F")
    assert wrong == []
    assert [record.station.name for record in records] == [
        "USC00000001, GA US",
        f"{MILWAUKEE}, GA US",
    ]
    assert degrees_f(records[1])["1956-09-20"] == pytest.approx(30, abs=1e-9)


def test_deg_f_made_of_tenths_give_their_unit_away_in_a_month(tmp_path):
    # As exported: 30 F, kept as -1.1 deg C, comes out as 30.02.
    rows = [f"1956-09-{day:02d},{value * 0.18 + 32:.2f}" for day, value in enumerate(SEPTEMBER, start=1)]
    assert rows[19] == "1956-09-20,30.02"
    records, wrong, _told = read_text(tmp_path, "\n".join(["date,TMIN", *rows]))
    assert wrong == []
    assert records[0].unit == "F"
    assert records[0].tmin_c["1956-09-20"] == pytest.approx(-10 / 9, abs=1e-12)


def test_tenths_cut_off_below_zero_are_the_whole_degrees_they_were(tmp_path):
    values = dict(enumerate(NOVEMBER_2014, start=10))
    records, wrong, _told = read_text(tmp_path, month_line(MILWAUKEE, "2014-11", "TMIN", values))
    assert wrong == []
    np.testing.assert_allclose(degrees_f(records[0]), NOVEMBER_2014_F, rtol=0, atol=1e-9)


def test_the_archives_list_of_stations_gives_the_places(tmp_path):
    # ID 1-11, latitude 13-20, longitude 22-30, elevation 32-37, state 39-40, name 42-71.
    lines = (
        "USC00000001  33.1000  -83.2000 -999.9 GA TOWN                                       ",
        f"{MILWAUKEE}  42.9550  -87.9044  204.8 WI MILWAUKEE MITCHELL AP              HCN 72640",
    )
    assert (lines[1][12:20], lines[1][21:30], lines[1][31:37]) == (" 42.9550", " -87.9044", " 204.8"[0:6])
    places = write_text(tmp_path / "ghcnd-stations.txt", "\n".join(lines))
    text = "\n".join([*by_year(SEPTEMBER, 19560901), *by_year(SEPTEMBER, 19560901, station="USC00000001")])
    records, wrong, _told = read(write_text(tmp_path / "1956.csv", text), places=places)
    assert wrong == []
    town, milwaukee = (record.station for record in records)
    assert (milwaukee.name, milwaukee.latitude_deg, milwaukee.longitude_deg, milwaukee.elevation_m) == (
        "MILWAUKEE MITCHELL AP",
        42.955,
        -87.9044,
        204.8,
    )
    assert (town.latitude_deg, town.name) == (33.1, "TOWN")
    assert np.isnan(town.elevation_m)
