"""Rasters of pH, P, K or Mg that region.toml names, read window by window: depths brought to one, scale found."""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, cast, get_args

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj.exceptions import ProjError

from spatial.errors import InputError
from spatial.inputs.checks import Report, first_line
from spatial.inputs.region_file import FILE
from spatial.inputs.soil.raster_bands import SoilBand, open_bands, raw_cells
from spatial.inputs.soil.raster_values import (
    Decoding,
    RawCells,
    decoding_of,
    tell_values,
    with_ph_scale,
)
from spatial.inputs.soil.schemes import MG_KG_PER
from spatial.raster.cover import cell_values, cells_under
from spatial.soil import SoilRaster, SoilValue
from spatial.units import CM_PER_INCH
from spatial.values import Grid, Window

TOP_CM = 15.0  # the topsoil that a grid stands for, as the survey's tables are read


def read_soil_rasters(
    named: Mapping[str, Mapping[str, Any]], folder: Path, fields: gpd.GeoDataFrame | None, report: Report
) -> tuple[SoilRaster, ...]:
    """Return the soil rasters of region.toml, by its order, each with the mean of its depths in the top 15 cm.

    What a scale is and what a value cannot be is looked for in the cells under the `fields`, and told. A layer of
    P, K or Mg without a unit, one whose depths are not said and one without a possible value is left out and told;
    files that cannot be used, and keys of region.toml that cannot be, are refused.
    """
    found = []
    for name, section in named.items():
        own = Report()
        try:
            raster = _raster(name, section, folder, fields, own)
        except InputError as error:
            own.wrong.extend(error.problems)
            raster = None
        report.wrong.extend(own.wrong)
        report.told.extend(own.told)
        if raster is not None and not own.wrong:
            found.append(raster)
    return tuple(found)


def _raster(
    name: str, section: Mapping[str, Any], folder: Path, fields: gpd.GeoDataFrame | None, report: Report
) -> SoilRaster | None:
    place = f"[soil_rasters.{name}]"
    value, made_date = _value(place, name, section, report), _made_date(place, section, report)
    _check_scale(place, section, report)
    paths = [folder / file for file in section.get("files", [])]
    if not paths:
        report.refuse(FILE, f"{place} files", "names no file", "Name the raster's files")
    if report.wrong or value is None or not _has_unit(place, value, section, report):
        return None
    bands, grid = open_bands(paths, section.get("crs", ""), report)
    thickness_cm = None if grid is None else _thickness_cm(place, section, len(bands), report)
    if grid is None or thickness_cm is None or fields is None or fields.empty:
        return None
    used = np.flatnonzero(thickness_cm > 0)
    bands = tuple(bands[band] for band in used)
    file = ", ".join(dict.fromkeys(band.path.name for band in bands))
    unit_factor = 1.0 if value == "ph" else MG_KG_PER[section["unit"]]
    decoding = decoding_of(value, bands, thickness_cm[used], section.get("scale"), unit_factor)
    seen = _seen(file, bands, grid, fields, report)
    if seen is not None and "scale" not in section:
        decoding = _scaled(file, value, decoding, bands, seen, report)
    if seen is None or not tell_values(file, value, decoding, seen, report):
        return None
    about = (section.get("extractant", ""), section.get("soil_group", ""))
    return SoilRaster(value, grid, _reader(bands, decoding), *about, made_date, file)


def _value(place: str, name: str, section: Mapping[str, Any], report: Report) -> SoilValue | None:
    said = section.get("value", name.strip().lower())
    for known in get_args(SoilValue):
        if said == known:
            return cast(SoilValue, known)
    cause = f"is not said, and {name!r} is not one of them"
    report.refuse(FILE, f"{place} value", cause, f"Say it: {', '.join(get_args(SoilValue))}")
    return None


def _made_date(place: str, section: Mapping[str, Any], report: Report) -> pd.Timestamp:
    if "date" not in section:
        return pd.Timestamp("NaT")
    try:
        return pd.Timestamp(date.fromisoformat(section["date"]))
    except ValueError:
        report.refuse(FILE, f"{place} date", f"is {section['date']!r}", "Write it as 2025-09-01")
        return pd.Timestamp("NaT")


def _check_scale(place: str, section: Mapping[str, Any], report: Report) -> None:
    scale = section.get("scale", 1.0)
    if not (math.isfinite(scale) and scale > 0):
        report.refuse(FILE, f"{place} scale", f"is {scale:g}", "Write a number above 0, as 0.1")


def _has_unit(place: str, value: SoilValue, section: Mapping[str, Any], report: Report) -> bool:
    """Return whether the unit is said, which pH has none of, and tell that a layer without one is left out."""
    if value == "ph" or "unit" in section:
        return True
    cause = "is not said, so the layer was left out"
    report.tell(FILE, f"{place} unit", cause, f"Say it: {', '.join(MG_KG_PER)}")
    return False


def _thickness_cm(
    place: str, section: Mapping[str, Any], bands: int, report: Report
) -> NDArray[np.float64] | None:
    """Return how much of the top 15 cm each band stands for; None with the reason in the report."""
    said = [(key, cm) for key, cm in (("depths_in", CM_PER_INCH), ("depths_cm", 1.0)) if key in section]
    if len(said) > 1:
        report.refuse(FILE, f"{place} depths_in and depths_cm", "say the same", "Keep one of them")
        return None
    if not said:
        if bands == 1:
            return np.array([TOP_CM])
        cause = f"are not said, and there are {bands} bands, so the layer was left out"
        report.tell(FILE, f"{place} depths_cm", cause, "Say the limits from the top, as [0, 5, 15]")
        return None
    key, cm = said[0]
    limits_cm = np.array(section[key], dtype=np.float64) * cm
    thickness_cm = np.diff(np.clip(limits_cm, 0.0, TOP_CM))
    if cause := _depth_fault(limits_cm, thickness_cm, bands):
        report.refuse(FILE, f"{place} {key}", cause, "Write the limits from the top, as [0, 5, 15] cm")
        return None
    if thickness_cm.sum() < TOP_CM:
        cause = f"give {thickness_cm.sum():g} of the top {TOP_CM:g} cm; that stands for the whole"
        report.tell(FILE, f"{place} {key}", cause, "Name the missing depth too, if there is one")
    return thickness_cm


def _depth_fault(limits_cm: NDArray[np.float64], thickness_cm: NDArray[np.float64], bands: int) -> str:
    if len(limits_cm) != bands + 1:
        return f"has {len(limits_cm)} limits for {bands} bands, which need {bands + 1}"
    if not (np.isfinite(limits_cm).all() and limits_cm[0] >= 0 and (np.diff(limits_cm) > 0).all()):
        return "does not rise from the surface (0) downwards"
    return "" if thickness_cm.any() else f"lies below the top {TOP_CM:g} cm"


def _seen(
    file: str, bands: Sequence[SoilBand], grid: Grid, fields: gpd.GeoDataFrame, report: Report
) -> NDArray[np.float64] | None:
    """Return the raw cells under the fields, (bands, cells), or None with the reason in the report."""
    try:
        cover = cells_under(fields.geometry, grid)
    except ProjError as error:
        cause = f"has a coordinate system that leads to no place ({first_line(error)})"
        report.refuse(file, "", cause, "Save it in a known one, as EPSG:5070")
        return None
    raw = RawCells(lambda window: raw_cells(bands, window).astype(np.float32))
    return cell_values(raw, cover).astype(np.float64)


def _scaled(
    file: str,
    value: SoilValue,
    decoding: Decoding,
    bands: Sequence[SoilBand],
    seen: NDArray[np.float64],
    report: Report,
) -> Decoding:
    """Return the decoding with the scale that the values show, and tell of a scale that region.toml does not say."""
    stated = sorted({band.scale for band in bands if (band.scale, band.offset) != (1.0, 0.0)})
    if stated:
        cause = f"is {', '.join(f'{scale:g}' for scale in stated)} by the file itself, and was used"
        report.tell(file, "scale", cause, "Say scale in region.toml if that is wrong")
    if value != "ph":
        return decoding
    found = with_ph_scale(decoding, bands, seen)
    if (found.factors != decoding.factors).any():
        report.tell(
            file, "scale", "is not said; its values are pH x 10 and were divided by 10", "Say scale = 0.1"
        )
    return found


def _reader(bands: Sequence[SoilBand], decoding: Decoding) -> Callable[[Window], NDArray[np.float32]]:
    def read(window: Window) -> NDArray[np.float32]:
        return decoding.of_depth(raw_cells(bands, window))[np.newaxis].astype(np.float32)

    return read
