"""Vector files as layers in longitude and latitude: any format GDAL reads, zips and GeoParquet, mended and reported."""

import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError, ProjError
from shapely import MultiLineString, MultiPoint, MultiPolygon

from spatial.errors import InputError, Problem
from spatial.inputs.archives import openable
from spatial.inputs.checks import WARNINGS_LOCK, Report, first_line, listed, row_numbers

LON_LAT = CRS.from_epsg(4326)
KINDS = {"polygon": (3, 6), "line": (1, 5), "point": (0, 4)}  # shapely type ids: single and multi
MULTI: dict[str, Callable[..., shapely.Geometry]] = {
    "polygon": MultiPolygon,
    "line": MultiLineString,
    "point": MultiPoint,
}
COLLECTION = 7
# pyogrio's and zipfile's own errors are RuntimeErrors (zipfile's for a password), pyarrow's are ValueErrors.
UNREADABLE = (
    RuntimeError,
    ValueError,
    OSError,
    EOFError,
    zlib.error,
    zipfile.BadZipFile,
    shapely.errors.ShapelyError,
)


def read_layer(path: Path, kind: str, report: Report, layer: str = "", crs: str = "") -> gpd.GeoDataFrame:
    """Return the shapes of one layer in EPSG:4326, flat, with the file's own columns.

    `kind` is "polygon", "line" or "point"; other shapes, empty ones and null ones are left out and told.
    `crs` serves only a file that states none. Raises InputError where the file cannot be read at all, has no
    coordinate system, or holds no shape of that kind on the globe.
    """
    shapes = _placed(read_shapes(path, report, layer), path.name, crs, report)
    shapes = _of_kind(shapes, kind, path.name, report)
    return _on_the_globe(shapes, path.name)


def read_shapes(path: Path, report: Report, layer: str = "") -> gpd.GeoDataFrame:
    """Return one layer as it stands in its file, whatever its shapes and coordinate system, rows numbered from 0.

    Without `layer` it is the first that has shapes. Raises InputError where the file cannot be read.
    """
    if not path.exists():
        raise InputError([Problem(str(path), "", "is not there", "Check its name")])
    try:
        with _told_warnings(path.name, report):
            if path.suffix.lower() in (".parquet", ".geoparquet"):
                return _numbered(gpd.read_parquet(path))
            with openable(path, report) as source:
                name = layer or _first_full_layer(source, path.name, report)
                found = pyogrio.read_dataframe(source, layer=name, force_2d=True, on_invalid="ignore")
    except UNREADABLE as error:
        cause = f"cannot be read as a map layer ({first_line(error)})"
        mend = "Save it again, as GeoPackage if you can"
        raise InputError([Problem(path.name, layer, cause, mend)]) from error
    if not isinstance(found, gpd.GeoDataFrame):
        raise InputError([Problem(path.name, layer, "is a table without shapes", "Name another layer")])
    return found


def mend(shapes: gpd.GeoDataFrame, file: str, names: Mapping[Any, str], report: Report) -> gpd.GeoDataFrame:
    """Return polygons made valid (self-crossing outlines opened, holes kept), each mended one told by name.

    An outline without any area is left out and told.
    """
    outlines = shapes.geometry.to_numpy().copy()
    for place in np.flatnonzero(~shapely.is_valid(outlines)):
        name = names[shapes.index[int(place)]]
        cause = shapely.is_valid_reason(outlines[place]).split("[")[0].lower()
        outlines[place] = _polygons_of(shapely.make_valid(outlines[place]))
        if shapely.is_empty(outlines[place]):
            report.tell(file, name, f"has no area and was left out ({cause})", "Draw it again")
        else:
            report.tell(file, name, f"its outline was mended ({cause})", "Check it on the map")
    mended = shapes.set_geometry(gpd.GeoSeries(outlines, index=shapes.index, crs=shapes.crs))
    return mended[~shapely.is_empty(outlines)]


@contextmanager
def _told_warnings(file: str, report: Report) -> Iterator[None]:
    """Turn what the libraries warn of into lines of the report; that heights and measures go is promised."""
    with WARNINGS_LOCK, warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        yield
    said = [first_line(warning.message) for warning in warned if isinstance(warning.message, Warning)]
    for line in dict.fromkeys(line for line in said if not line.startswith("Measured (M)")):
        report.tell(file, "", f"was read with a warning: {line}", "Check it on the map")


def _numbered(shapes: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the rows numbered from 0; an index that has a name becomes a column."""
    named = shapes.index.name is not None and shapes.index.name not in shapes.columns
    return shapes.reset_index(drop=not named)


def _first_full_layer(source: str, file: str, report: Report) -> str:
    names = [str(name) for name, kind in pyogrio.list_layers(source) if kind is not None]
    for name in names:
        if pyogrio.read_info(source, layer=name, force_feature_count=True)["features"]:
            if len(names) > 1:
                cause = f"is the one read of {', '.join(names)}"
                report.tell(file, f"layer {name!r}", cause, "Name another as `layer` in region.toml")
            return name
        report.tell(file, f"layer {name!r}", "is empty and was skipped", "Nothing to do")
    raise InputError([Problem(file, "", "holds no shapes", "Choose a file with shapes")])


def _placed(shapes: gpd.GeoDataFrame, file: str, crs: str, report: Report) -> gpd.GeoDataFrame:
    if shapes.crs is None and not crs:
        cause = "does not say its coordinate system"
        raise InputError([Problem(file, "", cause, 'Say it in region.toml, as crs = "EPSG:4326"')])
    try:
        if shapes.crs is None:
            return shapes.set_crs(crs)
        if crs and not shapes.crs.equals(CRS.from_user_input(crs), ignore_axis_order=True):
            cause = f"was not used, because the file says {shapes.crs.name}"
            report.tell(file, f"crs = {crs!r}", cause, "Take it out, or mend the file")
    except CRSError as error:
        raise InputError(
            [Problem("region.toml", f"crs = {crs!r}", "is not known", "Use EPSG:number")]
        ) from error
    return shapes


def _of_kind(shapes: gpd.GeoDataFrame, kind: str, file: str, report: Report) -> gpd.GeoDataFrame:
    outlines = shapely.force_2d(shapes.geometry.to_numpy())
    for place in np.flatnonzero(shapely.get_type_id(outlines) == COLLECTION):
        outlines[place] = _collected(outlines[place], kind)
    found = shapes.set_geometry(gpd.GeoSeries(outlines, index=shapes.index, crs=shapes.crs))
    empty = found.geometry.isna() | found.geometry.is_empty
    other = ~empty & ~pd.Series(shapely.get_type_id(found.geometry.to_numpy()), index=shapes.index).isin(
        KINDS[kind]
    )
    for faulty, cause in ((empty, "no shape that can be read"), (other, f"no {kind}")):
        if faulty.any():
            rows = listed("row", row_numbers(shapes.index[faulty]))
            report.tell(file, rows, f"{cause}, so left out", "Mend them in the file")
    if (empty | other).all():
        raise InputError([Problem(file, "", f"holds no {kind}s", f"Choose a file with {kind}s")])
    return found[~empty & ~other]


def _on_the_globe(shapes: gpd.GeoDataFrame, file: str) -> gpd.GeoDataFrame:
    """Return the shapes in EPSG:4326; a wrong coordinate system shows in places that are not on the globe."""
    try:
        found = shapes.to_crs(LON_LAT)
    except ProjError as error:
        cause = f"has a coordinate system that leads to no place ({first_line(error)})"
        raise InputError([Problem(file, "", cause, "Save it in EPSG:4326")]) from error
    places = np.abs(shapely.get_coordinates(found.geometry.to_numpy()))
    if not (np.isfinite(places) & (places <= [180.0, 90.0])).all():
        cause = f"has coordinates that are not on the globe as {getattr(shapes.crs, 'name', '')}"
        raise InputError([Problem(file, "", cause, "Set the coordinate system it was drawn in")])
    return found


def _collected(shape: shapely.Geometry, kind: str) -> shapely.Geometry:
    """Return the parts of a collection that are of a kind as one shape, or the collection where there are none."""
    parts = [part for part in _single_parts(shape) if shapely.get_type_id(part) == KINDS[kind][0]]
    return MULTI[kind](parts) if parts else shape


def _polygons_of(shape: shapely.Geometry) -> shapely.Geometry:
    polygon = KINDS["polygon"][0]
    return shapely.union_all([part for part in _single_parts(shape) if shapely.get_type_id(part) == polygon])


def _single_parts(shape: shapely.Geometry) -> Iterator[shapely.Geometry]:
    if isinstance(shape, shapely.geometry.base.BaseMultipartGeometry):
        for part in shape.geoms:
            yield from _single_parts(part)
    else:
        yield shape
