"""What zones are made for: the grasses, the chances beside each other, and the areas of the table."""

from collections.abc import Iterator, Sequence
from typing import Literal

import geopandas as gpd
import pandas as pd
import shapely

from spatial.climate.frost import goes_to
from spatial.errors import InputError, Problem
from spatial.inputs.region import Region
from spatial.inputs.together import with_grass_codes
from spatial.units import farmer_units
from spatial.values import AVERAGE_CHANCE, SAME_THRESHOLD_C, FreezeLayer, Grass, Grid

AreaKind = Literal["areas", "counties", "district"]


def freeze_for_zones(region: Region, chance: float) -> FreezeLayer:
    """Return the region's freeze layer; raises InputError where it has none, or none that goes to the chance."""
    freeze = region.freeze
    if freeze is None:
        mend = "Bring a freeze layer, or make one from daily temperatures with `lastcut freeze`"
        raise InputError([Problem("region.toml", "freeze", "is not given, so there are no zones", mend)])
    if not goes_to(freeze, chance):
        span = f"{freeze.chances[0]:g} to {freeze.chances[-1]:g}"
        cause = f"a chance of {chance:g} is asked for, and the layer has the chances {span}"
        mend = f"Use a chance of {span}, or a layer that goes further"
        raise InputError([Problem(freeze.name, "chances", cause, mend)])
    return freeze


def chances_for_zones(freeze: FreezeLayer, chance: float) -> tuple[float, ...]:
    """Return the chance asked for and, beside it, the average where the layer goes that far."""
    beside = (AVERAGE_CHANCE,) if chance != AVERAGE_CHANCE and goes_to(freeze, AVERAGE_CHANCE) else ()
    return (chance, *beside)


def grasses_for_zones(region: Region, freeze: FreezeLayer, named: Sequence[str]) -> tuple[Grass, ...]:
    """Return the grasses named, or else those of the fields that keep a last-cut rule, most land first.

    Raises InputError for a grass that is not known, keeps no last-cut rule or needs another threshold than the
    layer's, and where no grass is left.
    """
    names = _codes(named, region) if named else _grown(region)
    problems = [problem for name in names for problem in _problems_of(name, region, freeze)]
    if not names:
        cause = "name no grass that has a last-cut date"
        problems = [Problem("fields", "grass", cause, f"Name one: {', '.join(_ruled(region))}")]
    if problems:
        raise InputError(problems)
    return tuple(region.grasses[name] for name in names)


def areas_for_zones(
    region: Region, grid: Grid, given: gpd.GeoDataFrame | None
) -> tuple[gpd.GeoDataFrame, AreaKind]:
    """Return the areas of the table, one row a name, and which: given (any CRS), else counties, else all the layer.

    Columns: area (the `name` of what is given) and geometry.
    """
    shapes = region.context.get("counties") if given is None else given
    if shapes is None or shapes.empty:
        right = grid.left + grid.columns * grid.cell_width
        box = shapely.box(grid.left, grid.top - grid.rows * grid.cell_height, right, grid.top)
        return gpd.GeoDataFrame({"area": [region.name]}, geometry=[box], crs=grid.crs), "district"
    named = gpd.GeoDataFrame({"area": _names(shapes)}, geometry=shapes.geometry)
    own = named.dissolve("area", as_index=False)[["area", "geometry"]]
    return own, "counties" if given is None else "areas"


def grasses_without_zones(region: Region) -> list[Grass]:
    """Return the grasses of the fields that keep no last-cut rule."""
    grown = set(region.fields["grass"])
    return [grass for name, grass in region.grasses.items() if name in grown and not grass.last_cut_rule]


def _names(shapes: gpd.GeoDataFrame) -> pd.Series:
    numbered = pd.Series([f"unnamed {place}" for place in range(1, len(shapes) + 1)], index=shapes.index)
    names = shapes["name"].fillna("").astype(str) if "name" in shapes else numbered
    return names.where(names != "", numbered)


def _codes(named: Sequence[str], region: Region) -> list[str]:
    asked = gpd.GeoDataFrame({"grass": list(named)})
    return list(dict.fromkeys(with_grass_codes(asked, region.grasses)["grass"]))


def _grown(region: Region) -> list[str]:
    fields = region.fields
    land = fields["area_ha"].groupby(fields["grass"]).sum().sort_values(ascending=False, kind="stable")
    return [name for name in land.index if name in _ruled(region)]


def _ruled(region: Region) -> list[str]:
    return [name for name, grass in region.grasses.items() if grass.last_cut_rule]


def _problems_of(name: str, region: Region, freeze: FreezeLayer) -> Iterator[Problem]:
    grass = region.grasses.get(name)
    if grass is None:
        yield Problem("zones", f"grass {name!r}", "is not known", f"Use one of: {', '.join(_ruled(region))}")
    elif not grass.last_cut_rule:
        mend = f"Use one of: {', '.join(_ruled(region))}"
        yield Problem("zones", f"grass {name!r}", "is an annual and has no last-cut date", mend)
    elif abs(freeze.threshold_c - grass.killing_freeze_c) > SAME_THRESHOLD_C:
        has_f, needs_f = (farmer_units(c, "_c", "_f") for c in (freeze.threshold_c, grass.killing_freeze_c))
        cause = f"is {has_f:.1f} F, but {grass.name} needs {needs_f:.1f} F"
        mend = "Bring a layer of that threshold, or set the grass's killing freeze in a rule file of your own"
        yield Problem(freeze.name, "threshold", cause, mend)
