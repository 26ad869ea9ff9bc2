"""A name under which GDAL opens the user's vector file and leaves it, and the folder around it, as it is."""

import shutil
import struct
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report

LAYER_FILES = (".gpkg", ".shp", ".fgb", ".geojson", ".kml", ".gml")
MOST_NESTED = 3  # a zip in a zip in a zip
MARKS = "!?"  # the reader takes them for the end of an archive's name
WAL = 2  # what a GeoPackage's header says where its last changes may stand in a file beside it


@contextmanager
def openable(path: Path, report: Report) -> Iterator[str]:
    """Give a name that GDAL opens: the layer inside a zip, or a copy where opening would go wrong or leave files.

    Raises InputError for a zip without a map layer, and what `zipfile` raises for a damaged one.
    """
    with tempfile.TemporaryDirectory(prefix="lastcut-", ignore_cleanup_errors=True) as folder:
        source = _copied(path, Path(folder)) if _must_copy(path) else path
        if source.suffix.lower() == ".shp" and not _siblings(source, ".shx"):
            _write_shx(source)
            report.tell(path.name, "", "has no .shx beside it", "It was read without; send all its files")
        yield _in_zip(source, path.name, report) if source.suffix.lower() == ".zip" else str(source)


def _must_copy(path: Path) -> bool:
    suffix = path.suffix.lower()
    return (
        any(mark in str(path) for mark in MARKS)
        or suffix == ".gml"  # GDAL writes a .gfs beside it
        or (suffix == ".gpkg" and _has_wal(path))  # reading would write the changes into it
        or (suffix == ".shp" and not _siblings(path, ".shx"))
    )


def _has_wal(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(20)[18:19] == bytes([WAL])


def _siblings(path: Path, suffix: str) -> list[Path]:
    return [other for other in _parts(path) if other.suffix.lower() == suffix]


def _parts(path: Path) -> list[Path]:
    return [other for other in sorted(path.parent.iterdir()) if other.name.startswith(f"{path.stem}.")]


def _copied(path: Path, folder: Path) -> Path:
    """Return the copy of a file with the files that belong to it, under a plain name."""
    if path.is_dir():
        return Path(shutil.copytree(path, folder / f"layer{path.suffix}"))
    for part in _parts(path):
        if part.is_file():
            shutil.copyfile(part, folder / f"layer{part.name.removeprefix(path.stem)}")
    return folder / f"layer{path.suffix}"


def _write_shx(shp: Path) -> None:
    """Write the index of a copied shapefile: where each record starts and how long it is, in 16-bit words.

    File layout: ESRI Shapefile Technical Description, July 1998, pages 4 and 23.
    """
    content = shp.read_bytes()
    index, at = b"", 100
    while at + 8 <= len(content):
        length = struct.unpack(">i", content[at + 4 : at + 8])[0]
        if length <= 0:
            break  # not a shapefile; GDAL will say so
        index += struct.pack(">ii", at // 2, length)
        at += 8 + 2 * length
    size = struct.pack(">i", (100 + len(index)) // 2)
    shp.with_suffix(".shx").write_bytes(content[:24] + size + content[28:100] + index)


def _in_zip(path: Path, file: str, report: Report) -> str:
    prefix = f"/vsizip/{path.resolve().as_posix()}"
    with zipfile.ZipFile(path) as archive:
        found = _layers_in(archive, prefix, MOST_NESTED)
    if not found:
        mend = "Put a GeoPackage, shapefile or .gdb folder into it"
        raise InputError([Problem(file, "", "holds no map layer", mend)])
    if len(found) > 1:
        names = ", ".join(Path(name).name for name in found)
        cause = f"is the one read of {names}"
        report.tell(file, f"file {Path(found[0]).name!r}", cause, "Unpack it and name another in region.toml")
    return found[0]


def _layers_in(archive: zipfile.ZipFile, prefix: str, depth: int) -> list[str]:
    """Return the layers of an archive as GDAL names them, or else those of the archives in it."""
    names = [name for name in archive.namelist() if not _is_litter(name)]
    if layers := _layers_among(names):
        return [f"{prefix}/{name}" for name in layers]
    found: list[str] = []
    for inner in sorted(name for name in names if name.lower().endswith(".zip") and depth > 1):
        with archive.open(inner) as file, zipfile.ZipFile(file) as nested:
            found += _layers_in(nested, f"/vsizip/{{{prefix}/{inner}}}", depth - 1)
    return found


def _layers_among(names: Sequence[str]) -> list[str]:
    folders = {name[: name.lower().index(".gdb/") + 4] for name in names if ".gdb/" in name.lower()}
    files = {name for name in names if name.lower().endswith(LAYER_FILES)}
    # .json may be anything, so it counts only where there is nothing else.
    return sorted(files | folders) or sorted(name for name in names if name.lower().endswith(".json"))


def _is_litter(name: str) -> bool:
    return name.startswith("__MACOSX/") or Path(name).name.startswith("._")
