"""What a freeze layer says of the cells of a window: the days of some chances, and the seasons behind groups."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spatial.climate.chances import quantile_errors
from spatial.climate.frost import between_chances, cell_days_at, season_values
from spatial.climate.seasons import Season
from spatial.errors import Tell, quiet
from spatial.raster.cover import CellCover, cell_values
from spatial.raster.written import tiles
from spatial.values import SEASONS_BAND, FreezeLayer, Window, error_band

MOST_SEASON_DAYS = 367  # 0 to 366
ERROR_CELLS = 100_000  # about so many cells have their error worked out, the slowest part by far
Part = tuple[slice, slice]


@dataclass(frozen=True)
class FreezeRaster:
    """The cells of a window, (chances, rows, columns), at each chance.

    `days` since the season's first day: +inf not reached, NaN unknown. `error_days`: standard error [days], NaN not
    known, and of a large window worked out for a sample of the cells. `seasons`: the most seasons behind a cell, None
    where the layer does not say.
    """

    days: NDArray[np.float64]
    error_days: NDArray[np.float32]
    seasons: int | None


def freeze_raster(
    freeze: FreezeLayer, window: Window, chances: Sequence[float], season: Season, tell: Tell = quiet
) -> FreezeRaster:
    """Return the days of the freeze at each chance on the cells of a window, read tile by tile.

    The same law as for a field that lies in one cell. Raises InputError where the layer is damaged or its days are
    none, and whatever `tell` raises.
    """
    shape = (len(chances), window.rows, window.columns)
    days, errors, seasons = np.empty(shape), np.empty(shape, dtype=np.float32), 0
    every, parts = 1 + window.rows * window.columns // ERROR_CELLS, tiles(window.rows, window.columns)
    for number, tile in enumerate(parts):
        tell("freeze dates", number / len(parts))
        part, cover = _part(window, tile)
        values = season_values(freeze, cover, season)
        block = (slice(None), *part)
        days[block] = cell_days_at(values, freeze, chances).reshape(days[block].shape)
        errors[block] = _errors(values, freeze, cover, chances, every).reshape(days[block].shape)
        seasons = max(seasons, _most_seasons(values, freeze, cover))
    errors[~np.isfinite(days)] = np.nan
    return FreezeRaster(days, errors, seasons or None)


def season_counts(
    freeze: FreezeLayer,
    window: Window,
    season: Season,
    group: NDArray[np.int64],
    weight: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the weight of the cell-seasons of each group that froze on each day, (groups, MOST_SEASON_DAYS + 1).

    `group` (rows, columns) numbers the groups from 0; `weight` (rows, columns). Part of a day is rounded down; the
    last column is the seasons without a freeze; those not known are left out.
    """
    groups, columns = int(group.max()) + 1, MOST_SEASON_DAYS + 1
    counts = np.zeros(groups * columns)
    for tile in tiles(window.rows, window.columns):
        part, cover = _part(window, tile)
        days = season_values(freeze, cover, season)
        own, land = group[part].ravel(), weight[part].ravel()
        _, cell = known = np.nonzero(~np.isnan(days))
        column = np.clip(np.floor(days[known]), 0, MOST_SEASON_DAYS).astype(np.int64)
        counts += np.bincount(own[cell] * columns + column, land[cell], minlength=len(counts))
    return counts.reshape(groups, columns)


def _part(window: Window, tile: Window) -> tuple[Part, CellCover]:
    part = (slice(tile.row, tile.row + tile.rows), slice(tile.column, tile.column + tile.columns))
    row, column = (places.ravel() for places in np.mgrid[part])
    ones = np.ones(len(row))
    cover = CellCover(
        np.zeros(len(row), dtype=np.int64),
        row + window.row,
        column + window.column,
        ones,
        np.array([float(len(row))]),
    )
    return part, cover


def _errors(
    values: NDArray[np.floating], freeze: FreezeLayer, cover: CellCover, chances: Sequence[float], every: int
) -> NDArray[np.float64]:
    """Return the error of each chance's day on the cells [days], (chances, cells), of seasons for one in `every`."""
    if freeze.kind == "seasons":
        errors = np.full((len(chances), values.shape[1]), np.nan)
        frozen = np.flatnonzero(np.isfinite(values[:, ::every]).any(axis=0)) * every
        errors[:, frozen] = quantile_errors(values[:, frozen].astype(np.float64), chances)
        return errors
    names = freeze.more.names if freeze.more is not None else ()
    told = [chance for chance in freeze.chances if error_band(chance) in names]
    if freeze.more is None or not told:
        return np.full((len(chances), values.shape[1]), np.nan)
    bands = cell_values(freeze.more, cover)[[names.index(error_band(chance)) for chance in told]]
    return np.stack([between_chances(bands, told, chance) for chance in chances])


def _most_seasons(values: NDArray[np.floating], freeze: FreezeLayer, cover: CellCover) -> int:
    if freeze.kind == "seasons":
        return int(np.count_nonzero(~np.isnan(values), axis=0).max(initial=0))
    if freeze.more is None or SEASONS_BAND not in freeze.more.names:
        return 0
    seasons = cell_values(freeze.more, cover)[freeze.more.names.index(SEASONS_BAND)]
    return int(np.nan_to_num(seasons).max(initial=0))
