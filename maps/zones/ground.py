"""What lies beneath the zones: the outlines of the areas, towns and streams of the part mapped, land without a date."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from maps import ground
from spatial.raster.places import lon_lat_of
from spatial.zones import Zones

EDGE_STEPS = 50  # of the longer side of the grid, which is bent on the globe
THIN = 1 / 300  # of the width of the zones: strips thinner than twice that are not shown


def zone_ground(zones: Zones) -> dict[str, Any]:
    """Return what lies beneath the zones as `ground.ground` does: areas whole, the rest only where zones can lie."""
    context = dict(zones.region.context)
    if zones.area_kind != "counties":
        own = area_outlines(zones)
        context["counties"] = own if zones.area_kind == "areas" else own.iloc[:0]
    return ground.ground(zones.bands, context | _in_part(zones), None)


def streams_of(zones: Zones) -> gpd.GeoDataFrame | None:
    """Return the streams of the part mapped, EPSG:4326, None without any."""
    return _in_part(zones).get("streams")


def area_outlines(zones: Zones) -> gpd.GeoDataFrame:
    """Return the areas of the table with `name` and outline (EPSG:4326), one row each."""
    if "geometry" not in zones.areas or zones.areas.empty:
        return gpd.GeoDataFrame({"name": []}, geometry=[], crs=4326)
    own = gpd.GeoDataFrame(zones.areas).drop_duplicates("area")
    return gpd.GeoDataFrame({"name": own["area"].to_numpy()}, geometry=own.geometry.to_numpy(), crs=4326)


def shown_bounds(zones: Zones, unknown: Sequence[BaseGeometry]) -> list[list[float]] | None:
    """Return the corners around zones and land without a date as `ground.bounds` does."""
    shapes = [*zones.bands.geometry, *(shape for shape in unknown if not shape.is_empty)]
    return ground.bounds(gpd.GeoDataFrame(geometry=shapes, crs=4326))


def land_without_date(areas: gpd.GeoDataFrame, zones: Sequence[BaseGeometry]) -> BaseGeometry:
    """Return the land of areas near zones that lies in none of them, but for strips too thin to be seen."""
    if areas.empty or not zones:
        return shapely.Polygon()
    west, south, east, north = shapely.total_bounds(zones)
    thin, around = THIN * (east - west), ground.MARGIN_SHARE * max(east - west, north - south)
    near = shapely.box(west - around, south - around, east + around, north + around)
    own = shapely.intersection(shapely.union_all(shapely.make_valid(areas.geometry.to_numpy())), near)
    left = shapely.difference(own, shapely.union_all(shapely.make_valid(list(zones))))
    thick = shapely.buffer(shapely.buffer(left, -thin, join_style="mitre"), 2 * thin, join_style="mitre")
    shown: BaseGeometry = shapely.intersection(thick, left)
    return shown


def _in_part(zones: Zones) -> dict[str, gpd.GeoDataFrame]:
    """Return towns and streams, cut to the part of the freeze layer that is mapped."""
    part = _part(zones)
    kept = {name: zones.region.context[name] for name in ("towns", "streams") if name in zones.region.context}
    return {
        name: table.to_crs(4326).clip(gpd.GeoSeries([part], crs=4326), keep_geom_type=True)
        for name, table in kept.items()
    }


def _part(zones: Zones) -> BaseGeometry:
    columns, rows = zones.grid.columns, zones.grid.rows
    box = shapely.segmentize(shapely.box(0, 0, columns, rows), max(columns, rows) / EDGE_STEPS)
    placed: BaseGeometry = shapely.transform(box, lambda cells: lon_lat_of(zones.grid, cells))
    # Where a corner of the grid lies nowhere on the globe, what surrounds the zones serves.
    return (
        placed
        if np.isfinite(shapely.get_coordinates(placed)).all()
        else shapely.box(*zones.bands.total_bounds)
    )
