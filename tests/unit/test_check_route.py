"""Every kind of fault planted in a sound route is found."""

from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from spatial.routing.check_route import check_route
from spatial.routing.roads import Travel
from spatial.settings import Settings

SETTINGS = Settings(on=date(2026, 9, 1), fold_min=10)
MINUTE = pd.Timedelta(minutes=1)
PLACES = (("yard", "ann"), ("gate", "north"), ("gate", "south"), ("gate", "west"))
TRAVEL = Travel(pd.Index(PLACES, tupleize_cols=False), np.where(np.eye(4) > 0, 0.0, 20.0), np.zeros(4))


def fields():
    """Return three fields; west is so big that it is cut in two parts."""
    count = 3
    table = {
        "area_ha": [4.0, 2.0, 20.0],
        "area": ["Tift", "Tift", None],
        "ready_date": pd.to_datetime(["2026-08-20", "2026-09-01", "2026-08-01"]),
        "last_cut_date": pd.to_datetime(["2026-09-01", "2026-09-10", "2026-09-20"]),
        "stage": ["ready"] * count,
        "intent": ["hay", "overseeded", "hay"],
        "closed_until_date": pd.to_datetime([None, "2026-08-31", None]),
        "killing_freeze_recorded_date": pd.to_datetime([None] * count),
    }
    index = pd.Index(["north", "south", "west"], name="field_id")
    return gpd.GeoDataFrame(
        table, index=index, geometry=gpd.points_from_xy([0] * 3, [0] * 3), crs="EPSG:4326"
    )


def crews():
    return pd.DataFrame({"work_rate_ha_h": [4.0]}, index=pd.Index(["ann"], name="crew"))


def workdays():
    return pd.DataFrame(
        {
            "crew": "ann",
            "date": pd.to_datetime(["2026-09-01", "2026-09-02", "2026-09-03"]),
            "shift_start_min": 540,
            "shift_end_min": 1020,
            "wet_areas": [frozenset({"Cook"}), frozenset(), frozenset()],
        }
    )


def stop(day, number, field, hours, **also):
    start, end = (pd.Timestamp(f"2026-09-0{day} {hour}") for hour in hours)
    plain = {
        "crew": "ann", "date": start.normalize(), "stop": number, "field_id": field, "part": 1, "parts": 1,
        "cut_kind": "early", "start": start, "end": end, "travel_min": 20,
    }  # fmt: skip
    return plain | also


def stops():
    return pd.DataFrame(
        [
            stop(1, 1, "north", ("09:20", "10:30"), area_ha=4.0),
            stop(1, 2, "south", ("10:50", "11:30"), area_ha=2.0),
            stop(2, 1, "west", ("09:20", "12:00"), area_ha=10.0, parts=2),
            stop(3, 1, "west", ("09:20", "12:00"), area_ha=10.0, parts=2, part=2),
        ]
    )


def faults(*, route=None, land=None, days=None, travel=TRAVEL):
    return check_route(
        stops() if route is None else route,
        fields() if land is None else land,
        crews(),
        workdays() if days is None else days,
        travel,
        SETTINGS,
    )


def changed(row, **values):
    table = stops()
    for column, value in values.items():
        table.loc[row, column] = value
    return table


def moved(row, minutes):
    table = stops()
    table.loc[row, ["start", "end"]] += minutes * MINUTE
    return table


def test_a_sound_route_has_no_fault():
    assert faults() == []


def test_an_empty_route_has_no_fault():
    assert faults(route=stops().iloc[:0]) == []


def test_the_order_of_the_rows_does_not_matter():
    assert faults(route=stops().iloc[::-1]) == []


@pytest.mark.parametrize(
    ("route", "told"),
    [
        (changed(0, field_id="east"), "there is no field east"),
        (changed(0, crew="bob"), "there is no crew bob"),
        (changed(0, cut_kind="freeze"), "is no early cut"),
        (moved(0, -1), "too little time to drive"),
        (moved(0, -30), "north is cut outside the shift"),
        (moved(1, -1), "too little time to drive"),
        (moved(1, -25), "south starts before north is done"),
        (moved(1, 5 * 60 + 11), "not back at the yard in time"),
        (moved(1, 5 * 60 + 31), "south is cut outside the shift"),
        (changed(0, travel_min=19), "the time told to drive is too short"),
        (changed(0, end=pd.Timestamp("2026-09-01 10:29")), "too little time for its area"),
        (changed(1, stop=3), "stops are not counted"),
        (changed(3, part=1), "the same part is cut twice"),
        (stops().iloc[:3], "west: parts are missing"),
        (changed(3, parts=3), "west: parts are missing"),
        (changed(2, area_ha=9.0), "west: 19 ha are cut of 20 ha"),
        (changed(0, area_ha=np.nan), "too little time for its area"),
        (changed(0, date=pd.Timestamp("2026-09-04")), "not a day on which the crew can work"),
        (changed(0, date=pd.Timestamp("2026-09-02")), "does not lie on its date"),
    ],
)  # fmt: skip
def test_a_fault_in_the_stops_is_told(route, told):
    assert any(told in fault for fault in faults(route=route)), faults(route=route)


def test_a_field_cut_on_two_days_is_told():
    again = pd.concat([stops(), pd.DataFrame([stop(2, 2, "south", ("12:20", "13:00"), area_ha=2.0)])])
    found = faults(route=again)
    assert "south: the same part is cut twice" in found
    assert "south: 4 ha are cut of 2 ha" in found


@pytest.mark.parametrize(
    ("column", "value", "told"),
    [
        ("ready_date", pd.Timestamp("2026-09-02"), "north: starts before the field is ready"),
        ("ready_date", pd.NaT, "north: starts before the field is ready"),
        ("last_cut_date", pd.Timestamp("2026-08-31"), "north: ends after its last-cut date"),
        ("last_cut_date", pd.NaT, "north: ends after its last-cut date"),
        ("closed_until_date", pd.Timestamp("2026-09-01"), "north: is closed by a label"),
        ("intent", "grazed", "north: is not meant for hay"),
        ("killing_freeze_recorded_date", pd.Timestamp("2026-08-31"), "north: had its killing freeze"),
        ("area", "Cook", "north lies in an area that is too wet"),
    ],
)
def test_a_field_that_may_not_be_cut_then_is_told(column, value, told):
    land = fields()
    land.loc["north", column] = value
    assert any(told in fault for fault in faults(land=land))


def test_a_day_that_is_not_workable_is_told():
    assert faults(days=workdays().iloc[1:]) == ["ann on 2026-09-01: not a day on which the crew can work"]


def test_a_field_without_an_area_goes_by_the_missing_name():
    days = workdays()
    days["wet_areas"] = [frozenset(), frozenset({""}), frozenset()]
    assert faults(days=days) == ["ann on 2026-09-02: west lies in an area that is too wet"]


@pytest.mark.parametrize("known", [True, False])
def test_a_field_that_cannot_be_reached_is_told(known):
    minutes = TRAVEL.minutes.copy()
    minutes[1] = minutes[:, 1] = np.nan
    lost = Travel(TRAVEL.places, minutes, np.zeros(4))
    fewer = Travel(TRAVEL.places.delete(1), TRAVEL.minutes[1:, 1:], np.zeros(3))
    assert any(
        "ann to north: cannot be reached" in fault for fault in faults(travel=lost if known else fewer)
    )
