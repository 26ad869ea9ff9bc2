"""What reading weather-station files promises."""

import gzip

import numpy as np
import pandas as pd
import pytest

from spatial.inputs.stations.whole_degrees import in_whole_degrees_f
from tests.unit.making import write_text, zipped
from tests.unit.station_files import degrees_f, minima_f, months_text, read, read_text, table_text, tenths_of

RECORD = minima_f()
TEXT = table_text(RECORD)


def same_record(records, expected=RECORD):
    (record,) = records
    np.testing.assert_allclose(degrees_f(record).to_numpy(), expected.to_numpy(), rtol=0, atol=1e-9)
    assert degrees_f(record).index.equals(pd.DatetimeIndex(expected.index))
    return record


def test_a_table_of_days_and_minima_is_read(tmp_path):
    records, wrong, _told = read_text(tmp_path, TEXT, name="hill.csv")
    assert wrong == []
    assert same_record(records).station.station == "hill"


def with_parts(values):
    rows = [f"{day.year},{day.month:02d},{day.day},{value:g}" for day, value in values.items()]
    return "\n".join(["Year,Month,Day,Min Temp (F)", *rows])


def with_days_of_year(values):
    rows = [f"{day.year},{day.day_of_year},{value:g}" for day, value in values.items()]
    return "\n".join(["YEAR,DOY,TMIN", *rows])


def reading_lines(values):
    return [f"USC00000001,{day:%Y%m%d},TMIN,{tenths},,,7," for day, tenths in tenths_of(values).items()]


OTHER_NAMES = (
    *("MinTempF", "tminF", "AirTMin", "Daily Minimum Air Temperature (F)", "Lowest temp", "Temp_Air_Min"),
    "Min Temp of the day (°F)",
)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + TEXT,
        TEXT.replace("\n", "\r\n"),
        TEXT.replace(",", ";"),
        TEXT.replace(",", "\t"),
        table_text(RECORD, separator=";", number="{:.1f}").replace(".", ","),
        table_text(RECORD, form="%Y%m%d"),
        table_text(RECORD, form="%m/%d/%Y"),
        table_text(RECORD, form="%d.%m.%Y"),
        table_text(RECORD, form="%Y-%m-%dT00:00:00"),
        "# from the logger\n\n" + TEXT,
        table_text(RECORD[::-1]),
        TEXT + "\n\n",
        TEXT + TEXT.partition("\n")[2],
        table_text(RECORD, column="Minimum Temperature (°F)"),
        table_text(RECORD, column="min_temp"),
        with_parts(RECORD),
        table_text(tenths_of(RECORD)),
        table_text(tenths_of(RECORD) / 10, number="{:.1f}"),
        table_text(tenths_of(RECORD) * 0.18 + 32, number="{:.2f}"),
        months_text(tenths_of(RECORD)),
        "Station report\nElevation: 220 m\n\nLat:,40.1\nUnits:,F\n" + TEXT,
        TEXT.replace("TMIN\n", "TMIN\nyyyy-mm-dd,deg F\n", 1),
        TEXT + "# end of the record\n",
        TEXT + "2011-02-29,\n2011-04-31,-9999\n",
        TEXT.replace("\n", ",\n").replace("TMIN,", "TMIN", 1),
        TEXT.replace(",", "   "),
        TEXT + "\x1a",
        table_text(RECORD, form="%d-%b-%Y"),
        table_text(RECORD, form="%B %d %Y"),
        table_text(RECORD, form="%b %d %Y"),
        table_text(RECORD, form="%Y%m%d.0"),
        with_days_of_year(RECORD),
        *(table_text(RECORD, column=name) for name in OTHER_NAMES),
        table_text(tenths_of(RECORD), column="TMIN(0.1 deg C)"),
        months_text(tenths_of(RECORD)).lower(),
        months_text(tenths_of(RECORD)) + "\x1a",
        "\n".join(reading_lines(RECORD)).lower(),
    ],
    ids=[
        *(
            "byte order mark",
            "windows ends",
            "semicolons",
            "tabs",
            "decimal comma",
            "eight digits",
            "month first",
        ),
        *("day first", "with time", "remarks above", "last day first", "blank lines", "every day twice"),
        *("long heading", "other heading", "year month day", "tenths", "deg C", "deg F of tenths", "months"),
        *("remarks above without a mark", "a row of units", "a remark below", "no days of the calendar"),
        *("an empty last column", "spaces", "end mark", "day and month named", "month named at length"),
        *("month named in short", "a day with a point", "days of the year", *OTHER_NAMES, "tenths by name"),
        *("months in small letters", "months with an end mark", "readings in small letters"),
    ],
)
def test_the_ways_of_writing_a_record_change_nothing(tmp_path, text):
    records, wrong, _told = read_text(tmp_path, text)
    assert wrong == []
    same_record(records)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "latin-1"])
def test_other_encodings_are_read(tmp_path, encoding):
    path = write_text(tmp_path / "peña.csv", table_text(RECORD, station="Peña"), encoding=encoding)
    assert same_record(read(path)[0]).station.station == "Peña"


def test_packed_files_are_read(tmp_path):
    plain = write_text(tmp_path / "hill.csv", TEXT)
    packed = tmp_path / "hill.csv.gz"
    packed.write_bytes(gzip.compress(TEXT.encode()))
    for path in (packed, zipped(tmp_path / "hill.zip", plain)):
        assert same_record(read(path)[0]).station.station == "hill"


def test_the_station_is_named_by_the_archives_id_in_the_file_name(tmp_path):
    records, _wrong, _told = read_text(tmp_path, TEXT, name="ghcnd_Some_Town_USW00014839.csv")
    assert records[0].station.station == "USW00014839"


def test_several_stations_of_a_file_are_read_apart(tmp_path):
    other = minima_f(warm=70, cold=40, seed=2)
    text = table_text(RECORD, station="B") + table_text(other, station="A").partition("\n")[2]
    records, wrong, _told = read_text(tmp_path, text)
    assert wrong == []
    assert [record.station.station for record in records] == ["A", "B"]
    same_record(records[1:])
    same_record(records[:1], other)


def test_a_station_goes_on_from_file_to_file(tmp_path):
    paths = [
        write_text(tmp_path / f"USC00000001_{year}.csv", table_text(RECORD[str(year)]))
        for year in (2011, 2010)
    ]
    records, wrong, _told = read(*paths)
    assert wrong == []
    same_record(records)


def test_two_files_of_one_name_are_not_taken_for_one_station(tmp_path):
    paths = [
        write_text(tmp_path / str(year) / "daily.csv", table_text(RECORD[str(year)])) for year in (2010, 2011)
    ]
    _records, wrong, _told = read(*paths)
    assert wrong == [
        "daily: is the name of 2 files without a column of stations. Name each file for its station"
    ]


def test_a_row_of_units_says_the_unit(tmp_path):
    text = "DATE,TMIN\n-,°C\n" + table_text(tenths_of(RECORD) / 10, number="{:.1f}").partition("\n")[2]
    records, wrong, told = read_text(tmp_path, text)
    assert wrong == []
    assert records[0].unit == "C"
    assert not any("as its values show" in line for line in told)
    same_record(records)


def test_a_spreadsheet_is_named(tmp_path):
    inner = write_text(tmp_path / "[Content_Types].xml", "<Types/>")
    _records, wrong, _told = read(zipped(tmp_path / "hill.xlsx", inner))
    assert wrong == ["hill.xlsx: is a spreadsheet. Save its sheet as CSV"]


def test_soil_and_grass_minima_are_no_minima_of_the_air(tmp_path):
    _records, wrong, _told = read_text(tmp_path, table_text(RECORD, column="Min Soil Temp (F)"))
    assert "has no column of daily minima" in wrong[0]


@pytest.mark.parametrize(
    "word",
    ["#N/A", "T", "missing", "---", "?", "99999", "-6999", "NA", "", "M", "-9999", "9999", "-9999.0", "NaN"],
)
def test_a_missing_reading_is_missing_and_its_day_stays(tmp_path, word):
    line = f"2010-03-05,{RECORD['2010-03-05']:g}\n"
    records, wrong, _told = read_text(tmp_path, TEXT.replace(line, f"2010-03-05,{word}\n"))
    assert wrong == []
    assert np.isnan(records[0].tmin_c["2010-03-05"])
    assert records[0].tmin_c.isna().sum() == 1


def test_a_day_that_is_not_in_the_file_is_a_missing_day(tmp_path):
    records, _wrong, _told = read_text(tmp_path, table_text(RECORD.drop(pd.Timestamp("2010-03-05"))))
    assert np.isnan(records[0].tmin_c["2010-03-05"])
    assert len(records[0].tmin_c) == 730


def test_columns_are_found_as_the_user_says(tmp_path):
    text = TEXT.replace("DATE,TMIN", "WHEN,GRASS")
    records, wrong, told = read_text(tmp_path, text, columns={"date": "WHEN", "tmin_f": "GRASS"})
    assert wrong == []
    assert told == []
    same_record(records)


def test_a_minimum_said_in_another_unit_than_its_maximum_is_compared_in_one(tmp_path):
    rows = [f"{day:%Y-%m-%d},{value:g},{(value - 22) / 1.8:.1f}" for day, value in RECORD.items()]
    records, wrong, _told = read_text(tmp_path, "\n".join(["DATE,TMIN_F,TMAX_C", *rows]))
    assert wrong == []
    same_record(records)


@pytest.mark.parametrize(
    ("values", "unit", "word"),
    [
        (RECORD, "F", "deg F"),
        (tenths_of(RECORD), "tenthsC", "tenths of deg C"),
        (tenths_of(RECORD) / 10, "C", "deg C"),
        (minima_f(warm=55, cold=-20), "F", "deg F"),
        (tenths_of(minima_f(warm=55, cold=-20)), "tenthsC", "tenths of deg C"),
        (tenths_of(minima_f(warm=55, cold=-20)) / 10, "C", "deg C"),
        (minima_f(warm=74, cold=58, sway=3), "F", "deg F"),
        (tenths_of(minima_f(warm=74, cold=58, sway=3)), "tenthsC", "tenths of deg C"),
        ((tenths_of(minima_f(warm=74, cold=58, sway=3)) / 10).round(), "C", "deg C"),
        (minima_f(last="2010-03-20"), "F", "deg F"),
        (tenths_of(minima_f(last="2010-03-20")), "tenthsC", "tenths of deg C"),
        (tenths_of(minima_f(last="2010-01-25")) / 10, "C", "deg C"),
    ],
    ids=[
        *("mild, F", "mild, tenths", "mild, C", "cold, F", "cold, tenths", "cold, C"),
        *("warm, F", "warm, tenths", "warm, whole C", "a winter, F", "a winter, tenths", "24 days, C"),
    ],
)
def test_the_unit_is_found_in_the_values_and_told(tmp_path, values, unit, word):
    records, wrong, told = read_text(tmp_path, table_text(values))
    assert wrong == []
    assert records[0].unit == unit
    assert f"column 'TMIN': is read in {word}, as its values show" in told[0]


@pytest.mark.parametrize(
    "values",
    [
        minima_f(last="2010-03-20", cold=0, sway=5),
        (tenths_of(minima_f(last="2010-03-20")) / 10).round(),
        minima_f(first="2010-06-20", last="2010-07-10", sway=2),
    ],
    ids=["a cold winter in F", "a winter in whole C", "three weeks"],
)
def test_a_unit_that_cannot_be_known_is_asked_for(tmp_path, values):
    records, wrong, _told = read_text(tmp_path, table_text(values))
    assert records == []
    (line,) = wrong
    assert line.startswith("station.csv: column 'TMIN': does not show its unit")
    assert "Say --unit F, C or tenthsC" in line


@pytest.mark.parametrize(
    ("values", "stated", "known"),
    [
        (RECORD, "C", "deg F"),
        (RECORD, "tenthsC", "deg F"),
        (tenths_of(RECORD), "F", "tenths of deg C"),
        (tenths_of(RECORD) / 10, "F", "deg C"),
        (tenths_of(RECORD) / 10, "tenthsC", "deg C"),
    ],
)
def test_a_stated_unit_that_the_values_speak_against_is_refused(tmp_path, values, stated, known):
    records, wrong, _told = read_text(tmp_path, table_text(values), unit=stated)
    assert records == []
    assert len(wrong) == 1
    assert wrong[0].startswith("station.csv: column 'TMIN': is said to be in ")
    assert f"its values are those of {known}" in wrong[0]


def test_a_stated_unit_is_kept_where_the_values_allow_it(tmp_path):
    winter = minima_f(last="2010-03-20", cold=0, sway=5)
    records, wrong, told = read_text(tmp_path, table_text(winter), unit="F")
    assert (wrong, told) == ([], [])
    same_record(records, winter)


def test_a_unit_against_the_columns_own_name_is_refused(tmp_path):
    _records, wrong, _told = read_text(tmp_path, table_text(RECORD, column="TMIN_F"), unit="C")
    assert wrong == [
        "station.csv: column 'TMIN_F': is in deg F by its name, not in deg C. Leave out --unit, or rename the column"
    ]


def test_an_unknown_unit_is_refused_with_those_known(tmp_path):
    _records, wrong, _told = read_text(tmp_path, TEXT, unit="K")
    assert wrong == ["--unit: is 'K'. Use one of: F, C, tenthsC"]


def test_what_was_brought_back_to_whole_degrees_is_told(tmp_path):
    _records, _wrong, told = read_text(tmp_path, table_text(tenths_of(RECORD)), unit="tenthsC")
    assert len(told) == 1
    assert told[0].startswith(
        "station.csv: was read in whole deg F, at station station. Those readings stand"
    )


def test_metric_readings_stay_as_they_are():
    tenths = np.random.default_rng(3).integers(-150, 200, 400)
    metric = pd.Series(tenths / 10, index=pd.date_range("2010-01-01", periods=400))
    pd.testing.assert_series_equal(in_whole_degrees_f(metric), metric)


def test_whole_degrees_are_decided_year_by_year():
    metric = pd.Series(-2.2, index=pd.date_range("2011-01-01", "2011-12-31")) + np.tile(
        [0, 0.1, 0.2, 0.3, 0.4], 73
    )
    whole = pd.Series(-2.2, index=pd.date_range("2010-01-01", "2010-12-31"))
    found = in_whole_degrees_f(pd.concat([whole, metric.round(1)]))
    assert found["2010"].round(6).unique().tolist() == [-2.222222]
    pd.testing.assert_series_equal(found["2011"], metric.round(1), check_freq=False)


def test_a_reading_that_is_no_whole_degree_stays_in_a_year_of_whole_degrees():
    year = pd.Series(-2.2, index=pd.date_range("2010-01-01", "2010-12-31"))
    year["2010-05-05"] = 10.2  # 50.36 F
    found = in_whole_degrees_f(year)
    assert found["2010-05-05"] == 10.2
    assert found["2010-05-06"] == pytest.approx(-20 / 9, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "station.csv: is empty"),
        ("\n\n", "station.csv: is empty"),
        ("DATE,TMIN\n", "station.csv: has a heading but no rows"),
        ("DATE,TAVG\n2010-01-01,5\n", "station.csv: TMIN: has no column of daily minima"),
        ("STATION,TMIN\nA,5\n", "station.csv: DATE: has no column of days"),
        (TEXT.replace("2010-02-28", "2010-02-30"), "column 'DATE', row 60: '2010-02-30' is no day"),
        (TEXT.replace("2010-02-28", ""), "column 'DATE', row 60: is empty"),
        (with_parts(RECORD).replace("2010,02,28", "2010,02,29"), "date, row 60: '2010-02-29' is no day"),
        (TEXT + "2012-01-01,cold\n", "column 'TMIN', row 732: 'cold' is no number"),
        (TEXT + "2012-01-01,3,4,5\n", "row 732: has more values than there are headings, which are 2"),
        (TEXT.replace("DATE,TMIN", "TMIN,TMIN"), "has the heading TMIN more than once"),
        ("DATE,TMIN\n01/02/2010,5\n02/02/2010,6\n", "column 'DATE': may be month/day or day/month"),
        ("DATE,TMIN\n2010-01,5\n2010-02,6\n", "column 'DATE': has months, not days"),
        ("YEAR,MONTH,TMIN\n2010,1,5\n", "station.csv: MONTH: is monthly: it has no day"),
        ("DATE,TMIN\n2010-01-01,NA\n2010-01-02,\n", "column 'TMIN': has no minimum: every one is missing"),
        ("a\0b\n", "station.csv: is not text"),
        ("DATE,TMIN\n09/14/01,5\n", "column 'DATE': has years of two digits, as '09/14/01'"),
        ("<!DOCTYPE html><html></html>\n", "station.csv: is a web page, not a table"),
        ('[{"date": "2010-01-01"}]\n', "station.csv: is JSON, not a table"),
        (TEXT + "Mean,45.2\n", "column 'DATE', row 732: 'Mean' is no day"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_in_one_line(tmp_path, text, line):
    records, wrong, _told = read_text(tmp_path, text)
    assert records == []
    assert len(wrong) == 1
    assert line in wrong[0]


@pytest.mark.parametrize(
    ("columns", "line"),
    [
        ({"tmin": "TMAX"}, "column 'TMAX' for 'tmin': is named as a maximum"),
        ({"tmin": "LOW"}, "column 'LOW' for 'tmin': is not there. The file has: DATE, TMIN, TMAX"),
        ({"minimum": "TMIN"}, "columns: 'minimum' is not a column lastcut knows. Use one of: date, year"),
    ],
)
def test_a_column_that_cannot_be_the_one_said_is_refused(tmp_path, columns, line):
    text = "DATE,TMIN,TMAX\n2010-01-01,20,40\n"
    _records, wrong, _told = read_text(tmp_path, text, columns=columns)
    assert len(wrong) == 1
    assert line in wrong[0]


@pytest.mark.parametrize("name", ["station.csv.gz", "station.zip"])
def test_a_damaged_packed_file_is_refused(tmp_path, name):
    path = tmp_path / name
    good = gzip.compress(TEXT.encode()) if name.endswith("gz") else b"PK\x03\x04" + TEXT.encode()
    path.write_bytes(good[:200])
    assert [line.startswith(f"{name}: cannot be read") for line in read(path)[1]] == [True]


def test_a_file_that_is_not_there_and_one_that_is_bad_are_told_together(tmp_path):
    bad = write_text(tmp_path / "bad.csv", "DATE,TAVG\n2010-01-01,5\n")
    good = write_text(tmp_path / "good.csv", TEXT)
    records, wrong, _told = read(tmp_path / "none.csv", bad, good)
    assert wrong[0] == "none.csv: is not there. Check its name"
    assert wrong[1].startswith("bad.csv: TMIN: has no column of daily minima")
    same_record(records)


def test_a_place_in_the_file_is_read(tmp_path):
    rows = [f"A,Hill,35.5,-84.25,1000,{day:%Y-%m-%d},{value:g}" for day, value in RECORD.items()]
    text = "\n".join(["STATION,NAME,LATITUDE,LONGITUDE,ELEVATION_FT,DATE,TMIN", *rows])
    station = read_text(tmp_path, text)[0][0].station
    assert (station.name, station.latitude_deg, station.longitude_deg) == ("Hill", 35.5, -84.25)
    assert station.elevation_m == pytest.approx(304.8)


def test_a_place_that_nobody_tells_is_nan(tmp_path):
    station = read_text(tmp_path, TEXT)[0][0].station
    assert np.isnan([station.latitude_deg, station.longitude_deg, station.elevation_m]).all()


def test_places_come_from_a_table(tmp_path):
    places = write_text(tmp_path / "places.csv", "Station,Lat,Lon,Elev (m)\nhill,35.5,-84.25,305\n")
    records, wrong, _told = read_text(tmp_path, TEXT, name="hill.csv", places=places)
    assert wrong == []
    station = records[0].station
    assert (station.latitude_deg, station.longitude_deg, station.elevation_m) == (35.5, -84.25, 305)


def test_a_station_that_the_places_do_not_have_is_told(tmp_path):
    places = write_text(tmp_path / "places.csv", "station,latitude,longitude\nvale,35.5,-84.25\n")
    _records, wrong, told = read_text(tmp_path, TEXT, name="hill.csv", places=places)
    assert wrong == []
    assert told[-1] == "places.csv: does not have station hill. Their place is not known from it"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "station,longitude\nhill,-84\n",
            "places.csv: has no column latitude. The file has columns station, longitude",
        ),
        (
            "station,lat,lon\nhill,95,-84\n",
            "places.csv: row 2: '95' is no latitude. It lies between -90 and 90",
        ),
        (
            "station,lat,lon\nhill,x,-84\n",
            "places.csv: row 2: 'x' is no latitude. It lies between -90 and 90",
        ),
        ("station,lat,lon\nhill,35,-84\nhill,36,-84\n", "places.csv: station 'hill': stands in two places"),
    ],
)
def test_places_that_cannot_be_are_refused(tmp_path, text, line):
    places = write_text(tmp_path / "places.csv", text)
    _records, wrong, _told = read_text(tmp_path, TEXT, name="hill.csv", places=places)
    assert len(wrong) == 1
    assert wrong[0].startswith(line)
