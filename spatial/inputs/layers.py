"""Vector files as layers in longitude and latitude: any format GDAL reads, zips and GeoParquet, mended and reported."""

import shutil
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely
from pyogrio.errors import DataLayerError, DataSourceError
from pyproj import CRS
from pyproj.exceptions import CRSError

from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report

LON_LAT = CRS.from_epsg(4326)
INNER_FILES = (".gpkg", ".shp", ".geojson", ".json", ".kml", ".fgb", ".gml")
KINDS = {"polygon": (3, 6), "line": (1, 5), "point": (0, 4)}  # shapely type ids: single and multi


def read_layer(path: Path, kind: str, report: Report, layer: str = "", crs: str = "") -> gpd.GeoDataFrame:
    """Return the shapes of one layer in EPSG:4326, valid and flat, with the file's own columns.

    `kind` is "polygon", "line" or "point"; other shapes, empty ones and null ones are left out and told.
    `crs` serves only a file that states none. Raises InputError where the file cannot be read at all.
    """
    shapes = _read(path, report, layer)
    shapes = _placed(shapes, path, crs)
    shapes = _of_kind(shapes, kind, path, report)
    return shapes.to_crs(LON_LAT)


def mend(shapes: gpd.GeoDataFrame, file: str, names: Mapping[Any, str], report: Report) -> gpd.GeoDataFrame:
    """Return polygons made valid (self-crossing outlines opened, holes kept), each mended one told by name."""
    bad = ~shapes.is_valid
    if not bad.any():
        return shapes
    mended = [
        _polygons_of(shapely.make_valid(shape)) if broken else shape
        for shape, broken in zip(shapes.geometry, bad, strict=True)
    ]
    for index in shapes.index[bad]:
        reason = shapely.is_valid_reason(shapes.geometry[index]).split("[")[0].lower()
        report.tell(file, names[index], f"its outline was mended ({reason})", "Check it on the map")
    return shapes.set_geometry(gpd.GeoSeries(mended, index=shapes.index, crs=shapes.crs))


def _read(path: Path, report: Report, layer: str) -> gpd.GeoDataFrame:
    if not path.exists():
        raise InputError([Problem(str(path), "", "is not there", "Check the name in region.toml")])
    try:
        if path.suffix.lower() in (".parquet", ".geoparquet"):
            return gpd.read_parquet(path)
        with _openable(path) as source:
            name = layer or _first_full_layer(source, path, report)
            found: gpd.GeoDataFrame = pyogrio.read_dataframe(source, layer=name, force_2d=True)
            return found
    except (DataSourceError, DataLayerError, zipfile.BadZipFile, OSError, ValueError) as error:
        cause = f"cannot be read as a map layer ({str(error).splitlines()[0][:160]})"
        raise InputError(
            [Problem(path.name, layer, cause, "Save it again, as GeoPackage if you can")]
        ) from error


@contextmanager
def _openable(path: Path) -> Iterator[str]:
    """Give a name under which GDAL opens the file: inside its zip, or copied where the path has an archive mark."""
    with tempfile.TemporaryDirectory(prefix="lastcut-") as folder:
        if any(mark in str(path) for mark in "!?"):
            path = _copied(path, Path(folder))
        yield _inside_zip(path) if path.suffix.lower() == ".zip" else str(path)


def _copied(path: Path, folder: Path) -> Path:
    if path.is_dir():
        return Path(shutil.copytree(path, folder / f"layer{path.suffix}"))
    for sibling in sorted(path.parent.glob(f"{_escaped(path.stem)}.*")):
        shutil.copy(sibling, folder / f"layer{sibling.suffix}")
    return folder / f"layer{path.suffix}"


def _escaped(stem: str) -> str:
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in stem)


def _inside_zip(path: Path) -> str:
    names = _names_in(path)
    inner = [name for name in names if name.lower().endswith(INNER_FILES)]
    folders = {name[: name.lower().index(".gdb/") + 4] for name in names if ".gdb/" in name.lower()}
    prefix = f"/vsizip/{path.resolve().as_posix()}"
    if candidates := sorted({*inner, *folders}):
        return f"{prefix}/{candidates[0]}"
    if zips := sorted(name for name in names if name.lower().endswith(".zip")):
        return _inside_nested(path, zips[0])
    cause = "holds no map layer"
    raise InputError([Problem(path.name, "", cause, "Put a GeoPackage, shapefile or .gdb folder into it")])


def _inside_nested(path: Path, inner: str) -> str:
    with zipfile.ZipFile(path) as outer, outer.open(inner) as file, zipfile.ZipFile(file) as nested:
        names = sorted(
            name for name in nested.namelist() if name.lower().endswith(INNER_FILES) or ".gdb/" in name
        )
    if not names:
        cause = "holds a zip without a map layer"
        raise InputError([Problem(path.name, inner, cause, "Unpack it and name the layer's own file")])
    name = names[0]
    end = name.lower().index(".gdb/") + 4 if ".gdb/" in name.lower() else len(name)
    return f"/vsizip/{{/vsizip/{path.resolve().as_posix()}/{inner}}}/{name[:end]}"


def _names_in(path: Path) -> list[str]:
    with zipfile.ZipFile(path) as archive:
        return [name for name in archive.namelist() if not name.startswith("__MACOSX/")]


def _first_full_layer(source: str, path: Path, report: Report) -> str:
    names = [str(name) for name, kind in pyogrio.list_layers(source) if kind is not None]
    if not names:
        raise InputError([Problem(path.name, "", "holds no map layer", "Choose a file with outlines")])
    for name in names:
        if pyogrio.read_info(source, layer=name, force_feature_count=True)["features"]:
            if len(names) > 1:
                report.tell(
                    path.name,
                    f"layer {name!r}",
                    f"is the one read of {', '.join(names)}",
                    "Name another as `layer` in region.toml",
                )
            return name
        report.tell(path.name, f"layer {name!r}", "is empty and was skipped", "Nothing to do")
    raise InputError([Problem(path.name, "", "holds no shapes", "Choose a file with outlines")])


def _placed(shapes: gpd.GeoDataFrame, path: Path, crs: str) -> gpd.GeoDataFrame:
    if shapes.crs is not None:
        return shapes
    if not crs:
        cause = "does not say its coordinate system"
        raise InputError([Problem(path.name, "", cause, 'Say it in region.toml, as crs = "EPSG:4326"')])
    try:
        return shapes.set_crs(crs)
    except CRSError as error:
        raise InputError(
            [Problem("region.toml", f"crs = {crs!r}", "is not known", "Use EPSG:number")]
        ) from error


def _of_kind(shapes: gpd.GeoDataFrame, kind: str, path: Path, report: Report) -> gpd.GeoDataFrame:
    types = pd.Series(shapely.get_type_id(shapes.geometry.to_numpy()), index=shapes.index)
    empty = shapes.geometry.isna() | shapes.geometry.is_empty
    other = ~empty & ~types.isin(KINDS[kind])
    for count, cause in ((int(empty.sum()), "have no shape"), (int(other.sum()), f"are no {kind}s")):
        if count:
            report.tell(path.name, f"{count} rows", f"{cause} and were left out", "Mend them in the file")
    kept = shapes[~empty & ~other]
    return kept.set_geometry(shapely.force_2d(kept.geometry.to_numpy()), crs=shapes.crs)


def _polygons_of(shape: shapely.Geometry) -> shapely.Geometry:
    parts = [part for part in shapely.get_parts(shape) if part.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts) if parts else shape
