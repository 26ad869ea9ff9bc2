"""`lastcut record`: what was done or seen, into the season log."""

from datetime import datetime
from typing import Annotated, Any

import typer

from maps.commands.shared import Folder, read, today
from spatial.errors import quiet


def _day(help_line: str) -> Any:
    return typer.Option(formats=["%Y-%m-%d"], help=help_line)


def _inches(help_line: str, most: float) -> Any:
    return typer.Option(min=0, max=most, help=f"{help_line}, inches")


def _centimetres(help_line: str, most: float) -> Any:
    return typer.Option(min=0, max=most, help=f"{help_line}, cm")


def _hay(unit: str, most: float, *names: str) -> Any:
    help_line = "hay taken off the whole field, as it lies; all of one day"
    return typer.Option(*names, min=0, max=most, help=f"{help_line}, {unit}")


def record(
    folder: Folder,
    field: Annotated[str, typer.Option(help="the field it is about")] = "",
    area: Annotated[str, typer.Option(help="the county or place it is about")] = "",
    on: Annotated[
        datetime | None, _day("day of hay without a cut, a height, cover or note; today if not given")
    ] = None,
    cut: Annotated[datetime | None, _day("day the field was cut")] = None,
    stubble_in: Annotated[float | None, _inches("stubble that the cut left", 23.6)] = None,
    stubble_cm: Annotated[float | None, _centimetres("stubble that the cut left", 60)] = None,
    hay_tons: Annotated[float | None, _hay("tons of 2,000 lb", 5500, "--hay", "--hay-tons")] = None,
    hay_t: Annotated[float | None, _hay("metric tons", 5000, "--hay-t")] = None,
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
    hay = {"hay_tons": hay_tons, "hay_t": hay_t}
    measures = {**inches, **cm, **hay, "stand_cover_pct": stand_cover}
    region = read(folder, quiet)
    now = today(region.time_zone)
    day = on.date() if on else now
    facts = facts_of(days, measures, note, day, field, area)
    path = write(region, read_region_file(folder, Report()), *facts)
    for fact in facts:
        later = " (a day still to come: plans count it from then on)" if fact.date > now else ""
        print(f"Recorded in {path}: {fact.fact} {field or area} {fact.date}{later}")
