"""Gives the cutting route: which crew cuts which field early, on which day and in which order."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.errors import Tell
from spatial.reasons import Reason, reason
from spatial.routing.left_out import barred_codes, left_out_reasons, unfit_codes, unplanned_codes
from spatial.routing.model import Round, Routes
from spatial.routing.rearrange import on_best_days, with_weedy_last
from spatial.routing.roads import MAX_GAP_M, Travel, travel_minutes
from spatial.routing.search import best_routes, search_steps
from spatial.routing.stops import last_stops, stop_table
from spatial.routing.visits import crew_day_table, field_parts, round_of, visits_to, whole_minutes
from spatial.routing.windows import cut_windows, dry_areas, in_window
from spatial.settings import Settings

# A gate farther than this from its road is told of, as its position or the road file may be wrong (common
# practice, no source).
_FAR_GATE_M = 400.0


@dataclass(frozen=True)
class CuttingRoute:
    """What the crews do in the days ahead.

    `stops`: one row a stop, by crew, date and stop: crew, date, stop (1, 2, ... that day), field_id, part and
    parts of the field, cut_kind, start, end (local time), travel_min (to reach it), area_ha (of the part).
    `fields`: on the fields' index: crew, cut_date (of the last part), cut_kind, why_not (a Reason, or None for
    a field on the route). `travel`: the travel times that the plan counts with, between the places ("yard",
    crew) and ("gate", field_id). `notes`: what the reader of the whole plan must know about gates and yards.
    """

    stops: pd.DataFrame
    fields: pd.DataFrame
    travel: Travel
    notes: tuple[Reason, ...]


def cutting_route(
    fields: gpd.GeoDataFrame,
    roads: gpd.GeoDataFrame | None,
    crews: pd.DataFrame,
    workdays: pd.DataFrame,
    settings: Settings,
    tell: Tell,
) -> CuttingRoute:
    """Return the route on which the crews cut the most acres in time, urgent ones first, for little driving.

    `fields` (on field_id), `crews` (on crew) and `roads` (or None) are a region's tables; `workdays` comes
    from `workable_days`. Progress is told as step "route". The same input and settings give the same route,
    in whatever order the rows come.
    """
    tell("route", 0.0)
    fields, crews = fields.sort_index(), crews.sort_index()
    crew_days = crew_day_table(crews, workdays, settings)
    windows = cut_windows(fields, settings.on)
    dry = dry_areas(fields, crew_days)
    codes = barred_codes(fields, windows, crews, crew_days, in_window(windows, crew_days) & dry, settings)
    open_rows = np.flatnonzero(codes == "")
    candidates = fields[["area_ha", "gate_lon", "gate_lat", "weedy"]].iloc[open_rows].join(windows)
    travel = travel_minutes(_places(crews, candidates), roads, settings)
    stops, codes.iloc[open_rows] = _cut(candidates, crew_days, dry[:, open_rows], travel, settings, tell)
    gap_m = pd.Series(travel.gap_m[len(crews) :], candidates.index).reindex(fields.index)
    planned = last_stops(stops, fields.index)
    why_not = left_out_reasons(codes, fields, windows, gap_m, settings)
    tell("route", 1.0)
    return CuttingRoute(stops, planned.assign(why_not=why_not), travel, _notes(crews, travel))


def _places(crews: pd.DataFrame, fields: pd.DataFrame) -> pd.DataFrame:
    """Return lon and lat of the yards, then the gates, named ("yard", crew) and ("gate", field_id)."""
    names = [*(("yard", crew) for crew in crews.index), *(("gate", field) for field in fields.index)]
    lon_lat = {
        "lon": np.concatenate([crews["yard_lon"], fields["gate_lon"]]),
        "lat": np.concatenate([crews["yard_lat"], fields["gate_lat"]]),
    }
    return pd.DataFrame(lon_lat, index=pd.Index(names, tupleize_cols=False, dtype="object"))


def _cut(
    candidates: pd.DataFrame,
    crew_days: pd.DataFrame,
    dry: NDArray[np.bool_],
    travel: Travel,
    settings: Settings,
    tell: Tell,
) -> tuple[pd.DataFrame, NDArray[np.object_]]:
    """Return the stops, and for each candidate why it is not among them ("" where it is)."""
    travel_min, yards = whole_minutes(travel), len(travel.places) - len(candidates)
    reached = np.isfinite(travel.minutes[:yards, yards:])
    yard = crew_days["yard"].to_numpy()
    can_come = dry & reached[yard]
    may = can_come & in_window(candidates, crew_days)
    parts = field_parts(candidates["area_ha"], travel_min[:yards, yards:][yard], crew_days, may, settings)
    visits = visits_to(candidates, parts, settings)
    todo = round_of(visits, crew_days, travel_min, can_come, settings)
    routes = _routes(todo, candidates["weedy"].to_numpy(dtype="bool")[todo.field], settings, tell)
    stops = stop_table(todo, routes, crew_days, visits, candidates.index)
    unfit = unfit_codes(travel.gap_m[yards:] <= MAX_GAP_M, reached, may, parts)
    unplanned = np.where(unfit == "", unplanned_codes(candidates, settings), unfit)
    return stops, np.where(candidates.index.isin(stops["field_id"]), "", unplanned)


def _routes(todo: Round, weedy: NDArray[np.bool_], settings: Settings, tell: Tell) -> Routes:
    steps = search_steps(settings.effort, len(todo.yard))
    routes = best_routes(todo, steps, settings.seed, lambda share: tell("route", share))
    return with_weedy_last(todo, on_best_days(todo, routes), weedy)


def _notes(crews: pd.DataFrame, travel: Travel) -> tuple[Reason, ...]:
    yard_gap_m, gate_gap_m = np.split(travel.gap_m, [len(crews)])
    unreachable, far = gate_gap_m > MAX_GAP_M, (gate_gap_m > _FAR_GATE_M) & (gate_gap_m <= MAX_GAP_M)
    notes = [
        reason("note_yard_unreachable", crew=crew, gap_m=float(gap_m))
        for crew, gap_m in zip(crews.index, yard_gap_m, strict=True)
        if not gap_m <= MAX_GAP_M
    ]
    for code, gates in (("note_unreachable", unreachable), ("note_far_gates", far)):
        if gates.any():
            notes.append(reason(code, count=int(gates.sum()), gap_m=float(gate_gap_m[gates].max())))
    return tuple(notes)
