"""Writes routes as a table of stops with their times."""

import pandas as pd

from spatial.routing.model import DAY_MIN, Round, Routes

_TYPES = {
    "crew": "str",
    "date": "datetime64[us]",
    "stop": "int64",
    "field_id": "str",
    "part": "int64",
    "parts": "int64",
    "cut_kind": "str",
    "start": "datetime64[us]",
    "end": "datetime64[us]",
    "travel_min": "int64",
    "area_ha": "float64",
}


_DAY_COLUMNS = ("crew_day", "stop", "visit", "travel_min", "start_min", "end_min")


def stop_table(
    todo: Round, routes: Routes, crew_days: pd.DataFrame, visits: pd.DataFrame, field_ids: pd.Index
) -> pd.DataFrame:
    """Return one row a stop, by crew, date and stop; parts of a field are numbered in the order they are cut.

    Work starts on arrival: windows are whole days, so that nobody ever waits.
    """
    rows = [row for crew_day, route in enumerate(routes) for row in _day_stops(todo, crew_day, route)]
    stops = pd.DataFrame(rows, columns=list(_DAY_COLUMNS)).astype("int64")
    whose = crew_days.iloc[stops["crew_day"]].reset_index(drop=True)
    visit = visits.iloc[stops["visit"]].reset_index(drop=True)
    stops = stops.join(whose[["crew", "date"]]).join(visit[["parts", "area_ha"]])
    stops = stops.assign(
        field_id=field_ids[visit["field"]],
        cut_kind="early",
        start=whose["date"] + pd.to_timedelta(stops["start_min"], unit="min"),
        end=whose["date"] + pd.to_timedelta(stops["end_min"], unit="min"),
    )
    stops["part"] = stops.sort_values(["start", "crew"]).groupby("field_id").cumcount() + 1
    return stops[list(_TYPES)].astype(_TYPES)


def last_stops(stops: pd.DataFrame, index: pd.Index) -> pd.DataFrame:
    """Return crew, cut_date and cut_kind of each field's last stop on `index`; missing where it has none."""
    last = stops.sort_values(["end", "crew"]).drop_duplicates("field_id", keep="last").set_index("field_id")
    return last[["crew", "date", "cut_kind"]].rename(columns={"date": "cut_date"}).reindex(index)


def _day_stops(todo: Round, crew_day: int, route: list[int]) -> list[tuple[int, ...]]:
    """Return the stops of one crew-day; start and end in minutes after midnight."""
    yard, clock = int(todo.yard[crew_day]), int(todo.start_min[crew_day]) % DAY_MIN
    here = yard
    rows: list[tuple[int, ...]] = []
    for stop, visit in enumerate(route, start=1):
        there = len(todo.service_min) + visit
        travel = int(todo.travel_min[here, there])
        start, end = clock + travel, clock + travel + int(todo.service_min[yard, visit])
        rows.append((crew_day, stop, visit, travel, start, end))
        here, clock = there, end
    return rows
