"""The soil survey: map units with pH, drainage class and slope, from their own columns or from the survey's tables."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.columns import SURVEY
from spatial.errors import InputError
from spatial.inputs.cells import MISSING, text_of
from spatial.inputs.checks import Report, Source, listed, row_numbers, their_name
from spatial.inputs.fields import geodesic_area_ha
from spatial.inputs.layers import mend, read_layer
from spatial.inputs.region_file import FILE
from spatial.inputs.soil.possible import possible
from spatial.inputs.soil.said_date import said_date
from spatial.inputs.soil.survey_cells import drainage_classes, keys_of
from spatial.inputs.soil.survey_files import read_survey_tables
from spatial.inputs.soil.survey_fit import land_in_words
from spatial.inputs.soil.survey_tables import map_unit_values, symbols_of
from spatial.inputs.soil.survey_text import plain_name

VALUES = [column.name for column in SURVEY]
PH = next(column for column in SURVEY if column.name == "ph")
KEY, SYMBOL = "mukey", "musym"
NO_PH = ("gives no pH for any of its land", "Check the column of pH, or the tables")
HALF = 0.5


def read_survey(folder: Path, section: Mapping[str, Any], report: Report) -> gpd.GeoDataFrame | None:
    """Return the polygons of a survey in EPSG:4326, mended, with the columns of `columns.SURVEY`.

    `section` is [survey] of the region.toml in `folder`. With `tables` values come from them by mukey, else from the
    polygons' own columns; their paths start at the folder, or beside the polygons. A value that cannot be is told and
    NaN. `attrs` has `date` (NaT unsaid) and `name` (the file). None, with the reasons in the report, where polygons or
    tables cannot be used.
    """
    path = folder / str(section["file"])
    published = said_date("[survey]", section, report)
    try:
        shapes = read_layer(path, "polygon", report, section.get("layer", ""), section.get("crs", ""))
    except InputError as error:
        report.wrong.extend(error.problems)
        return None
    shapes = mend(shapes, path.name, {row: f"shape {row + 1}" for row in shapes.index}, report)
    values = (
        _by_tables(shapes, folder, section, report)
        if "tables" in section
        else _own(shapes, path, section, report)
    )
    if values is None:
        return None
    survey = gpd.GeoDataFrame(values[VALUES], geometry=shapes.geometry, crs=shapes.crs)
    survey.attrs |= {"date": published, "name": path.name}
    return survey


def _own(
    shapes: gpd.GeoDataFrame, path: Path, section: Mapping[str, Any], report: Report
) -> pd.DataFrame | None:
    """Return the values that the polygons have themselves, or None where they have no pH."""
    table = pd.DataFrame(shapes.drop(columns=shapes.geometry.name))
    source, refused = Source(path.name, section.get("columns", {})), len(report.wrong)
    values = possible(table, SURVEY, source, report)
    if len(report.wrong) > refused:
        return None
    found = their_name(table, PH, source)
    if found is None:
        mend_by = (
            'Name it in region.toml, as columns = { ph = "..." }, or name the survey\'s tables, as '
            f'tables = ["mapunit.csv", "component.csv", "chorizon.csv"]; the file has: {_names(table)}'
        )
        report.refuse(path.name, "column 'ph'", "is not there", mend_by)
        return None
    _tell_no_ph(table[found.theirs], path.name, report)
    return values.assign(drainage=drainage_classes(values["drainage"], path.name, report))


def _tell_no_ph(said: pd.Series, file: str, report: Report) -> None:
    # A pH that cannot be has a line of its own.
    if text_of(said).str.lower().isin(MISSING).all():
        report.tell(file, "", *NO_PH)


def _by_tables(
    shapes: gpd.GeoDataFrame, folder: Path, section: Mapping[str, Any], report: Report
) -> pd.DataFrame | None:
    """Return the values that the survey's tables have for the polygons, or None where they cannot be joined."""
    path = folder / str(section["file"])
    table = pd.DataFrame(shapes.drop(columns=shapes.geometry.name))
    columns = section.get("columns", {})
    keys = _key_column(table, path.name, columns, report)
    tables = read_survey_tables(_tables_of(folder, path, section), report)
    if keys is None or tables is None:
        return None
    found = map_unit_values(tables, set(keys) - {""}, report)
    if found.empty:
        cause = f"has none of the map units of {path.name}"
        report.refuse(tables.component.file, "", cause, "Name the tables of the same survey area")
        return None
    values = found.reindex(keys).set_index(shapes.index)
    by_tables = keys.map(symbols_of(tables.mapunit))
    values["map_unit"] = _symbols(table, columns, keys, by_tables)
    values["drainage"] = values["drainage"].fillna("").astype(object)
    _tell_gaps(values, ~keys.isin(found.index), keys, shapes, (path.name, tables.component.file), report)
    if values["ph"].isna().all():
        report.tell(path.name, "", *NO_PH)
    return values


def _tables_of(folder: Path, path: Path, section: Mapping[str, Any]) -> list[Path]:
    """Return the paths of the tables: from the region's folder, or else beside the polygons."""
    found = []
    for name in section["tables"]:
        here, beside = folder / name, path.parent / name
        found.append(beside if beside.exists() and not here.exists() else here)
    return found


def _key_column(
    table: pd.DataFrame, file: str, columns: Mapping[str, str], report: Report
) -> pd.Series | None:
    """Return the key of each polygon's map unit ("" where missing), or None where there is no such column."""
    strange = sorted(set(columns) - {KEY, SYMBOL, "map_unit"})
    if strange:
        cause = "not read, because the survey's tables are named"
        report.tell(FILE, f"columns of {file}, {listed('name', strange)}", cause, "Take them out")
    theirs = [columns[KEY]] if KEY in columns else _called(table, KEY)
    for name in [*theirs, *([columns["map_unit"]] if "map_unit" in columns and not theirs else [])]:
        if name in table.columns:
            return keys_of(table[name])
    mend_by = f'Name it in region.toml, as columns = {{ mukey = "..." }}; the file has: {_names(table)}'
    cause = "is not there, so the tables cannot be joined"
    report.refuse(file, f"column {columns.get(KEY, KEY)!r}", cause, mend_by)
    return None


def _called(table: pd.DataFrame, name: str) -> list[str]:
    return [theirs for theirs in table.columns if plain_name(theirs) == name]


def _symbols(
    table: pd.DataFrame, columns: Mapping[str, str], keys: pd.Series, by_tables: pd.Series
) -> pd.Series:
    """Return the symbols of map units: of the tables, else of the polygons, else their keys."""
    said = [columns[name] for name in (SYMBOL, "map_unit") if columns.get(name) in table.columns]
    theirs = [*said, *_called(table, SYMBOL)]
    own = text_of(table[theirs[0]]) if theirs else keys
    known = by_tables.where(by_tables.notna() & (by_tables != keys), own)
    return known.where(known != "", keys).astype(object)


def _tell_gaps(
    values: pd.DataFrame,
    lacking: pd.Series,
    keys: pd.Series,
    shapes: gpd.GeoDataFrame,
    files: tuple[str, str],
    report: Report,
) -> None:
    """Tell of the map units that the tables say nothing of, or little."""
    file, table = files
    blank = keys == ""
    if blank.any():
        rows = listed("shape", row_numbers(keys.index[blank]))
        report.tell(file, rows, "no mukey, so nothing is known of the soil", "Fill it in")
    lacking = lacking & ~blank
    if lacking.any():
        land = land_in_words(float(geodesic_area_ha(shapes[lacking].geometry).sum()))
        cause = f"no rows in {table}, so nothing is known of the soil: {land}"
        report.tell(file, _units(values, lacking), cause, "Name the tables of their survey area too")
    known = ~lacking & ~blank
    no_ph = known & values["ph"].isna() & (values["soil_share"] > 0)
    if no_ph.any() and values["ph"].notna().any():  # one line says that no land has any
        report.tell(file, _units(values, no_ph), "soil without a pH in the tables", "Sample there")
    little = known & values["ph"].notna() & (values["ph_share"] < HALF)
    if little.any():
        cause = "pH is known for less than half of the land"
        report.tell(file, _units(values, little), cause, "Sample there before you trust it")


def _units(values: pd.DataFrame, which: pd.Series) -> str:
    return listed("map unit", sorted(set(values["map_unit"][which])))


def _names(table: pd.DataFrame) -> str:
    return ", ".join(map(str, table.columns))
