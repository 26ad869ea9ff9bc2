"""Eighteen weather stations with their daily minima, and the heights of the land they stand on."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.transform import from_origin

from sample.land import (
    BOTTOM_M,
    LEFT_M,
    MARGIN_M,
    METRES,
    SIDE_M,
    Floats,
    dice,
    height_m,
    lon_lat,
    northness,
    waves,
)

CELL_M = 300.0
STATIONS, COLUMNS = 18, 6
FIRST_DAY, LAST_DAY = "2004-08-01", "2024-07-31"  # twenty whole seasons
MISSING_SHARE = 0.002
VALLEY_COLDER_F = 4.0
WEATHER_MEMORY = 0.72  # of yesterday's weather that is still here today


def write_elevation(path: Path) -> None:
    """Write the heights of the land as a raster in whole metres."""
    steps = np.arange(CELL_M / 2 - MARGIN_M, SIDE_M + MARGIN_M, CELL_M)
    x_m, y_m = np.meshgrid(LEFT_M + steps, (BOTTOM_M + steps)[::-1])
    heights = np.round(height_m(x_m, y_m)).astype(np.int16)
    corner = from_origin(LEFT_M - MARGIN_M, BOTTOM_M + SIDE_M + MARGIN_M, CELL_M, CELL_M)
    with rasterio.open(
        path, "w", driver="GTiff", dtype="int16", count=1, height=len(steps), width=len(steps), crs=METRES,
        transform=corner, nodata=-32768, compress="deflate", predictor=2, zlevel=9,
    ) as raster:  # fmt: skip
        raster.write(heights, 1)
        raster.units = ("metre",)


def station_places() -> pd.DataFrame:
    """Return where the stations stand: a row a station."""
    x_m, y_m = _places()
    lon, lat = lon_lat(x_m, y_m)
    return pd.DataFrame(
        {
            "station": [f"OS{number:02d}" for number in range(1, STATIONS + 1)],
            "latitude": np.round(lat, 5),
            "longitude": np.round(lon, 5),
            "elevation_m": np.round(height_m(x_m, y_m)).astype(int),
        }
    )


def daily_minima(streams: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return the daily minima in whole deg F: a row a station and day; a few are missing, as happens."""
    days = pd.date_range(FIRST_DAY, LAST_DAY)
    chance = dice("minima")
    weather = _remembered(chance.normal(0, 1, len(days)))
    winter = 0.5 - 0.5 * np.cos(2 * np.pi * (days.day_of_year.to_numpy() + 163) / 365.25)  # 1 in late January
    usual = 68.5 - 39.0 * winter + (3.0 + 5.5 * winter) * weather
    rows = []
    for station, colder_f in zip(station_places()["station"], _colder_f(streams), strict=True):
        own = usual - colder_f * (0.5 + 0.5 * winter) + _remembered(chance.normal(0, 1.3, len(days)))
        readings = pd.Series(np.round(own).astype(int), dtype="Int64")
        readings[chance.uniform(size=len(days)) < MISSING_SHARE] = pd.NA
        rows.append(pd.DataFrame({"STATION": station, "DATE": days, "TMIN": readings}))
    return pd.concat(rows, ignore_index=True)


def _places() -> tuple[Floats, Floats]:
    chance = dice("stations")
    column, row = np.arange(STATIONS) % COLUMNS, np.arange(STATIONS) // COLUMNS
    east = (column + chance.uniform(0.1, 0.9, STATIONS)) / COLUMNS
    north = (row + chance.uniform(0.1, 0.9, STATIONS)) / (STATIONS / COLUMNS)
    return LEFT_M + east * SIDE_M, BOTTOM_M + north * SIDE_M


def _colder_f(streams: gpd.GeoDataFrame) -> Floats:
    """Return how much colder than the south each station is on a frost night: in the north, and on valley floors."""
    x_m, y_m = _places()
    gap_m = shapely.distance(shapely.points(x_m, y_m), shapely.union_all(streams.geometry.to_numpy()))
    local = 0.7 * waves("local minima", 30_000, 12_000)(x_m, y_m)
    return 5.0 * northness(y_m) + VALLEY_COLDER_F * np.exp(-((gap_m / 900) ** 2)) + local


def _remembered(fresh: Floats) -> Floats:
    """Return weather of unit spread in which each day is like the one before it."""
    found = np.empty_like(fresh)
    found[0] = fresh[0]
    for day in range(1, len(fresh)):
        found[day] = WEATHER_MEMORY * found[day - 1] + np.sqrt(1 - WEATHER_MEMORY**2) * fresh[day]
    return found
