"""What the cutting route promises."""

from dataclasses import replace
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from spatial.errors import Stopped, quiet
from spatial.routing.check_route import check_route
from spatial.routing.greedy import greedy_routes
from spatial.routing.model import Round
from spatial.routing.rearrange import on_best_days
from spatial.routing.route import cutting_route
from spatial.routing.search import search_steps
from spatial.routing.urgency import urgency_class, urgency_weight
from spatial.settings import Settings

ON = pd.Timestamp("2026-09-01")
QUICK = Settings(on=ON.date(), horizon_days=5, effort="quick")
FIELD = {
    "area_ha": 4.0, "gate_lon": -83.5, "gate_lat": 31.5, "area": "Tift", "ready": -5, "last": 20, "stage": "ready",
    "intent": "hay", "closed": None, "weedy": False, "freeze": None, "grass": "bermudagrass",
}  # fmt: skip


def day(number):
    """Return the day so many days after today, missing where the number is."""
    return pd.NaT if number is None else ON + pd.Timedelta(days=number)


def fields(*rows, **named):
    """Return fields f0, f1, ... and those named, each like FIELD but for what is given."""
    given_rows = {f"f{number}": row for number, row in enumerate(rows)} | named
    table = pd.DataFrame(
        [FIELD | row for row in given_rows.values()], index=list(given_rows), columns=list(FIELD)
    )
    dates = {
        "ready_date": "ready", "last_cut_date": "last", "closed_until_date": "closed",
        "killing_freeze_recorded_date": "freeze",
    }  # fmt: skip
    for column, short in dates.items():
        table[column] = pd.to_datetime(
            pd.Series(
                [day(None if pd.isna(number) else number) for number in table.pop(short)], index=table.index
            )
        )
    points = gpd.points_from_xy(table["gate_lon"], table["gate_lat"])
    return gpd.GeoDataFrame(table.rename_axis("field_id"), geometry=points, crs="EPSG:4326")


def crews(*, ann=4.0, **rates):
    table = pd.DataFrame({"work_rate_ha_h": {"ann": ann, **rates}}).rename_axis("crew")
    return table.assign(yard_lon=-83.5, yard_lat=31.5, shift_start_min=540, shift_end_min=1020)


def workdays(*days, crew_names=("ann",), wet=frozenset()):
    rows = [(crew, day(number), 540, 1020, wet) for crew in crew_names for number in days]
    return pd.DataFrame(rows, columns=["crew", "date", "shift_start_min", "shift_end_min", "wet_areas"])


def routed(land, *, days=None, teams=None, roads=None, settings=QUICK, tell=quiet):
    teams = crews() if teams is None else teams
    days = workdays(0, 1, 2, 3, 4, crew_names=teams.index) if days is None else days
    route = cutting_route(land, roads, teams, days, settings, tell)
    assert check_route(route.stops, land, teams, days, route.travel, settings) == []
    return route


def invented(seed, count=30, crew_count=2, size_ha=2.0):
    rng = np.random.default_rng(seed)
    rows = [
        {
            "area_ha": float(rng.gamma(2, size_ha)), "gate_lon": -83.5 + rng.uniform(-0.2, 0.2),
            "gate_lat": 31.5 + rng.uniform(-0.2, 0.2), "area": str(rng.choice(["Tift", "Cook"])),
            "ready": int(rng.integers(-9, 5)), "last": int(rng.integers(0, 20)), "weedy": bool(rng.random() < 0.2),
            "closed": int(rng.integers(0, 5)) if rng.random() < 0.1 else None,
        }
        for _ in range(count)
    ]  # fmt: skip
    teams = crews(**{f"crew{number}": float(rng.uniform(1, 6)) for number in range(crew_count - 1)})
    days = workdays(0, 1, 3, 4, crew_names=teams.index)
    days["wet_areas"] = [
        frozenset(rng.choice(["Tift", "Cook"], 1)) if wet else frozenset()
        for wet in rng.random(len(days)) < 0.3
    ]
    return fields(*rows), teams, days


def why(route, field="f0"):
    found = route.fields.loc[field, "why_not"]
    return None if found is None else (found.code, dict(found.values))


def test_a_field_is_cut_by_the_crew_with_its_times():
    # 4 ha at 4 ha/h is an hour, and ten minutes to fold and unfold; the gate is the yard.
    route = routed(fields({}), days=workdays(2))
    (stop,) = route.stops.to_dict("records")
    assert stop == {
        "crew": "ann", "date": day(2), "stop": 1, "field_id": "f0", "part": 1, "parts": 1, "cut_kind": "early",
        "start": day(2) + pd.Timedelta(hours=9), "end": day(2) + pd.Timedelta(hours=10, minutes=10),
        "travel_min": 0, "area_ha": 4.0,
    }  # fmt: skip
    assert route.fields.loc["f0"].to_dict() == {
        "crew": "ann", "cut_date": day(2), "cut_kind": "early", "why_not": None,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("field", "code", "values"),
    [
        ({"intent": "grazed"}, "not_hay", {"intent": "grazed"}),
        ({"intent": "stockpile"}, "not_hay", {"intent": "stockpile"}),
        ({"freeze": -3}, "freeze_recorded", {"freeze_date": date(2026, 8, 29)}),
        ({"last": None}, "no_last_cut_date", {}),
        ({"last": -1}, "past_last_cut", {"last_cut_date": date(2026, 8, 31)}),
        ({"ready": None}, "height_unknown", {}),
        (
            {"ready": 3, "last": 2}, "ready_too_late",
            {"ready_date": date(2026, 9, 4), "last_cut_date": date(2026, 9, 3)},
        ),
        ({"stage": "freeze_cut"}, "stage_not_early", {"stage": "freeze_cut"}),
        ({"closed": 3, "last": 3}, "closed_by_label", {"until_date": date(2026, 9, 4)}),
        ({"closed": 4}, "closed_by_label", {"until_date": date(2026, 9, 5)}),
        ({"ready": 5}, "ready_after_horizon", {"ready_date": date(2026, 9, 6), "horizon_end_date": date(2026, 9, 5)}),
        ({"ready": 4}, "not_ready_no_day", {"ready_date": date(2026, 9, 5), "last_cut_date": date(2026, 9, 21)}),
        ({"last": 0}, "no_workable_day", {"first_date": date(2026, 9, 1), "last_date": date(2026, 9, 1)}),
        ({"ready": 2, "last": 2}, "no_workable_day", {"first_date": date(2026, 9, 3), "last_date": date(2026, 9, 3)}),
        ({"area_ha": 70.0}, "too_big_for_window", {"area_ha": 70.0}),
        ({"gate_lat": np.nan}, "unreachable", None),
    ],
)  # fmt: skip
def test_a_field_off_the_route_says_why(field, code, values):
    told, said = why(routed(fields(field), days=workdays(1, 3)))
    assert told == code
    assert values is None or said == values


def test_without_crews_the_reason_is_that():
    route = routed(fields({}, {"intent": "grazed"}), teams=crews().iloc[:0], days=workdays())
    assert why(route) == ("no_crews", {})
    assert why(route, "f1")[0] == "not_hay"


def test_a_wet_area_is_left_until_it_is_dry():
    days = pd.concat([workdays(0, wet=frozenset({"Tift"})), workdays(1)])
    route = routed(fields({"area": "Tift"}, {"area": "Cook"}), days=days)
    assert route.fields["cut_date"].to_list() == [day(1), day(0)]


def test_a_field_without_an_area_is_wet_where_the_missing_name_is():
    route = routed(fields({"area": None}), days=workdays(0, wet=frozenset({""})))
    assert why(route)[0] == "no_workable_day"


@pytest.mark.parametrize(("last", "code"), [(4, "out_of_time"), (5, "can_wait")])
def test_of_two_fields_for_one_day_the_one_left_says_whether_it_can_wait(last, code):
    # Each takes most of the day; the larger is worth more.
    route = routed(fields({"area_ha": 20.0, "last": last}, {"area_ha": 28.0, "last": last}), days=workdays(0))
    assert [why(route)[0], why(route, "f1")] == [code, None]


def test_of_two_equal_fields_the_urgent_one_is_cut():
    route = routed(fields({"area_ha": 20.0, "last": 12}, {"area_ha": 20.0, "last": 1}), days=workdays(0))
    assert route.stops["field_id"].to_list() == ["f1"]


def test_the_last_cut_date_itself_and_the_ready_date_itself_are_in_the_window():
    assert routed(fields({"ready": 2, "last": 2}), days=workdays(2)).fields.loc["f0", "cut_date"] == day(2)


def test_a_field_is_cut_the_day_after_its_label_ends():
    assert routed(fields({"closed": 1, "last": 3})).fields.loc["f0", "cut_date"] == day(2)


def test_each_crew_counts_at_its_own_rate():
    # Only the fast crew can cut 40 ha in a shift of 8 h.
    route = routed(
        fields({"area_ha": 40.0}, {"area_ha": 14.0}),
        teams=crews(ann=2.0, bob=6.0),
        days=workdays(0, crew_names=("ann", "bob")),
    )
    assert route.fields["crew"].to_list() == ["bob", "ann"]
    assert set(route.stops["parts"]) == {1}


def test_a_field_too_big_for_a_shift_is_cut_in_equal_parts_on_several_days():
    # 0.95 of 8 h at 4 ha/h is 30.4 ha.
    stops = routed(fields({"area_ha": 60.0})).stops
    assert stops["area_ha"].to_list() == [30.0, 30.0]
    assert stops["part"].to_list() == [1, 2]
    assert stops["date"].is_monotonic_increasing
    assert stops["date"].is_unique


def test_cut_date_of_a_field_in_parts_is_that_of_the_last():
    route = routed(fields({"area_ha": 60.0}), days=workdays(1, 3))
    assert route.fields.loc["f0", "cut_date"] == day(3)


def test_parts_are_numbered_as_they_are_cut_whoever_cuts_them():
    days = pd.concat([workdays(0, crew_names=["bob"]), workdays(1, crew_names=["ann"])])
    route = routed(fields({"area_ha": 60.0}), teams=crews(bob=4.0), days=days)
    assert route.stops[["crew", "part"]].to_numpy().tolist() == [["ann", 2], ["bob", 1]]
    assert route.fields.loc["f0", ["crew", "cut_date"]].to_list() == ["ann", day(1)]


def test_the_way_there_and_back_makes_a_field_too_big_for_a_shift():
    # 40 km off, 130 min by road each way at 24 km/h and circuity 1.3: three hours and a half are left to work.
    route = routed(fields({"area_ha": 16.0, "gate_lat": 31.86}))
    assert route.stops["parts"].to_list() == [2, 2]


def test_no_field_is_left_half_cut_where_the_days_do_not_reach():
    # Three days for two fields of two days each.
    route = routed(fields({"area_ha": 50.0}, {"area_ha": 55.0}), days=workdays(0, 1, 2))
    assert route.stops["field_id"].to_list() == ["f1", "f1"]
    assert why(route)[0] == "can_wait"


def test_days_are_chosen_that_leave_days_in_hand():
    # One field a day: the one with the later date waits.
    land = fields({"area_ha": 25.0, "last": 4}, {"area_ha": 25.0, "last": 3}, {"area_ha": 25.0, "last": 2})
    assert routed(land, days=workdays(0, 1, 2)).fields["cut_date"].to_list() == [day(2), day(1), day(0)]


def whole_day_round(*, last_days, shifts=(480, 480, 480), drive_min=20, work_min=60, yard=(0, 0, 0)):
    """Return a round of whole days: crew-days 0, 1, 2, visits with the last day of each, all ways equally long."""
    yards, visits, days = max(yard) + 1, len(last_days), np.arange(len(shifts))
    return Round(
        travel_min=drive_min * (1 - np.eye(yards + visits, dtype="int64")),
        service_min=np.full((yards, visits), work_min),
        earliest_min=np.zeros(visits, dtype="int64"),
        latest_min=1440 * (np.array(last_days) + 1),
        prize=np.full(visits, 1000),
        field=np.arange(visits),
        yard=np.array(yard),
        start_min=1440 * days + 540,
        end_min=1440 * days + 540 + np.array(shifts),
        closed=np.zeros((len(shifts), visits), dtype="bool"),
    )


def test_routes_move_to_the_days_that_leave_days_in_hand():
    assert on_best_days(whole_day_round(last_days=[6, 4, 2]), [[0], [1], [2]]) == [[2], [1], [0]]


def test_a_route_moves_to_an_idle_day():
    assert on_best_days(whole_day_round(last_days=[2]), [[], [], [0]]) == [[0], [], []]


def test_a_route_stays_off_a_day_that_is_shut_to_it():
    todo = whole_day_round(last_days=[2])
    shut = replace(todo, closed=np.array([[True], [False], [False]]))
    assert on_best_days(shut, [[], [], [0]]) == [[], [0], []]


def test_a_route_stays_off_a_day_with_too_short_a_shift():
    todo = whole_day_round(last_days=[2], shifts=(99, 100, 480))
    assert on_best_days(todo, [[], [], [0]]) == [[], [0], []]


def test_a_route_stays_with_its_crew():
    todo = whole_day_round(last_days=[2], yard=(0, 1, 1))
    assert on_best_days(todo, [[], [], [0]]) == [[], [0], []]


@pytest.mark.parametrize("work_min", [60, 200, 439, 441])
def test_the_first_plan_fits_the_shifts_and_wastes_no_day(work_min):
    todo = whole_day_round(last_days=[0, 1, 2, 2, 2], work_min=work_min)
    routes = greedy_routes(todo)
    assert all(todo.fits_shift(crew_day, route) for crew_day, route in enumerate(routes))
    assert sum(len(route) for route in routes) == {60: 5, 200: 5, 439: 3, 441: 0}[work_min]


@pytest.mark.parametrize("weedy", [[True, False], [False, True]])
def test_a_weedy_field_comes_last_on_its_day_near_or_far(weedy):
    land = fields({"gate_lat": 31.52}, {"gate_lat": 31.6})
    land["weedy"] = weedy
    last = routed(land, days=workdays(0)).stops["field_id"].to_list()[-1]
    assert land.loc[last, "weedy"]


@pytest.mark.parametrize(("area_ha", "stop"), [(4.0, 3), (6.8, 2)])
def test_a_weedy_field_stays_on_the_way_where_the_shift_is_too_short(area_ha, stop):
    # Yard and gates are the corners of a square of 10 km, 33 min a side; the weedy field lies across.
    corners = [(-83.5, 31.59), (-83.395, 31.59), (-83.395, 31.5)]
    land = fields(*({"gate_lon": lon, "gate_lat": lat, "area_ha": area_ha} for lon, lat in corners))
    land["weedy"] = [False, True, False]
    stops = routed(land, days=workdays(0)).stops.set_index("field_id")
    assert len(stops) == 3
    assert stops.loc["f1", "stop"] == stop


@given(seed=st.integers(0, 10_000), size_ha=st.sampled_from([2.0, 12.0]))
@hypothesis_settings(max_examples=6)
def test_a_route_passes_the_check_and_cuts_no_field_twice_or_late(seed, size_ha):
    land, teams, days = invented(seed, count=12, size_ha=size_ha)
    land = land.sort_index()
    route = routed(land, teams=teams, days=days)
    parts = route.stops.groupby("field_id").agg(cuts=("part", "count"), parts=("parts", "max"))
    assert (parts["cuts"] == parts["parts"]).all()
    cut = route.fields["cut_date"].notna()
    assert (route.fields["cut_date"] <= land["last_cut_date"])[cut].all()
    assert (route.fields["why_not"].isna() == cut).all()


def test_the_same_seed_gives_the_same_plan():
    land, teams, days = invented(7)
    first, again = (routed(land, teams=teams, days=days) for _ in range(2))
    pd.testing.assert_frame_equal(first.stops, again.stops)


@pytest.mark.parametrize("size_ha", [2.0, 12.0])
def test_the_order_of_the_rows_changes_nothing(size_ha):
    land, teams, days = invented(8, size_ha=size_ha)
    route = routed(land, teams=teams, days=days)
    again = routed(
        land.sample(frac=1, random_state=1), teams=teams.iloc[::-1], days=days.sample(frac=1, random_state=2)
    )
    pd.testing.assert_frame_equal(route.stops, again.stops)
    pd.testing.assert_frame_equal(route.fields, again.fields)


def test_nothing_given_is_changed():
    land, teams, days = invented(9, count=10)
    copies = [table.copy(deep=True) for table in (land, teams, days)]
    routed(land, teams=teams, days=days)
    for table, copy in zip((land, teams, days), copies, strict=True):
        pd.testing.assert_frame_equal(pd.DataFrame(table), pd.DataFrame(copy))


@pytest.mark.parametrize(("effort", "steps"), [("quick", 2_500), ("normal", 12_500), ("long", 75_000)])
def test_the_effort_sets_the_steps_and_no_clock_does(effort, steps):
    assert search_steps(effort, crew_days=20) == steps


def test_progress_runs_from_nothing_to_all_and_never_back():
    land, teams, days = invented(11, size_ha=12.0)
    shares = []
    routed(land, teams=teams, days=days, tell=lambda step, share: shares.append((step, share)))
    assert {step for step, _ in shares} == {"route"}
    told = [share for _, share in shares]
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert len(told) > 20


def test_stop_ends_the_search():
    land, teams, days = invented(12)
    calls = []

    def stop_later(_step, share):
        calls.append(share)
        if share > 0.1:
            raise Stopped

    with pytest.raises(Stopped):
        routed(land, teams=teams, days=days, tell=stop_later)
    assert calls[-1] < 0.2


@pytest.mark.parametrize(
    ("land", "teams", "days"),
    [
        (fields(), crews(), workdays(0)),
        (fields({}), crews().iloc[:0], workdays()),
        (fields({}), crews(), workdays()),
        (fields({"intent": "grazed"}), crews(), workdays(0)),
        (fields({"last": 1}), crews(), workdays(3)),
    ],
)
def test_with_nothing_to_do_the_tables_keep_their_columns_and_kinds(land, teams, days):
    route = routed(land, teams=teams, days=days)
    full = routed(fields({}))
    assert route.stops.empty
    assert route.stops.dtypes.to_dict() == full.stops.dtypes.to_dict()
    assert route.fields.index.equals(land.index)
    assert list(route.fields) == ["crew", "cut_date", "cut_kind", "why_not"]


def lane(*lon_lat):
    return gpd.GeoDataFrame({"speed_km_h": [40.0]}, geometry=[shapely.LineString(lon_lat)], crs="EPSG:4326")


def test_gates_off_the_roads_are_noted_and_the_farthest_left_out():
    near, off, lost = {"gate_lon": -83.49}, {"gate_lat": 31.51}, {"gate_lat": 31.6}
    route = routed(fields(near, off, lost), roads=lane((-83.6, 31.5), (-83.4, 31.5)))
    notes = {note.code: dict(note.values) for note in route.notes}
    assert notes["note_far_gates"] == {"count": 1, "gap_m": pytest.approx(1109, rel=0.01)}
    assert notes["note_unreachable"] == {"count": 1, "gap_m": pytest.approx(11088, rel=0.01)}
    assert why(route, "f2") == ("unreachable", {"gap_m": pytest.approx(11088, rel=0.01)})
    assert set(route.stops["field_id"]) == {"f0", "f1"}


def test_a_crew_whose_yard_is_off_the_roads_is_noted_and_not_sent():
    teams = crews(bob=8.0)
    teams.loc["bob", "yard_lat"] = 32.0
    route = routed(fields({}), teams=teams, roads=lane((-83.6, 31.5), (-83.4, 31.5)))
    assert [(note.code, note.values["crew"]) for note in route.notes] == [("note_yard_unreachable", "bob")]
    assert set(route.stops["crew"]) == {"ann"}


@pytest.mark.parametrize(
    ("days_left", "code"),
    [
        (-1, "past"), (0, "0-7"), (7, "0-7"), (8, "8-14"), (14, "8-14"), (15, "15-28"), (28, "15-28"),
        (29, "over_28"), (np.nan, ""),
    ],
)  # fmt: skip
def test_urgency_classes_end_where_they_say(days_left, code):
    assert urgency_class(pd.Series([days_left])).to_list() == [code]


def test_urgency_classes_take_whole_numbers_with_gaps():
    assert urgency_class(pd.Series([3, None], dtype="Int64")).to_list() == ["0-7", ""]


def test_urgency_weighs_one_on_the_last_day_and_half_a_week_before():
    assert urgency_weight(pd.Series([-3.0, 0.0, 7.0])).to_list() == [1, 1, 0.5]


@given(st.lists(st.integers(0, 400), min_size=2))
def test_fewer_days_left_never_weigh_less(days_left):
    weights = urgency_weight(pd.Series(sorted(days_left)))
    assert weights.is_monotonic_decreasing
    assert weights.between(0, 1, inclusive="right").all()
