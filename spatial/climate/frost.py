"""The date of the killing freeze on every field, from a freeze layer, with what is known of it."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.seasons import Season, chance_days, dates_of, day_of_year_days
from spatial.errors import InputError, Problem
from spatial.raster.cover import (
    CellCover,
    cell_values,
    cells_under,
    cover_share,
    least,
    weighted_mean,
    weighted_median,
)
from spatial.settings import Settings
from spatial.values import AVERAGE_CHANCE, FreezeLayer

LATE_CHANCE = 0.9  # past this date the freeze should have come, and the owner is asked for it
SAME_CHANCE = 1e-9  # chances nearer to one another than this are one


def killing_freezes(
    fields: gpd.GeoDataFrame, freeze: FreezeLayer | None, season: Season, settings: Settings
) -> pd.DataFrame:
    """Return the killing-freeze dates of every field in `season`, on the index of `fields`.

    - `killing_freeze_date` at the chance of the settings, `average_freeze_date` at 1 in 2 and
      `late_freeze_date` at 9 in 10: the area-weighted median over the cells of the field;
    - `earliest_freeze_date`: the first over its cells, at the chance of the settings;
    - `freeze_seasons`: how many seasons this rests on, as the median over its cells;
    - `no_freeze_share`: the share of those seasons that had no freeze, as the mean over its area;
    - `freeze_cover_share`: the share of the field of which the layer knows anything, 0 to 1.

    NaT with a cover over 0: the freeze has not come in that share of seasons or, for the average and the late
    date, the layer does not go that far. With a cover of 0 nothing is known. A layer of chances tells nothing
    of seasons. Raises InputError where the layer does not go as far as the chance of the settings.
    """
    unknown = _nothing_known(fields.index)
    if freeze is None:
        return unknown
    _refuse_beyond(freeze, [settings.chance])
    cover = cells_under(fields.geometry, freeze.grid)
    values = season_values(freeze, cover, season)
    cell_days = cell_days_at(values, freeze, [settings.chance, AVERAGE_CHANCE, LATE_CHANCE])
    columns = _dates(cell_days, cover, season)
    if freeze.kind == "seasons":
        columns |= _season_counts(values, cover)
    known = ~np.isnan(cell_days[0])
    columns["freeze_cover_share"] = cover_share(cover, known, cover.field_area_cells)
    return unknown.assign(**columns).astype({"freeze_seasons": "Int64"})


def freeze_days(
    fields: gpd.GeoDataFrame, freeze: FreezeLayer, chances: Sequence[float], season: Season
) -> pd.DataFrame:
    """Return the day of the freeze on every field, a column for each chance, on the index of `fields`.

    Days since the first day of `season`; +inf where the freeze has not come in that share of seasons, NaN
    where nothing is known. Raises InputError where the layer does not go as far as a chance.
    """
    _refuse_beyond(freeze, chances)
    cover = cells_under(fields.geometry, freeze.grid)
    cell_days = cell_days_at(season_values(freeze, cover, season), freeze, chances)
    days = [weighted_median(one, cover, len(fields)) for one in cell_days]
    return pd.DataFrame(np.column_stack(days), index=fields.index, columns=list(chances))


def _refuse_beyond(freeze: FreezeLayer, chances: Sequence[float]) -> None:
    problems = [_beyond(freeze, chance) for chance in chances if not goes_to(freeze, chance)]
    if problems:
        raise InputError(problems)


def goes_to(freeze: FreezeLayer, chance: float) -> bool:
    """Return whether a layer tells of a chance."""
    if freeze.kind == "seasons":
        return True
    return freeze.chances[0] - SAME_CHANCE <= chance <= freeze.chances[-1] + SAME_CHANCE


def _beyond(freeze: FreezeLayer, chance: float) -> Problem:
    span = f"{freeze.chances[0]:g} to {freeze.chances[-1]:g}"
    cause = f"a chance of {chance:g} is asked for, and the layer has the chances {span}"
    return Problem(freeze.name, "chances", cause, f"Use a chance of {span}, or a layer that goes further")


def season_values(freeze: FreezeLayer, cover: CellCover, season: Season) -> NDArray[np.floating]:
    """Return the layer's bands on the touched cells, (bands, touched), as days since the season's first day.

    Raises InputError where its days of the year are none.
    """
    values = cell_values(freeze, cover)
    if freeze.day_count == "season_start":
        return values
    try:
        return day_of_year_days(values, season)
    except ValueError as error:
        mend = "Say which of its values mean no data and no freeze, and how its days are counted"
        raise InputError([Problem(freeze.name, "values", str(error), mend)]) from error


def cell_days_at(
    values: NDArray[np.floating], freeze: FreezeLayer, chances: Sequence[float]
) -> NDArray[np.float64]:
    """Return the day of each chance on each touched cell, (chances, touched); NaN beyond what the layer has."""
    if freeze.kind == "seasons":
        return chance_days(values, chances)
    return np.stack([_between_bands(values, freeze, chance) for chance in chances])


def _between_bands(values: NDArray[np.floating], freeze: FreezeLayer, chance: float) -> NDArray[np.float64]:
    if not goes_to(freeze, chance):
        return np.full(values.shape[1], np.nan)
    offered = np.array(freeze.chances)
    above = int(np.searchsorted(offered, chance - SAME_CHANCE))
    upper = np.asarray(values[above], dtype=np.float64)
    if offered[above] - chance < SAME_CHANCE:
        return upper
    part = float((chance - offered[above - 1]) / (offered[above] - offered[above - 1]))
    # Not lower + part * (upper - lower): no freeze in both bands must stay no freeze.
    return np.asarray((1 - part) * values[above - 1] + part * upper, dtype=np.float64)


def _dates(cell_days: NDArray[np.float64], cover: CellCover, season: Season) -> dict[str, NDArray[Any]]:
    n = len(cover.field_area_cells)
    chosen, average, late = (weighted_median(days, cover, n) for days in cell_days)
    days = {
        "killing_freeze_date": chosen,
        "average_freeze_date": average,
        "earliest_freeze_date": least(cell_days[0], cover, n),
        "late_freeze_date": late,
    }
    return {name: dates_of(one, season).astype("datetime64[s]") for name, one in days.items()}


def _season_counts(values: NDArray[np.floating], cover: CellCover) -> dict[str, NDArray[Any]]:
    n = len(cover.field_area_cells)
    known = np.count_nonzero(~np.isnan(values), axis=0)
    seasons = np.where(known > 0, known, np.nan)
    without = np.count_nonzero(np.isposinf(values), axis=0) / seasons
    return {
        "freeze_seasons": weighted_median(seasons, cover, n),
        "no_freeze_share": weighted_mean(without, cover, n),
    }


def _nothing_known(index: pd.Index) -> pd.DataFrame:
    no_date = pd.Series(pd.NaT, index=index, dtype="datetime64[s]")
    return pd.DataFrame(
        {
            "killing_freeze_date": no_date,
            "average_freeze_date": no_date,
            "earliest_freeze_date": no_date,
            "late_freeze_date": no_date,
            "freeze_seasons": pd.Series(pd.NA, index=index, dtype="Int64"),
            "no_freeze_share": np.nan,
            "freeze_cover_share": 0.0,
        },
        index=index,
    )
