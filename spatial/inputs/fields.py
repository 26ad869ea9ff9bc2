"""The fields: outlines in EPSG:4326 on `field_id`, with area, gate and the columns of `columns.FIELDS`."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
from pyproj import Geod

from spatial.columns import FIELDS
from spatial.inputs.checks import Report, Source, checked, refuse_repeats
from spatial.inputs.layers import LON_LAT, mend, read_layer

WGS84 = Geod(ellps="WGS84")
M2_PER_HA = 10_000.0


def read_fields(path: Path, section: dict[str, Any], report: Report) -> gpd.GeoDataFrame:
    """Return the fields of one file, sorted by `field_id`.

    Columns: those of `columns.FIELDS` in inside units, `area_ha` (geodesic, WGS 84), gate_lon and gate_lat
    (a point inside the field where no gate is given), geometry. Raises InputError where the file is unreadable;
    what is wrong with single fields goes to `report`.
    """
    shapes = read_layer(path, "polygon", report, section.get("layer", ""), section.get("crs", ""))
    source = Source(path.name, section.get("columns", {}), section.get("defaults", {}))
    table = checked(
        pd.DataFrame(shapes.drop(columns=shapes.geometry.name)), FIELDS, source, report, "field_id"
    )
    refuse_repeats(table["field_id"], path.name, report)
    names = {index: f"field {field_id!r}" for index, field_id in table["field_id"].items()}
    outlines = mend(shapes, path.name, names, report).geometry
    if outlines.empty:
        report.refuse(path.name, "", "holds no field with an area", "Choose a file with outlines")
    fields = gpd.GeoDataFrame(table.loc[outlines.index], geometry=outlines, crs=LON_LAT)
    fields = fields.set_index("field_id").sort_index(kind="stable")
    return _with_intent(_with_gates(fields.assign(area_ha=geodesic_area_ha(fields.geometry))))


def geodesic_area_ha(shapes: gpd.GeoSeries) -> pd.Series:
    """Return the area on the WGS 84 ellipsoid [ha] of polygons in EPSG:4326, holes taken out (Karney 2013)."""
    # Outer rings counter-clockwise and holes clockwise, or a hole would be added to the area.
    turned = shapes.orient_polygons(exterior_cw=False)
    areas = [abs(WGS84.geometry_area_perimeter(shape)[0]) / M2_PER_HA for shape in turned]
    return pd.Series(areas, index=shapes.index, dtype=float)


def with_areas(fields: gpd.GeoDataFrame, counties: gpd.GeoDataFrame | None) -> gpd.GeoDataFrame:
    """Return the fields with an empty `area` filled by the name of the county their inner point lies in."""
    if counties is None or fields.empty:
        return fields
    points = gpd.GeoDataFrame(geometry=fields.geometry.representative_point(), index=fields.index)
    joined = gpd.sjoin(points, counties[["name", "geometry"]], predicate="within")
    county = joined.sort_values("name").groupby(level=0)["name"].first().reindex(fields.index).fillna("")
    return fields.assign(area=fields["area"].where(fields["area"] != "", county.astype(object)))


def _with_gates(fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    inner = fields.geometry.representative_point()
    given = fields["gate_lon"].notna() & fields["gate_lat"].notna()
    return fields.assign(
        gate_lon=fields["gate_lon"].where(given, inner.x), gate_lat=fields["gate_lat"].where(given, inner.y)
    )


def _with_intent(fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return fields.assign(intent=fields["intent"].where(fields["intent"] != "", "hay"))
