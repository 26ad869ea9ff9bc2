"""A region and its settings in, last-cut zones out: dates on a grid, a week's zones with advice, a table by county."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from spatial.agronomy.deadline import LIMITS
from spatial.climate.seasons import Season, season_of
from spatial.errors import Tell, quiet
from spatial.inputs.region import Region
from spatial.raster.bands import NO_BAND
from spatial.reasons import Reason, reason
from spatial.settings import Settings
from spatial.values import AVERAGE_CHANCE, Grid
from spatial.zoning.by_area import dates_by_area
from spatial.zoning.cells import Cut, Ground, cuts_of, ground_of
from spatial.zoning.choice import (
    AreaKind,
    areas_for_zones,
    chances_for_zones,
    freeze_for_zones,
    grasses_for_zones,
    grasses_without_zones,
)
from spatial.zoning.notes import area_notes, cell_notes, past_notes
from spatial.zoning.weeks import zones_of_weeks


@dataclass(frozen=True)
class ZoneLayer:
    """One grass at one chance, on the grid: days since the season's first day, (rows, columns).

    `last_cut_days` whole, NaN no date known; `freeze_days` the freeze at this chance, +inf not reached, NaN unknown.
    """

    grass: str
    chance: float
    last_cut_days: NDArray[np.float64]
    freeze_days: NDArray[np.float64]


@dataclass(frozen=True)
class Zones:
    """What was worked out.

    `layers`: each grass at the chance of the settings and at the average. `bands`: one row a grass, chance and week
    of last-cut dates, the zones of a layer without overlaps or gaps; `areas`: one row an area, grass and chance; both
    with outlines (EPSG:4326), their columns in DEVELOPERS.md. `area_kind`: whether these are areas that were given,
    the counties or the whole district. `notes`: what the reader must know.
    """

    region: Region
    settings: Settings
    season: Season
    grid: Grid
    layers: tuple[ZoneLayer, ...]
    bands: gpd.GeoDataFrame
    areas: gpd.GeoDataFrame
    notes: tuple[Reason, ...]
    area_kind: AreaKind = "counties"


def make_zones(
    region: Region,
    settings: Settings,
    tell: Tell = quiet,
    grasses: Sequence[str] = (),
    areas: gpd.GeoDataFrame | None = None,
) -> Zones:
    """Return the last-cut zones of a region for the season of the day `settings.on`.

    For the grasses named (else those of the fields, most land first), at the chance of the settings and the average.
    What is mapped is the part of the freeze layer around the areas given (any CRS, a `name` each), else around the
    counties, and the fields; the whole layer where there are neither. Reads no file but the freeze layer's
    windows. Raises InputError where the freeze layer is absent, of another threshold or does not reach the chance,
    and for a grass that has no last-cut date; and whatever `tell` raises to stop the run.
    """
    season = season_of(settings.on, region.season_start)
    freeze = freeze_for_zones(region, settings.chance)
    chosen = grasses_for_zones(region, freeze, grasses)
    chances = chances_for_zones(freeze, settings.chance)
    shapes, kind = areas_for_zones(region, freeze.grid, areas)
    ground = ground_of(region, season, freeze, chances, shapes.geometry, tell)
    cuts = tuple(cuts_of(chosen, ground, tell))
    zones = zones_of_weeks(cuts, ground, tell)
    table = dates_by_area(cuts, shapes, ground)
    tell("zones", 1.0)
    layers = tuple(
        ZoneLayer(cut.grass.grass, cut.chance, cut.cells.days, ground.freeze_days(cut.chance)) for cut in cuts
    )
    notes = tuple(_notes(cuts, zones, ground, settings, asked=bool(grasses)))
    notes = (*past_notes(cuts, season, settings.on), *notes, *area_notes(table))
    return Zones(region, settings, season, ground.grid, layers, zones, table, notes, kind)


def _notes(
    cuts: Sequence[Cut], zones: gpd.GeoDataFrame, ground: Ground, settings: Settings, *, asked: bool
) -> Iterator[Reason]:
    """Give what the reader of all zones must know; where no grass was asked for, also which have none."""
    if ground.raster.seasons is None:
        yield reason("note_statistics_chances", chance=settings.chance)
    else:
        yield reason("note_statistics", chance=settings.chance, seasons=ground.raster.seasons)
    yield from cell_notes(cuts, zones)
    if not {settings.chance, AVERAGE_CHANCE} <= set(ground.chances):
        yield reason("zone_no_average")
    by_growth = any((cut.cells.limit == LIMITS.index("growth")).any() for cut in cuts)
    if ground.region.temperature.empty and by_growth:
        yield reason("note_growth_by_light")
    yield from _grass_notes(cuts)
    left_out = () if asked else grasses_without_zones(ground.region)
    yield from (reason("zone_no_rule", grass=grass.name) for grass in left_out)


def _grass_notes(cuts: Sequence[Cut]) -> Iterator[Reason]:
    for cut in cuts:
        if (cut.weeks == NO_BAND).all():
            yield reason("zone_no_date", grass=cut.grass.name, chance=cut.chance)
    for name in dict.fromkeys(cut.grass.name for cut in cuts if cut.grass.weak_evidence):
        yield reason("weak_evidence", grass=name)
