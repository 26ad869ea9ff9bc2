"""Gives the round to be planned to the route solver and takes its routes back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvrp
import pyvrp.stop
from numpy.typing import NDArray

DAY_MIN = 24 * 60

# More minutes than any horizon has: a way that does not exist.
NO_WAY_MIN = 100_000

_Ints = NDArray[np.int64]

Routes = list[list[int]]
"""For each crew-day the visits it makes, in order, by position."""


@dataclass(frozen=True)
class Round:
    """What there is to visit and who can; all times in whole minutes on one clock.

    `travel_min`: (yards + visits, same), yards first. `service_min`: (yards, visits), time to fold and unfold
    included. For each visit: `earliest_min` and `latest_min`, between which it must be FINISHED, `prize` [minutes
    of driving] and `field`, the number of the field it belongs to. For each crew-day: `yard`, `start_min` and
    `end_min` of its shift. `closed`: (crew-days, visits) that must not meet.
    """

    travel_min: _Ints
    service_min: _Ints
    earliest_min: _Ints
    latest_min: _Ints
    prize: _Ints
    field: NDArray[np.intp]
    yard: NDArray[np.intp]
    start_min: _Ints
    end_min: _Ints
    closed: NDArray[np.bool_]

    def open_all_shift(self) -> NDArray[np.bool_]:
        """Return (crew-days, visits) whether a visit may be finished at any minute of the shift."""
        early = self.earliest_min <= self.start_min[:, None]
        return np.asarray(early & (self.end_min[:, None] <= self.latest_min) & ~self.closed)

    def driving_min(self, crew_day: int, route: Sequence[int]) -> int:
        """Return the minutes driven on a route, from the yard and back to it."""
        yards = len(self.service_min)
        places = [self.yard[crew_day], *(yards + visit for visit in route), self.yard[crew_day]]
        return int(self.travel_min[places[:-1], places[1:]].sum()) if route else 0

    def service_total_min(self, crew_day: int, route: Sequence[int]) -> int:
        """Return the minutes a crew works at the stops of a route."""
        return int(self.service_min[self.yard[crew_day], list(route)].sum())

    def fits_shift(self, crew_day: int, route: Sequence[int]) -> bool:
        """Return whether a route that never waits ends within the shift."""
        shift_min = int(self.end_min[crew_day] - self.start_min[crew_day])
        return self.driving_min(crew_day, route) + self.service_total_min(crew_day, route) <= shift_min

    def value(self, routes: Routes) -> int:
        """Return the prizes of all visits less the minutes driven."""
        prizes = sum(int(self.prize[route].sum()) for route in routes)
        return prizes - sum(self.driving_min(crew_day, route) for crew_day, route in enumerate(routes))


def solve(
    todo: Round, first_routes: Routes, iterations: int, seed: int, heard: Callable[[float], None]
) -> Routes:
    """Return the best routes found in `iterations` steps from `first_routes`, never worse than those.

    `heard` is called with the share done, and what it raises ends the search. The same input and seed give
    the same routes.
    """
    data = _problem(todo)
    started = [pyvrp.Route(data, route, crew_day) for crew_day, route in enumerate(first_routes) if route]
    result = pyvrp.solve(
        data,
        _stop_after(iterations, heard),
        seed=seed,
        collect_stats=False,
        params=pyvrp.SolveParams(penalty=_penalties(todo)),
        initial_solution=pyvrp.Solution(data, started) if started else None,
    )
    return _routes_of(result.best, len(todo.yard)) if result.is_feasible() else first_routes


def _stop_after(iterations: int, heard: Callable[[float], None]) -> pyvrp.stop.StoppingCriterion:
    done = 0

    def stop(best_cost: int) -> bool:  # noqa: ARG001 - the solver's own name for what it passes
        nonlocal done
        if done % 50 == 0:
            heard(done / iterations)
        done += 1
        return done > iterations

    return stop


def _penalties(todo: Round) -> pyvrp.PenaltyParams:
    """Return penalties under which no prize is ever worth a minute outside a window or a shift."""
    return pyvrp.PenaltyParams(max_penalty=max(100_000.0, 2.0 * float(todo.prize.max(initial=0))))


def _problem(todo: Round) -> pyvrp.ProblemData:
    yards = len(todo.service_min)
    profiles, profile = _profiles(todo)
    driving: Any = todo.travel_min
    return pyvrp.ProblemData(
        locations=[pyvrp.Location(0, 0) for _ in range(len(todo.travel_min))],
        clients=[_client(todo, visit, yards + visit) for visit in range(len(todo.prize))],
        depots=[pyvrp.Depot(yard) for yard in range(yards)],
        vehicle_types=[_vehicle(todo, crew_day, kind) for crew_day, kind in enumerate(profile.tolist())],
        distance_matrices=[driving] * len(profiles),
        duration_matrices=profiles,
    )


def _client(todo: Round, visit: int, location: int) -> pyvrp.Client:
    return pyvrp.Client(
        location,
        tw_early=int(todo.earliest_min[visit]),
        tw_late=int(todo.latest_min[visit]),
        prize=int(todo.prize[visit]),
        required=False,
    )


def _vehicle(todo: Round, crew_day: int, profile: int) -> pyvrp.VehicleType:
    yard = int(todo.yard[crew_day])
    return pyvrp.VehicleType(
        start_depot=yard,
        end_depot=yard,
        tw_early=int(todo.start_min[crew_day]),
        tw_late=int(todo.end_min[crew_day]),
        profile=profile,
    )


def _profiles(todo: Round) -> tuple[list[Any], NDArray[np.intp]]:
    """Return a duration matrix for each crew and set of closed visits, and which of them each crew-day has.

    The solver keeps one service time a client and lets its window bound the start. With the service in the
    way to the client, each crew has its own and the window bounds the finish.
    """
    kinds, profile = np.unique(np.column_stack([todo.yard, todo.closed]), axis=0, return_inverse=True)
    never = int(todo.end_min.max(initial=0)) + 1
    matrices = []
    for yard, *closed in kinds:
        service = np.where(np.asarray(closed, dtype="bool"), never, todo.service_min[yard])
        minutes = todo.travel_min.copy()
        minutes[:, len(todo.service_min) :] += service
        np.fill_diagonal(minutes, 0)
        matrices.append(minutes)
    return matrices, profile


def _routes_of(best: pyvrp.Solution, crew_days: int) -> Routes:
    routes: Routes = [[] for _ in range(crew_days)]
    for route in best.routes():
        routes[route.vehicle_type()] = [stop.idx for stop in route if stop.is_client()]
    return routes
