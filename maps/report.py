"""What `check` and `plan` say in the terminal: what is there, what is missing, what was mended."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from maps.labels import URGENCIES, area, chance_words, day_in_year, sentence, temperature
from maps.rules_shown import rules_in_use
from spatial.inputs.region import Region
from spatial.plan import Plan

ABSENT = "not given"


def report_lines(region: Region) -> Iterator[str]:
    """Give one line for each part of a region, then what was mended, then the rules in use."""
    yield f"{region.name}: {region.folder}"
    for part, what in _parts(region).items():
        yield f"  {part}: {what}"
    for name, lines in rules_in_use(region):
        yield f"  rules for {name}:"
        yield from (f"    {line}" for line in lines)
    for problem in region.told:  # last, where it is seen
        yield f"  mended or left out: {problem}"


def report_document(region: Region) -> dict[str, Any]:
    """Return the same for programs: parts in words, problems one line each, and the rules with their sources."""
    return {
        "region": region.name,
        "parts": _parts(region),
        "fields": len(region.fields),
        "area_ha": round(float(region.fields["area_ha"].sum()), 4),
        "mended": [str(problem) for problem in region.told],
        "rules": {name: dict(grass.sources) for name, grass in region.grasses.items()},
    }


def plan_lines(plan: Plan) -> Iterator[str]:
    """Give the plan in a few lines: the day, fields by urgency, the route, the notes."""
    units = plan.region.units
    yield f"{plan.region.name}, {day_in_year(plan.settings.on)}: {chance_words(plan.settings.chance)}"
    counts = plan.fields["urgency"].value_counts()
    for code, words in URGENCIES.items():
        if counts.get(code, 0):
            yield f"  {counts[code]:4d} {words}"
    routed = plan.fields[plan.fields["cut_date"].notna()]
    done = area(float(plan.route["area_ha"].sum()), units)
    yield f"  {len(routed):4d} on the route, {done}, {len(plan.route.groupby(['crew', 'date']))} crew-days"
    for note in plan.notes:
        yield f"  {sentence(note, units)}"


def _parts(region: Region) -> dict[str, str]:
    fields, layer = region.fields, region.freeze
    bands = "" if layer is None else f"{len(layer.chances or layer.seasons)} {layer.kind}"
    return {
        "fields": f"{len(fields)}, {area(float(fields['area_ha'].sum()), region.units)}, "
        f"{fields['client'].replace('', None).nunique()} clients",
        "grasses": ", ".join(f"{count} {name or 'not named'}" for name, count in _counts(fields["grass"])),
        "freeze": ABSENT
        if layer is None
        else f"{layer.name}, {bands}, {temperature(layer.threshold_c, region.units)}",
        "soil tests": f"{len(region.soil.tests)}" if len(region.soil.tests) else ABSENT,
        "soil survey": ABSENT if region.soil.survey is None else f"{len(region.soil.survey)} polygons",
        "roads": ABSENT if region.roads is None else f"{len(region.roads)} lines",
        "crews": ", ".join(map(str, region.crews.index)) or ABSENT,
        "outlook": _span(region.outlook),
        "clients": f"{len(region.clients)}" if len(region.clients) else ABSENT,
        "season log": f"{len(region.season_log)} facts" if len(region.season_log) else ABSENT,
        "context": ", ".join(region.context) or ABSENT,
    }


def _counts(names: pd.Series) -> list[tuple[str, int]]:
    return [(str(name), int(count)) for name, count in names.value_counts().sort_index().items()]


def _span(outlook: pd.DataFrame) -> str:
    if outlook.empty:
        return ABSENT
    return f"{day_in_year(outlook['date'].min())} to {day_in_year(outlook['date'].max())}"
