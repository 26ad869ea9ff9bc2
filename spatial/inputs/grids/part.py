"""What one file of daily minima is: its days, its packing, how it lies in the north-up grid, and a way to read it."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spatial.errors import InputError, Problem
from spatial.values import Grid, Window

ReadRaw = Callable[[slice, Window], NDArray[Any]]
"""Gives the raw values of a run of days on a window of the file's own rows and columns, in its own order."""


@dataclass(frozen=True)
class DayAxis:
    """The days of a file: as dates, as year, month and day in one number of its own calendar, and the time of day."""

    days: NDArray[np.datetime64]  # midnights
    own: NDArray[np.int64]  # 20010914
    clock: NDArray[np.float64]  # share of the day
    calendar: str


@dataclass(frozen=True)
class Packing:
    """Raw values: deg C = scale * raw + offset, but for those that mean missing."""

    scale: float
    offset: float
    missing: tuple[float, ...]


@dataclass(frozen=True)
class Layout:
    """How the file's rows and columns lie in the grid: south row first, and the column that comes first there."""

    south_first: bool = False
    first_column: int = 0


@dataclass(frozen=True)
class GridPart:
    """One file. `chunk` is what it is kept in, as days, rows and columns; `opened()` gives its reader."""

    name: str
    grid: Grid
    axis: DayAxis
    packing: Packing
    layout: Layout
    chunk: tuple[int, int, int]
    item_bytes: int
    opened: Callable[[], AbstractContextManager[ReadRaw]]


def refusal(file: str, place: str, cause: str, mend: str) -> InputError:
    """Return the error that says one thing wrong with a file."""
    return InputError([Problem(file, place, cause, mend)])
