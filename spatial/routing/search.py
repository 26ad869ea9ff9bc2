"""Finds routes on which no field is left half cut."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pandas as pd

from spatial.routing.greedy import greedy_routes
from spatial.routing.model import Round, Routes, solve

# Seconds of search where the rate was measured; the search counts steps, so that the same seed gives the same
# plan on any machine.
_SECONDS = {"quick": 2, "normal": 10, "long": 60}

# How many times a half-cut field is tried both ways.
_TRIED = 4

# Share of the steps of the first search that each trial gets.
_TRIAL_SHARE = 0.15


@dataclass(frozen=True)
class _Trial:
    """Routes found with some fields `wanted` whole and some `unwanted`, by number; others may be half cut."""

    routes: Routes
    wanted: frozenset[int] = frozenset()
    unwanted: frozenset[int] = frozenset()


def search_steps(effort: Literal["quick", "normal", "long"], crew_days: int) -> int:
    """Return the steps of a search: measured at about 50,000 / (crew-days + 20) a second."""
    return _SECONDS[effort] * 50_000 // (crew_days + 20)


def best_routes(todo: Round, steps: int, seed: int, heard: Callable[[float], None]) -> Routes:
    """Return the best routes found: the most prize less driving, every field cut whole or not at all.

    The parts of a field are free of each other in the search. A field left half cut is then tried both ways,
    with all of its parts and with none, where what the half-cut plan is worth bounds what either can be.
    """
    if not todo.open_all_shift().any():
        return [[] for _ in todo.yard]
    first = solve(todo, greedy_routes(todo), steps, seed, lambda share: heard(0.8 * share))
    trials, best = [_Trial(first)], _whole_only(todo, first)
    for turn in range(_TRIED):
        trials = [
            trial
            for trial in trials
            if _undecided(todo, trial) and todo.value(trial.routes) > todo.value(best)
        ]
        if not trials:
            break
        open_trial = trials.pop(int(np.argmax([todo.value(trial.routes) for trial in trials])))
        decided = _both_ways(todo, open_trial, max(1, int(steps * _TRIAL_SHARE)), seed, _between(heard, turn))
        best = max(best, *(_whole_only(todo, trial.routes) for trial in decided), key=todo.value)
        trials += decided
    return best


def _between(heard: Callable[[float], None], turn: int) -> Callable[[float], None]:
    return lambda share: heard(0.8 + 0.2 * (turn + share) / _TRIED)


def _undecided(todo: Round, trial: _Trial) -> list[int]:
    return [field for field in half_cut_fields(todo, trial.routes) if field not in trial.wanted]


def _both_ways(
    todo: Round, trial: _Trial, steps: int, seed: int, heard: Callable[[float], None]
) -> tuple[_Trial, _Trial]:
    """Return the routes found when the first half-cut field of a trial must be cut whole, and when it must not."""
    field = frozenset(_undecided(todo, trial)[:1])
    start = _whole_only(todo, trial.routes)
    whole = _Trial(start, trial.wanted | field, trial.unwanted)
    without = _Trial(start, trial.wanted, trial.unwanted | field)
    first = solve(_under(todo, whole), start, steps, seed, lambda share: heard(share / 2))
    second = solve(_under(todo, without), start, steps, seed, lambda share: heard(0.5 + share / 2))
    return replace(whole, routes=first), replace(without, routes=second)


def half_cut_fields(todo: Round, routes: Routes) -> list[int]:
    """Return the fields of which some parts are on a route and some not, the most prize on a route first."""
    planned = np.zeros(len(todo.field), dtype="bool")
    planned[[visit for route in routes for visit in route]] = True
    table = pd.DataFrame({"field": todo.field, "planned": planned, "prize": todo.prize * planned})
    by_field = table.groupby("field")
    half = by_field["planned"].any() & ~by_field["planned"].all()
    prize = by_field["prize"].sum()[half].sort_values(ascending=False, kind="stable")
    return [int(field) for field in prize.index.to_numpy()]


def _whole_only(todo: Round, routes: Routes) -> Routes:
    half = set(half_cut_fields(todo, routes))
    return [[visit for visit in route if todo.field[visit] not in half] for route in routes]


def _under(todo: Round, trial: _Trial) -> Round:
    """Return the round in which a part of a wanted field outweighs all other prizes and unwanted ones are shut."""
    is_wanted, is_shut = np.isin(todo.field, list(trial.wanted)), np.isin(todo.field, list(trial.unwanted))
    prize = np.where(is_shut, 0, np.where(is_wanted, todo.prize.sum() + 1, todo.prize))
    return replace(todo, prize=prize, closed=todo.closed | is_shut)
