"""Finds routes on which no field is left half cut."""

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np
import pandas as pd

from spatial.routing.greedy import greedy_routes
from spatial.routing.model import Round, Routes, solve

Fields = frozenset[int]

# Seconds of search where the rate was measured; the search counts steps, so that the same seed gives the same
# plan on any machine.
_SECONDS = {"quick": 2, "normal": 10, "long": 60}

# How many half-cut fields are each tried with and without; more are left out at once.
_TRIED = 3

# Share of the steps of the first search that each trial gets.
_TRIAL_SHARE = 0.25


def search_steps(effort: Literal["quick", "normal", "long"], crew_days: int) -> int:
    """Return the steps of a search: measured at about 50,000 / (crew-days + 20) a second."""
    return _SECONDS[effort] * 50_000 // (crew_days + 20)


def best_routes(todo: Round, steps: int, seed: int, heard: Callable[[float], None]) -> Routes:
    """Return the best routes found: the most prize less driving, every field cut whole or not at all.

    The parts of a field are free of each other in the search. A field left half cut is then tried both ways,
    with all of its parts and with none, and the better plan is kept.
    """
    if not todo.open_all_shift().any():
        return [[] for _ in todo.yard]
    routes = solve(todo, greedy_routes(todo), steps, seed, lambda share: heard(0.8 * share))
    trial_steps = max(1, int(steps * _TRIAL_SHARE))
    wanted: Fields = frozenset()
    unwanted: Fields = frozenset()
    for _ in range(_TRIED):
        open_question = [field for field in half_cut_fields(todo, routes) if field not in wanted]
        if not open_question:
            break
        field = frozenset(open_question[:1])
        start = _whole_only(todo, routes)
        choices = ((wanted | field, unwanted), (wanted, unwanted | field))
        trials = [solve(_under(todo, *choice), start, trial_steps, seed, _late(heard)) for choice in choices]
        best = max((0, 1), key=[todo.value(_whole_only(todo, trial)) for trial in trials].__getitem__)
        routes, (wanted, unwanted) = trials[best], choices[best]
    return _whole_only(todo, routes)


def half_cut_fields(todo: Round, routes: Routes) -> list[int]:
    """Return the fields of which some parts are on a route and some not, the most prize on a route first."""
    planned = np.zeros(len(todo.field), dtype="bool")
    planned[[visit for route in routes for visit in route]] = True
    table = pd.DataFrame({"field": todo.field, "planned": planned, "prize": todo.prize * planned})
    by_field = table.groupby("field")
    half = by_field["planned"].any() & ~by_field["planned"].all()
    prize = by_field["prize"].sum()[half].sort_values(ascending=False, kind="stable")
    return [int(field) for field in prize.index.to_numpy()]


def _late(heard: Callable[[float], None]) -> Callable[[float], None]:
    return lambda share: heard(0.8 + 0.2 * share)


def _whole_only(todo: Round, routes: Routes) -> Routes:
    half = set(half_cut_fields(todo, routes))
    return [[visit for visit in route if todo.field[visit] not in half] for route in routes]


def _under(todo: Round, wanted: Fields, unwanted: Fields) -> Round:
    """Return the round in which a part of a wanted field outweighs all other prizes and unwanted ones are shut."""
    is_wanted, is_shut = np.isin(todo.field, list(wanted)), np.isin(todo.field, list(unwanted))
    prize = np.where(is_shut, 0, np.where(is_wanted, todo.prize.sum() + 1, todo.prize))
    return replace(todo, prize=prize, closed=todo.closed | is_shut)
