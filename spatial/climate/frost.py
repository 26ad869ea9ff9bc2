"""The date of the killing freeze on every field, from a freeze layer, with what is known of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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
from spatial.values import AVERAGE_CHANCE, NO_FREEZE_BAND, SEASONS_BAND, FreezeLayer

LATE_CHANCE = 0.9  # past this date the freeze should have come, and the owner is asked for it
SAME_CHANCE = 1e-9  # chances nearer to one another than this are one


@dataclass(frozen=True)
class FreezeCells:
    """What a freeze layer says on the cells under some fields, read once.

    `values` (bands, touched): days since the first day of `season`, +inf no freeze, NaN not known. `more`: by name,
    what a layer of chances knows besides, (touched,), NaN not known.
    """

    layer: FreezeLayer
    season: Season
    cover: CellCover
    values: NDArray[np.floating]
    more: Mapping[str, NDArray[np.floating]]


def freeze_cells(fields: gpd.GeoDataFrame, freeze: FreezeLayer | None, season: Season) -> FreezeCells | None:
    """Return what the layer says under the fields, in their order; None where there is no layer.

    Raises InputError where its days of the year are none.
    """
    if freeze is None:
        return None
    cover = cells_under(fields.geometry, freeze.grid)
    more = {}
    if freeze.more is not None:
        more = dict(zip(freeze.more.names, cell_values(freeze.more, cover), strict=True))
    return FreezeCells(freeze, season, cover, season_values(freeze, cover, season), more)


def killing_freezes(fields: gpd.GeoDataFrame, cells: FreezeCells | None, settings: Settings) -> pd.DataFrame:
    """Return the killing-freeze dates of every field in the season of `cells`, on the index of `fields`.

    - `killing_freeze_date` at the chance of the settings, `average_freeze_date` at 1 in 2 and
      `late_freeze_date` at 9 in 10: the area-weighted median over the cells of the field;
    - `earliest_freeze_date`: the first over its cells, at the chance of the settings;
    - `freeze_seasons`: how many seasons this rests on, as the median over its cells;
    - `no_freeze_share`: the share of those seasons that had no freeze, as the mean over its area;
    - `freeze_cover_share`: the share of the field of which the layer knows anything, 0 to 1.

    NaT with a cover over 0: the freeze has not come in that share of seasons or, for the average and the late
    date, the layer does not go that far. With a cover of 0 nothing is known. A layer of chances tells of seasons
    only where it has bands for them. Raises InputError where the layer does not go as far as the chance of the
    settings.
    """
    unknown = _nothing_known(fields.index)
    if cells is None:
        return unknown
    if not goes_to(cells.layer, settings.chance):
        raise InputError([_beyond(cells.layer, settings.chance)])
    cover, names = cells.cover, ("killing_freeze_date", "average_freeze_date", "late_freeze_date")
    cell_days = cell_days_at(cells.values, cells.layer, [settings.chance, AVERAGE_CHANCE, LATE_CHANCE])
    days = dict(zip(names, field_medians(cell_days, cover), strict=True))
    days["earliest_freeze_date"] = least(cell_days[0], cover, len(fields))
    columns: dict[str, Any] = {
        name: dates_of(one, cells.season).astype("datetime64[s]") for name, one in days.items()
    }
    columns |= _season_counts(cells)
    columns["freeze_cover_share"] = cover_share(cover, ~np.isnan(cell_days[0]), cover.field_area_cells)
    return unknown.assign(**columns).astype({"freeze_seasons": "Int64"})


def field_medians(values: NDArray[np.floating], cover: CellCover) -> NDArray[np.float64]:
    """Return the area-weighted lower median of each field, (rows, fields), from rows of cells, (rows, touched).

    +inf counts as the highest value; NaN where nothing is known.
    """
    fields = len(cover.field_area_cells)
    return np.stack([weighted_median(one.astype(np.float64), cover, fields) for one in values])


def goes_to(freeze: FreezeLayer, chance: float) -> bool:
    """Return whether a layer tells of a chance."""
    return freeze.kind == "seasons" or _within(freeze.chances, chance)


def _within(offered: Sequence[float], chance: float) -> bool:
    return bool(offered) and offered[0] - SAME_CHANCE <= chance <= offered[-1] + SAME_CHANCE


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
    return np.stack([between_chances(values, freeze.chances, chance) for chance in chances])


def between_chances(
    values: NDArray[np.floating], offered: Sequence[float], chance: float
) -> NDArray[np.float64]:
    """Return the values at a chance, (n,), on the line between those at the chances `offered`, (offered, n).

    `offered` rises. NaN beyond it; +inf where either neighbour is.
    """
    if not _within(offered, chance):
        return np.full(values.shape[1], np.nan)
    above = int(np.searchsorted(np.array(offered), chance - SAME_CHANCE))
    upper = np.asarray(values[above], dtype=np.float64)
    if offered[above] - chance < SAME_CHANCE:
        return upper
    part = float((chance - offered[above - 1]) / (offered[above] - offered[above - 1]))
    # Not lower + part * (upper - lower): no freeze in both bands must stay no freeze.
    return np.asarray((1 - part) * values[above - 1] + part * upper, dtype=np.float64)


def _season_counts(cells: FreezeCells) -> dict[str, NDArray[Any]]:
    """Return the seasons behind each field's dates and the share without a freeze, where the layer tells of them."""
    n, values = len(cells.cover.field_area_cells), cells.values
    nothing = np.full(values.shape[1], np.nan)
    if cells.layer.kind == "seasons":
        known = np.count_nonzero(~np.isnan(values), axis=0)
        seasons = np.where(known > 0, known, np.nan)
        without = np.count_nonzero(np.isposinf(values), axis=0) / seasons
    else:
        dated = ~np.isnan(values).all(axis=0)
        seasons = np.where(dated, cells.more.get(SEASONS_BAND, nothing), np.nan)
        without = np.where(dated, cells.more.get(NO_FREEZE_BAND, nothing), np.nan)
    return {
        "freeze_seasons": np.floor(weighted_median(seasons, cells.cover, n)),
        "no_freeze_share": weighted_mean(without, cells.cover, n),
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
