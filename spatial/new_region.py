"""A region folder started from the user's own layers: region.toml with what their columns and tags tell."""

import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path

import geopandas as gpd

from spatial.columns import FIELDS
from spatial.errors import InputError, Problem
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, their_name
from spatial.inputs.freeze import freeze_tags, open_raster
from spatial.inputs.layers import read_shapes
from spatial.inputs.region_file import FILE
from spatial.inputs.rules import read_grasses
from spatial.inputs.tables import read_csv
from spatial.store import write_new

ASKED = {
    "kind": '# kind = "seasons"            # what a band is: "seasons" or "chances"',
    "threshold_c": "# threshold_f = 28            # temperature the layer was made with",
    "no_freeze_value": "# no_freeze_value = 999       # value that means: no freeze came, if there is one",
    "day_count": '# day_count = "season_start"  # what the days count from: "season_start" or "year"',
}

LABS_HINT = """
# [labs."NAME"]                 # what its reports do not say themselves
# extractant = "Mehlich-1"
# unit = "lb/ac"
# soil_group = "coastal plain"
# lime_rnv_pct = 100            # of the lime that its lime rates are in
"""


def new_region(
    folder: Path, files: Mapping[str, Path], time_zone: str, survey_tables: Sequence[Path] = ()
) -> Path:
    """Write `folder`/region.toml naming the user's files, and return its path; the files stay where they are.

    `files` maps parts (fields, freeze, roads, crews, outlook, clients, survey, soil_tests) to paths; fields is
    needed. `survey_tables` are the tables of the soil survey's map units: files, their folder or their database. The
    file's own column names are mapped where they can be told; what cannot be told stands there as a line to fill in.
    Raises InputError where a file cannot be read or the folder already has a region.toml.
    """
    fields = read_shapes(files["fields"], Report())
    parts = [_heading(folder, time_zone, _south(fields)), _fields_part(folder, files["fields"], fields)]
    parts += [_part(folder, name, path, survey_tables) for name, path in files.items() if name != "fields"]
    path = folder / FILE
    try:
        write_new(path, "\n".join(parts))
    except FileExistsError as error:
        raise InputError([Problem(str(path), "", "is already there", "Choose another folder")]) from error
    except OSError as error:
        raise InputError(
            [Problem(str(path), "", f"cannot be written ({error.strerror})", "Check the folder")]
        ) from error
    return path


def _south(fields: gpd.GeoDataFrame) -> bool:
    """Return whether the fields lie south of the equator; False where their file does not say where they lie."""
    return fields.crs is not None and bool(fields.to_crs(4326).total_bounds[3] < 0)


def _heading(folder: Path, time_zone: str, south: bool) -> str:
    lines = ("format = 1", f"name = {_quoted(folder.resolve().name)}", f"time_zone = {_quoted(time_zone)}")
    start = "02-01" if south else "08-01"
    season = f'season_start = "{start}"  # "08-01" north of the equator, "02-01" south of it'
    return "\n".join((*lines, 'units = "us"', season, ""))


def _fields_part(folder: Path, path: Path, fields: gpd.GeoDataFrame) -> str:
    lines = ["[fields]", f"file = {_quoted(_relative(path, folder))}"]
    found = {column.name: their_name(fields, column, Source("")) for column in FIELDS}
    if fields.crs is None:
        lines.append('# crs = "EPSG:4326"  # the file states no coordinate system: give its own')
    id_column = _id_column(fields)
    if found["field_id"] is None and id_column is not None:
        lines.append(f"columns = {{ field_id = {_quoted(id_column)} }}")
    elif found["field_id"] is None:
        lines.append('# columns = { field_id = "..." }  # the column whose values name the fields')
    if found["grass"] is None:
        lines.append(f'# defaults = {{ grass = "..." }}  # one of: {", ".join(read_grasses(Report()))}')
    return "\n".join([*lines, _others(found), ""])


def _others(found: Mapping[str, object]) -> str:
    missing = ", ".join(name for name, theirs in found.items() if theirs is None and name != "field_id")
    return f"# Columns not found, all optional: {missing}" if missing else ""


def _id_column(fields: gpd.GeoDataFrame) -> str | None:
    """Return the first column that could name the fields: different and filled in every row, with id in its name."""
    table = fields.drop(columns=fields.geometry.name)
    words = {name: text_of(table[name]) for name in table.columns}
    unique = [name for name, column in words.items() if (column != "").all() and column.is_unique]
    named = [
        name
        for name in unique
        if "id" in str(name).lower() or str(name).lower() in ("field", "name", "number")
    ]
    return str(named[0]) if named else None


def _part(folder: Path, name: str, path: Path, survey_tables: Sequence[Path]) -> str:
    tables = survey_tables if name == "survey" else ()
    for one in (path, *tables):
        if not one.exists():
            raise InputError([Problem(str(one), "", "is not there", "Check the name")])
    quoted = _quoted(_relative(path, folder))
    if name == "soil_tests":
        return f"[soil_tests]\nfiles = [{quoted}]\n{_tests_hint(path)}\n{LABS_HINT}\n"
    lines = [f"[{name}]", f"file = {quoted}"]
    if tables:
        lines.append(f"tables = [{', '.join(_quoted(_relative(table, folder)) for table in tables)}]")
    return "\n".join([*lines, *(_freeze_lines(path) if name == "freeze" else []), ""])


def _tests_hint(path: Path) -> str:
    """Return the columns of a lab file as a line to fill in from."""
    raw = read_csv(path, Report())
    has = (
        ""
        if raw is None
        else f"  # the file has: {', '.join(' '.join(str(name).split()) for name in raw.columns)}"
    )
    return f'# columns = {{ sample_date = "...", ph = "...", k = "..." }}{has}'


def _freeze_lines(path: Path) -> list[str]:
    with open_raster(path) as raster:
        said = freeze_tags(raster)
    lines = [f"{key} = {json.dumps(value)}" for key, value in said.items()]
    has_threshold = {"threshold_c", "threshold_f"} & set(said)
    return lines + [
        line
        for key, line in ASKED.items()
        if key not in said and not (key == "threshold_c" and has_threshold)
    ]


def _relative(path: Path, folder: Path) -> str:
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return path.resolve().as_posix()


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
