"""`lastcut zones`: the last-cut dates of a whole district, on a page, on paper and in files for any GIS."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import typer

from maps.commands.chosen import inside
from maps.commands.shared import AsJson, Folder, On, Paper, Quiet, progress, read, today
from spatial.settings import settings_with


def zones(
    folder: Folder,
    on: On = None,
    out: Annotated[
        Path | None, typer.Option(help="folder for the maps and files; REGION/zones if not given")
    ] = None,
    grass: Annotated[
        list[str] | None, typer.Option(help="grass to map; those of the fields if not given")
    ] = None,
    areas: Annotated[
        Path | None,
        typer.Option(help="polygons with a name, for map and table; the region's counties if not given"),
    ] = None,
    paper: Annotated[Paper, typer.Option("--print", help="paper of the printed map")] = Paper.LETTER,
    quiet_run: Quiet = False,
    as_json: AsJson = False,
    **chosen: Any,
) -> None:
    """Map the last-cut dates of a district by week: zones with advice, and a table by county."""
    from maps.zones.exports import export_zones
    from maps.zones.files import zones_document
    from maps.zones.report import zone_lines
    from spatial.inputs.areas import read_areas
    from spatial.inputs.checks import Report
    from spatial.reasons import reason
    from spatial.zones import make_zones

    with progress(quiet_run or as_json) as tell:
        region = read(folder, tell)
        day = on.date() if on else today(region.time_zone)
        settings = settings_with(day, region.settings, inside(chosen))
        report = Report()
        given = None if areas is None else read_areas(areas, report)
        made = make_zones(region, settings, tell, tuple(grass or ()), given)
        told = tuple(reason("note_input", line=str(line)) for line in report.told)
        made = replace(made, notes=(*made.notes, *told))
        made_on = datetime.now(ZoneInfo(region.time_zone))
        paths = export_zones(made, out or folder / "zones", made_on, paper, tell)
    if as_json:
        print(json.dumps(zones_document(made), indent=1))
        return
    for line in zone_lines(made):
        print(line)
    print(f"Map: {paths[0]}")
