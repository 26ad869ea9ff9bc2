"""What reading official annual normals promises.

Figures: NOAA NCEI US climate normals, annual files of Lebanon NH (USW00094765) and Westchester NY (USW00094745), US
public domain.
"""

from datetime import date, timedelta

import numpy as np
import pytest

from spatial.inputs.checks import Report
from spatial.inputs.stations.normals import is_normals, read_normals
from spatial.reasons import reason
from tests.unit.making import lines_of, write_text

CHANCES = range(10, 100, 10)
LEBANON_28F = ["10/03", "10/07", "10/10", "10/13", "10/15", "10/18", "10/22", "10/26", "11/01"]
LEBANON_32F = ["09/23", "09/28", "10/01", "10/03", "10/06", "10/08", "10/11", "10/14", "10/19"]
LEBANON_OLD_28F = ["10/03", "10/06", "10/09", "10/12", "10/14", "10/16", "10/19", "10/22", "10/28"]
WESTCHESTER_16F = ["12/02", "12/09", "12/15", "12/20", "12/24", "12/29", "01/01", "01/07", "01/13"]
THRESHOLDS_F = (16, 20, 24, 28, 32, 36)


def new_form(rows, occurrence="   100.0", years="22", latitude=" 43.6264", flags=None, complete="R"):
    """Return a file in the form of 1991-2020: each value with its flags and the years it is made of."""
    flags = flags or {}
    cells = {"STATION": "USW00094765", "LATITUDE": latitude, "LONGITUDE": " -72.3047", "ELEVATION": " 182.3"}
    cells |= {"NAME": "LEBANON MUNI AP, NH US", "month": "99", "day": "99", "hour": "99"}
    for threshold, dates in rows.items():
        values = {f"ANN-TMIN-PRBOCC-LSTH{threshold:03d}": occurrence}
        values |= {
            f"ANN-TMIN-PRBFST-T{threshold}FP{p}": f"   {text}" for p, text in zip(CHANCES, dates, strict=True)
        }
        for name, text in values.items():
            cells |= {name: text, f"meas_flag_{name}": flags.get(name, " "), f"comp_flag_{name}": complete}
            cells[f"years_{name}"] = years
    return "".join(",".join(f'"{cell}"' for cell in line) + "\n" for line in (cells.keys(), cells.values()))


def old_form(rows, occurrence="1000"):
    """Return a file in the form of 1981-2010: each value with its attributes."""
    cells = {"STATION": "USW00094765", "LATITUDE": "43.62639", "LONGITUDE": "-72.30472", "ELEVATION": "182.3"}
    cells["NAME"] = "LEBANON MUNICIPAL AIRPORT, NH US"
    for threshold, dates in rows.items():
        values = {f"ANN-TMIN-PRBOCC-LSTH{threshold:03d}": occurrence}
        values |= {f"ANN-TMIN-PRBFST-T{threshold}FP{p}": text for p, text in zip(CHANCES, dates, strict=True)}
        for name, text in values.items():
            cells |= {name: text, f"{name}_ATTRIBUTES": "R"}
    return "".join(",".join(f'"{cell}"' for cell in line) + "\n" for line in (cells.keys(), cells.values()))


def read(folder, text, threshold_f=28, name="normals_1991-2020.csv"):
    report = Report()
    found = read_normals(write_text(folder / name, text), (threshold_f - 32) * 5 / 9, report)
    return found, lines_of(report.wrong)


def as_month_days(days):
    return [f"{date(2001, 8, 1) + timedelta(days=int(day)):%m/%d}" for day in days]


def names_at(chances, threshold=28):
    return [f"ANN-TMIN-PRBFST-T{threshold}FP{p}" for p in chances]


@pytest.mark.parametrize(("threshold_f", "dates"), [(28, LEBANON_28F), (32, LEBANON_32F)])
def test_the_official_dates_of_lebanon_are_read_exactly(tmp_path, threshold_f, dates):
    (found,), wrong = read(tmp_path, new_form({28: LEBANON_28F, 32: LEBANON_32F}), threshold_f)
    assert wrong == []
    assert as_month_days(found.days) == dates
    assert found.chances == (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)


def test_days_count_from_the_first_of_august(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: LEBANON_28F}))
    assert found.days[0] == 63  # 31 days of August, 30 of September, and two more to 3 October


def test_what_the_file_says_of_the_station_and_its_seasons_is_read(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: LEBANON_28F}))
    station = found.station
    assert (station.station, station.name) == ("USW00094765", "LEBANON MUNI AP, NH US")
    assert (station.latitude_deg, station.longitude_deg, station.elevation_m) == (43.6264, -72.3047, 182.3)
    assert (found.origin, found.period, found.season_start) == ("normals", (1991, 2020), (8, 1))
    assert (found.valid_seasons, found.invalid_seasons, found.no_freeze_share) == (22, 8, 0)
    assert found.threshold_c == pytest.approx(-20 / 9)
    assert np.isnan(found.error_days).all()
    assert found.error_days.shape == found.days.shape
    assert found.seasons.empty
    assert found.trend is None
    assert found.told == ()


def test_the_dates_of_westchester_go_on_over_new_year(tmp_path):
    (found,), wrong = read(tmp_path, new_form({16: WESTCHESTER_16F}, years="15"), 16, "normals_2006-2020.csv")
    assert wrong == []
    assert as_month_days(found.days) == WESTCHESTER_16F
    assert (np.diff(found.days) > 0).all()
    assert found.days[0] == 123
    assert found.days[-1] == 165


def test_the_older_form_is_read(tmp_path):
    (found,), wrong = read(tmp_path, old_form({28: LEBANON_OLD_28F}), name="normals_ann_1981-2010.csv")
    assert wrong == []
    assert as_month_days(found.days) == LEBANON_OLD_28F
    assert (found.period, found.no_freeze_share) == ((1981, 2010), 0)
    assert found.valid_seasons == 0
    assert found.told == (reason("station_seasons_unsaid"),)


def test_a_file_name_without_a_period_leaves_it_open(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: LEBANON_28F}), name="USW00094765.csv")
    assert (found.period, found.invalid_seasons) == ((0, 0), 0)


@pytest.mark.parametrize(("text", "share"), [(old_form, "875"), (new_form, "    87.5")])
def test_seasons_without_freeze_are_in_tenths_of_a_percent_in_the_older_form_only(tmp_path, text, share):
    dates = [*LEBANON_28F[:8], "-6666"]
    (found,), wrong = read(tmp_path, text({28: dates}, occurrence=share))
    assert wrong == []
    assert found.no_freeze_share == pytest.approx(0.125)
    assert found.days[8] == np.inf


@pytest.mark.parametrize(
    ("value", "flag", "day"),
    [
        ("-6666", " ", np.inf),
        ("-6666.0", "Y", np.inf),
        ("-9999", "M", np.nan),
        ("-9999", " ", np.nan),
        ("-8888", " ", np.nan),
        ("", "M", np.nan),
        ("-4444", "V", np.nan),
        ("10/28", "Z", np.nan),
    ],
)
def test_special_values_and_flags_of_a_date(tmp_path, value, flag, day):
    rows = {28: [*LEBANON_28F[:8], value]}
    (found,), wrong = read(tmp_path, new_form(rows, "    90.0", flags=dict.fromkeys(names_at([90]), flag)))
    assert wrong == []
    np.testing.assert_equal(found.days[8], day)
    assert as_month_days(found.days[:8]) == LEBANON_28F[:8]


def test_too_rare_to_date_is_not_taken_for_never_where_more_seasons_freeze(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: ["-6666"] * 9}, "    25.0"))
    np.testing.assert_equal(found.days, [np.nan] * 2 + [np.inf] * 7)
    assert reason("station_no_official_date", chances=(0.1, 0.2)) in found.told


@pytest.mark.parametrize("value", ["-7777", "     0.0"])
def test_a_share_that_rounds_to_zero_is_zero(tmp_path, value):
    (found,), wrong = read(tmp_path, new_form({28: ["-6666"] * 9}, value))
    assert wrong == []
    assert found.no_freeze_share == 1
    assert np.isposinf(found.days).all()


def test_an_unknown_share_is_nan(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: LEBANON_28F}, "-9999"))
    assert np.isnan(found.no_freeze_share)


def test_freezes_all_the_year_round_are_told(tmp_path):
    flags = dict.fromkeys(names_at(CHANCES, 36), "V")
    (found,), wrong = read(tmp_path, new_form({36: ["-4444"] * 9}, flags=flags), 36)
    assert wrong == []
    assert np.isnan(found.days).all()
    assert reason("station_year_round") in found.told


def test_dates_that_are_estimated_are_told(tmp_path):
    (found,), _wrong = read(tmp_path, new_form({28: LEBANON_28F}, complete="E"))
    assert found.told == (reason("station_estimated"),)


def test_a_threshold_that_is_not_there_is_refused_with_those_that_are(tmp_path):
    found, wrong = read(tmp_path, new_form(dict.fromkeys(THRESHOLDS_F, LEBANON_28F)), 30)
    assert found == []
    assert len(wrong) == 1
    assert wrong[0].startswith("normals_1991-2020.csv: threshold 30 F: is not among the normals")
    assert wrong[0].endswith("Use one of: 16 F, 20 F, 24 F, 28 F, 32 F, 36 F")


def test_a_rounded_threshold_in_deg_c_is_found(tmp_path):
    path = write_text(tmp_path / "a.csv", new_form({28: LEBANON_28F}))
    (found,) = read_normals(path, -2.2, Report())
    assert found.days[0] == 63


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            new_form({28: [*LEBANON_28F[:3], "10/01", *LEBANON_28F[4:]]}),
            "station USW00094765: 10/10 at chance 0.3 is after 10/01 at chance 0.4",
        ),
        (
            new_form({28: ["-6666", *LEBANON_28F[1:]]}, "     5.0"),
            "at chance 0.1 is after 10/07 at chance 0.2",
        ),
        (new_form({28: [*LEBANON_28F[:8], "13/01"]}), "freeze dates: '13/01' is no month/day"),
        (new_form({28: [*LEBANON_28F[:8], "11/31"]}), "freeze dates: '11/31' is no month/day"),
        (new_form({28: LEBANON_28F}, "  1000.0"), "'1000.0' is no chance of 0 to 100"),
        (new_form({28: LEBANON_28F}, latitude="-43.6"), "lies south of the equator"),
        (
            "STATION,DATE,TMIN\nA,2010-01-01,5\n",
            "ANN-TMIN-PRBFST: has no freeze dates of official annual normals",
        ),
        ("", "is empty"),
    ],
)
def test_normals_that_cannot_be_are_refused_in_one_line(tmp_path, text, line):
    found, wrong = read(tmp_path, text)
    assert found == []
    assert len(wrong) == 1
    assert wrong[0].startswith("normals_1991-2020.csv: ")
    assert line in wrong[0]


def test_dates_that_fall_by_a_day_of_rounding_pass(tmp_path):
    (found,), wrong = read(tmp_path, new_form({28: [*LEBANON_28F[:3], "10/09", *LEBANON_28F[4:]]}))
    assert wrong == []
    assert found.days[3] == 69


def test_normals_are_told_from_daily_minima_and_from_what_is_no_table(tmp_path):
    daily = write_text(tmp_path / "daily.csv", "STATION,DATE,TMIN\nA,2010-01-01,5\n")
    assert is_normals(write_text(tmp_path / "new.csv", new_form({28: LEBANON_28F})))
    assert is_normals(write_text(tmp_path / "old.csv", old_form({28: LEBANON_OLD_28F})))
    assert not is_normals(daily)
    assert not is_normals(tmp_path / "none.csv")
