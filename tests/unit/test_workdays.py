"""What workable days promise."""

from datetime import date

import pandas as pd
import pytest

from spatial.routing.workdays import workable_days
from spatial.settings import Settings

ON = date(2026, 9, 7)  # a Monday
NO_OUTLOOK = pd.DataFrame({"date": [], "area": [], "rain_chance_share": [], "least_temperature_c": []})


def crews(**days_off):
    rows = {
        name: {"shift_start_min": 570, "shift_end_min": 1080, "days_off": days}
        for name, days in days_off.items()
    }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("crew")


def outlook(*rows):
    table = pd.DataFrame(rows, columns=["date", "area", "rain_chance_share"])
    return table.assign(date=pd.to_datetime(table["date"]), least_temperature_c=10.0)


def september(*chances, area=""):
    return [(f"2026-09-{7 + day:02d}", area, chance) for day, chance in enumerate(chances)]


def days(table, crew="ann"):
    return [f"{day:%d}" for day in table.loc[table["crew"] == crew, "date"]]


def planned(table, *, drying=0, areas=("Tift",), horizon_days=7, crew_table=None):
    settings = Settings(on=ON, horizon_days=horizon_days)
    by_month = dict.fromkeys(range(1, 13), drying)
    return workable_days(
        crews(ann=()) if crew_table is None else crew_table, table, areas, by_month, settings
    )


def test_without_an_outlook_every_day_of_the_horizon_counts():
    assert days(planned(NO_OUTLOOK, horizon_days=4)) == ["07", "08", "09", "10"]


def test_weekdays_and_dates_off_are_no_work_days():
    table = planned(NO_OUTLOOK, crew_table=crews(ann=(6, date(2026, 9, 9)), bob=()))
    assert days(table) == ["07", "08", "10", "11", "12"]
    assert days(table, "bob") == ["07", "08", "09", "10", "11", "12", "13"]


def test_days_end_with_the_outlook():
    assert days(planned(outlook(*september(0, 0, 0)))) == ["07", "08", "09"]


def test_a_day_is_wet_from_the_limit_on():
    assert days(planned(outlook(*september(0.39, 0.4, 0.1)))) == ["07", "09"]


@pytest.mark.parametrize(("drying", "dry"), [(0, ["07", "08", "10"]), (1, ["07", "10"]), (2, ["10"])])
def test_rain_on_a_drying_day_makes_the_day_of_the_cut_wet(drying, dry):
    assert days(planned(outlook(*september(0, 0, 0.9, 0)), drying=drying)) == dry


def test_drying_days_go_by_the_month_of_the_cut():
    table = outlook(("2026-09-30", "", 0.0), ("2026-10-01", "", 0.0), ("2026-10-02", "", 0.9))
    settings = Settings(on=date(2026, 9, 30), horizon_days=3)
    assert days(workable_days(crews(ann=()), table, ["Tift"], {9: 1, 10: 0}, settings)) == ["30", "01"]


def test_an_area_s_own_rows_go_before_those_for_everywhere():
    rows = [*september(0, 0.9), *september(0.9, 0, area="Cook")]
    table = planned(outlook(*rows), areas=("Cook", "Tift"))
    assert list(table["wet_areas"]) == [frozenset({"Cook"}), frozenset({"Tift"})]


def test_a_field_without_an_area_goes_by_the_rows_for_everywhere():
    rows = [*september(0.9, 0), *september(0, 0, area="Cook")]
    table = planned(outlook(*rows), areas=("Cook", None))
    assert list(table["wet_areas"]) == [frozenset({""}), frozenset()]


def test_a_day_on_which_every_area_is_wet_is_left_out():
    assert days(planned(outlook(*september(0.9, 0)), areas=("Cook", "Tift"))) == ["08"]


def test_a_day_inside_the_outlook_without_a_row_counts_as_wet():
    table = outlook(("2026-09-07", "", 0.0), ("2026-09-09", "", 0.0))
    assert days(planned(table)) == ["07", "09"]


def test_a_missing_chance_counts_as_wet():
    assert days(planned(outlook(*september(0, None, 0)))) == ["07", "09"]


def test_of_two_rows_for_a_day_the_rainier_counts_in_either_order():
    rows = [*september(0, 0), ("2026-09-07", "", 0.9)]
    assert days(planned(outlook(*rows))) == days(planned(outlook(*rows[::-1]))) == ["08"]


def test_an_outlook_of_the_past_leaves_no_day():
    assert planned(outlook(("2026-09-01", "", 0.0))).empty


def test_rows_come_by_crew_and_date_with_their_shift():
    table = planned(NO_OUTLOOK, horizon_days=2, crew_table=crews(bob=(), ann=()))
    assert list(table["crew"]) == ["ann", "ann", "bob", "bob"]
    assert set(table["shift_start_min"]) == {570}
    assert set(table["shift_end_min"]) == {1080}
    assert table["date"].dtype.kind == "M"


def test_without_crews_the_table_has_its_columns_and_no_row():
    table = planned(NO_OUTLOOK, crew_table=crews(ann=()).iloc[:0])
    assert list(table) == ["crew", "date", "shift_start_min", "shift_end_min", "wet_areas"]
    assert table.empty
