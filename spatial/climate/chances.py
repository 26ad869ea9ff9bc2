"""Freeze dates of every field at several chances, each with its error, and the season by season days behind them."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import betainc

from spatial.climate.frost import FreezeCells, between_chances, cell_days_at, field_medians
from spatial.climate.seasons import dates_of
from spatial.raster.cover import weighted_mean
from spatial.values import error_band

SHOWN_CHANCES = (0.1, 0.2, 0.3, 0.5)
# An error that leans on seasons without a freeze by more than this weight is not a number of days.
MOST_NO_FREEZE_WEIGHT = 0.02


@dataclass(frozen=True)
class FreezeChances:
    """Freeze dates over chances, all on the fields' index, one column a chance or a season.

    `dates` datetime64 (NaT: not reached, or beyond the layer), `error_days` standard error [days] (NaN: not
    known), `season_days` days since the season's first day in each past season (+inf: no freeze, NaN: not
    known; no columns for a layer of chances), `chance_days` the same at each chance of a layer of chances (no
    columns for a layer of seasons).
    """

    dates: pd.DataFrame
    error_days: pd.DataFrame
    season_days: pd.DataFrame
    chance_days: pd.DataFrame


def freeze_chances(
    fields: gpd.GeoDataFrame, cells: FreezeCells | None, chances: Sequence[float]
) -> FreezeChances:
    """Return the freeze dates of the fields at each chance, with their errors.

    The date of a chance is the area-weighted lower median over the field's cells, as in `killing_freezes`; the
    error is that of the quantile of the field's own seasons, or what a layer of chances says of it, as the mean
    over the field's area. Chances beyond a layer of chances are NaT.
    """
    index, none = fields.index, pd.DataFrame(index=fields.index)
    if cells is None:
        dates = pd.DataFrame(np.datetime64("NaT", "s"), index=index, columns=list(chances))
        return FreezeChances(dates, pd.DataFrame(np.nan, index=index, columns=list(chances)), none, none)
    days = field_medians(cell_days_at(cells.values, cells.layer, chances), cells.cover)
    dates = pd.DataFrame(
        dates_of(days.T, cells.season).astype("datetime64[s]"), index=index, columns=list(chances)
    )
    own = field_medians(cells.values, cells.cover).T
    if cells.layer.kind == "seasons":
        errors = quantile_errors(own.T, chances)
        by_season, by_chance = pd.DataFrame(own, index=index, columns=list(cells.layer.seasons)), none
    else:
        errors = np.where(np.isfinite(days), _layer_errors(cells, chances), np.nan)
        by_season, by_chance = none, pd.DataFrame(own, index=index, columns=list(cells.layer.chances))
    return FreezeChances(
        dates, pd.DataFrame(errors.T, index=index, columns=list(chances)), by_season, by_chance
    )


def _layer_errors(cells: FreezeCells, chances: Sequence[float]) -> NDArray[np.float64]:
    """Return what a layer of chances says of the error of each chance's day [days], (chances, fields)."""
    fields = len(cells.cover.field_area_cells)
    told = [chance for chance in cells.layer.chances if error_band(chance) in cells.more]
    if not told:
        return np.full((len(chances), fields), np.nan)
    bands = np.stack([cells.more[error_band(chance)] for chance in told])
    return np.stack(
        [weighted_mean(between_chances(bands, told, chance), cells.cover, fields) for chance in chances]
    )


def quantile_errors(days: NDArray[np.float64], chances: Sequence[float]) -> NDArray[np.float64]:
    """Return the standard error [days] of each chance's day, (chances, fields), from `days` (seasons, fields).

    The moments of the order statistics under beta weights, as in Maritz and Jarrett 1978, J. Am. Stat. Assoc.
    73:194-196, with the weights of Harrell and Davis 1982, Biometrika 69:635-640 (both from memory). NaN where
    fewer than two seasons are known, or where seasons without a freeze carry more than a trace of the weight.
    """
    ordered = np.sort(days, axis=0)  # NaN sorts last
    known = np.count_nonzero(~np.isnan(days), axis=0)
    errors = np.full((len(chances), days.shape[1]), np.nan)
    for count in np.unique(known[known > 1]):
        these = np.flatnonzero(known == count)
        for row, chance in enumerate(chances):
            errors[row, these] = _error(ordered[:count, these], chance)
    return errors


def _error(ordered: NDArray[np.float64], chance: float) -> NDArray[np.float64]:
    count = len(ordered)
    steps = np.arange(count + 1) / count
    weight = np.diff(betainc((count + 1) * chance, (count + 1) * (1 - chance), steps))[:, None]
    frozen = np.isfinite(ordered)
    finite = np.where(frozen, ordered, 0.0)
    share = (weight * frozen).sum(axis=0)
    sure = share >= 1 - MOST_NO_FREEZE_WEIGHT
    share = np.where(sure, share, 1.0)
    mean = (weight * finite).sum(axis=0) / share
    spread = (weight * frozen * (finite - mean) ** 2).sum(axis=0) / share
    return np.where(sure, np.sqrt(spread), np.nan)
