"""Freeze dates of every field at several chances, each with its error, and the season by season days behind them."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import betainc

from spatial.climate.frost import cell_days_at, goes_to, season_values
from spatial.climate.seasons import Season, dates_of
from spatial.raster.cover import cells_under, weighted_median
from spatial.values import FreezeLayer

SHOWN_CHANCES = (0.1, 0.2, 0.3, 0.5)
# An error that leans on seasons without a freeze by more than this weight is not a number of days.
MOST_NO_FREEZE_WEIGHT = 0.02


@dataclass(frozen=True)
class FreezeChances:
    """Freeze dates over chances, all on the fields' index, one column a chance or a season.

    `dates` datetime64 (NaT: not reached, or beyond the layer), `error_days` standard error [days] (NaN: not
    known), `season_days` days since the season's first day in each past season (+inf: no freeze, NaN: not
    known; no columns for a layer of chances).
    """

    dates: pd.DataFrame
    error_days: pd.DataFrame
    season_days: pd.DataFrame


def freeze_chances(
    fields: gpd.GeoDataFrame, freeze: FreezeLayer | None, chances: Sequence[float], season: Season
) -> FreezeChances:
    """Return the freeze dates of the fields at each chance, with their errors.

    The date of a chance is the area-weighted lower median over the field's cells, as in `killing_freezes`; the
    error is that of the quantile of the field's own seasons. Chances beyond a layer of chances are NaT.
    """
    dates = pd.DataFrame(np.datetime64("NaT", "s"), index=fields.index, columns=list(chances))
    errors = pd.DataFrame(np.nan, index=fields.index, columns=list(chances))
    by_season = pd.DataFrame(index=fields.index)
    if freeze is None:
        return FreezeChances(dates, errors, by_season)
    cover = cells_under(fields.geometry, freeze.grid)
    values = season_values(freeze, cover, season)
    for chance in (chance for chance in chances if goes_to(freeze, chance)):
        days = weighted_median(cell_days_at(values, freeze, [chance])[0], cover, len(fields))
        dates[chance] = dates_of(days, season).astype("datetime64[s]")
    if freeze.kind == "seasons":
        days = np.stack([weighted_median(one.astype(np.float64), cover, len(fields)) for one in values])
        by_season = pd.DataFrame(days.T, index=fields.index, columns=list(freeze.seasons))
        errors = pd.DataFrame(quantile_errors(days, chances).T, index=fields.index, columns=list(chances))
    return FreezeChances(dates, errors, by_season)


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
    mean = (weight * finite).sum(axis=0) / share
    spread = (weight * frozen * (finite - mean) ** 2).sum(axis=0) / share
    return np.where(share >= 1 - MOST_NO_FREEZE_WEIGHT, np.sqrt(spread), np.nan)
