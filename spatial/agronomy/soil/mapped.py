"""What soil layers say of each field: pH, P, K and Mg, how wet and how steep, weighted by area."""

from collections.abc import Iterable
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.soil.field_parts import (
    FieldParts,
    layer_of_fields,
    mean_of_fields,
    raster_parts,
    said_of_fields,
    share_of_fields,
    survey_parts,
)
from spatial.raster.cover import cells_under
from spatial.soil import DRAINAGE, SoilRaster
from spatial.values import NUTRIENTS, GroundRules

SAME_SLOPE = 1e-9  # 15 % in hundredths and 0.15 are one slope
SAID = ["mean", "least", "greatest", "cover_share", "low_share"]
NAMED = ["extractant", "soil_group", "name", "origin"]


def mapped_soil(
    fields: gpd.GeoDataFrame,
    survey: gpd.GeoDataFrame | None,
    rasters: tuple[SoilRaster, ...],
    limits_ph: pd.Series,
    ground: GroundRules,
) -> pd.DataFrame:
    """Return what rasters and survey say of each field, on the fields' index; NaN, NaT and "" where nothing is known.

    mapped_ph (mean by area), mapped_ph_least, mapped_ph_greatest, mapped_cover_share (of the field, with a value),
    mapped_low_share (of that, below `limits_ph`), mapped_ph_origin ("raster", "survey", ""), mapped_ph_date and
    mapped_ph_name. For each of p, k and mg of which there is a raster: mapped_k_mg_kg, mapped_k_least_mg_kg,
    mapped_k_cover_share, mapped_k_extractant, mapped_k_soil_group, mapped_k_date. From the survey: drainage (the
    class of most of the land), wet_share (of the field, as wet as `ground` says or wetter), slope_share (mean) and
    steep_share (of the field, at the limit of `ground` or over).

    A layer counts where it covers half of the field, rasters first, else the one that covers most. `survey.attrs`
    may give its `date` and `name`.
    """
    limits = limits_ph.reindex(fields.index).to_numpy(np.float64)
    parts = None if survey is None else survey_parts(fields, survey)
    by_raster = _by_raster(fields, rasters, limits)
    ph_layers = [table for raster, table in by_raster if raster.value == "ph"]
    if survey is not None and parts is not None:
        ph_layers.append(_by_survey(survey, parts, limits))
    columns = _ph_columns(_chosen(ph_layers, len(fields)))
    for nutrient in NUTRIENTS:
        tables = [table for raster, table in by_raster if raster.value == nutrient]
        columns |= _nutrient_columns(nutrient, _chosen(tables, len(fields))) if tables else {}
    columns |= _ground_columns(survey, parts, ground, len(fields))
    return pd.DataFrame(columns).set_index(fields.index)


def _by_raster(
    fields: gpd.GeoDataFrame, rasters: Iterable[SoilRaster], limits: NDArray[np.float64]
) -> list[tuple[SoilRaster, pd.DataFrame]]:
    # Layers of one maker mostly share their grid, and with it the cells under the fields.
    covers = {grid: cells_under(fields.geometry, grid) for grid in {raster.grid for raster in rasters}}
    found = []
    for raster in rasters:
        parts, values, _cover = raster_parts(fields, raster, covers[raster.grid])
        about: dict[str, Any] = {
            "extractant": raster.extractant,
            "soil_group": raster.soil_group,
            "name": raster.name,
            "origin": "raster",
            "date": raster.made_date,
        }
        found.append((raster, _with_dates(said_of_fields(values, parts, limits).assign(**about))))
    return found


def _by_survey(survey: gpd.GeoDataFrame, parts: FieldParts, limits: NDArray[np.float64]) -> pd.DataFrame:
    said = said_of_fields(survey["ph"].to_numpy(np.float64)[parts.source], parts, limits)
    about: dict[str, Any] = {
        "extractant": "",
        "soil_group": "",
        "name": survey.attrs.get("name", ""),
        "origin": "survey",
        "date": survey.attrs.get("date", pd.NaT),
    }
    return _with_dates(said.assign(**about))


def _chosen(layers: list[pd.DataFrame], fields: int) -> pd.DataFrame:
    """Return the row of the layer that counts in each field, of layers in their order."""
    covers = np.array([layer["cover_share"].to_numpy() for layer in layers]).reshape(len(layers), fields)
    rows = pd.concat([*layers, _nothing(fields)], ignore_index=True)
    layer = layer_of_fields(covers)
    place = np.where(layer < 0, len(layers), layer) * fields + np.arange(fields)
    return rows.iloc[place].reset_index(drop=True)


def _nothing(fields: int) -> pd.DataFrame:
    """Return what a layer without any value says of the fields."""
    unknown = pd.DataFrame(np.nan, index=range(fields), columns=SAID)
    words = pd.DataFrame("", index=range(fields), columns=NAMED, dtype=object)
    undated = pd.Series(pd.NaT, index=range(fields))
    return _with_dates(unknown.assign(cover_share=0.0, date=undated).join(words))


def _with_dates(table: pd.DataFrame) -> pd.DataFrame:
    return table.astype(dict.fromkeys(NAMED, object) | {"date": "datetime64[ns]"})


def _ph_columns(said: pd.DataFrame) -> dict[str, pd.Series]:
    return {
        "mapped_ph": said["mean"],
        "mapped_ph_least": said["least"],
        "mapped_ph_greatest": said["greatest"],
        "mapped_cover_share": said["cover_share"],
        "mapped_low_share": said["low_share"],
        "mapped_ph_origin": said["origin"],
        "mapped_ph_date": said["date"],
        "mapped_ph_name": said["name"],
    }


def _nutrient_columns(nutrient: str, said: pd.DataFrame) -> dict[str, pd.Series]:
    return {
        f"mapped_{nutrient}_mg_kg": said["mean"],
        f"mapped_{nutrient}_least_mg_kg": said["least"],
        f"mapped_{nutrient}_cover_share": said["cover_share"],
        f"mapped_{nutrient}_extractant": said["extractant"],
        f"mapped_{nutrient}_soil_group": said["soil_group"],
        f"mapped_{nutrient}_date": said["date"],
    }


def _ground_columns(
    survey: gpd.GeoDataFrame | None, parts: FieldParts | None, ground: GroundRules, fields: int
) -> dict[str, pd.Series]:
    if survey is None or parts is None:
        unknown = pd.Series(np.nan, index=range(fields))
        return {
            "drainage": pd.Series("", index=range(fields), dtype=object),
            "wet_share": unknown,
            "slope_share": unknown,
            "steep_share": unknown,
        }
    wetness = {name: float(place) for place, name in enumerate(DRAINAGE)}
    classes = [wetness.get(name.strip().lower(), np.nan) for name in survey["drainage"]]
    drainage = np.array(classes, dtype=np.float64)[parts.source]
    slope = survey["slope_share"].to_numpy(np.float64)[parts.source]
    wet = share_of_fields(drainage >= DRAINAGE.index(ground.wet_from), parts)
    steep = share_of_fields(slope >= ground.steep_slope_share - SAME_SLOPE, parts)
    mean_slope = mean_of_fields(slope, parts)
    drained = share_of_fields(~np.isnan(drainage), parts) > 0
    return {
        "drainage": _class_of_most(drainage, parts),
        "wet_share": pd.Series(np.where(drained, wet, np.nan)),
        "slope_share": pd.Series(mean_slope),
        "steep_share": pd.Series(np.where(np.isnan(mean_slope), np.nan, steep)),
    }


def _class_of_most(drainage: NDArray[np.float64], parts: FieldParts) -> pd.Series:
    """Return the drainage class that most of each field's land has; the wetter of two that have as much."""
    land = [share_of_fields(drainage == place, parts) for place in reversed(range(len(DRAINAGE)))]
    most = np.array(land).argmax(axis=0)
    names = np.array(DRAINAGE[::-1], dtype=object)[most]
    return pd.Series(np.where(np.max(land, axis=0) > 0, names, "").astype(object))
