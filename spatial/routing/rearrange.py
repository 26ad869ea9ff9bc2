"""Moves finished routes to the days, and weedy fields to the end of the day, where they do best."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from spatial.routing.model import DAY_MIN, Round, Routes

# What a day later costs among days that are equally good: too little to outweigh any day in hand.
_EARLIER_DAY = 1e-6


def on_best_days(todo: Round, routes: Routes) -> Routes:
    """Return the same routes, each crew's on those of its days that leave its fields the most days in hand.

    A stop with h days in hand costs 1 / (1 + h), so that the last days before a last-cut date are avoided
    first. A route moves only to a day whose shift it fits, in all its windows and with no area wet.
    """
    moved: Routes = [[] for _ in routes]
    may = todo.open_all_shift()
    for yard in np.unique(todo.yard):
        days = np.flatnonzero(todo.yard == yard).tolist()
        own = [routes[day] for day in days if routes[day]]
        costs = [[_cost(todo, may, day, route) for day in days] for route in own]
        cost = np.reshape(costs, (len(own), len(days))) + _EARLIER_DAY * np.arange(len(days))
        for row, column in zip(*linear_sum_assignment(cost), strict=True):
            moved[days[column]] = own[row]
    return moved


def with_weedy_last(todo: Round, routes: Routes, weedy: NDArray[np.bool_]) -> Routes:
    """Return the routes with weedy visits at the end of each day, where the day still fits the shift."""
    return [_weedy_last(todo, crew_day, route, weedy) for crew_day, route in enumerate(routes)]


def _cost(todo: Round, may: NDArray[np.bool_], crew_day: int, route: list[int]) -> float:
    if not may[crew_day, route].all() or not todo.fits_shift(crew_day, route):
        return np.inf
    in_hand = (todo.latest_min[route] - todo.end_min[crew_day]) // DAY_MIN
    return float((1.0 / (1.0 + in_hand)).sum())


def _weedy_last(todo: Round, crew_day: int, route: list[int], weedy: NDArray[np.bool_]) -> list[int]:
    orders = [sorted(order, key=lambda visit: bool(weedy[visit])) for order in (route, route[::-1])]
    best = min(orders, key=lambda order: todo.driving_min(crew_day, order))
    return best if weedy[route].any() and todo.fits_shift(crew_day, best) else route
