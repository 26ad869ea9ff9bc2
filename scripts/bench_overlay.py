"""Measures the pH of fields from a survey's map units, against geopandas.overlay; prints JSON, seconds and MB."""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from spatial.raster.overlay import equal_area_plane, overlaps  # noqa: E402 - found by the line above

FIELDS, UNITS = 5_000, 15_000
SIDE_M, EAST_M, NORTH_M = 60_000.0, 300_000.0, 3_600_000.0
STEP_M, CORNERS = 25.0, 14  # between the vertices of a map unit; of a field
UTM, LON_LAT = 32617, 4326
SAME_SHARE = 1e-9
TURNS = 7
MB = 2**20


def overlay_results() -> dict[str, Any]:
    """Return times, peak memory and how far the answers differ, each turn in processes of their own.

    Both begin with longitudes and latitudes and lay the layers over each other in one plane. The peak of a
    process that only reads them is told, and taken off for the memory that the work itself adds.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        vertices = _child("making", folder)
        reading_mb = _child("reading", folder)["peak_mb"]
        # In turns, so that a busy machine slows both alike.
        turns = [(_child("lastcut", folder), _child("overlay", folder)) for _ in range(TURNS)]
        ours, theirs = (np.load(folder / f"{who}.npy") for who in ("lastcut", "overlay"))
    own_mb, peer_mb = (max(turn[place]["peak_mb"] for turn in turns) for place in (0, 1))
    differs = float(np.abs(ours / theirs - 1).max())
    assert differs <= SAME_SHARE, differs  # noqa: S101 - a ratio of other answers says nothing
    return {
        "fields": FIELDS,
        "map_units": UNITS,
        "vertices_of_a_unit": vertices["vertices"],
        "lastcut_s": _median(turn[0]["s"] for turn in turns),
        "overlay_s": _median(turn[1]["s"] for turn in turns),
        "overlay_over_lastcut": _median(turn[1]["s"] / turn[0]["s"] for turn in turns),
        "overlay_over_lastcut_by_turn": [round(turn[1]["s"] / turn[0]["s"], 2) for turn in turns],
        # The plane taken as given for the peer, and still made by us.
        "overlay_without_plane_over_lastcut": _median(
            (turn[1]["s"] - turn[1]["plane_s"]) / turn[0]["s"] for turn in turns
        ),
        "lastcut_adds_mb": round(own_mb - reading_mb),
        "overlay_adds_mb": round(peer_mb - reading_mb),
        "lastcut_peak_mb": round(own_mb),
        "overlay_peak_mb": round(peer_mb),
        "reading_peak_mb": round(reading_mb),
        "answers_differ_by": differs,
    }


def _median(values: Any) -> float:
    return round(statistics.median(values), 3)


def _child(what: str, folder: Path) -> dict[str, Any]:
    command = [sys.executable, str(Path(__file__).resolve()), what, str(folder)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _making(folder: Path) -> dict[str, Any]:
    chance = np.random.default_rng(5)
    units, fields = _units(chance), _fields(chance)
    units.to_crs(LON_LAT).to_parquet(folder / "units.parquet")
    fields.to_crs(LON_LAT).to_parquet(folder / "fields.parquet")
    vertices = shapely.get_num_coordinates(units.geometry.to_numpy())
    return {"vertices": {name: int(np.percentile(vertices, at)) for name, at in _PERCENTILES.items()}}


_PERCENTILES = {"least": 0, "twentieth": 5, "middle": 50, "nineteen_twentieths": 95, "most": 100}


def _units(chance: np.random.Generator) -> gpd.GeoDataFrame:
    """Return map units with wavy edges that neighbours share, over the whole square."""
    square = shapely.box(0, 0, SIDE_M, SIDE_M)
    seeds = shapely.multipoints(chance.uniform(0, SIDE_M, (UNITS, 2)))
    cells = shapely.get_parts(shapely.voronoi_polygons(seeds, extend_to=square))
    shapes = shapely.transform(shapely.segmentize(shapely.intersection(cells, square), STEP_M), _waved)
    ph = chance.uniform(4.8, 6.8, len(shapes)).round(2)
    return gpd.GeoDataFrame({"ph": ph}, geometry=shapely.make_valid(shapes), crs=UTM)


def _waved(places: np.ndarray) -> np.ndarray:
    # Whole millimetres, so that both neighbours of an edge have the same vertices.
    x, y = places.T
    east = x + 22 * np.sin(y / 90) + 4 * np.sin(y / 23 + x / 31)
    north = y + 22 * np.sin(x / 85) + 4 * np.cos(x / 19 - y / 41)
    return np.round(np.stack([EAST_M + east, NORTH_M + north], axis=1), 3)


def _fields(chance: np.random.Generator) -> gpd.GeoDataFrame:
    middles = chance.uniform(1_000, SIDE_M - 1_000, (FIELDS, 1, 2)) + np.array([EAST_M, NORTH_M])
    angle = np.linspace(0, 2 * np.pi, CORNERS, endpoint=False)
    reach = chance.uniform(80, 350, (FIELDS, 1)) * chance.uniform(0.7, 1, (FIELDS, CORNERS))
    corners = middles + reach[..., np.newaxis] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return gpd.GeoDataFrame({"field": range(FIELDS)}, geometry=shapely.polygons(corners), crs=UTM)


def _lastcut(fields: gpd.GeoDataFrame, units: gpd.GeoDataFrame) -> tuple[np.ndarray, float]:
    found = overlaps(fields.geometry, units.geometry)
    total = np.bincount(found.left, found.area_m2 * units["ph"].to_numpy()[found.right], len(fields))
    return total / np.bincount(found.left, found.area_m2, len(fields)), 0.0


def _overlay(fields: gpd.GeoDataFrame, units: gpd.GeoDataFrame) -> tuple[np.ndarray, float]:
    start = time.perf_counter()
    plane = equal_area_plane(fields.geometry)
    fields, units = fields.to_crs(plane), units.to_crs(plane)
    plane_s = time.perf_counter() - start
    pieces = gpd.overlay(fields, units, how="intersection")
    pieces = pd.DataFrame({"field": pieces["field"], "ph": pieces["ph"], "m2": pieces.geometry.area})
    pieces["ph_m2"] = pieces["ph"] * pieces["m2"]
    sums = pieces.groupby("field")[["ph_m2", "m2"]].sum()
    return (sums["ph_m2"] / sums["m2"]).to_numpy(), plane_s


def _measured(what: str, folder: Path) -> dict[str, Any]:
    fields, units = (gpd.read_parquet(folder / f"{name}.parquet") for name in ("fields", "units"))
    work: Callable[..., tuple[np.ndarray, float]] = {"lastcut": _lastcut, "overlay": _overlay}[what]
    start = time.perf_counter()
    ph, plane_s = work(fields, units)
    spent = time.perf_counter() - start
    np.save(folder / f"{what}.npy", ph)
    return {"s": spent, "plane_s": plane_s}


def _as_child(what: str, folder: Path) -> None:
    if what == "making":
        found = _making(folder)
    elif what == "reading":
        found = {"rows": sum(len(gpd.read_parquet(file)) for file in folder.glob("*.parquet"))}
    else:
        found = _measured(what, folder)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / MB
    print(json.dumps(found | {"peak_mb": peak}))


if __name__ == "__main__":
    if sys.argv[1:]:
        _as_child(sys.argv[1], Path(sys.argv[2]))
    else:
        print(json.dumps(overlay_results(), indent=1))
