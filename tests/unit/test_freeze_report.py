import dataclasses
import json
import math
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from maps.freeze import words
from maps.freeze.layer_report import surface_document, surface_lines
from maps.freeze.station_report import station_lines, station_rows, stations_document, write_station_rows
from spatial.climate.surface.stations_to_grid import Surface
from spatial.daily import Station, StationDates, Trend
from spatial.freeze_surface import SurfaceLayer
from spatial.reasons import reason

PLACE = Station("X1", "Made Up", 33.5, -84.25, 301.5)
CHANCES = (0.1, 0.2, 0.5, 0.9)
AUGUST_FIRST = date(2001, 8, 1)


def seasons_of(**days):
    """Return a table of seasons from their freeze days: y1995=92 is the season that begins in 1995."""
    years = [int(name[1:]) for name in days]
    froze = [day if np.isfinite(day) else np.nan for day in days.values()]
    start = [np.datetime64(f"{year}-08-01") for year in years]
    dates = pd.to_datetime(start) + pd.to_timedelta(froze, unit="D")
    return pd.DataFrame(
        {
            "freeze_day": list(days.values()),
            "freeze_date": dates,
            "freeze_tmin_c": np.where(np.isfinite(froze), -20 / 9, np.nan),
            "missing_days": [14 if math.isnan(day) else 0 for day in days.values()],
        },
        index=pd.Index(years, name="season"),
    )


SEASONS = seasons_of(y1991=92, y1992=51, y1993=np.inf, y1994=51, y1995=np.nan, y1996=100)


def made(**changes):
    """Return the dates of a station with 5 of 6 seasons valid, one of them without a freeze."""
    usual = {
        "station": PLACE,
        "threshold_c": -20 / 9,
        "season_start": (8, 1),
        "origin": "daily",
        "period": (1991, 1996),
        "valid_seasons": 5,
        "invalid_seasons": 1,
        "no_freeze_share": 0.2,
        "chances": CHANCES,
        "days": np.array([51.0, 58.9, 92.34, np.inf]),
        "error_days": np.array([2.14, 0.2, np.nan, np.nan]),
        "seasons": SEASONS,
        "trend": Trend(0.12, -0.05, 0.3, 4),
        "file": "x.csv",
        "told": (reason("station_few_seasons", seasons=5),),
    }
    return StationDates(**usual | changes)


def entry(**changes):
    document = stations_document([made(**changes)])
    json.dumps(document, allow_nan=False)  # raises for NaN and infinity
    return document["stations"][0]


def normals(days, season_start=(8, 1)):
    none = np.full(len(days), np.nan)
    chances = tuple(np.linspace(0.1, 0.9, len(days)))
    return made(
        origin="normals",
        period=(1991, 2020),
        seasons=pd.DataFrame(),
        trend=None,
        chances=chances,
        days=np.array(days, dtype=float),
        error_days=none,
        no_freeze_share=np.nan,
        season_start=season_start,
    )


def test_the_document_says_where_what_and_which_seasons():
    found = entry()
    assert [found[name] for name in ("id", "name", "latitude", "longitude", "elevation_m")] == [
        "X1", "Made Up", 33.5, -84.25, 301.5,
    ]  # fmt: skip
    assert (found["threshold_c"], found["threshold_f"], found["season_start"]) == (-2.2222, 28.0, "08-01")
    assert (found["origin"], found["seasons"]) == ("daily", [1991, 1996])
    assert (found["valid_seasons"], found["invalid_seasons"], found["no_freeze_share"]) == (5, 1, 0.2)
    assert found["no_freeze_seasons"] == [1993]
    why = "14 daily minima missing before a freeze, more than 10"
    assert found["invalid"] == [{"season": 1995, "missing_days": 14, "why": why}]


def test_a_chance_has_month_and_day_rounded_down_and_its_error():
    chances = entry()["chances"]
    # 1 August + 51 days is 21 September; + 58 is 28 September; + 92 is 1 November.
    assert chances["0.1"] == {"month_day": "09-21", "day": 51.0, "se_days": 2.1}
    assert chances["0.2"] == {"month_day": "09-28", "day": 58.9, "se_days": 0.2}
    assert chances["0.5"] == {"month_day": "11-01", "day": 92.3, "se_days": None}


def test_not_reached_and_not_known_are_null_and_told_apart():
    found = entry(days=np.array([np.nan, 58.0, 92.0, np.inf]))
    assert found["chances"]["0.1"] is found["chances"]["0.9"] is None
    assert found["not_reached"] == ["0.9"]
    assert found["told"] == ["Only 5 seasons are valid, so the errors are wide."]


def test_earliest_and_latest_have_their_date_and_temperature_and_of_equal_ones_the_first_is_named():
    found = entry()
    assert (found["earliest"], found["earliest_tmin_c"], found["earliest_tmin_f"]) == (
        "1992-09-21",
        -2.22,
        28.0,
    )
    assert (found["latest"], found["latest_tmin_f"]) == ("1996-11-09", 28.0)


def test_without_any_freeze_there_is_no_earliest():
    found = entry(seasons=seasons_of(y1991=np.inf, y1992=np.inf), no_freeze_share=1.0, trend=None)
    assert found["earliest"] is found["latest"] is found["earliest_tmin_c"] is found["trend"] is None


def test_a_trend_is_told_in_days_a_decade():
    assert entry()["trend"] == {"days_per_decade": 1.2, "low": -0.5, "high": 3.0, "seasons": 4}


def test_what_is_not_known_of_a_place_is_null():
    found = entry(station=Station("X2"))
    assert found["latitude"] is found["longitude"] is found["elevation_m"] is None


# NOAA NCEI, 1991-2020 normals, Lebanon NH (USW00094765), 28 F, P10 to P90; and 2006-2020, Westchester NY
# (USW00094745), 16 F, whose P10 and P90 lie on both sides of New Year.
LEBANON_28F = ("10-03", "10-07", "10-10", "10-13", "10-15", "10-18", "10-22", "10-26", "11-01")
WESTCHESTER_16F = ("12-02", "01-13")


@pytest.mark.parametrize("printed", [LEBANON_28F, WESTCHESTER_16F])
def test_official_dates_come_out_as_they_were_printed(printed):
    months = [date(2001 + (text < "08"), int(text[:2]), int(text[3:])) for text in printed]
    dates = normals([(day - AUGUST_FIRST).days for day in months])
    chances = stations_document([dates])["stations"][0]["chances"]
    assert tuple(one["month_day"] for one in chances.values()) == printed


def test_no_season_has_a_29_february():
    dates = normals(list(range(365)))
    shown = [one["month_day"] for one in stations_document([dates])["stations"][0]["chances"].values()]
    assert len(set(shown)) == 365 and "02-29" not in shown


def test_a_southern_season_counts_from_february():
    # 1 February + 100 days is 12 May.
    found = stations_document([normals([100], season_start=(2, 1))])["stations"][0]
    assert (found["season_start"], found["chances"]["0.1"]["month_day"]) == ("02-01", "05-12")


def test_normals_have_neither_seasons_nor_extremes():
    found = stations_document([normals([60, 70, 80])])["stations"][0]
    assert found["invalid"] == found["no_freeze_seasons"] == []
    assert found["earliest"] is found["no_freeze_share"] is None


def test_the_table_has_a_cell_for_each_date_day_and_error():
    row = station_rows([made(days=np.array([np.nan, 58.94, 92.0, np.inf]))]).iloc[0]
    assert [row[f"freeze_{share}"] for share in (10, 20, 50, 90)] == ["", "09-28", "11-01", "never"]
    assert [row[f"day_{share}"] for share in (10, 20, 50, 90)] == ["", "58.9", "92.0", "never"]
    assert [row[f"error_{share}"] for share in (10, 20, 50, 90)] == ["2.1", "0.2", "", ""]
    assert (row["earliest_date"], row["latest_date"]) == ("1992-09-21", "1996-11-09")


def test_the_table_names_its_columns_in_order():
    assert list(station_rows([made()]).columns[:12]) == [
        "station", "name", "latitude", "longitude", "elevation_m", "threshold_f", "season_start",
        "first_season", "last_season", "valid_seasons", "invalid_seasons", "no_freeze_share",
    ]  # fmt: skip


def test_a_name_that_a_spreadsheet_would_run_is_text(tmp_path):
    write_station_rows([made(station=Station("=1+1", "@cmd"))], tmp_path / "s.csv")
    written = (tmp_path / "s.csv").read_bytes()
    assert written.startswith(b"\xef\xbb\xbfstation,name,") and b"\r\n'=1+1,'@cmd," in written


TREND_LINE = (
    "  Trend, told but not applied to any date: 1.2 days later in 10 years (95 % interval: 0.5 days earlier to "
    "3.0 days later), over 4 seasons with a freeze; it may be none at all."
)


def test_people_read_the_dates_in_plain_lines():
    assert station_lines(made(), "us") == [
        "Made Up X1, first freeze at or below 28 F, 5 of 6 seasons from 1991-92 to 1996-97",
        "  1 fall in 10   by 21 Sep, give or take 2 days",
        "  1 fall in 5    by 28 Sep, give or take 1 day",
        "  1 fall in 2    by 1 Nov, error not known: the average, a coin toss",
        "  9 falls in 10  never: a freeze comes in fewer seasons than that",
        "  Earliest 21 Sep 1992 at 28 F; latest 9 Nov 1996 at 28 F.",
        "  No freeze in 20 % of the seasons.",
        TREND_LINE,
        "  Note: Only 5 seasons are valid, so the errors are wide.",
        '  Dates are statistics of past seasons, not a forecast; "give or take" holds about 2 times in 3.',
    ]


def test_metric_lines_have_degrees_celsius():
    lines = station_lines(made(), "metric")
    assert (
        "at or below -2.2 °C" in lines[0] and " at -2.2 °C; " in "".join(lines) and " F" not in "".join(lines)
    )


def test_a_trend_whose_interval_leaves_out_none_is_not_called_unsure():
    assert "none at all" not in words.trend_line(Trend(-0.2, -0.3, -0.1, 30))
    assert "2.0 days earlier in 10 years" in words.trend_line(Trend(-0.2, -0.3, -0.1, 30))


def test_normals_are_called_official_and_say_no_error():
    lines = station_lines(normals([60, np.nan]), "us")
    assert lines[0].endswith(", official normals of 1991 to 2020")
    assert lines[1].endswith("by 30 Sep, error not known") and lines[2].endswith("not known")


@pytest.mark.parametrize(
    ("year", "start", "name"),
    [
        (1991, (8, 1), "1991-92"),
        (1999, (8, 1), "1999-2000"),
        (2008, (8, 1), "2008-09"),
        (1991, (2, 1), "1991"),
    ],
)
def test_a_season_is_called_by_its_years(year, start, name):
    assert words.season_name(year, start) == name


def test_normals_that_do_not_say_their_years_name_none():
    dates = dataclasses.replace(normals([60]), period=(0, 0))
    assert station_lines(dates, "us")[0].endswith("28 F, official normals")
    assert stations_document([dates])["stations"][0]["seasons"] is None
    assert station_rows([dates]).iloc[0]["first_season"] == ""


@pytest.mark.parametrize(
    ("missing", "state", "why"),
    [(346, "not_over", "not over when the record ends"), (365, "", "no daily minimum read")],
)
def test_a_season_without_its_days_says_why(missing, state, why):
    assert words.why_invalid(missing, state) == why


@pytest.mark.parametrize(("value_c", "us", "metric"), [(0.0, "32 F", "0 °C"), (-0.01, "32 F", "0 °C")])
def test_a_temperature_is_as_short_as_it_is_exact(value_c, us, metric):
    assert (words.degrees(value_c, "us"), words.degrees(value_c, "metric")) == (us, metric)


def test_what_a_surface_rests_on_is_told_in_the_units_of_the_reader_and_to_programs_in_those_of_the_us():
    cells = np.full((1, 1, 1), 90.0, np.float32)
    checked = pd.DataFrame(columns=["rmse_days", "regression_rmse_days"], dtype=float)
    told = (reason("surface_too_far", far_km=25.0),)
    surface = Surface(cells, cells, cells[0], checked, pd.DataFrame(), told)
    layer = SurfaceLayer(Path("f.tif"), -20 / 9, "08-01", pd.DataFrame(index=["a"]), surface)
    lines = surface_lines(layer, Path("f.png"), "metric")
    assert "Note: Places more than 25 km from every station are left unknown." in lines
    # 25 km are 15.5 miles of 1.609344 km.
    miles = ["Places more than 16 miles from every station are left unknown."]
    assert surface_document(layer, Path("f.png"))["told"] == miles
