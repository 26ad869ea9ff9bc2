"""Gives the travel times between yards and gates, by road where roads are known."""

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from numpy.typing import NDArray

from spatial.routing.road_network import road_network
from spatial.settings import Settings

# A gate farther than this from every road is no gate: its position or the road file is wrong (common practice,
# no source).
MAX_GAP_M = 5000.0

_EARTH = pyproj.Geod(ellps="WGS84")

_Positions = NDArray[np.float64]  # (n, 2): longitude and latitude [deg], or metres east and north


@dataclass(frozen=True)
class Travel:
    """Travel times between places: `minutes` (n, n) [min], and `gap_m` (n,) [m] from each to its road.

    `places` names the rows in order. A place that cannot be reached has NaN in its row and its column.
    """

    places: pd.Index
    minutes: NDArray[np.float64]
    gap_m: NDArray[np.float64]


def travel_minutes(places: pd.DataFrame, roads: gpd.GeoDataFrame | None, settings: Settings) -> Travel:
    """Return the travel times between `places` (columns lon, lat; the index names them) at road speed.

    Without roads: geodesic distance times `settings.circuity`. With roads (lines, EPSG:4326, speed_km_h):
    each place joins the nearest road of the longest connected network, anywhere along it, the way to it counts
    at road speed times circuity, and the machine drives no faster than `settings.road_speed_km_h` or the road
    allows. A place without coordinates, or more than `MAX_GAP_M` from that network, is unreachable.
    """
    lon_lat = places[["lon", "lat"]].to_numpy(dtype="float64", na_value=np.nan)
    spots, spot_of_place = np.unique(lon_lat, axis=0, return_inverse=True)
    located = np.isfinite(spots).all(axis=1)
    gap_m = np.where(located, 0.0, np.nan)
    minutes = np.full((len(spots), len(spots)), np.nan)
    block = np.ix_(located, located)
    if roads is None or not shapely.length(roads.geometry.to_numpy()).any():
        minutes[block] = _minutes_by_air(spots[located], settings)
    else:
        minutes[block], gap_m[located] = _minutes_by_road(spots[located], roads, settings)
    return Travel(places.index, minutes[np.ix_(spot_of_place, spot_of_place)], gap_m[spot_of_place])


def _minutes_by_air(spots: _Positions, settings: Settings) -> NDArray[np.float64]:
    first, second = np.triu_indices(len(spots), k=1)
    _, _, length_m = _EARTH.inv(spots[first, 0], spots[first, 1], spots[second, 0], spots[second, 1])
    minutes = np.zeros((len(spots), len(spots)))
    minutes[first, second] = np.asarray(length_m) * _minutes_per_m_by_air(settings)
    return minutes + minutes.T


def _minutes_by_road(
    spots: _Positions, roads: gpd.GeoDataFrame, settings: Settings
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the minutes between the spots (n, n) and the way of each to its road [m]."""
    to_metres = _metres_around(roads)
    ways = shapely.transform(shapely.force_2d(roads.geometry.to_numpy()), to_metres)
    allowed_km_h = roads["speed_km_h"].to_numpy(dtype="float64", na_value=np.nan)
    speed_km_h = np.fmin(allowed_km_h, settings.road_speed_km_h)
    network = road_network(ways, 0.06 / speed_km_h)
    joined = network.nearest(to_metres(spots))
    to_road = joined.gap_m * _minutes_per_m_by_air(settings)
    minutes = network.minutes_between(joined) + to_road[:, None] + to_road
    np.fill_diagonal(minutes, 0.0)
    too_far = joined.gap_m > MAX_GAP_M
    minutes[too_far, :] = minutes[:, too_far] = np.nan
    return minutes, joined.gap_m


def _minutes_per_m_by_air(settings: Settings) -> float:
    return 0.06 * settings.circuity / settings.road_speed_km_h


def _metres_around(roads: gpd.GeoDataFrame) -> Callable[[_Positions], _Positions]:
    """Return the projection to metres about the middle of the roads, true to 1 in 20,000 at 100 km from it."""
    west, south, east, north = roads.total_bounds
    here = pyproj.CRS.from_dict({"proj": "aeqd", "lon_0": (west + east) / 2, "lat_0": (south + north) / 2})
    project = pyproj.Transformer.from_crs("EPSG:4326", here, always_xy=True)
    return lambda lon_lat: np.column_stack(project.transform(lon_lat[:, 0], lon_lat[:, 1]))
