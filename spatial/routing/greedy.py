"""Gives a plain first plan: fields one after the other, each where it costs the least driving."""

import numpy as np
from numpy.typing import NDArray

from spatial.routing.model import Round, Routes


def greedy_routes(todo: Round) -> Routes:
    """Return the better of two plans: fields by their last day, or by their prize for an hour of work.

    Only for visits that may be finished at any minute of a shift; the others are left out.
    """
    service = todo.service_min.min(axis=0)
    by_date = np.lexsort((-todo.prize, todo.latest_min))
    by_prize = np.argsort(-todo.prize / service, kind="stable")
    return max((_inserted(todo, order) for order in (by_date, by_prize)), key=todo.value)


def _inserted(todo: Round, order: NDArray[np.intp]) -> Routes:
    routes: Routes = [[] for _ in todo.yard]
    left_min = todo.end_min - todo.start_min
    may = todo.open_all_shift()
    for visit in order.tolist():
        needed_min = todo.service_min[todo.yard, visit]
        places = [
            (*_least_detour(todo, crew_day, routes[crew_day], visit), crew_day)
            for crew_day in np.flatnonzero(may[:, visit] & (needed_min <= left_min)).tolist()
        ]
        fitting = [place for place in places if place[0] + needed_min[place[2]] <= left_min[place[2]]]
        if fitting and (best := min(fitting))[0] < todo.prize[visit]:
            detour_min, position, crew_day = best
            routes[crew_day].insert(position, visit)
            left_min[crew_day] -= detour_min + needed_min[crew_day]
    return routes


def _least_detour(todo: Round, crew_day: int, route: list[int], visit: int) -> tuple[int, int]:
    """Return the least minutes of detour to a visit, and the position on the route where it arises."""
    yards, yard = len(todo.service_min), todo.yard[crew_day]
    places = np.array([yard, *(yards + stop for stop in route), yard])
    there = yards + visit
    before, after = places[:-1], places[1:]
    detours = todo.travel_min[before, there] + todo.travel_min[there, after] - todo.travel_min[before, after]
    position = int(detours.argmin())
    return int(detours[position]), position
