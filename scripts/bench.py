"""Measures the slow parts against a peer in the same run and prints JSON: medians in seconds, and their ratio."""

import json
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterstats
import shapely
from affine import Affine
from pyproj import CRS

from bench_grid import grid_results
from bench_overlay import overlay_results

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from spatial.raster.cover import cells_under, weighted_mean  # noqa: E402 - found by the line above
from spatial.values import Grid  # noqa: E402

REPEATS = 5
FIELDS = 1000
CELL_M, ROWS = 800.0, 120
UTM = CRS.from_epsg(32617)


def main() -> None:
    """Run every comparison and print the result."""
    fields = _fields()
    values = np.random.default_rng(2).normal(100.0, 8.0, (ROWS, ROWS))
    results = {
        "mean of a grid under fields, against rasterstats": _compare(
            lambda: _by_cover(fields, values), lambda: _by_rasterstats(fields, values)
        ),
    }
    whole = {
        "fields": FIELDS,
        "repeats": REPEATS,
        "results": results,
        "freeze grid": grid_results(),
        "survey pH of fields, against geopandas.overlay": overlay_results(),
    }
    print(json.dumps(whole, indent=1))


def _compare(ours: Callable[[], Any], peer: Callable[[], Any]) -> dict[str, float]:
    """Time both in turns, so that a busy machine slows them alike."""
    times = [(_time(ours), _time(peer)) for _ in range(REPEATS)]
    own_s, peer_s = (statistics.median(row[place] for row in times) for place in (0, 1))
    return {
        "lastcut_s": round(own_s, 4),
        "peer_s": round(peer_s, 4),
        "peer_over_lastcut": round(peer_s / own_s, 2),
    }


def _time(work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _fields() -> gpd.GeoDataFrame:
    chance = np.random.default_rng(1)
    east, north = 300_000 + chance.uniform(0, CELL_M * ROWS - 2000, (2, FIELDS))
    north = north + 3_400_000
    side = chance.uniform(100, 600, FIELDS)
    shapes = shapely.box(east, north, east + side, north + side)
    return gpd.GeoDataFrame(index=pd.RangeIndex(FIELDS), geometry=shapes, crs=UTM)


def _by_cover(fields: gpd.GeoDataFrame, values: np.ndarray) -> Any:
    grid = Grid(UTM, 300_000, 3_700_000 + CELL_M * ROWS, CELL_M, CELL_M, ROWS, ROWS)
    cover = cells_under(fields.geometry, grid)
    return weighted_mean(values[cover.row, cover.column], cover, len(fields))


def _by_rasterstats(fields: gpd.GeoDataFrame, values: np.ndarray) -> Any:
    transform = Affine(CELL_M, 0, 300_000, 0, -CELL_M, 3_700_000 + CELL_M * ROWS)
    return rasterstats.zonal_stats(
        fields.geometry, values, affine=transform, stats="mean", all_touched=True, nodata=-9999
    )


if __name__ == "__main__":
    main()
