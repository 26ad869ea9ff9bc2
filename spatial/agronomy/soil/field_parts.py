"""The land of each field under the cells or map units of a soil layer, and what their values say of the field."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.raster.cover import CellCover, cell_values, cells_under
from spatial.raster.overlay import covered_m2, overlaps
from spatial.soil import SoilRaster

GOOD_SHARE = (
    0.5 - 1e-6
)  # of a field, known in single precision: a layer that covers as much goes before a later one
CELL_DECIMALS = 5  # a cell's value is in single precision: pH 6.1 must not be below 6.1
MEAN_DECIMALS = 9  # nor may the mean of many 6.1 be


@dataclass(frozen=True)
class FieldParts:
    """Parts of fields, ordered by field: the place of the field in its table, the part's size and what it lies on.

    `size` and `whole` (one entry for each field) are in one unit of area. `source` is the row of the survey.
    """

    field: NDArray[np.int64]
    size: NDArray[np.float64]
    source: NDArray[np.int64]
    whole: NDArray[np.float64]


def survey_parts(fields: gpd.GeoDataFrame, survey: gpd.GeoDataFrame) -> FieldParts:
    """Return the parts of fields on each polygon of a survey [m2].

    Where polygons of the survey lie over each other, their parts shrink alike to the land that they cover
    together, so that no field is covered more than once.
    """
    found = overlaps(fields.geometry, survey.geometry)
    covered = covered_m2(fields.geometry, survey.geometry, found)
    summed = np.bincount(found.left, found.area_m2, minlength=len(fields))
    shrunk = np.divide(covered, summed, out=np.ones(len(fields)), where=summed > covered)
    return FieldParts(found.left, found.area_m2 * shrunk[found.left], found.right, found.left_area_m2)


def raster_parts(
    fields: gpd.GeoDataFrame, raster: SoilRaster, cover: CellCover | None = None
) -> tuple[FieldParts, NDArray[np.float64], CellCover]:
    """Return the parts of fields on each cell of a raster [cells], their values (NaN unknown), and the cells."""
    cover = cells_under(fields.geometry, raster.grid) if cover is None else cover
    values = cell_values(raster, cover)[0].astype(np.float64).round(CELL_DECIMALS)
    source = np.arange(len(cover.field))
    return FieldParts(cover.field, cover.share_of_cell, source, cover.field_area_cells), values, cover


def said_of_fields(
    values: NDArray[np.float64], parts: FieldParts, limits: NDArray[np.float64]
) -> pd.DataFrame:
    """Return for each field mean, least, greatest, cover_share and low_share, by place.

    `values` has an entry for each part, NaN unknown, and `limits` one for each field. `cover_share` is the share of
    the field with a value, `low_share` the share of that below the field's limit; NaN where nothing is known.
    """
    known = ~np.isnan(values)
    covered = _summed(parts, known)
    low = _summed(parts, known & (values < limits[parts.field]))
    return pd.DataFrame(
        {
            "mean": mean_of_fields(values, parts),
            "least": _extreme(values, parts, np.fmin),
            "greatest": _extreme(values, parts, np.fmax),
            "cover_share": share_of_fields(known, parts),
            "low_share": _divided(low, np.where(np.isnan(limits), np.nan, covered)),
        }
    )


def mean_of_fields(values: NDArray[np.float64], parts: FieldParts) -> NDArray[np.float64]:
    """Return the mean of each field by area, NaN where no part has a value."""
    known = ~np.isnan(values)
    total = _summed(parts, np.where(known, values, 0.0))
    return _divided(total, _summed(parts, known)).round(MEAN_DECIMALS)


def share_of_fields(marked: NDArray[np.bool_], parts: FieldParts) -> NDArray[np.float64]:
    """Return the share of each field on marked parts, 0 to 1; 0 where it has none."""
    share = np.nan_to_num(_divided(_summed(parts, marked), parts.whole))
    return np.minimum(share, 1.0)


def layer_of_fields(cover_shares: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the layer that counts in each field, by place, -1 for none, from shares (layers, fields).

    The first that covers half of the field; where none does, the one that covers most of it.
    """
    if not len(cover_shares):
        return np.full(cover_shares.shape[1], -1)
    good = cover_shares >= GOOD_SHARE
    chosen = np.where(good.any(axis=0), good.argmax(axis=0), cover_shares.argmax(axis=0))
    return np.where(cover_shares.max(axis=0) > 0, chosen, -1)


def _summed(parts: FieldParts, weights: NDArray[np.float64] | NDArray[np.bool_]) -> NDArray[np.float64]:
    return np.bincount(parts.field, parts.size * weights, minlength=len(parts.whole)).astype(np.float64)


def _divided(total: NDArray[np.float64], whole: NDArray[np.float64]) -> NDArray[np.float64]:
    share: NDArray[np.float64] = np.divide(total, whole, out=np.full(len(whole), np.nan), where=whole > 0)
    return share


def _extreme(values: NDArray[np.float64], parts: FieldParts, pick: np.ufunc) -> NDArray[np.float64]:
    found = np.full(len(parts.whole), np.nan)
    starts = np.flatnonzero(np.diff(parts.field, prepend=-1))  # parts come by field
    if len(starts):
        found[parts.field[starts]] = pick.reduceat(values, starts)
    return found
