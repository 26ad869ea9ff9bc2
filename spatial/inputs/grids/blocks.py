"""Daily minima block by block in the order a file is kept in, checked as they stream, read a block ahead."""

import math
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spatial.daily import DayBlock
from spatial.inputs.grids.part import GridPart, ReadRaw, refusal
from spatial.inputs.grids.unpacked import deg_c
from spatial.values import Window

BLOCK_BYTES = 48 * 2**20  # of raw values in one block; a single chunk of a file may be larger
CHECKED_EVERY = 29  # days: a few of each month would tell no more
CHECKED_CELLS = 2**14  # on each of them
LEAST_C, MOST_C = -90.0, 60.0  # no air near the ground has been colder or warmer
HOT_NIGHT_C = (85.0 - 32.0) * 5 / 9  # a minimum over this is a desert's; a maximum in fall often is
MOST_HOT_SHARE = 0.05  # of the cells on one day


def planned_windows(part: GridPart) -> tuple[Window, ...]:
    """Return windows of the file's own rows and columns that are whole chunks, and as large as a block may be."""
    rows, columns = part.grid.rows, part.grid.columns
    days, height, width = part.chunk
    most_cells = BLOCK_BYTES // (part.item_bytes * days)
    width = _grown(width, columns, most_cells // height)
    height = _grown(height, rows, most_cells // width) if width == columns else min(height, rows)
    return tuple(
        Window(row, start, min(height, rows - row), end - start)
        for row in range(0, rows, height)
        for start, end in _spans(columns, width, part.layout.first_column)
    )


def planned_days(part: GridPart, window: Window) -> int:
    """Return how many days of a window make a block: whole chunks."""
    cells = window.rows * window.columns * part.item_bytes
    return _grown(part.chunk[0], len(part.axis.days), BLOCK_BYTES // cells)


def checked_blocks(parts: Sequence[GridPart]) -> Iterator[DayBlock]:
    """Yield the blocks of files in the order of their days, as a DailyGrid gives them.

    Raises InputError where a file is damaged, and where the days looked at hold what no daily minimum is.
    """
    check = _night_check(parts)
    with ExitStack() as open_files:
        readers: dict[int, ReadRaw] = {}
        for window in planned_windows(parts[0]):
            first = 0
            for place, part in enumerate(parts):
                if place not in readers:
                    readers[place] = open_files.enter_context(part.opened())
                for block in _blocks_of(part, window, readers[place], first):
                    check(block, part)
                    yield block
                first += len(part.axis.days)


def read_ahead(blocks: Iterator[DayBlock]) -> Generator[DayBlock]:
    """Yield the same blocks, the next one being read in a thread of its own while the last one is worked on."""
    with ThreadPoolExecutor(max_workers=1) as worker:
        coming = worker.submit(next, blocks, None)
        try:
            while (block := coming.result()) is not None:
                coming = worker.submit(next, blocks, None)
                yield block
        finally:
            close: Any = getattr(blocks, "close", None)
            if close is not None:
                worker.submit(close).result()  # files are closed where they were opened


def _grown(step: int, end: int, most: int) -> int:
    return min(end, step * max(1, most // step))


def _spans(columns: int, width: int, break_at: int) -> list[tuple[int, int]]:
    """Return runs of columns; one that is not the whole row does not go over the column the grid begins with."""
    if width >= columns:
        return [(0, columns)]
    cuts = sorted({*range(0, columns, width), columns, break_at})
    return list(pairwise(cuts))


def _blocks_of(part: GridPart, window: Window, read: ReadRaw, first: int) -> Iterator[DayBlock]:
    days = planned_days(part, window)
    for start in range(0, len(part.axis.days), days):
        raw = read(slice(start, min(start + days, len(part.axis.days))), window)
        yield DayBlock(_laid_window(part, window), first + start, _laid(part, raw))


def _laid_window(part: GridPart, window: Window) -> Window:
    row = part.grid.rows - window.row - window.rows if part.layout.south_first else window.row
    whole = window.columns == part.grid.columns
    column = 0 if whole else (window.column - part.layout.first_column) % part.grid.columns
    return Window(row, column, window.rows, window.columns)


def _laid(part: GridPart, raw: NDArray[Any]) -> NDArray[Any]:
    north_up = raw[:, ::-1] if part.layout.south_first else raw
    first = part.layout.first_column
    return np.roll(north_up, -first, axis=2) if first and raw.shape[2] == part.grid.columns else north_up


def _night_check(parts: Sequence[GridPart]) -> Callable[[DayBlock, GridPart], None]:
    """Return a check of some days of each block; hot nights are counted over all the windows of a day."""
    cells = parts[0].grid.rows * parts[0].grid.columns
    seen: dict[int, list[float]] = {}

    def check(block: DayBlock, part: GridPart) -> None:
        for place in range(-block.first % CHECKED_EVERY, len(block.raw), CHECKED_EVERY):
            night, each = _some_cells(block.raw[place])
            tmin_c = deg_c(night, part.packing)
            _refuse_impossible(tmin_c, part.name)
            hot, known, all_cells = seen.setdefault(block.first + place, [0.0, 0.0, 0.0])
            hot += each * np.count_nonzero(tmin_c > HOT_NIGHT_C)
            known += each * np.count_nonzero(~np.isnan(tmin_c))
            all_cells += block.raw[place].size
            if hot > MOST_HOT_SHARE * (known if all_cells == cells else cells):
                cause = f"is over 85 F in {hot / known:.0%} of the cells on one day, as a daily maximum is"
                raise refusal(part.name, "values", cause, "Give the daily minimum, or the right unit")
            seen[block.first + place] = [hot, known, all_cells]

    return check


def _some_cells(night: NDArray[Any]) -> tuple[NDArray[Any], float]:
    """Return one cell of so many in each direction, of a large window, and how many each stands for."""
    step = max(1, math.isqrt(night.size // CHECKED_CELLS))
    some = night[::step, ::step]
    return some, night.size / some.size


def _refuse_impossible(tmin_c: NDArray[np.float64], file: str) -> None:
    strange = tmin_c[(tmin_c < LEAST_C) | (tmin_c > MOST_C)]
    if strange.size:
        cause = f"come to {strange[0]:.6g} deg C, which no night has been"
        mend = "Say the right unit, and write the file's value for no data into it as _FillValue or nodata"
        raise refusal(file, "values", cause, mend)
