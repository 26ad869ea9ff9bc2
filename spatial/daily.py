"""What daily minima are made of: a station's record, a grid of days, and the freeze dates drawn from them."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.reasons import Reason
from spatial.values import Grid, Window

Origin = Literal["daily", "normals"]


@dataclass(frozen=True)
class Station:
    """A weather station; what is not known of its place is NaN."""

    station: str
    name: str = ""
    latitude_deg: float = math.nan
    longitude_deg: float = math.nan
    elevation_m: float = math.nan


@dataclass(frozen=True)
class DailyMinima:
    """The daily minima of one station.

    `tmin_c` [deg C] is on a DatetimeIndex with every day from the first to the last of the record, NaN missing.
    Readings taken in whole degrees F stand as exactly those degrees, (F - 32) * 5 / 9, however the file kept them.
    """

    station: Station
    tmin_c: pd.Series
    unit: Literal["F", "C", "tenthsC"]  # of the file
    file: str  # for messages


@dataclass(frozen=True)
class Trend:
    """How the freeze day moved over the years [days a year], with its 95 % interval, over `seasons` with a freeze."""

    days_a_year: float
    low_days_a_year: float
    high_days_a_year: float
    seasons: int


@dataclass(frozen=True)
class StationDates:
    """The freeze dates of one station at one threshold.

    `seasons` is on the season's first calendar year: freeze_day (days since the season's first day, +inf no
    freeze, NaN not valid), freeze_date, freeze_tmin_c, missing_days (before the freeze); empty for official
    normals. `days` and `error_days` have one entry a chance: +inf not reached, NaN not known.
    """

    station: Station
    threshold_c: float
    season_start: tuple[int, int]
    origin: Origin
    period: tuple[int, int]  # first and last season
    valid_seasons: int
    invalid_seasons: int
    no_freeze_share: float
    chances: tuple[float, ...]
    days: NDArray[np.float64]
    error_days: NDArray[np.float64]
    seasons: pd.DataFrame
    trend: Trend | None
    file: str
    told: tuple[Reason, ...] = ()  # what its reader must know


@dataclass(frozen=True)
class DayBlock:
    """Consecutive days on a window of a grid, in the file's own numbers: `raw` is (days, rows, columns).

    `first` is the place of its first day among the days of the grid.
    """

    window: Window
    first: int
    raw: NDArray[Any]


@dataclass(frozen=True)
class DailyGrid:
    """Daily minima on a grid, to be read block by block in the order the file is kept in.

    `blocks()` gives every window's days in rising order, all days of one window before the next window; windows
    do not overlap and lie in the north-up `grid`. A cell's raw value is missing where it is NaN or one of
    `missing`, and else deg C = scale * raw + offset.
    """

    grid: Grid
    days: NDArray[
        np.datetime64
    ]  # one a day, rising; of a calendar of 360 days, the same share of a year of 365
    calendar: str
    scale: float
    offset: float
    missing: tuple[float, ...]
    blocks: Callable[[], Iterator[DayBlock]]
    name: str  # the file, for messages


@dataclass(frozen=True)
class Terrain:
    """Heights above the sea [m] on a grid, (rows, columns) from the north-west; NaN not known."""

    grid: Grid
    height_m: NDArray[np.float32]
    name: str
