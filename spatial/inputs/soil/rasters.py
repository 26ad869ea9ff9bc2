"""Rasters of pH, P, K or Mg that region.toml names, read window by window: depths brought to one, scale found."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, get_args

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from pyproj.exceptions import ProjError

from spatial.errors import InputError
from spatial.inputs.checks import Report, first_line
from spatial.inputs.region_file import FILE
from spatial.inputs.soil.raster_bands import SoilBand, open_bands, raw_cells
from spatial.inputs.soil.raster_said import (
    check_crs,
    check_scale,
    has_unit,
    paths_of,
    said_value,
    tell_unrated,
    tell_unused,
    thickness_of_bands_cm,
)
from spatial.inputs.soil.raster_values import (
    NAMES,
    TEN,
    Decoding,
    RawCells,
    decoding_of,
    tell_values,
    with_ph_scale,
)
from spatial.inputs.soil.said_date import said_date
from spatial.inputs.soil.schemes import MG_KG_PER
from spatial.raster.cover import cell_values, cells_under
from spatial.soil import SoilRaster, SoilValue
from spatial.values import Grid, Window


def read_soil_rasters(
    named: Mapping[str, Mapping[str, Any]], folder: Path, fields: gpd.GeoDataFrame | None, report: Report
) -> tuple[SoilRaster, ...]:
    """Return the soil rasters of region.toml, by its order, each with the mean of its depths in the top 15 cm.

    What a scale is and what a value cannot be is looked for in the cells under the `fields`, and told. A layer of
    P, K or Mg without a unit, one whose depths are not said and one without a possible value is left out and told;
    files that cannot be used, and keys of region.toml that cannot be, are refused.
    """
    found: dict[str, SoilRaster] = {}
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
            found[name] = raster
    _tell_repeated(found, report)
    return tuple(found.values())


def _raster(
    name: str, section: Mapping[str, Any], folder: Path, fields: gpd.GeoDataFrame | None, report: Report
) -> SoilRaster | None:
    place = f"[soil_rasters.{name}]"
    value, made_date = said_value(place, name, section, report), said_date(place, section, report)
    check_scale(place, section, report)
    tell_unused(place, value, section, report)
    paths = paths_of(place, section, folder, report)
    if report.wrong or value is None or not has_unit(place, value, section, report):
        return None
    bands, grid = open_bands(paths, section.get("crs", ""), report)
    check_crs(place, section, grid, report)
    thickness_cm = None if grid is None else thickness_of_bands_cm(place, section, len(bands), report)
    if grid is None or thickness_cm is None or fields is None or fields.empty:
        return None
    used = np.flatnonzero(thickness_cm > 0)
    bands = tuple(bands[band] for band in used)
    file = _files_of(bands)
    unit_factor = 1.0 if value == "ph" else MG_KG_PER[section["unit"]]
    decoding = decoding_of(value, bands, thickness_cm[used], section.get("scale"), unit_factor)
    seen = _seen(file, bands, grid, fields, report)
    if seen is not None and "scale" not in section:
        decoding = _scaled(file, value, decoding, bands, seen, report)
    if seen is None or not tell_values(file, value, decoding, seen, report):
        return None
    tell_unrated(place, value, section, report)
    about = (section.get("extractant", ""), section.get("soil_group", ""))
    return SoilRaster(value, grid, _reader(bands, decoding), *about, made_date, file)


def _tell_repeated(found: Mapping[str, SoilRaster], report: Report) -> None:
    """Tell of layers of one value, of which one counts in each field."""
    for value in get_args(SoilValue):
        names = [f"[soil_rasters.{name}]" for name, raster in found.items() if raster.value == value]
        if len(names) > 1:
            cause = f"all give {NAMES[value]}; in each field the first counts that covers half of it"
            report.tell(FILE, ", ".join(names), cause, "Put the best one first, or keep one of them")


def _seen(
    file: str, bands: Sequence[SoilBand], grid: Grid, fields: gpd.GeoDataFrame, report: Report
) -> NDArray[np.float64] | None:
    """Return the raw cells under the fields, (bands, cells), or None with the reason in the report."""
    try:
        cover = cells_under(fields.geometry, grid, file)
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
    stated = [band for band in bands if (band.scale, band.offset) != (1.0, 0.0)]
    if stated:
        scales = sorted({band.scale for band in stated})
        cause = f"is {', '.join(f'{scale:g}' for scale in scales)} by the file itself, and was used"
        report.tell(_files_of(stated), "scale", cause, "Say scale in region.toml if that is wrong")
    if value != "ph":
        return decoding
    found = with_ph_scale(decoding, bands, seen)
    divided = [band for band, new in zip(bands, found.factors != decoding.factors, strict=True) if new]
    if divided and (found.factors == TEN).all() and not found.offsets.any():
        cause = "is not said; its values are pH x 10 and were divided by 10"
        report.tell(file, "scale", cause, "Say scale = 0.1")
    elif divided:
        cause = "holds pH x 10 and was divided by 10; the other depths hold other numbers"
        report.tell(_files_of(divided), _bands_in(divided), cause, "Bring all depths to the same numbers")
    return found


def _files_of(bands: Iterable[SoilBand]) -> str:
    return ", ".join(dict.fromkeys(band.path.name for band in bands))


def _bands_in(bands: Sequence[SoilBand]) -> str:
    """Return the numbers of bands in files of several, for a message."""
    numbers = [str(band.number) for band in bands]
    return f"band {', '.join(numbers)}" if set(numbers) != {"1"} else ""


def _reader(bands: Sequence[SoilBand], decoding: Decoding) -> Callable[[Window], NDArray[np.float32]]:
    def read(window: Window) -> NDArray[np.float32]:
        return decoding.of_depth(raw_cells(bands, window))[np.newaxis].astype(np.float32)

    return read
