"""`lastcut new`, `check` and `plan`: a region folder started, read through and planned."""

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any
from zoneinfo import ZoneInfo

import typer

from maps.commands.chosen import inside
from maps.commands.shared import AsJson, Folder, On, Paper, Quiet, progress, read, today
from spatial.errors import quiet
from spatial.settings import settings_with

if TYPE_CHECKING:
    from spatial.plan import Plan


def new(
    folder: Folder,
    fields: Annotated[Path, typer.Option(help="polygons of the fields, any file GDAL reads")],
    freeze: Annotated[Path | None, typer.Option(help="raster of freeze dates")] = None,
    survey: Annotated[Path | None, typer.Option(help="soil survey polygons")] = None,
    survey_tables: Annotated[
        list[Path] | None,
        typer.Option(help="tables of the survey: mapunit, component, chorizon; or their folder or database"),
    ] = None,
    soil_tests: Annotated[Path | None, typer.Option(help="CSV of lab tests")] = None,
    roads: Annotated[Path | None, typer.Option(help="lines of the roads")] = None,
    crews: Annotated[Path | None, typer.Option(help="CSV of the crews")] = None,
    outlook: Annotated[Path | None, typer.Option(help="CSV of the weather outlook")] = None,
    clients: Annotated[Path | None, typer.Option(help="CSV of the clients")] = None,
    time_zone: Annotated[str, typer.Option(help="time zone of the region")] = "America/New_York",
) -> None:
    """Start a region folder from your own layers; they stay where they are."""
    from spatial.new_region import new_region

    given = {
        "fields": fields,
        "freeze": freeze,
        "survey": survey,
        "soil_tests": soil_tests,
        "roads": roads,
        "crews": crews,
        "outlook": outlook,
        "clients": clients,
    }
    files = {name: file for name, file in given.items() if file is not None}
    path = new_region(folder, files, time_zone, survey_tables or ())
    print(f"Wrote {path}. Read it through, then: lastcut check {folder}")


def check(folder: Folder, as_json: AsJson = False) -> None:
    """Read everything and report what is there, missing, mended or wrong."""
    from maps.report import report_document, report_lines

    region = read(folder, quiet)
    if as_json:
        print(json.dumps(report_document(region), indent=1))
        return
    for line in report_lines(region):
        print(line)


def plan(
    folder: Folder,
    on: On = None,
    out: Annotated[Path | None, typer.Option(help="folder for the plan; REGION/out if not given")] = None,
    also: Annotated[list[str] | None, typer.Option(help="add-on exporter to run as well")] = None,
    paper: Annotated[
        Paper | None,
        typer.Option("--print", help="paper of the printed soil map; none is printed if not given"),
    ] = None,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
    **chosen: Any,
) -> None:
    """Work out last-cut dates, soil flags and a route, and write the map and the files."""
    from maps.exporters import export
    from spatial.plan import make_plan

    with progress(quiet_run or as_json) as tell:
        region = read(folder, tell)
        settings = settings_with(
            on.date() if on else today(region.time_zone), region.settings, inside(chosen)
        )
        made = make_plan(region, settings, tell)
        made_on = datetime.now(ZoneInfo(region.time_zone))
        paths = export(made, out or folder / "out", made_on, also or (), tell, paper)
    _print_plan(made, paths, as_json)


def _print_plan(made: "Plan", paths: list[Path], as_json: bool) -> None:
    from maps.report import plan_lines
    from maps.tables import plan_document

    if as_json:
        print(json.dumps(plan_document(made), indent=1))
        return
    for line in plan_lines(made):
        print(line)
    print(f"Map: {paths[0]}")
