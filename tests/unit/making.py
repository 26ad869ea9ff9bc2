"""Input files as people send them, made on the spot."""

import shutil
import sqlite3
import tempfile
import zipfile
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.transform import from_origin

BASE = (-83.5, 32.5)
SIDE = 0.004  # degrees: about 17 ha
REGION = 'format = 1\nname = "Test"\ntime_zone = "America/New_York"\n'


def square(place=0, side=SIDE):
    """Return a square, the `place`-th of a row that runs east."""
    left, low = BASE[0] + 0.01 * place, BASE[1]
    return shapely.box(left, low, left + side, low + side)


def bow_tie_with_a_hole():
    """Return an outline that crosses itself, with a hole in its larger, western half."""
    return shapely.from_wkt(
        "POLYGON ((-83.5 32.5, -83.4 32.6, -83.4 32.5, -83.5 32.6, -83.5 32.5),"
        " (-83.495 32.54, -83.495 32.56, -83.485 32.56, -83.485 32.54, -83.495 32.54))"
    )


def shapes(geometries=None, crs="EPSG:4326", **columns):
    """Return shapes with a field_id (a, b, c ...) and the columns given."""
    geometries = [square(0), square(1)] if geometries is None else geometries
    ids = [chr(ord("a") + place) for place in range(len(geometries))]
    return gpd.GeoDataFrame({"field_id": ids} | columns, geometry=geometries, crs=crs)


def write_layer(path, rows=None, **how):
    """Write shapes (two squares if none are given) and return the path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    rows = shapes() if rows is None else rows
    if path.suffix == ".parquet":
        rows.to_parquet(path)
    elif "!" in str(path):  # the writer takes it for an archive mark
        with tempfile.TemporaryDirectory() as folder:
            write_layer(Path(folder) / f"plain{path.suffix}", rows, **how)
            for part in Path(folder).iterdir():
                shutil.move(part, path.parent / f"{path.stem}{part.name.removeprefix('plain')}")
    else:
        driver = {"driver": "OpenFileGDB"} if path.suffix == ".gdb" else {}
        rows.to_file(path, engine="pyogrio", **driver, **how)
    return path


def write_pending(path):
    """Write a GeoPackage whose field a was renamed z by a program that still has it open, and return both.

    The change then stands in a -wal file beside it, not in the GeoPackage itself.
    """
    write_layer(path, layer="fields", SPATIAL_INDEX="NO")
    program = sqlite3.connect(path)
    program.execute("pragma journal_mode = wal")
    program.execute("update fields set field_id = 'z' where field_id = 'a'")
    program.commit()
    return path, program


def write_measured(path):
    """Write a GeoPackage whose one outline has a measure (M) at each vertex, which no writer here can do."""
    write_layer(path, shapes([square()]), layer="fields", SPATIAL_INDEX="NO")
    with sqlite3.connect(path) as data:
        data.execute("update gpkg_geometry_columns set m = 1")
        (old,) = data.execute("select geom from fields").fetchone()
        measured = shapely.from_wkt("POLYGON M ((-83.5 32.5 1, -83.4 32.5 2, -83.4 32.6 3, -83.5 32.5 1))")
        header = 8 + 32  # GeoPackage's own header and its envelope of four doubles
        new = old[:header] + shapely.to_wkb(measured, flavor="iso", output_dimension=4)
        data.execute("update fields set geom = ?", (new,))
    data.close()
    return path


def zipped(path, *sources, folder=""):
    """Zip files and folders (such as a .gdb) under `folder` and return the zip's path."""
    with zipfile.ZipFile(path, "w") as archive:
        for source in sources:
            inner = sorted(source.rglob("*")) if source.is_dir() else [source]
            for file in inner:
                archive.write(file, Path(folder) / file.relative_to(source.parent))
    return path


def remove(path):
    """Remove a file or a folder."""
    shutil.rmtree(path) if path.is_dir() else path.unlink()


def write_freeze(path, bands=((90, 100), (95, 105)), dtype="int16", tags=(), **profile):
    """Write a raster of one row of cells over the squares, a band for each row of `bands`."""
    values = np.array(bands, dtype=dtype)[:, np.newaxis, :]
    place = {"crs": "EPSG:4326", "transform": from_origin(BASE[0] - 0.05, BASE[1] + 0.05, 0.1, 0.1)}
    how = {"driver": "GTiff", "height": 1, "width": values.shape[2], "count": len(values), "dtype": dtype}
    descriptions = profile.pop("descriptions", ())
    scale, offset = profile.pop("scale", None), profile.pop("offset", None)
    how |= place | profile
    with rasterio.open(
        path, "w", **{key: value for key, value in how.items() if value is not None}
    ) as raster:
        raster.write(values)
        raster.update_tags(**dict(tags))
        for band, text in enumerate(descriptions, start=1):
            raster.set_band_description(band, text)
        if scale is not None:
            raster.scales, raster.offsets = (scale,) * raster.count, (offset,) * raster.count
    return path


def write_text(path, text, encoding="utf-8"):
    """Write a text file and return its path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode(encoding))
    return path


def write_region(folder, more="", fields=None):
    """Write a region of two squares (or the shapes given) and whatever else its region.toml shall say."""
    write_layer(folder / "fields.gpkg", fields)
    write_text(folder / "region.toml", f'{REGION}[fields]\nfile = "fields.gpkg"\n{more}')
    return folder


def lines_of(problems):
    """Return problems as the lines a person reads."""
    return [str(problem) for problem in problems]


def contents(folder):
    """Return every file under a folder with its bytes."""
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def table(**columns):
    """Return a table as it comes from a CSV file."""
    return pd.DataFrame(columns, dtype=object)
