"""The steps in which a picture shows dates and errors: each with its limits, its colour and its words."""

import math
from dataclasses import dataclass

import numpy as np
from matplotlib import colormaps
from matplotlib.colors import to_hex
from numpy.typing import NDArray

from maps.freeze import words

DATE_STEPS_DAYS = (7, 14, 28, 91)
ERROR_STEPS_DAYS = (0.5, 1.0, 2.0, 5.0, 10.0, 50.0)
MOST_STEPS = 9
# Both ramps are monotone in lightness (CC0): an early date and a large error are dark.
DATE_RAMP, ERROR_RAMP = ("magma", 0.12, 0.95), ("viridis_r", 0.05, 0.85)


@dataclass(frozen=True)
class Steps:
    """Equal steps from `first` on, each `step` wide, with a colour and words for each."""

    first: float
    step: float
    fills: tuple[str, ...]
    names: tuple[str, ...]

    def numbers(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the number of each value's step, the first being 0; NaN where there is no value."""
        finite = np.where(np.isfinite(values), values, np.nan)
        return np.clip(np.floor((finite - self.first) / self.step), 0, len(self.fills) - 1)

    def fill(self, value: float) -> str:
        """Return the colour of a finite value."""
        return self.fills[int(self.numbers(np.array([value]))[0])]


def date_steps(days: NDArray[np.float64], season_start: tuple[int, int]) -> Steps:
    """Return steps of whole weeks over the finite days [since the season's first day]; none where there are none."""
    first, step, count = _steps(np.floor(days), DATE_STEPS_DAYS)
    names = []
    for number in range(count):
        low = first + number * step
        ends = [words.season_date(one, season_start) for one in (low, low + step - 1)]
        names.append(words.days_of_season(*(end for end in ends if end is not None)))
    return Steps(first, step, _fills(*DATE_RAMP, count), tuple(names))


def error_steps(error_days: NDArray[np.float64]) -> Steps:
    """Return steps of days over the finite errors [days]; none where there are none."""
    first, step, count = _steps(error_days, ERROR_STEPS_DAYS)
    lows = [first + number * step for number in range(count)]
    names = tuple(words.ERROR_STEP.format(low=low, high=low + step) for low in lows)
    return Steps(first, step, _fills(*ERROR_RAMP, count), names)


def _steps(values: NDArray[np.float64], offered: tuple[float, ...]) -> tuple[float, float, int]:
    """Return the first limit, the width and the count of the narrowest steps that are not too many."""
    finite = values[np.isfinite(values)]
    if not finite.size:
        return 0.0, float(offered[0]), 0
    low, high = float(finite.min()), float(finite.max())
    for step in offered:
        first = step * math.floor(low / step)
        count = math.floor((high - first) / step) + 1
        if count <= MOST_STEPS:
            break
    return first, float(step), min(count, MOST_STEPS)


def _fills(ramp: str, low: float, high: float, count: int) -> tuple[str, ...]:
    shares = np.linspace(low, high, count) if count > 1 else np.full(count, (low + high) / 2)
    return tuple(to_hex(colour) for colour in colormaps[ramp](shares))
