"""Measures freeze layers of a made grid of daily minima against only reading it once; prints JSON, seconds and MB."""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import xarray as xr

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from spatial.freeze_layers import grid_layers  # noqa: E402 - the project is found by the line above
from spatial.inputs.checks import Report  # noqa: E402

SEASONS, DAYS, ROWS, COLUMNS = 30, 150, 500, 500
FIRST_YEAR, FIRST_DAY = 1991, (9, 1)
TILE = 50  # rows and columns of a chunk that holds all days
BLOCK_DAYS, BLOCK_TILES = 96, 2  # read at once: about as many bytes either way
TURNS = 3
MB = 2**20
CHUNKS = {"a day in a chunk": (1, ROWS, COLUMNS), "all days in a chunk": (SEASONS * DAYS, TILE, TILE)}


def grid_results() -> dict[str, Any]:
    """Return times and peak memory for a file with a day in each chunk, and for one with all days in each."""
    with tempfile.TemporaryDirectory() as folder:
        return {name: _measured(Path(folder), chunk) for name, chunk in CHUNKS.items()}


def _measured(folder: Path, chunk: tuple[int, int, int]) -> dict[str, float]:
    path = folder / "minima.nc"
    _child("making", path, *map(str, chunk))
    size_mb = path.stat().st_size / MB
    # In turns, so that a busy machine slows both alike; in processes of their own, so that memory is theirs:
    # this one stays small, since a child's peak begins at what its parent held.
    turns = [(_child("layers", path), _child("reading", path)) for _ in range(TURNS)]
    path.unlink()
    own_s, peer_s = (statistics.median(turn[place]["s"] for turn in turns) for place in (0, 1))
    return {
        "lastcut_s": round(own_s, 2),
        "reading_s": round(peer_s, 2),
        "lastcut_over_reading": round(own_s / peer_s, 2),
        "lastcut_peak_mb": round(max(turn[0]["peak_mb"] for turn in turns)),
        "reading_peak_mb": round(max(turn[1]["peak_mb"] for turn in turns)),
        "file_mb": round(size_mb),
    }


def _make(path: Path, chunk: tuple[int, int, int]) -> None:
    """Write minima in tenths of a degree that fall from September to January, colder in the north."""
    with netCDF4.Dataset(path, "w") as file:
        for name, size in (("time", SEASONS * DAYS), ("lat", ROWS), ("lon", COLUMNS)):
            file.createDimension(name, size)
        _coordinate(file, "time", _times(), "days since 1990-01-01")
        _coordinate(file, "lat", 36.0 - 0.01 * np.arange(ROWS), "degrees_north")
        _coordinate(file, "lon", -86.0 + 0.01 * np.arange(COLUMNS), "degrees_east")
        minima = file.createVariable(
            "tmin", "i2", ("time", "lat", "lon"), zlib=True, complevel=1, chunksizes=chunk, fill_value=-32768
        )
        minima.setncatts({"units": "degC", "scale_factor": 0.1, "add_offset": 0.0})
        minima.set_auto_maskandscale(False)
        for day, row, raw in _blocks(chunk):
            minima[day : day + len(raw), row : row + raw.shape[1]] = raw


def _coordinate(file: netCDF4.Dataset, name: str, values: np.ndarray, units: str) -> None:
    file.createVariable(name, "f8", (name,))[:] = values
    file[name].units = units


def _times() -> np.ndarray:
    begin = date(1990, 1, 1)
    starts = [(date(FIRST_YEAR + season, *FIRST_DAY) - begin).days for season in range(SEASONS)]
    return np.concatenate([start + np.arange(DAYS) for start in starts]).astype(np.float64)


def _blocks(chunk: tuple[int, int, int]) -> Iterator[tuple[int, int, np.ndarray]]:
    """Yield the first day, the first row and the raw values of blocks of chunks as wide as the grid."""
    chance = np.random.default_rng(4)
    season_c = np.repeat(chance.normal(0, 1.5, SEASONS), DAYS)
    weather_c = season_c + chance.normal(0, 3, SEASONS * DAYS) - 0.17 * np.tile(np.arange(DAYS), SEASONS)
    days, rows, _columns = chunk
    for first in range(0, SEASONS * DAYS, days):
        for row in range(0, ROWS, rows):
            south = (np.arange(row, row + rows) / ROWS)[:, None] + 0.2 * np.sin(np.arange(COLUMNS) / 40)
            noise = chance.standard_normal((days, rows, COLUMNS), dtype=np.float32)
            tmin_c = 16 + 6 * south.astype(np.float32) + noise
            tmin_c += weather_c[first : first + days, None, None].astype(np.float32)
            yield first, row, (10 * tmin_c).astype(np.int16)


def _child(what: str, path: Path, *more: str) -> dict[str, float]:
    command = [sys.executable, str(Path(__file__).resolve()), what, str(path), *more]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def _layers(path: Path) -> None:
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        grid_layers([path], -20 / 9, Path(folder) / "freeze.tif", Report())


def _reading(path: Path) -> None:
    with xr.open_dataset(path, engine="netcdf4", decode_cf=False, cache=False) as file:
        minima = file["tmin"].variable
        days, rows, columns = minima.encoding["chunksizes"]
        step = (BLOCK_DAYS, rows, columns) if days == 1 else (days, rows, BLOCK_TILES * columns)
        for row in range(0, ROWS, step[1]):
            for column in range(0, COLUMNS, step[2]):
                for day in range(0, SEASONS * DAYS, step[0]):
                    window = tuple(slice(a, a + b) for a, b in zip((day, row, column), step, strict=True))
                    assert minima[window].values.size  # noqa: S101 - reads, and lets go


def _as_child(what: str, path: Path, chunk: tuple[int, ...]) -> None:
    start = time.perf_counter()
    if chunk:
        _make(path, (chunk[0], chunk[1], chunk[2]))
    else:
        {"layers": _layers, "reading": _reading}[what](path)
    spent = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({"s": spent, "peak_mb": peak}))


if __name__ == "__main__":
    if sys.argv[1:]:
        _as_child(sys.argv[1], Path(sys.argv[2]), tuple(map(int, sys.argv[3:])))
    else:
        print(json.dumps(grid_results(), indent=1))
