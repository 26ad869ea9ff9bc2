"""What checks of station records promise: a wrong column, unit or kind of data is refused, and named."""

import numpy as np
import pandas as pd
import pytest

from tests.unit.making import write_text
from tests.unit.station_files import minima_f, read, read_text, table_text, tenths_of

RECORD = minima_f()


def pairs_text(low, high, names="TMIN,TMAX"):
    rows = [f"{day:%Y-%m-%d},{low[day]:g},{high[day]:g}" for day in low.index]
    return "\n".join([f"DATE,{names}", *rows])


def changed(days, values, record=RECORD):
    record = record.copy()
    record[pd.DatetimeIndex(days)] = values
    return record


def test_a_sound_record_passes(tmp_path):
    records, wrong, told = read_text(tmp_path, pairs_text(RECORD, RECORD + 18), unit="F")
    assert len(records) == 1
    assert (wrong, told) == ([], [])


def test_shifted_columns_are_refused_with_the_first_day(tmp_path):
    records, wrong, _told = read_text(tmp_path, pairs_text(RECORD + 18, RECORD))
    assert records == []
    (line,) = wrong
    assert line.startswith(
        "station.csv: station station, column 'TMIN': is over the maximum, 'TMAX', on 730 of 730"
    )
    assert "first on 2010-01-01" in line


def test_a_few_days_over_the_maximum_become_missing_and_are_told(tmp_path):
    days = ["2010-04-01", "2010-05-01", "2011-04-01"]
    records, wrong, told = read_text(tmp_path, pairs_text(RECORD, changed(days, -5.0, RECORD + 18)), unit="F")
    assert wrong == []
    assert records[0].tmin_c[days].isna().all()
    assert records[0].tmin_c.isna().sum() == 3
    assert "column 'TMIN': is over the maximum on 3 days (2010-04-01, 2010-05-01, 2011-04-01)" in told[0]


def test_one_day_more_over_the_maximum_is_refused(tmp_path):
    days = ["2010-04-01", "2010-05-01", "2011-04-01", "2011-05-01"]
    records, wrong, _told = read_text(
        tmp_path, pairs_text(RECORD, changed(days, -5.0, RECORD + 18)), unit="F"
    )
    assert records == []
    assert "on 4 of 730 days, first on 2010-04-01" in wrong[0]


def test_a_minimum_that_equals_the_maximum_is_kept(tmp_path):
    high = (RECORD + 18).where(np.arange(len(RECORD)) % 3 > 0, RECORD)
    records, wrong, _told = read_text(tmp_path, pairs_text(RECORD, high), unit="F")
    assert wrong == []
    assert records[0].tmin_c.notna().all()


def test_one_column_given_twice_is_refused(tmp_path):
    records, wrong, _told = read_text(tmp_path, pairs_text(RECORD, RECORD), unit="F")
    assert records == []
    assert "column 'TMIN': is the same as the maximum, 'TMAX', on 730 of 730 days" in wrong[0]


LONG = minima_f("2001-01-01", "2010-12-31", warm=60)


@pytest.mark.parametrize("year", [2005, 2006, 2008])
@pytest.mark.parametrize("month", ["01", "07"])
def test_a_record_that_changes_its_unit_is_refused(tmp_path, year, month):
    late = LONG.index >= f"{year}-{month}-01"
    text = table_text(LONG.mask(late, (LONG - 32) / 1.8), number="{:.1f}")
    records, wrong, _told = read_text(tmp_path, text)
    assert records == []
    assert "looks as if its unit changes: deg C on one side of" in wrong[0]


def test_tenths_that_become_whole_degrees_are_refused(tmp_path):
    tenths = tenths_of(LONG)
    late = LONG.index >= "2006-01-01"
    _records, wrong, _told = read_text(
        tmp_path, table_text((tenths / 10).mask(~late, tenths)), unit="tenthsC"
    )
    assert "looks as if its unit changes: deg C on one side of" in wrong[0]


def test_a_far_colder_year_is_no_change_of_unit(tmp_path):
    cold = LONG.where(LONG.index.year != 2005, LONG - 15)
    records, wrong, _told = read_text(tmp_path, table_text(cold), unit="F")
    assert wrong == []
    assert records[0].tmin_c.notna().all()


def test_a_spike_of_cold_in_summer_becomes_missing_and_is_told(tmp_path):
    records, wrong, told = read_text(tmp_path, table_text(changed(["2010-08-20"], -60.0)), unit="F")
    assert wrong == []
    assert np.isnan(records[0].tmin_c["2010-08-20"])
    assert records[0].tmin_c.isna().sum() == 1
    assert "lies 25 deg C and more under the days beside it, 1 in all, first -60 on 2010-08-20" in told[0]


@pytest.mark.parametrize(("days", "missing"), [(19, 0), (20, 20)])
def test_a_stuck_thermometer_is_missing_from_20_days_on(tmp_path, days, missing):
    stuck = pd.date_range("2010-08-05", periods=days)
    records, wrong, told = read_text(tmp_path, table_text(changed(stuck, 91.5 - 20)), unit="F")
    assert wrong == []
    assert records[0].tmin_c.isna().sum() == missing
    assert any("is the same on 20 days and more" in line for line in told) == bool(missing)


def test_a_record_made_by_hand_keeps_its_even_days(tmp_path):
    even = changed(["2010-11-03"], 5.0, pd.Series(68.0, index=RECORD.index))
    records, wrong, told = read_text(tmp_path, table_text(even), unit="F")
    assert (wrong, told) == ([], [])
    assert records[0].tmin_c["2010-11-03"] == pytest.approx(-15)
    assert records[0].tmin_c.notna().all()


SOUTHERN = RECORD.set_axis(RECORD.index + pd.Timedelta(days=183))


@pytest.mark.parametrize(
    ("record", "latitude", "line"),
    [
        (SOUTHERN, "", "is coldest from June to August, as south of the equator"),
        (SOUTHERN, "34.5", "is coldest from June to August, as south of the equator"),
        (RECORD, "-34.5", "lies south of the equator, at -34.5, but is coldest from December to February"),
        (SOUTHERN, "-34.5", ""),
        (RECORD, "34.5", ""),
    ],
)
def test_a_winter_of_the_other_half_of_the_world_is_told(tmp_path, record, latitude, line):
    rows = [f"{day:%Y-%m-%d},{latitude},{value:g}" for day, value in record.items()]
    _records, wrong, told = read_text(tmp_path, "\n".join(["DATE,LATITUDE,TMIN", *rows]), unit="F")
    assert wrong == []
    assert [line in one for one in told] == ([True] if line else [])


@pytest.mark.parametrize(("value", "refused"), [(85.0, False), (86.0, True)])
def test_a_minimum_over_85_f_is_refused(tmp_path, value, refused):
    records, wrong, _told = read_text(tmp_path, table_text(changed(["2010-07-20"], value)), unit="F")
    assert bool(wrong) is refused
    assert bool(records) is not refused
    assert not refused or "column 'TMIN': has a minimum of 86 deg F on 2010-07-20, over 85 F" in wrong[0]


def test_maxima_under_the_name_of_minima_are_refused(tmp_path):
    records, wrong, _told = read_text(tmp_path, table_text(RECORD + 22), unit="F")
    assert records == []
    assert "over 85 F" in wrong[0]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (RECORD - 75.3, "would have a warmest month of -2"),
        (minima_f(warm=60, cold=-110, sway=3) + 0.3, "would have a coldest month of -7"),
        (minima_f(warm=60, cold=-62, sway=3) + 0.3, "would have 67 deg C between its months"),
    ],
    ids=["no summer", "too cold", "too wide"],
)
def test_months_that_no_hay_country_has_are_refused(tmp_path, values, words):
    records, wrong, _told = read_text(tmp_path, table_text(values), unit="F")
    assert records == []
    assert len(wrong) == 1
    assert f"column 'TMIN': {words}" in wrong[0]
    assert "from 2010-01-01 on" in wrong[0]


@pytest.mark.parametrize("value", [0.0, 55.0])
def test_a_column_that_never_changes_is_refused(tmp_path, value):
    records, wrong, _told = read_text(tmp_path, table_text(RECORD * 0 + value))
    assert records == []
    assert f"column 'TMIN': is {value:g} on every day from 2010-01-01 on" in wrong[0]


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (
            pd.date_range("2000-01-01", periods=120, freq="MS"),
            "is monthly, from 2000-01-01 on. Give the daily record",
        ),
        (pd.date_range("2000-01-01", periods=120, freq="7D"), "has a value every 7 days, not every day"),
    ],
)
def test_a_record_that_is_not_daily_is_refused(tmp_path, days, words):
    monthly = pd.Series(np.linspace(20, 60, len(days)).round(), index=days)
    records, wrong, _told = read_text(tmp_path, table_text(monthly))
    assert records == []
    assert len(wrong) == 1
    assert words in wrong[0]


def test_hourly_readings_are_refused(tmp_path):
    hours = pd.date_range("2010-01-01", periods=24 * 30, freq="h")
    hourly = pd.Series(30.0 + np.arange(len(hours)) % 24, index=hours)
    records, wrong, _told = read_text(tmp_path, table_text(hourly, form="%Y-%m-%d %H:00"))
    assert records == []
    assert "column 'TMIN': has several readings a day, first on 2010-01-01. Give the daily record" in wrong[0]


def test_a_day_with_two_different_readings_is_refused(tmp_path):
    text = table_text(RECORD, number="{:.0f}") + "2010-03-05,12\n2010-03-06,13\n"
    records, wrong, _told = read_text(tmp_path, text)
    assert records == []
    assert (
        f"column 'TMIN': has {RECORD['2010-03-05']:g} and 12 for 2010-03-05. Keep the right one" in wrong[0]
    )


def test_a_day_that_is_missing_in_one_row_and_read_in_another_is_read(tmp_path):
    text = table_text(RECORD) + "2010-03-05,NA\n"
    records, wrong, _told = read_text(tmp_path, text)
    assert wrong == []
    assert records[0].tmin_c["2010-03-05"] == pytest.approx((RECORD["2010-03-05"] - 32) / 1.8)


def test_the_faults_of_all_stations_are_told_at_once_and_the_sound_ones_stay(tmp_path):
    parts = {"A": RECORD * 0 + 50, "B": RECORD, "C": changed(["2011-02-02"], 99.0)}
    body = [table_text(values, station=name).partition("\n") for name, values in parts.items()]
    text = body[0][0] + "\n" + "".join(rest for _head, _end, rest in body)
    records, wrong, _told = read_text(tmp_path, text, unit="F")
    assert [record.station.station for record in records] == ["B"]
    assert [line[:23] for line in wrong] == ["station.csv: station A, ", "station.csv: station C, "] or len(
        wrong
    ) == 2
    assert "2011-02-02" in wrong[1]


def test_a_station_without_any_minimum_is_left_out_of_several_and_told(tmp_path):
    rain_only = "".join(f"R,{day:%Y-%m-%d},\n" for day in RECORD.index)
    records, wrong, told = read_text(tmp_path, table_text(RECORD, station="A") + rain_only)
    assert wrong == []
    assert [record.station.station for record in records] == ["A"]
    assert told[0] == "station.csv: station R: has no minimum at all. It is left out"


def test_one_file_in_tenths_and_one_in_degrees_f_are_each_read_in_their_own(tmp_path):
    paths = [
        write_text(tmp_path / "north.csv", table_text(RECORD)),
        write_text(tmp_path / "south.csv", table_text(tenths_of(RECORD))),
    ]
    records, wrong, _told = read(*paths)
    assert wrong == []
    assert [record.unit for record in records] == ["F", "tenthsC"]
    np.testing.assert_allclose(records[0].tmin_c, records[1].tmin_c, rtol=0, atol=1e-9)
