"""Works out freeze layers from daily temperatures: the seasons of a grid and their chances."""

from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from spatial.climate.chance_bands import BAND_NAMES, chance_bands, known_cells
from spatial.climate.raw_freeze import raw_freeze
from spatial.climate.season_days import SeasonDays, chosen_seasons, covered_seasons, season_label
from spatial.climate.season_stack import season_stack
from spatial.climate.season_trust import early_faults, early_remarks, faults, remarks
from spatial.climate.seasons import LEAST_SEASONS
from spatial.daily import DailyGrid, DayBlock
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.inputs.checks import Report
from spatial.inputs.grids.blocks import read_ahead
from spatial.inputs.grids.minima import read_daily_grid
from spatial.inputs.grids.place import season_start_at
from spatial.raster.freeze_codes import UNKNOWN, FreezeFacts, chance_tags, coded, season_tags
from spatial.raster.written import LayerForm, check_targets, stored_windows, written_layer
from spatial.store import written_whole


@dataclass(frozen=True)
class GridLayers:
    """The two layers made from a grid of daily minima, and what they rest on.

    `seasons` are those known in some cell; `part` is the part of the year that has days, as (month, day);
    `known_cells` of `cells` have chances. `told` is what their reader must know, one line each.
    """

    chances_path: Path
    seasons_path: Path
    threshold_c: float
    season_start: tuple[int, int]
    seasons: tuple[int, ...]
    part: tuple[tuple[int, int], tuple[int, int]]
    calendar: str
    cells: int
    known_cells: int
    told: tuple[str, ...]


@dataclass(frozen=True)
class _Seasons:
    """How many seasons of cells freeze on their very first day, and in how many cells each season is known."""

    early: int
    known: Sequence[int]


def grid_layers(  # noqa: PLR0913 - each is an option of the command
    paths: Sequence[Path],
    threshold_c: float,
    out: Path,
    report: Report,
    *,
    seasons: tuple[int, int] | None = None,
    season_start: tuple[int, int] | None = None,
    variable: str = "",
    unit: str = "",
    first_day: date | None = None,
    tell: Tell = quiet,
) -> GridLayers:
    """Write the layer of chances to `out` and that of seasons beside it, `_seasons` in its name, whole or not at all.

    `seasons` are the first and the last to use, by the year they begin in; `season_start` is (month, day), by the
    hemisphere of the grid where not given; `variable`, `unit` and `first_day` as for `read_daily_grid`. Raises
    InputError where the files cannot serve or `out` cannot be written, and what `tell` raises.
    """
    seasons_path = out.with_stem(f"{out.stem}_seasons")
    check_targets([out, seasons_path], paths)
    before = len(report.told)
    grid = read_daily_grid(paths, report, variable, unit, first_day)
    season_start = season_start or season_start_at(grid.grid, grid.name)
    covered = covered_seasons(grid.days, season_start, grid.calendar)
    chosen = chosen_seasons(covered, seasons)
    if problems := faults(grid.name, covered, chosen, seasons, LEAST_SEASONS):
        raise InputError(problems)
    years = tuple(one.season.year for one in chosen)
    facts = FreezeFacts(threshold_c, season_start, years, covered.part, grid.calendar, grid.name)
    with written_whole(out) as path:
        stack = path.with_name(seasons_path.name)
        found = _write_seasons(grid, chosen, facts, stack, tell)
        if problems := early_faults(grid.name, covered, found.early, sum(found.known)):
            raise InputError(problems)
        known = _write_chances(grid, facts, stack, path, tell)
    years = tuple(year for year, cells_known in zip(years, found.known, strict=True) if cells_known)
    report.told.extend(remarks(grid.name, covered, chosen, seasons, years))
    report.told.extend(early_remarks(grid.name, covered, found.early, sum(found.known)))
    told = tuple(map(str, report.told[before:]))
    cells = grid.grid.rows * grid.grid.columns
    return GridLayers(
        out, seasons_path, threshold_c, season_start, years, covered.part, grid.calendar, cells, known, told
    )


def _write_seasons(
    grid: DailyGrid, seasons: Sequence[SeasonDays], facts: FreezeFacts, path: Path, tell: Tell
) -> _Seasons:
    """Write the layer of seasons; returns how many freeze on the very first day, and how many are known."""
    labels = tuple(season_label(one.season) for one in seasons)
    form = LayerForm(grid.grid, labels, "int16", UNKNOWN, season_tags(facts))
    early, known = 0, [0] * len(seasons)
    with closing(read_ahead(grid.blocks())) as blocks, written_layer(path, form) as put:
        watched = _watched(blocks, grid, tell)
        for found in season_stack(watched, seasons, raw_freeze(grid, facts.threshold_c)):
            put(found.days[np.newaxis], found.window, found.place + 1)
            early += int(np.count_nonzero(found.days == seasons[found.place].day[0]))
            known[found.place] += int(np.count_nonzero(found.days != UNKNOWN))
    return _Seasons(early, known)


def _write_chances(grid: DailyGrid, facts: FreezeFacts, stack: Path, path: Path, tell: Tell) -> int:
    """Write the layer of chances from that of seasons; returns how many cells have any."""
    form = LayerForm(grid.grid, BAND_NAMES, "float32", UNKNOWN, chance_tags(facts, LEAST_SEASONS))
    known = 0
    with written_layer(path, form) as put:
        for window, days in stored_windows(stack):
            tell("freeze chances", window.row / grid.grid.rows)
            bands = chance_bands(days)
            put(coded(bands), window, 1)
            known += known_cells(bands)
    tell("freeze chances", 1.0)
    if not known:
        cause = f"has no cell with {LEAST_SEASONS} valid seasons: its days are missing"
        raise InputError([Problem(grid.name, "values", cause, "Check which of its values mean missing")])
    return known


def _watched(blocks: Iterator[DayBlock], grid: DailyGrid, tell: Tell) -> Iterator[DayBlock]:
    whole = grid.grid.rows * grid.grid.columns * len(grid.days)
    done = 0
    for block in blocks:
        tell("daily minima", done / whole)
        yield block
        done += block.raw.size
    tell("daily minima", 1.0)
