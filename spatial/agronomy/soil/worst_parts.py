"""The part of each field to sample first: the land with the lowest mapped pH, as an outline."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.soil.field_parts import (
    MEAN_DECIMALS,
    FieldParts,
    layer_of_fields,
    raster_parts,
    share_of_fields,
    survey_parts,
)
from spatial.raster.cover import CellCover
from spatial.raster.overlay import land_of, shared_parts
from spatial.raster.patches import NO_PATCH, patch_outlines, patches_under
from spatial.raster.places import LON_LAT
from spatial.soil import SoilRaster

# Less than this is a sliver along an edge, not a place to sample; all three are common practice, no source.
LEAST_SHARE, LEAST_HA = 0.05, 0.1
SMALL_SHARE = 0.5  # of a small field: so much is a place to sample, however little land it is


@dataclass(frozen=True)
class _Layer:
    """A layer of pH: its parts of the fields and their pH; of a raster its cells, of a survey none."""

    parts: FieldParts
    ph: NDArray[np.float64]
    raster: SoilRaster | None = None
    cover: CellCover | None = None


@dataclass(frozen=True)
class _Places:
    """Places in fields: the field's place in the table, pH, share of the field, and which patch or part it is."""

    field: NDArray[np.int64]
    ph: NDArray[np.float64]
    share: NDArray[np.float64]
    which: NDArray[np.int64]

    def at(self, rows: NDArray[np.int64]) -> "_Places":
        return _Places(self.field[rows], self.ph[rows], self.share[rows], self.which[rows])


def worst_parts(
    fields: gpd.GeoDataFrame,
    survey: gpd.GeoDataFrame | None,
    rasters: tuple[SoilRaster, ...],
    limits_ph: pd.Series,
    wanted: pd.Series,
) -> gpd.GeoDataFrame:
    """Return `ph`, `share` (of the field) and outline (EPSG:4326) of the part to sample first, on `field_id`.

    That is, of the layer that counts in the field, the joined cells below `limits_ph` with the lowest mean, or the
    part of a map unit with the lowest pH below it; the larger of two that are as low. Only of the `wanted` fields,
    and only where there is such a part that is no sliver. `fields` have their area_ha.
    """
    some = fields[wanted.reindex(fields.index, fill_value=False).to_numpy(bool)]
    limits = limits_ph.reindex(some.index).to_numpy(np.float64)
    layers = _layers(some, survey, rasters)
    covers = [share_of_fields(~np.isnan(layer.ph), layer.parts) for layer in layers]
    counts = layer_of_fields(np.array(covers).reshape(len(layers), len(some)))
    found = [_of_layer(some, survey, layer, limits, counts == place) for place, layer in enumerate(layers)]
    places = [place for place, _outlines in found]
    field = np.concatenate([np.empty(0, dtype=np.int64), *(place.field for place in places)])
    table = {
        "ph": np.concatenate([np.empty(0), *(place.ph for place in places)]),
        "share": np.concatenate([np.empty(0), *(place.share for place in places)]),
    }
    outlines = np.concatenate([np.empty(0, dtype=object), *(outlines for _place, outlines in found)])
    return gpd.GeoDataFrame(table, index=some.index[field], geometry=outlines, crs=LON_LAT).sort_index()


def _layers(
    fields: gpd.GeoDataFrame, survey: gpd.GeoDataFrame | None, rasters: tuple[SoilRaster, ...]
) -> list[_Layer]:
    """Return the layers of pH in the order in which they count."""
    found = []
    for raster in rasters:
        if raster.value == "ph":
            parts, ph, cover = raster_parts(fields, raster)
            found.append(_Layer(parts, ph, raster, cover))
    if survey is not None:
        parts = survey_parts(fields, survey)
        found.append(_Layer(parts, survey["ph"].to_numpy(np.float64)[parts.source]))
    return found


def _of_layer(
    fields: gpd.GeoDataFrame,
    survey: gpd.GeoDataFrame | None,
    layer: _Layer,
    limits: NDArray[np.float64],
    counts: NDArray[np.bool_],
) -> tuple[_Places, NDArray[np.object_]]:
    """Return the lowest place of each field in which the layer counts, with their outlines."""
    low = counts[layer.parts.field] & (layer.ph < limits[layer.parts.field])
    area_ha = fields["area_ha"].to_numpy(np.float64)
    if layer.raster is not None and layer.cover is not None:
        patch = patches_under(layer.cover, low)
        places = _lowest(_patches(layer, patch), area_ha)
        taken = np.where(np.isin(patch, places.which), patch, NO_PATCH)
        by_patch = patch_outlines(layer.cover, taken, layer.raster.grid)
        outlines = by_patch[np.argsort(np.argsort(places.which))]
    else:
        shares = layer.parts.size / layer.parts.whole[layer.parts.field]
        rows = np.flatnonzero(low)
        every = _Places(layer.parts.field, layer.ph, shares, layer.parts.source)
        places = _lowest(every.at(rows), area_ha)
        outlines = _in_lon_lat(survey)[places.which]
    return places, land_of(shared_parts(_in_lon_lat(fields)[places.field], outlines))


def _patches(layer: _Layer, patch: NDArray[np.int64]) -> _Places:
    """Return the patches of cells as places, in their order."""
    cells = np.flatnonzero(patch != NO_PATCH)
    own, size = patch[cells], layer.parts.size[cells]
    which, first = np.unique(own, return_index=True)
    field = layer.parts.field[cells[first]]
    land = np.bincount(own, size, minlength=len(which))
    ph = (np.bincount(own, size * layer.ph[cells], minlength=len(which)) / land).round(MEAN_DECIMALS)
    return _Places(field, ph, land / layer.parts.whole[field], which)


def _lowest(places: _Places, area_ha: NDArray[np.float64]) -> _Places:
    """Return the place of each field with the lowest pH, slivers left out."""
    large = (places.share * area_ha[places.field] >= LEAST_HA) | (places.share >= SMALL_SHARE)
    worth = places.at(np.flatnonzero(large & (places.share >= LEAST_SHARE)))
    order = np.lexsort((worth.which, -worth.share, worth.ph, worth.field))
    return worth.at(order[np.flatnonzero(np.diff(worth.field[order], prepend=-1))])


def _in_lon_lat(shapes: gpd.GeoDataFrame | None) -> NDArray[np.object_]:
    if shapes is None:
        return np.empty(0, dtype=object)
    return np.asarray(shapes.geometry.to_crs(LON_LAT).array, dtype=object)
