"""Polygons with a name, by which a district's dates are told: counties, districts, a client's land."""

from pathlib import Path

import geopandas as gpd
import pandas as pd

from spatial.columns import CONTEXT
from spatial.errors import InputError
from spatial.inputs.cells import text_of
from spatial.inputs.checks import Report, Source, checked, listed, row_numbers, their_name
from spatial.inputs.layers import mend, read_layer

MOST_SHOWN = 2


def read_areas(path: Path, report: Report, name_column: str = "") -> gpd.GeoDataFrame:
    """Return the polygons of a file in EPSG:4326 with their `name`; raises InputError where they cannot serve.

    `name_column` is the file's column of names where it is not called so; without either, the first column of text
    is taken and told. A polygon without a name is called "unnamed" and its number, and told.
    """
    shapes = read_layer(path, "polygon", report)
    facts = pd.DataFrame(shapes.drop(columns=shapes.geometry.name))
    column = name_column or _column_of_text(facts, path.name, report)
    source = Source(path.name, {"name": column} if column else {})
    table = _all_named(checked(facts, CONTEXT, source, report), path.name, report)
    if report.wrong:
        raise InputError(report.wrong)
    found = gpd.GeoDataFrame(table, geometry=shapes.geometry, crs=shapes.crs)
    return mend(found, path.name, {index: f"shape {index + 1}" for index in found.index}, report)


def _column_of_text(facts: pd.DataFrame, file: str, report: Report) -> str:
    """Return the first column with a text in it where none is called `name`, and tell of it; "" for none."""
    if their_name(facts, CONTEXT[0], Source(file)) is not None:
        return ""
    texts = (
        str(name)
        for name in facts
        if facts[name].map(lambda value: isinstance(value, str) and value.strip() != "").any()
    )
    column = next(texts, "")
    if column:
        cause = "was taken for the names of the areas, as no column is called name"
        report.tell(file, f"column {column!r}", cause, "Call another one name, if that is wrong")
    return column


def _all_named(table: pd.DataFrame, file: str, report: Report) -> pd.DataFrame:
    bare = text_of(table["name"]) == ""
    numbers = row_numbers(table.index)
    names = [
        f"unnamed {number}" if empty else name
        for number, empty, name in zip(numbers, bare, table["name"], strict=True)
    ]
    if bare.any():
        rows = [number for number, empty in zip(numbers, bare, strict=True) if empty]
        cause = f"without a name, so called {', '.join(names[row - 1] for row in rows[:MOST_SHOWN])}"
        cause = f"{cause} and so on" if len(rows) > MOST_SHOWN else cause
        report.tell(file, listed("shape", rows), cause, "Give the areas a column name")
    return table.assign(name=names)
