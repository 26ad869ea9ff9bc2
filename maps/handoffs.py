"""The plan for other machines: a GeoPackage for any GIS, a GPX file for a phone or a receiver in the cab."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any

import geopandas as gpd
import gpxpy.gpx
import pandas as pd
import pyogrio
import shapely

from maps.labels import area, day, sentences
from maps.tables import ROUTE_KEYS, field_table
from spatial.plan import Plan


def write_geopackage(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write layers `fields` (polygons), `stops` (points), `rounds` (a line a crew-day) and `sample_first` (polygons).

    All are in EPSG:4326; a layer without a row is left out.
    """
    with stamped(plan.settings.on):
        layers = {
            "fields": _fields_layer(plan),
            "stops": _stops_layer(plan),
            "rounds": _rounds_layer(plan),
            "sample_first": _sample_layer(plan),
        }
        for name, layer in layers.items():
            if not layer.empty:
                layer.to_file(
                    path, layer=name, driver="GPKG", engine="pyogrio", mode="a" if path.exists() else "w"
                )


def write_gpx(plan: Plan, path: Path, _made_on: datetime) -> None:
    """Write GPX 1.1: a waypoint at each field's gate and one route a crew-day, from the yard and back."""
    document = gpxpy.gpx.GPX()
    document.creator = "lastcut"
    document.name = f"{plan.region.name}, {plan.settings.on.isoformat()}"
    document.waypoints.extend(_waypoint(plan, str(field_id), row) for field_id, row in _rows(plan.fields))
    for (crew, on), stops in plan.route.groupby(["crew", "date"]):
        route = gpxpy.gpx.GPXRoute(name=f"{crew}, {day(on)}")
        route.points.extend(
            gpxpy.gpx.GPXRoutePoint(latitude=lat, longitude=lon, name=name)
            for name, lon, lat in _round_points(plan, str(crew), stops)
        )
        document.routes.append(route)
    path.write_text(_xml_safe(document.to_xml(version="1.1")), encoding="utf-8")


def _xml_safe(text: str) -> str:
    """Return the text without the control characters that XML forbids."""
    return "".join(letter for letter in text if letter >= " " or letter in "\t\n\r")


def _waypoint(plan: Plan, field_id: str, row: pd.Series) -> gpxpy.gpx.GPXWaypoint:
    name = " ".join(part for part in (field_id, row["name"]) if part)
    units = plan.region.units
    what = f"{row['client']}, {area(row['area_ha'], units)}. {sentences(row['advice'], units)}"
    return gpxpy.gpx.GPXWaypoint(
        latitude=round(row["gate_lat"], 6), longitude=round(row["gate_lon"], 6), name=name, description=what
    )


def _round_points(plan: Plan, crew: str, stops: pd.DataFrame) -> list[tuple[str, float, float]]:
    lon, lat = plan.region.crews.loc[[crew], ["yard_lon", "yard_lat"]].round(6).to_numpy()[0]
    home = (f"yard of {crew}", lon, lat)
    gates = plan.fields.loc[stops.sort_values("stop")["field_id"], ["gate_lon", "gate_lat"]].round(6)
    return [home, *((str(name), lon, lat) for name, lon, lat in gates.itertuples()), home]


def _fields_layer(plan: Plan) -> gpd.GeoDataFrame:
    table = field_table(plan)
    for name in (name for name in table.columns if name.endswith("_date")):
        table[name] = pd.to_datetime(table[name]).dt.date
    return _texts(gpd.GeoDataFrame(table, geometry=plan.fields.geometry.to_numpy(), crs=plan.fields.crs))


def _stops_layer(plan: Plan) -> gpd.GeoDataFrame:
    gates = plan.fields.loc[plan.route["field_id"], ["gate_lon", "gate_lat"]]
    route = plan.route[list(ROUTE_KEYS)].assign(date=plan.route["date"].dt.date)
    return _texts(
        gpd.GeoDataFrame(route, geometry=gpd.points_from_xy(gates["gate_lon"], gates["gate_lat"]), crs=4326)
    )


def _rounds_layer(plan: Plan) -> gpd.GeoDataFrame:
    rounds = [
        {
            "crew": crew,
            "date": pd.Timestamp(str(date)).date(),
            "stops": len(stops),
            "area_ha": stops["area_ha"].sum(),
            "geometry": shapely.LineString(
                [(lon, lat) for _name, lon, lat in _round_points(plan, str(crew), stops)]
            ),
        }
        for (crew, date), stops in plan.route.groupby(["crew", "date"])
    ]
    columns = ["crew", "date", "stops", "area_ha", "geometry"]
    return gpd.GeoDataFrame(pd.DataFrame(rounds, columns=columns), geometry="geometry", crs=4326)


def _sample_layer(plan: Plan) -> gpd.GeoDataFrame:
    """Return the part of each field that is to be sampled first: its mapped pH and its share of the field."""
    parts = plan.sample_parts
    columns = {"ph": parts["ph"].round(2).to_numpy(), "share": parts["share"].round(4).to_numpy()}
    ids = parts.index.astype(str)
    return gpd.GeoDataFrame({"field_id": ids, **columns}, geometry=parts.geometry.to_numpy(), crs=parts.crs)


def _texts(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the layer with empty texts as missing, which a GIS shows as such."""
    texts = [name for name in layer.columns if any(isinstance(value, str) for value in layer[name])]
    return layer.assign(**{name: layer[name].astype(object).replace("", None) for name in texts})


def _rows(fields: gpd.GeoDataFrame) -> Iterator[tuple[Any, pd.Series]]:
    yield from pd.DataFrame(fields.drop(columns="geometry")).iterrows()


@contextmanager
def stamped(on: date) -> Iterator[None]:
    """Make GDAL stamp what it writes with a day, so that the same content gives the same bytes."""
    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": f"{on.isoformat()}T00:00:00.000Z"})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})
