"""The table by area: by when shares of its land have their last-cut date, one row an area, grass and chance."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.seasons import dates_of
from spatial.raster.cover import cells_under, cover_share
from spatial.raster.land_days import land_days
from spatial.raster.places import LON_LAT
from spatial.values import AVERAGE_CHANCE
from spatial.zoning.cells import Cut, Ground

LAND_SHARES = {"earliest_date": 0.01, "middle_date": 0.5, "latest_date": 0.99}  # of the land with a date


def dates_by_area(cuts: Sequence[Cut], areas: gpd.GeoDataFrame, ground: Ground) -> gpd.GeoDataFrame:
    """Return one row an area, grass and chance, in the order of `cuts` and of the areas' names.

    `areas` has `area`, its name, and outlines in any CRS. Columns: area, grass, chance, those of LAND_SHARES (by
    which that share of the area's land with a date has its last-cut date), average_middle_date (the middle date at
    the average chance, NaT where the freeze layer does not go there), cover_share (of the area that has a date) and
    the outline in EPSG:4326.
    """
    cover = cells_under(areas.geometry, ground.grid)
    whole = cover.field_area_cells
    rows = []
    for cut in cuts:
        days = land_days(cut.cells.days, cover, ground.places.land, list(LAND_SHARES.values()))
        known = ~np.isnan(cut.cells.days[cover.row, cover.column])
        rows.append(
            pd.DataFrame(
                {"area": areas["area"].to_numpy(), "grass": cut.grass.grass, "chance": cut.chance}
                | {name: _dates(each, ground) for name, each in zip(LAND_SHARES, days, strict=True)}
                | {"cover_share": cover_share(cover, known, whole)}
            )
        )
    table = _with_average(pd.concat(rows, ignore_index=True))
    outlines = areas[["area", "geometry"]].to_crs(LON_LAT)
    return gpd.GeoDataFrame(table.merge(outlines, on="area", how="left"), geometry="geometry", crs=LON_LAT)


def _dates(days: NDArray[np.float64], ground: Ground) -> NDArray[np.datetime64]:
    return dates_of(days, ground.season).astype("datetime64[ns]")


def _with_average(table: pd.DataFrame) -> pd.DataFrame:
    average = table.loc[table["chance"] == AVERAGE_CHANCE, ["area", "grass", "middle_date"]]
    average = average.rename(columns={"middle_date": "average_middle_date"})
    joined = table.merge(average, on=["area", "grass"], how="left")
    return joined[[*(name for name in joined if name != "cover_share"), "cover_share"]]
