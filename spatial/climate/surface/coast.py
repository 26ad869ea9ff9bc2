"""How far stations and cells lie from the coast."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from spatial.climate.surface.places import globe_km, node_places, nodes_of, spread
from spatial.values import Grid

STEP_DEG = 0.01  # the coast is taken as points this far apart: about 1 km


def station_coast_km(stations: pd.DataFrame, coast: gpd.GeoSeries) -> pd.Series:
    """Return the distance of each station to the coast [km]; `stations` has latitude and longitude [deg]."""
    found = _distance_km(coast, stations["latitude"], stations["longitude"])
    return pd.Series(found, index=stations.index, name="coast_km")


def cell_coast_km(grid: Grid, coast: gpd.GeoSeries) -> NDArray[np.float32]:
    """Return the distance of each cell of a grid to the coast [km], (rows, columns).

    `coast` is lines in EPSG:4326. Reckoned at nodes some cells apart, and between them on straight lines.
    """
    nodes = nodes_of(grid)
    latitude, longitude = node_places(grid, nodes)
    found = _distance_km(coast, latitude.ravel(), longitude.ravel())
    return spread(found.reshape(latitude.shape), nodes, grid).astype(np.float32)


def _distance_km(coast: gpd.GeoSeries, latitude: ArrayLike, longitude: ArrayLike) -> NDArray[np.float64]:
    points = shapely.get_coordinates(shapely.segmentize(coast.to_numpy(), STEP_DEG))
    tree = cKDTree(globe_km(points[:, 1], points[:, 0]))
    return np.asarray(tree.query(globe_km(latitude, longitude))[0], dtype=np.float64)
