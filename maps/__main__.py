"""The command line: `lastcut new`, `check`, `plan`, `record`."""

import inspect
import io
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any
from zoneinfo import ZoneInfo

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

from spatial.errors import InputError, Stopped, Tell, quiet
from spatial.settings import Settings, about_settings, settings_with
from spatial.units import WRITTEN, written_names

if TYPE_CHECKING:
    from spatial.inputs.region import Region
    from spatial.plan import Plan

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Last-cut dates, soil flags and a cutting route for warm-season hayfields.",
)
Folder = Annotated[Path, typer.Argument(help="the region's folder")]
Quiet = Annotated[bool, typer.Option("--quiet", help="no progress bar")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON for programs")]
US_SUFFIXES = tuple(suffix for suffix in WRITTEN if suffix in ("_mph", "_in", "_ft", "_ac", "_f"))


def _day(help_line: str) -> Any:
    return typer.Option(formats=["%Y-%m-%d"], help=help_line)


def _inches(help_line: str, most: float) -> Any:
    return typer.Option(min=0, max=most, help=f"{help_line}, inches")


def _centimetres(help_line: str, most: float) -> Any:
    return typer.Option(min=0, max=most, help=f"{help_line}, cm")


def main() -> None:
    """Run the command line; exits 0 when done, 2 where the user can mend what is wrong."""
    # A PROJ_DATA left by another program breaks both GDALs (they carry their own).
    for poison in ("PROJ_LIB", "PROJ_DATA", "GDAL_DATA"):
        os.environ.pop(poison, None)
    # A name in any script must not stop a run whose output goes to an old code page.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        app()
    except InputError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        sys.exit(2)
    except (Stopped, KeyboardInterrupt):
        print("Stopped; nothing was changed.", file=sys.stderr)
        sys.exit(2)


@app.command()
def new(
    folder: Folder,
    fields: Annotated[Path, typer.Option(help="polygons of the fields, any file GDAL reads")],
    freeze: Annotated[Path | None, typer.Option(help="raster of freeze dates")] = None,
    survey: Annotated[Path | None, typer.Option(help="soil survey polygons with a pH")] = None,
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
    path = new_region(folder, {name: file for name, file in given.items() if file is not None}, time_zone)
    print(f"Wrote {path}. Read it through, then: lastcut check {folder}")


@app.command()
def check(folder: Folder, as_json: AsJson = False) -> None:
    """Read everything and report what is there, missing, mended or wrong."""
    from maps.report import report_document, report_lines

    region = _read(folder, quiet)
    if as_json:
        print(json.dumps(report_document(region), indent=1))
        return
    for line in report_lines(region):
        print(line)


def plan(
    folder: Folder,
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="day of the plan; today if not given")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="folder for the plan; REGION/out if not given")] = None,
    also: Annotated[list[str] | None, typer.Option(help="add-on exporter to run as well")] = None,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
    **chosen: Any,
) -> None:
    """Work out last-cut dates, soil flags and a route, and write the map and the files."""
    from maps.exporters import export
    from spatial.plan import make_plan

    with _progress(quiet_run or as_json) as tell:
        region = _read(folder, tell)
        settings = settings_with(
            on.date() if on else _today(region.time_zone), region.settings, _inside(chosen)
        )
        made = make_plan(region, settings, tell)
        made_on = datetime.now(ZoneInfo(region.time_zone))
        paths = export(made, out or folder / "out", made_on, also or (), tell)
    _print_plan(made, paths, as_json)


@app.command()
def record(
    folder: Folder,
    field: Annotated[str, typer.Option(help="the field it is about")] = "",
    area: Annotated[str, typer.Option(help="the county or place it is about")] = "",
    on: Annotated[datetime | None, _day("day of a height, cover or note; today if not given")] = None,
    cut: Annotated[datetime | None, _day("day the field was cut")] = None,
    stubble_in: Annotated[float | None, _inches("stubble that the cut left", 23.6)] = None,
    stubble_cm: Annotated[float | None, _centimetres("stubble that the cut left", 60)] = None,
    killing_freeze: Annotated[datetime | None, _day("day it came")] = None,
    freeze_cut: Annotated[datetime | None, _day("day of a cut at the killing freeze")] = None,
    height_in: Annotated[float | None, _inches("canopy height, before a freeze cut", 118)] = None,
    height_cm: Annotated[float | None, _centimetres("canopy height, before a freeze cut", 300)] = None,
    fall_armyworm: Annotated[datetime | None, _day("day fall armyworm was seen")] = None,
    stem_maggot: Annotated[datetime | None, _day("day stem maggot was seen")] = None,
    eaten_in: Annotated[float | None, _inches("canopy that the pest has eaten", 118)] = None,
    eaten_cm: Annotated[float | None, _centimetres("canopy that the pest has eaten", 300)] = None,
    grazed: Annotated[datetime | None, _day("day it was grazed")] = None,
    sprayed_until: Annotated[datetime | None, _day("the label's date")] = None,
    green_up: Annotated[datetime | None, _day("day it had greened up")] = None,
    stand_cover: Annotated[
        float | None, typer.Option(min=0, max=100, help="ground the grass covers at green-up, percent")
    ] = None,
    note: Annotated[str, typer.Option(help="anything worth keeping")] = "",
) -> None:
    """Write what was done or seen to the season log."""
    from maps.recording import facts_of
    from spatial.inputs.checks import Report
    from spatial.inputs.region_file import read_region_file
    from spatial.record import record as write

    days = {
        "cut": cut,
        "killing_freeze": killing_freeze,
        "freeze_cut": freeze_cut,
        "fall_armyworm": fall_armyworm,
        "stem_maggot": stem_maggot,
        "grazed": grazed,
        "sprayed_until": sprayed_until,
        "green_up": green_up,
    }
    inches = {"height_in": height_in, "stubble_in": stubble_in, "eaten_in": eaten_in}
    cm = {"height_cm": height_cm, "stubble_cm": stubble_cm, "eaten_cm": eaten_cm}
    measures = {**inches, **cm, "stand_cover_pct": stand_cover}
    region = _read(folder, quiet)
    today = on.date() if on else _today(region.time_zone)
    facts = facts_of(days, measures, note, today, field, area)
    path = write(region, read_region_file(folder, Report()), *facts)
    for fact in facts:
        later = (
            " (a day still to come: plans count it from then on)"
            if fact.date > _today(region.time_zone)
            else ""
        )
        print(f"Recorded in {path}: {fact.fact} {field or area} {fact.date}{later}")


def _with_settings(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command one option for every setting, from the settings' own description."""
    given = [
        p
        for p in inspect.signature(command).parameters.values()
        if p.kind is not inspect.Parameter.VAR_KEYWORD
    ]
    options = [_option(name) for name in about_settings()]
    command.__signature__ = inspect.Signature([*given, *options])  # type: ignore[attr-defined]  # read by typer
    command.__annotations__ |= {option.name: option.annotation for option in options}
    return command


def _option(name: str) -> inspect.Parameter:
    about, written = about_settings()[name], _us_name(name)
    kind = Settings.__annotations__[name]
    number: Any = str if about.choices else int if kind is int else float
    help_line = about.help + (f" ({', '.join(about.choices)})" if about.choices else "")
    annotation = Annotated[number | None, typer.Option(help=help_line)]
    return inspect.Parameter(written, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=annotation)


def _us_name(name: str) -> str:
    return next((other for other in written_names(name) if other.endswith(US_SUFFIXES)), name)


def _inside(chosen: Mapping[str, Any]) -> dict[str, Any]:
    found = {}
    for name in about_settings():
        factor, offset = written_names(name)[_us_name(name)]
        value = chosen.get(_us_name(name))
        found[name] = value if value is None or (factor, offset) == (1.0, 0.0) else value * factor + offset
    return found


def _read(folder: Path, tell: Tell) -> "Region":
    from spatial.inputs.region import read_region

    return read_region(folder, tell)


def _today(time_zone: str) -> date:
    return datetime.now(ZoneInfo(time_zone)).date()


@contextmanager
def _progress(silent: bool) -> Iterator[Tell]:
    if silent:
        yield quiet
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def tell(step: str, share: float) -> None:
            if step not in tasks:
                tasks[step] = bars.add_task(step, total=1.0)
            bars.update(tasks[step], completed=share)

        yield tell


def _print_plan(made: "Plan", paths: list[Path], as_json: bool) -> None:
    from maps.report import plan_lines
    from maps.tables import plan_document

    if as_json:
        print(json.dumps(plan_document(made), indent=1))
        return
    for line in plan_lines(made):
        print(line)
    print(f"Map: {paths[0]}")


app.command()(_with_settings(plan))


if __name__ == "__main__":
    main()
