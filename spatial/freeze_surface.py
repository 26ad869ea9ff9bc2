"""Works out a freeze layer from stations: their dates spread over the land, with the error of each cell."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.station_dates import CHANCES
from spatial.climate.surface.coast import cell_coast_km, station_coast_km
from spatial.climate.surface.stations_to_grid import Surface, freeze_surface
from spatial.daily import StationDates, Terrain
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.inputs.checks import Report
from spatial.inputs.layers import read_layer
from spatial.inputs.stations.table import is_station_table, read_station_table
from spatial.inputs.terrain import read_terrain
from spatial.raster.freeze_codes import UNKNOWN, coded, surface_tags
from spatial.raster.written import LayerForm, check_targets, tiles, written_layer
from spatial.store import written_whole

BANDS = (
    *(f"{chance:g}" for chance in CHANCES),
    *(f"error_days {chance:g}" for chance in CHANCES),
    "valid_seasons",
    "no_freeze_share",
)


@dataclass(frozen=True)
class SurfaceLayer:
    """The layer made of stations, and what it rests on."""

    path: Path
    threshold_c: float
    season_start: str
    stations: pd.DataFrame
    surface: Surface


@dataclass(frozen=True)
class Land:
    """Files of the land that stations are spread over: heights, their unit ("" to find it), and the coast if known."""

    dem: Path
    dem_unit: str = ""
    coast: Path | None = None


def surface_layer(
    stations: pd.DataFrame, land: Land, out: Path, report: Report, tell: Tell = quiet
) -> SurfaceLayer:
    """Write the freeze dates of the stations on the cells of the heights to `out`, whole or not at all.

    `stations` as `read_station_table` gives them. Raises InputError where a file cannot serve or `out` cannot be
    written, and what `tell` raises.
    """
    check_targets([out], [land.dem])
    terrain = read_terrain(land.dem, report, land.dem_unit)
    coast = None if land.coast is None else read_layer(land.coast, "line", report).geometry
    if report.wrong:
        raise InputError(sorted(set(report.wrong)))
    if coast is not None:
        stations = stations.assign(coast_km=station_coast_km(stations, coast))
    made = freeze_surface(
        stations, terrain, CHANCES, tell, None if coast is None else cell_coast_km(terrain.grid, coast)
    )
    if np.isnan(made.days).all():
        mend = "Give stations that stand on it, or heights of where they stand"
        raise InputError([Problem(land.dem.name, "", "lies far from every station", mend)])
    start, threshold_c = str(stations["season_start"].iloc[0]), float(stations["threshold_c"].iloc[0])
    made = replace(made, error_days=_whole_errors(made, stations))
    source = f"{len(stations)} stations, {land.dem.name}"
    seasons = float(stations["valid_seasons"].median())
    _write(made, terrain, out, surface_tags(threshold_c, start, source), seasons)
    return SurfaceLayer(out, threshold_c, start, stations, made)


def holds_dates(paths: Sequence[Path], threshold: str) -> bool:
    """Tell whether the file is a table of freeze dates, or all are records that wait for the threshold given.

    Raises InputError for a table with a threshold, for records without one, and for more than one table.
    """
    tables = [path for path in paths if is_station_table(path)]
    if tables and threshold:
        cause = f"is for records of daily minima, and {tables[0].name} holds dates already"
        raise InputError([Problem("--threshold", "", cause, "Leave it out")])
    if tables and len(paths) > 1:
        mend = "Give one table of dates, or records with a --threshold"
        raise InputError([Problem(paths[1].name, "", "is one file too many beside a table of dates", mend)])
    if not tables and not threshold:
        mend = "If it is a record of daily minima, say --threshold 28F"
        raise InputError([Problem(paths[0].name, "", "is no table of freeze dates", mend)])
    return bool(tables)


def stations_of(path: Path, report: Report) -> pd.DataFrame:
    """Return the stations of a table or document of dates; raises InputError where they cannot serve."""
    found = read_station_table(path, report)
    if report.wrong:
        raise InputError(sorted(set(report.wrong)))
    return found


def as_table(stations: Sequence[StationDates]) -> pd.DataFrame:
    """Return freeze dates of stations as `read_station_table` gives them; raises InputError without their places."""
    lost = [
        dates
        for dates in stations
        if not np.isfinite([dates.station.latitude_deg, dates.station.longitude_deg]).all()
    ]
    if lost:
        mend = "Give a table of the stations' latitude and longitude with --places"
        raise InputError(
            [
                Problem(dates.file, dates.station.station, "does not say where it stands", mend)
                for dates in lost
            ]
        )
    table = pd.DataFrame([_row(dates) for dates in stations]).set_index("station").sort_index()
    twice = sorted(set(table.index[table.index.duplicated()]))
    if twice:
        mend = "Give each station's dates once"
        raise InputError([Problem(name, "", "has dates from two files or periods", mend) for name in twice])
    return table


def _row(dates: StationDates) -> dict[str, object]:
    place = dates.station
    row: dict[str, object] = {
        "station": place.station,
        "latitude": place.latitude_deg,
        "longitude": place.longitude_deg,
        "elevation_m": place.elevation_m,
        "coast_km": np.nan,
        "threshold_c": dates.threshold_c,
        "valid_seasons": dates.valid_seasons or np.nan,
        "no_freeze_share": dates.no_freeze_share,
        "season_start": "{:02d}-{:02d}".format(*dates.season_start),
    }
    for chance, day, error in zip(dates.chances, dates.days, dates.error_days, strict=True):
        row |= {f"day_{round(100 * chance)}": day, f"error_{round(100 * chance)}": error}
    return row


def _whole_errors(made: Surface, stations: pd.DataFrame) -> NDArray[np.float32]:
    """Return the errors of the surface with the stations' own: the same few seasons stand behind all of them.

    However many stations there are, their average does not take away what those seasons had by chance. So to the
    error of the surface comes, in squares, the middle error of a station's date at that chance, where it is known.
    That is the most it can be: what the stations do not share is then counted twice.
    """
    own = [stations[f"error_{round(100 * chance)}"].median() for chance in CHANCES]
    shared = np.nan_to_num(np.array(own, dtype=np.float64))[:, np.newaxis, np.newaxis]
    return np.hypot(made.error_days, shared).astype(np.float32)


def _write(made: Surface, terrain: Terrain, out: Path, tags: dict[str, str], seasons: float) -> None:
    form = LayerForm(terrain.grid, BANDS, "float32", UNKNOWN, tags)
    counted = np.where(np.isnan(made.days).all(axis=0), np.nan, seasons).astype(np.float32)
    bands = np.concatenate([made.days, made.error_days, [counted, made.no_freeze_share]])
    with written_whole(out) as path, written_layer(path, form) as put:
        for window in tiles(terrain.grid.rows, terrain.grid.columns):
            rows = slice(window.row, window.row + window.rows)
            columns = slice(window.column, window.column + window.columns)
            put(coded(bands[:, rows, columns]), window, 1)
