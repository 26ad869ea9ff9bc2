"""Finds what is wrong with a cutting route, knowing the rules of the work and nothing of the planning."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from spatial.routing.roads import Travel
from spatial.settings import Settings

# What rounding may take from a time or an area before it is a fault.
_ROUNDING_MIN = 1e-6
_ROUNDING_HA = 1e-6


def check_route(
    stops: pd.DataFrame,
    fields: gpd.GeoDataFrame,
    crews: pd.DataFrame,
    workdays: pd.DataFrame,
    travel: Travel,
    settings: Settings,
) -> list[str]:
    """Return every fault of a route, a sentence each; an empty list means that it can be driven.

    `stops` is the table of a `CuttingRoute`, the others are what it was made from; `travel` names its places
    ("yard", crew) and ("gate", field_id). Checks days off and wet areas, windows, shifts, overlaps, times to
    work and to drive, the way home, and that each field is cut once and whole.
    """
    unknown = [f"there is no field {field}" for field in sorted(set(stops["field_id"]) - set(fields.index))]
    unknown += [f"there is no crew {crew}" for crew in sorted(set(stops["crew"]) - set(crews.index))]
    if unknown:
        return unknown
    faults = list(_whole_field_faults(stops, fields))
    for stop in _rows(stops):
        faults += _stop_faults(stop, fields.loc[stop.field_id], crews.loc[stop.crew], settings)
    days: dict[Any, Any] = {(row.crew, row.date): row for row in _rows(workdays)}
    for (crew, day), day_stops in stops.groupby(["crew", "date"]):
        workday, ordered = days.get((crew, day)), day_stops.sort_values("stop")
        found = ["not a day on which the crew can work"]
        if workday is not None:
            found = list(_day_faults(ordered, workday, fields["area"].to_dict(), travel))
        faults += [f"{crew} on {str(day)[:10]}: {fault}" for fault in found]
    return faults


def _whole_field_faults(stops: pd.DataFrame, fields: gpd.GeoDataFrame) -> Iterator[str]:
    area_ha = fields["area_ha"].to_dict()
    for field, cuts in stops.groupby("field_id"):
        if cuts["part"].duplicated().any():
            yield f"{field}: the same part is cut twice"
        if any(set(cuts["part"]) != set(range(1, parts + 1)) for parts in cuts["parts"]):
            yield f"{field}: parts are missing, or do not go together"
        if not abs(cuts["area_ha"].sum() - area_ha[field]) <= _ROUNDING_HA:
            yield f"{field}: {cuts['area_ha'].sum():g} ha are cut of {area_ha[field]:g} ha"


def _stop_faults(stop: Any, field: Any, crew: Any, settings: Settings) -> Iterator[str]:
    """Yield what is wrong with one stop, whatever happens before and after it."""
    name, last_cut, closed = stop.field_id, field["last_cut_date"], field["closed_until_date"]
    needed_min = 60 * stop.area_ha / crew["work_rate_ha_h"] + settings.fold_min
    tests = {
        "is no early cut": stop.cut_kind == "early",
        "is not meant for hay": field["intent"] in {"hay", "overseeded"},
        "had its killing freeze": pd.isna(field["killing_freeze_recorded_date"]),
        "starts before the field is ready": stop.start >= field["ready_date"],
        "is closed by a label": pd.isna(closed) or stop.start.normalize() > closed,
        "ends after its last-cut date": stop.end.normalize() <= last_cut,
        "does not lie on its date": stop.start.normalize() == stop.date == stop.end.normalize(),
        "has too little time for its area": _minutes(stop.end - stop.start) >= needed_min - _ROUNDING_MIN,
    }
    return (f"{name}: {fault}" for fault, passed in tests.items() if not passed)


def _day_faults(stops: pd.DataFrame, day: Any, areas: Mapping[Any, Any], travel: Travel) -> Iterator[str]:
    """Yield what is wrong with the stops of one crew on one day, in their order."""
    leaves = day.date + pd.Timedelta(minutes=day.shift_start_min)
    back_by = day.date + pd.Timedelta(minutes=day.shift_end_min)
    if list(stops["stop"]) != list(range(1, len(stops) + 1)):
        yield "stops are not counted 1, 2, 3"
    for stop in _rows(stops):
        area = areas[stop.field_id]
        if (area.strip() if isinstance(area, str) else "") in day.wet_areas:
            yield f"{stop.field_id} lies in an area that is too wet"
        if stop.start < leaves or stop.end > back_by:
            yield f"{stop.field_id} is cut outside the shift"
    for before, after in pairwise(_rows(stops)):
        if after.start < before.end:
            yield f"{after.field_id} starts before {before.field_id} is done"
    yield from _drive_faults(_legs(stops, day.crew, leaves, back_by), travel)


def _legs(stops: pd.DataFrame, crew: str, leaves: pd.Timestamp, back_by: pd.Timestamp) -> pd.DataFrame:
    """Return one row a drive: from here, to there, the time there is for it and the time it is told to take."""
    yard = ("yard", crew)
    gates = [("gate", field) for field in stops["field_id"]]
    spans = zip([leaves, *stops["end"]], [*stops["start"], back_by], strict=True)
    legs = {
        "here": [yard, *gates],
        "there": [*gates, yard],
        "time_min": [_minutes(arrival - departure) for departure, arrival in spans],
        "told_min": [*stops["travel_min"], np.inf],
    }
    return pd.DataFrame(legs)


def _drive_faults(legs: pd.DataFrame, travel: Travel) -> Iterator[str]:
    row = {place: position for position, place in enumerate(travel.places)}
    for leg in _rows(legs):
        known = leg.here in row and leg.there in row
        needed_min = travel.minutes[row[leg.here], row[leg.there]] if known else np.nan
        way = f"{leg.here[1]} to {leg.there[1]}"
        if np.isnan(needed_min):
            yield f"{way}: cannot be reached"
        elif leg.time_min < needed_min - _ROUNDING_MIN:
            is_home = leg.there[0] == "yard"
            yield f"{way}: not back at the yard in time" if is_home else f"{way}: too little time to drive"
        elif leg.told_min < needed_min - _ROUNDING_MIN:
            yield f"{way}: the time told to drive is too short"


def _minutes(span: pd.Timedelta) -> float:
    return span / pd.Timedelta(minutes=1)


def _rows(table: pd.DataFrame) -> list[Any]:
    return list(table.itertuples())
