"""The first day of freeze of every season on every cell, from daily minima that stream by in blocks."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spatial.climate.raw_freeze import Sorting
from spatial.climate.season_days import SeasonDays
from spatial.climate.seasons import MOST_MISSING_DAYS
from spatial.daily import DayBlock
from spatial.raster.freeze_codes import NO_FREEZE, UNKNOWN
from spatial.values import Window

DAYS_AT_ONCE = 255  # as many as a byte can count
CELLS_AT_ONCE = 2**20  # raw values worked at a time: they stay in the processor's own memory


@dataclass(frozen=True)
class SeasonWindow:
    """The first freeze of one season on a window: days since its first day, NO_FREEZE or UNKNOWN, (rows, columns).

    `place` is the season's among those asked for.
    """

    window: Window
    place: int
    days: NDArray[np.int16]


@dataclass(frozen=True)
class _Hand:
    """The season in hand: its first freeze so far, and the days missing before it."""

    first: NDArray[np.int16]
    missing: NDArray[np.int16]


def season_stack(
    blocks: Iterable[DayBlock], seasons: Sequence[SeasonDays], told_apart: Sorting
) -> Iterator[SeasonWindow]:
    """Yield every season of every window, once its last day has come.

    `blocks` come as a DailyGrid gives them; `told_apart` says which of their raw values freeze and which are
    missing. A season with more than MOST_MISSING_DAYS missing days before its freeze, or in all of it where
    none came, is UNKNOWN.
    """
    hand: _Hand | None = None
    for block in blocks:
        for place, season in enumerate(seasons):
            begin, end = _overlap(block, season)
            if begin < end:
                hand = hand or _fresh(block.window)
                raw = block.raw[begin - block.first : end - block.first]
                _take(hand, raw, season.day[begin - season.first : end - season.first], told_apart)
                if end == season.first + len(season.day):
                    yield SeasonWindow(block.window, place, _whole(hand, season))
                    hand = None


def _overlap(block: DayBlock, season: SeasonDays) -> tuple[int, int]:
    end = min(block.first + len(block.raw), season.first + len(season.day))
    return max(block.first, season.first), end


def _fresh(window: Window) -> _Hand:
    shape = (window.rows, window.columns)
    return _Hand(np.full(shape, NO_FREEZE, dtype=np.int16), np.zeros(shape, dtype=np.int16))


def _take(hand: _Hand, raw: NDArray[Any], day: NDArray[np.int16], told_apart: Sorting) -> None:
    step = min(DAYS_AT_ONCE, max(1, CELLS_AT_ONCE // hand.first.size))
    for start in range(0, len(raw), step):
        frozen, missing = told_apart(raw[start : start + step])
        some = day[start : start + step]
        if frozen.any():
            np.minimum(hand.first, _first(frozen, some), out=hand.first)
        if missing is not None:
            _count(hand, missing, some)


def _first(frozen: NDArray[np.bool_], day: NDArray[np.int16]) -> NDArray[np.int16]:
    """Return the day of the first freeze; `frozen` is used up."""
    # Once frozen, always frozen: the days from the first freeze on are then counted. Several times as fast as to
    # look for it, or to write down the days from the last one back.
    for place in range(1, len(day)):
        np.logical_or(frozen[place], frozen[place - 1], out=frozen[place])
    from_first_on = np.add.reduce(frozen.view(np.uint8), axis=0, dtype=np.uint8)
    by_count = np.concatenate([[NO_FREEZE], day[::-1]]).astype(np.int16)
    return by_count[from_first_on]


def _count(hand: _Hand, missing: NDArray[np.bool_], day: NDArray[np.int16]) -> None:
    """Count the missing days before the first freeze; most cells have all days or, as at sea, none."""
    always = np.logical_and.reduce(missing, axis=0)
    np.add(
        hand.missing, len(day), out=hand.missing, where=always & (hand.first == NO_FREEZE), casting="unsafe"
    )
    rows, columns = np.nonzero(np.logical_or.reduce(missing, axis=0) & ~always)
    if rows.size:
        before = missing[:, rows, columns] & (day[:, None] < hand.first[rows, columns])
        hand.missing[rows, columns] += before.sum(axis=0, dtype=np.int16)


def _whole(hand: _Hand, season: SeasonDays) -> NDArray[np.int16]:
    missing = hand.missing + season.absent_before[hand.first]
    return np.where(missing > MOST_MISSING_DAYS, np.int16(UNKNOWN), hand.first)
