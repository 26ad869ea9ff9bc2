"""Polygons with a name, by which a district's dates are told: counties, districts, a client's land."""

from pathlib import Path

import geopandas as gpd
import pandas as pd

from spatial.columns import CONTEXT
from spatial.errors import InputError
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.layers import mend, read_layer


def read_areas(path: Path, name_column: str = "") -> gpd.GeoDataFrame:
    """Return the polygons of a file in EPSG:4326 with their `name`; raises InputError where they cannot serve.

    `name_column` is the file's column of names where it is not called so.
    """
    report = Report()
    shapes = read_layer(path, "polygon", report)
    source = Source(path.name, {"name": name_column} if name_column else {})
    table = checked(pd.DataFrame(shapes.drop(columns=shapes.geometry.name)), CONTEXT, source, report)
    if report.wrong:
        raise InputError(report.wrong)
    found = gpd.GeoDataFrame(table, geometry=shapes.geometry, crs=shapes.crs)
    return mend(found, path.name, {index: f"shape {index + 1}" for index in found.index}, report)
