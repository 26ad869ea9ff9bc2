"""`lastcut freeze stations`, `grid` and `surface`: freeze dates worked out from daily temperatures."""

import json
import sys
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.shared import AsJson, Quiet, progress
from maps.commands.typed import columns_of, season_range, season_start_of, threshold_c_of

if TYPE_CHECKING:
    from spatial.inputs.checks import Report

freeze = typer.Typer(no_args_is_help=True, help="Work out freeze dates from daily minimum temperatures.")


class Unit(StrEnum):
    """The units a file of temperatures may be in."""

    F = "F"
    C = "C"
    TENTHS_C = "tenthsC"
    K = "K"


class Plotting(StrEnum):
    """The plotting positions of the seasons."""

    MEDIAN = "median"
    WEIBULL = "weibull"
    HAZEN = "hazen"


POSITIONS = {Plotting.MEDIAN: 1 / 3, Plotting.WEIBULL: 0.0, Plotting.HAZEN: 0.5}

Threshold = Annotated[str, typer.Option(help="temperature of the freeze, as 28F or -2.2C")]
Seasons = Annotated[str, typer.Option(help="first and last season by the year it begins in, as 1991-2020")]
SeasonStart = Annotated[
    str, typer.Option(help="first day of a season; 08-01, south of the equator 02-01, if not given")
]
UnitOption = Annotated[
    Unit | None, typer.Option(help="unit of the temperatures, where the file does not show it")
]
Columns = Annotated[
    list[str] | None,
    typer.Option("--column", help="our column = yours, as tmin=LOW (date, tmin, tmax, station)"),
]
Places = Annotated[Path | None, typer.Option(help="table of the stations' latitude, longitude and elevation")]
Metric = Annotated[bool, typer.Option("--metric", help="metric units")]


@freeze.command()
def stations(
    files: Annotated[list[Path], typer.Argument(help="station records or official normals")],
    threshold: Threshold,
    seasons: Seasons = "",
    unit: UnitOption = None,
    column: Columns = None,
    places: Places = None,
    season_start: SeasonStart = "",
    plotting: Annotated[Plotting, typer.Option(help="plotting position of the seasons")] = Plotting.MEDIAN,
    seed: Annotated[int, typer.Option(min=0, help="seed of the bootstrap errors")] = 1,
    out: Annotated[
        Path | None, typer.Option(help="table of the dates, as stations.csv; a picture a station beside it")
    ] = None,
    metric: Metric = False,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Freeze dates of weather stations at each chance, with their errors."""
    from maps.freeze.files import check_table, write_stations
    from maps.freeze.station_report import station_lines, stations_document
    from spatial.inputs.checks import Report
    from spatial.station_freezes import StationFiles, station_freezes

    report, units, threshold_c = Report(), "metric" if metric else "us", threshold_c_of(threshold)
    given = StationFiles(tuple(files), unit or "", columns_of(column or ()), places)
    if out is not None:
        check_table(out, files)
    with progress(quiet_run or as_json) as tell:
        found = station_freezes(
            given,
            threshold_c,
            report,
            seasons=season_range(seasons),
            season_start=season_start_of(season_start),
            plotting_position=POSITIONS[plotting],
            seed=seed,
            tell=tell,
        )
        paths = [] if out is None else write_stations(found, out, units, POSITIONS[plotting], tell)
    _say(report)
    if as_json:
        print(json.dumps(stations_document(found), indent=1))
        return
    for dates in found:
        print("\n".join(station_lines(dates, units)), end="\n\n")
    for path in paths[:1]:
        print(f"Table: {path}")


@freeze.command()
def grid(
    files: Annotated[list[Path], typer.Argument(help="daily minima as NetCDF, or GeoTIFF with a band a day")],
    out: Annotated[Path, typer.Option(help="GeoTIFF of the chances; that of the seasons comes beside it")],
    threshold: Threshold = "28F",
    seasons: Seasons = "",
    variable: Annotated[str, typer.Option(help="variable of the minima, where a file has several")] = "",
    unit: UnitOption = None,
    first_day: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="day of the first band of a GeoTIFF")
    ] = None,
    season_start: SeasonStart = "",
    metric: Metric = False,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Freeze dates of every cell of a grid of daily minima: a band a season, and a band a chance."""
    from maps.freeze.files import draw_grid
    from maps.freeze.layer_report import grid_document, grid_lines
    from spatial.freeze_layers import grid_layers
    from spatial.inputs.checks import Report

    report, units, threshold_c = Report(), "metric" if metric else "us", threshold_c_of(threshold)
    with progress(quiet_run or as_json) as tell:
        made = grid_layers(
            files,
            threshold_c,
            out,
            report,
            seasons=season_range(seasons),
            season_start=season_start_of(season_start),
            variable=variable,
            unit=unit or "",
            first_day=first_day.date() if first_day else None,
            tell=tell,
        )
        picture = draw_grid(made, units)
    _say(report)
    print(
        json.dumps(grid_document(made, picture), indent=1)
        if as_json
        else "\n".join(grid_lines(made, picture, units))
    )


@freeze.command()
def surface(
    stations: Annotated[
        list[Path], typer.Argument(help="table of dates by `freeze stations`, or the stations' records")
    ],
    dem: Annotated[
        Path, typer.Option(help="raster of heights above the sea; its cells are those of the layer")
    ],
    out: Annotated[Path, typer.Option(help="GeoTIFF of the dates at each chance, with their errors")],
    threshold: Annotated[
        str, typer.Option(help="for records: temperature of the freeze, as 28F or -2.2C")
    ] = "",
    seasons: Seasons = "",
    unit: UnitOption = None,
    column: Columns = None,
    places: Places = None,
    season_start: SeasonStart = "",
    dem_unit: Annotated[
        str, typer.Option(help="unit of the heights, where it does not show: m, ft or cm")
    ] = "",
    coast: Annotated[Path | None, typer.Option(help="lines of the coast, where it matters")] = None,
    metric: Metric = False,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Freeze dates of stations spread over the land, with the error of every cell."""
    from maps.freeze.files import draw_surface
    from maps.freeze.layer_report import surface_document, surface_lines
    from spatial.freeze_surface import Land, as_table, holds_dates, stations_of, surface_layer
    from spatial.inputs.checks import Report
    from spatial.station_freezes import StationFiles, station_freezes

    report, units = Report(), "metric" if metric else "us"
    dated = holds_dates(stations, threshold)
    threshold_c = 0.0 if dated else threshold_c_of(threshold)
    with progress(quiet_run or as_json) as tell:
        if dated:
            table = stations_of(stations[0], report)
        else:
            given = StationFiles(tuple(stations), unit or "", columns_of(column or ()), places)
            chosen, start = season_range(seasons), season_start_of(season_start)
            found = station_freezes(given, threshold_c, report, seasons=chosen, season_start=start, tell=tell)
            table = as_table(found)
        made = surface_layer(table, Land(dem, dem_unit, coast), out, report, tell)
        picture = draw_surface(made, units)
    _say(report)
    print(
        json.dumps(surface_document(made, picture), indent=1)
        if as_json
        else "\n".join(surface_lines(made, picture, units))
    )


def _say(report: "Report") -> None:
    """Print what was left out and what was mended, on the error stream so that JSON stays whole."""
    for problem in sorted(set(report.wrong)):
        print(f"Left out: {problem}", file=sys.stderr)
    for problem in dict.fromkeys(report.told):
        print(problem, file=sys.stderr)
