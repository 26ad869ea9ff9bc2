"""Lab soil tests from one or more CSV files, each with the field it was taken in; what cannot be true is left out."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report, Source, listed, row_numbers
from spatial.inputs.soil.lab_buffers import in_buffer
from spatial.inputs.soil.lab_headings import headed, refuse_twice
from spatial.inputs.soil.lab_units import parts_by_unit
from spatial.inputs.soil.lab_words import filled_by_lab, in_water
from spatial.inputs.soil.possible import possible
from spatial.inputs.tables import empty_table, read_csv
from spatial.soil import Laboratory, LimeRules


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
    columns, labs = section.get("columns", {}), rules.laboratories
    refuse_twice(columns, report)
    read = list(_read(paths, columns, report))
    somewhere = {name for _file, raw in read for name in raw.columns}
    found = []
    for file, raw in read:
        tests = _tests(file, raw, _mapping(columns, raw, somewhere), labs, report)
        tests = in_water(filled_by_lab(tests, file, labs, report), file, report)
        found.append(_placed(in_buffer(tests, rules.methods, file, report), fields, file, report))
    return pd.concat(found, ignore_index=True) if found else empty_table(SOIL_TESTS)


def _read(
    paths: Sequence[Path], columns: Mapping[str, str], report: Report
) -> Iterator[tuple[str, pd.DataFrame]]:
    for path in paths:
        raw = read_csv(path, report)
        table = None if raw is None else headed(path.name, raw, columns, report)
        if table is not None:
            yield path.name, table


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
