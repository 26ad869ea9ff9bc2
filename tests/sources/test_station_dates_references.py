"""Freeze dates of a station against a real station's record, scipy's quantiles, bootstrap and slopes, and by hand."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import bootstrap
from scipy.stats.mstats import mjci, mquantiles

from spatial.climate.seasons import day_of_year_days, season_of
from spatial.climate.station_dates import CHANCES, station_dates
from spatial.climate.trend import freeze_trend
from spatial.daily import DailyMinima, Station

NORTH = (8, 1)
MILWAUKEE = Station("USW00014839", "Milwaukee, Wisconsin", latitude_deg=42.955)  # latitude from memory

# NOAA GHCN-Daily, station USW00014839 (public domain): of each season the first day at or below 32 F and its
# minimum, and before it the coldest day of the season so far (the last one of several), deg F.
FIRST_FREEZES = (
    ("1991-10-16", 33, "1991-10-19", 30),
    ("1992-10-16", 35, "1992-10-17", 29),
    ("1993-10-09", 36, "1993-10-10", 32),
    ("1994-10-27", 34, "1994-11-19", 29),
    ("1995-09-22", 35, "1995-09-23", 32),
    ("1996-10-11", 34, "1996-10-30", 30),
    ("1997-10-21", 35, "1997-10-22", 27),
    ("1998-11-03", 33, "1998-11-04", 32),
    ("1999-10-23", 34, "1999-10-24", 29),
    ("2000-10-06", 35, "2000-10-07", 31),
    ("2001-09-25", 40, "2001-10-06", 32),
    ("2002-10-14", 35, "2002-10-16", 32),
    ("2003-10-01", 36, "2003-10-02", 32),
    ("2004-10-02", 37, "2004-10-05", 32),
    ("2005-10-26", 33, "2005-11-10", 32),
    ("2006-10-11", 34, "2006-10-12", 30),
    ("2007-11-01", 33, "2007-11-02", 31),
    ("2008-10-28", 33, "2008-10-29", 32),
    ("2009-10-09", 39, "2009-10-10", 32),
    ("2010-10-05", 39, "2010-10-22", 32),
    ("2011-10-28", 35, "2011-10-29", 32),
    ("2012-10-08", 33, "2012-10-27", 32),
    ("2013-10-21", 34, "2013-10-22", 31),
    ("2014-10-23", 33, "2014-10-30", 32),
    ("2015-10-18", 33, "2015-11-08", 31),
    ("2016-11-11", 37, "2016-11-12", 32),
    ("2017-11-01", 35, "2017-11-06", 32),
    ("2018-10-12", 35, "2018-10-13", 32),
    ("2019-10-26", 33, "2019-10-29", 31),
    ("2020-10-19", 33, "2020-10-24", 32),
)
EARLIEST = ("1956-09-19", 35, "1956-09-20", 30)


def celsius(fahrenheit):
    return (fahrenheit - 32) * 5 / 9


def record(rows, station=MILWAUKEE):
    """Return whole seasons of 60 F until the days of the rows, of 20 F from the freeze to the end of March."""
    years = [int(row[2][:4]) for row in rows]
    days = pd.date_range(f"{min(years)}-08-01", f"{max(years) + 1}-07-31")
    minima = pd.Series(60.0, index=days)
    for (near, near_f, freeze, freeze_f), year in zip(rows, years, strict=True):
        minima[freeze : f"{year + 1}-03-31"] = 20.0
        minima[near], minima[freeze] = near_f, freeze_f
    return DailyMinima(station, celsius(minima), "F", "milwaukee.csv")


@pytest.fixture(scope="module")
def milwaukee():
    return station_dates(record(FIRST_FREEZES), celsius(32), seasons=(1991, 2020))


def test_every_first_freeze_of_milwaukee_is_found(milwaukee):
    assert milwaukee.seasons["freeze_date"].dt.strftime("%Y-%m-%d").tolist() == [
        row[2] for row in FIRST_FREEZES
    ]
    assert (milwaukee.valid_seasons, milwaukee.invalid_seasons, milwaukee.no_freeze_share) == (30, 0, 0.0)


def test_the_average_of_milwaukee_is_that_of_the_climate_office(milwaukee):
    # 22 October on the average, 1991-2020, 32 F: press copy of a climate-office figure, so within two days.
    office = (pd.Timestamp("2001-10-22") - pd.Timestamp("2001-08-01")).days
    assert milwaukee.days[CHANCES.index(0.5)] == pytest.approx(office, abs=2)
    assert milwaukee.seasons["freeze_day"].mean() == pytest.approx(office, abs=2)


def test_the_earliest_freeze_of_milwaukee_is_that_of_the_climate_office():
    # 20 September 1956 at 30 F, press copy of a climate-office figure; GHCN-Daily has it as -1.1 deg C.
    seasons = station_dates(record([EARLIEST, *FIRST_FREEZES]), celsius(32)).seasons
    earliest = seasons.loc[seasons["freeze_day"].idxmin()]
    assert earliest["freeze_date"] == pd.Timestamp("1956-09-20")
    assert earliest["freeze_tmin_c"] == pytest.approx(-1.1, abs=0.05)


@pytest.mark.parametrize("position", [0.0, 1 / 3, 0.5])
def test_dates_are_the_quantiles_of_scipy_at_its_plotting_positions(milwaukee, position):
    found = station_dates(record(FIRST_FREEZES), celsius(32), a=position)
    days = milwaukee.seasons["freeze_day"].to_numpy()
    expected = mquantiles(days, CHANCES, alphap=position, betap=position)
    np.testing.assert_allclose(found.days, expected, rtol=0, atol=1e-9)


def test_errors_are_those_of_the_bootstrap_of_scipy(milwaukee):
    # numpy names position 1/3 median_unbiased. Two bootstraps of 2,000 differ by some 3 % of themselves.
    days = milwaukee.seasons["freeze_day"].to_numpy()
    for chance, found in zip(CHANCES, milwaukee.error_days, strict=True):
        theirs = bootstrap(
            (days,),
            lambda sample, axis, chance=chance: np.quantile(sample, chance, axis, method="median_unbiased"),
            n_resamples=2000,
            method="percentile",
            rng=np.random.default_rng(11),
        )
        assert found == pytest.approx(theirs.standard_error, rel=0.1)


def test_errors_are_near_those_of_maritz_and_jarrett(milwaukee):
    # scipy.stats.mstats.mjci, another road to the same error: no resamples, beta weights on the ordered seasons.
    days = milwaukee.seasons["freeze_day"].to_numpy()
    inner = slice(1, 8)  # at the ends of 30 seasons the two part
    np.testing.assert_allclose(milwaukee.error_days[inner], mjci(days, CHANCES)[inner], rtol=0.25)


def test_errors_have_the_size_that_thirty_seasons_leave(milwaukee):
    # Computed from three real stations with 30 seasons: P10 1 to 6 days, P50 2 to 6.
    assert 1 <= milwaukee.error_days[CHANCES.index(0.1)] <= 6
    assert 2 <= milwaukee.error_days[CHANCES.index(0.5)] <= 6


def test_the_trend_is_that_of_sen():
    # Sen 1968, J. Am. Stat. Assoc. 63:1379-1389, his example as scipy's own tests have it (from memory): slope 4,
    # from 26/7 to 35/8. By hand those are the 4th and the 18th of the 21 slopes, which 95 % wants too: they lie
    # 1.96 sqrt(7 * 6 * 19 / 18) = 13 ranks apart.
    days = [9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0]
    found = freeze_trend(pd.Series(days, index=[2001, 2002, 2003, 2004, 2010, 2012, 2018]))
    assert (found.days_a_year, found.low_days_a_year, found.high_days_a_year) == (4, 26 / 7, 35 / 8)


def test_a_trend_by_hand():
    # The ten slopes, sorted: -0.5, -0.25, 0, 0.5, 2/3, 1, 1, 1, 2, 2.5; five seasons leave them all within 95 %.
    found = freeze_trend(pd.Series([80.0, 82.0, 82.0, 81.5, 84.0], index=range(2001, 2006)))
    assert found.days_a_year == pytest.approx(5 / 6)
    assert (found.low_days_a_year, found.high_days_a_year) == (-0.5, 2.5)


@pytest.mark.parametrize("year", [2007, 2008])
def test_1_march_is_1_march_in_every_year(year):
    # Day of the year 60 of a year of 365 days; 2008 has a 29 February.
    minima = pd.Series(60.0, index=pd.date_range(f"{year - 1}-08-01", f"{year}-07-31"))
    minima[f"{year}-03-01"] = 20.0
    one = DailyMinima(MILWAUKEE, celsius(minima), "F", "one.csv")
    found = station_dates(one, celsius(28)).seasons.iloc[0]
    season = season_of(pd.Timestamp(year - 1, 8, 1).date(), NORTH)
    by_year = day_of_year_days(np.array([60.0]), season)
    assert found["freeze_date"] == pd.Timestamp(year, 3, 1)
    assert found["freeze_day"] == by_year[0]
