"""First killing freezes of thirty seasons on a grid: earlier on high ground, in the north and on valley floors."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from rasterio.transform import from_origin

from sample.land import BOTTOM_M, LEFT_M, MARGIN_M, METRES, SIDE_M, Floats, dice, height_m, northness, waves

CELL_M = 1_000.0
FIRST_SEASON, SEASONS = 1996, 30
UNKNOWN, NEVER = -1, 999
SPREAD_DAYS = 9.0
WARMEST = 3  # seasons in which the southern edge stays without a killing freeze


def write_freeze(path: Path, streams: gpd.GeoDataFrame) -> None:
    """Write the freeze layer, a band a season, with what its values mean in its tags."""
    days = freeze_days(streams)
    top = BOTTOM_M + SIDE_M + MARGIN_M
    with rasterio.open(
        path, "w", driver="GTiff", dtype="int16", count=SEASONS, height=days.shape[1], width=days.shape[2],
        crs=METRES, transform=from_origin(LEFT_M - MARGIN_M, top, CELL_M, CELL_M), nodata=UNKNOWN,
        compress="deflate", predictor=2, zlevel=9, interleave="band",
    ) as raster:  # fmt: skip
        raster.write(days.astype(np.int16))
        raster.update_tags(
            freeze_kind="seasons", threshold_f="28", day_count="season_start", season_start="08-01",
            no_freeze_value=str(NEVER),
        )  # fmt: skip
        for band in range(SEASONS):
            season = FIRST_SEASON + band
            raster.set_band_description(band + 1, f"{season}-{(season + 1) % 100:02d}")


def freeze_days(streams: gpd.GeoDataFrame) -> Floats:
    """Return days since 1 August of the first minimum at or below 28 F, as (seasons, rows, columns) from the north."""
    x_m, y_m = _centres()
    north = northness(y_m)
    typical = _typical_day(x_m, y_m, streams)
    chance = dice("seasons")
    anomalies = np.round(chance.normal(0, 1, SEASONS), 3)
    anomalies -= anomalies.mean()
    days = np.empty((SEASONS, *typical.shape))
    for season, anomaly in enumerate(anomalies):
        front = waves(f"front {season}", 60_000, 12_000, 10)(x_m, y_m)
        spread = SPREAD_DAYS * (1.25 - 0.35 * north)
        days[season] = np.round(
            typical + spread * anomaly + 1.8 * front + chance.normal(0, 0.7, typical.shape)
        )
    for rank, season in enumerate(np.argsort(-anomalies)[:WARMEST]):
        edge = 0.24 - 0.05 * rank + 0.015 * waves(f"mild {season}", 30_000, 8_000, 10)(x_m, y_m)
        days[season][north < edge] = NEVER
    days[:, :3, -4:] = UNKNOWN
    return days


def _centres() -> tuple[Floats, Floats]:
    steps = np.arange(CELL_M / 2 - MARGIN_M, SIDE_M + MARGIN_M, CELL_M)
    return np.meshgrid(LEFT_M + steps, (BOTTOM_M + steps)[::-1])


def _typical_day(x_m: Floats, y_m: Floats, streams: gpd.GeoDataFrame) -> Floats:
    """Return the day of a middling season: two weeks later in the south, five days earlier on a valley floor."""
    gap_m = shapely.distance(shapely.points(x_m, y_m), shapely.union_all(streams.geometry.to_numpy()))
    valley = np.exp(-((gap_m / 900) ** 2))
    above_plain_m = height_m(x_m, y_m) - (70 + 35 * northness(y_m))
    return (
        118
        - 18 * northness(y_m)
        - 0.04 * above_plain_m
        - 6 * valley
        + 0.8 * waves("local", 9_000, 2_500)(x_m, y_m)
    )
