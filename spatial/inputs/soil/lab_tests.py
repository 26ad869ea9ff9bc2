"""Lab soil tests from one or more CSV files, each with the field it was taken in; what cannot be true is left out."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report, Source, listed, row_numbers, their_name
from spatial.inputs.soil.lab_buffers import in_buffer
from spatial.inputs.soil.lab_headings import headed, refuse_twice
from spatial.inputs.soil.lab_units import parts_by_unit
from spatial.inputs.soil.lab_words import filled_by_lab, in_water
from spatial.inputs.soil.possible import possible
from spatial.inputs.tables import empty_table, read_csv
from spatial.soil import Laboratory, LimeRules
from spatial.values import NUTRIENTS

VALUES = {
    "ph",
    "buffer_ph",
    "lime_t_ha",
    *(f"{one}_{unit}" for one in NUTRIENTS for unit in ("mg_kg", "index")),
}


def read_soil_tests(
    paths: Sequence[Path],
    section: Mapping[str, Any],
    fields: gpd.GeoDataFrame | None,
    report: Report,
    rules: LimeRules,
) -> pd.DataFrame:
    """Return the tests of all files in inside units, with the `field_id` written or, without one, by lon and lat.

    A value that cannot be true becomes NaN and is told, a row without its day is left out; only a file that cannot
    be used stops the plan. P, K and Mg without a unit are not read. pH in CaCl2 is brought to water. What a row does
    not say itself comes from its laboratory, what its buffer can read from the methods of `rules`. A test whose place
    lies in no field keeps an empty `field_id` and is told. A column that region.toml maps need only stand in one of
    the files.
    """
    labs = rules.laboratories
    read = list(_read(paths, section.get("columns", {}), report))
    somewhere = {name for _file, raw, _columns in read for name in raw.columns}
    found = []
    for file, raw, columns in read:
        tests = _tests(file, raw, _mapping(columns, raw, somewhere), labs, report)
        _tell_nothing_read(file, raw, columns, report)
        tests = in_water(filled_by_lab(tests, file, labs, report), file, report)
        found.append(_placed(in_buffer(tests, rules.methods, file, report), fields, file, report))
    return pd.concat(found, ignore_index=True) if found else empty_table(SOIL_TESTS)


def _read(
    paths: Sequence[Path], columns: Mapping[str, str | Sequence[str]], report: Report
) -> Iterator[tuple[str, pd.DataFrame, dict[str, str]]]:
    """Give each file's name, its table, and which of its columns each of ours is said to be."""
    for path in paths:
        raw = read_csv(path, report)
        if raw is None:
            continue
        here = {ours: _one_of(theirs, raw.columns) for ours, theirs in columns.items()}
        refuse_twice(here, report)
        table = headed(path.name, raw, here, report)
        if table is not None:
            yield path.name, table, here


def _one_of(theirs: str | Sequence[str], names: pd.Index) -> str:
    """Return the first of the user's names for a column that a file has, or the first of them all."""
    if isinstance(theirs, str):
        return theirs
    return next((name for name in theirs if name in names), theirs[0])


def _tell_nothing_read(file: str, raw: pd.DataFrame, columns: Mapping[str, str], report: Report) -> None:
    bare = {str(name).strip().lower() for name in raw.columns} | set(columns)
    named = any(
        their_name(raw, column, Source(file, columns)) for column in SOIL_TESTS if column.name in VALUES
    )
    if not named and not bare & set(NUTRIENTS):
        has = ", ".join(map(str, raw.columns))
        mend = f"Name its columns in region.toml, [soil_tests] columns; the file has: {has}"
        report.tell(file, "", "has no column of pH, P, K, Mg or lime that is known", mend)


def _tests(
    file: str,
    raw: pd.DataFrame,
    columns: Mapping[str, str],
    laboratories: Mapping[str, Laboratory],
    report: Report,
) -> pd.DataFrame:
    own = Report()
    parts = parts_by_unit(file, raw, columns, laboratories, own)
    tests = pd.concat(
        [possible(part, SOIL_TESTS, Source(file, said), own) for part, said in parts]
    ).sort_index()
    report.wrong.extend(dict.fromkeys(own.wrong))
    report.told.extend(dict.fromkeys(own.told))
    return tests[tests["sample_date"].notna()]


def _mapping(columns: Mapping[str, str], raw: pd.DataFrame, somewhere: set[str]) -> dict[str, str]:
    """Return the part of a mapping that this file must answer for: its own columns, and those that no file has."""
    return {
        ours: theirs for ours, theirs in columns.items() if theirs in raw.columns or theirs not in somewhere
    }


def _placed(tests: pd.DataFrame, fields: gpd.GeoDataFrame | None, file: str, report: Report) -> pd.DataFrame:
    """Return the tests with the field each point lies in; a `field_id` that is written wins."""
    if fields is None:
        return tests
    by_point = tests[(tests["field_id"] == "") & tests["lon"].notna() & tests["lat"].notna()]
    points = gpd.GeoDataFrame(
        geometry=gpd.points_from_xy(by_point["lon"], by_point["lat"]), index=by_point.index, crs=fields.crs
    )
    joined = gpd.sjoin(points, fields[["geometry"]], predicate="within")
    under = joined["field_id"].groupby(level=0).min()
    field_id = tests["field_id"].mask(tests.index.isin(under.index), under.reindex(tests.index))
    outside = row_numbers(tests.index[field_id == ""])
    if outside:
        mend = "Give them a field_id, or the lon and lat of the sample"
        report.tell(file, listed("row", outside), "in no field, so left out", mend)
    return tests.assign(field_id=field_id.astype(object))
