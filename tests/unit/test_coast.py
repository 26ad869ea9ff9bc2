"""How far stations and cells lie from the coast."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from geographiclib.geodesic import Geodesic
from pyproj import CRS
from shapely import LineString

from spatial.climate.surface.coast import cell_coast_km, station_coast_km
from spatial.values import Grid

COAST = gpd.GeoSeries([LineString([(-82, 20), (-82, 50)])], crs=4326)


@pytest.mark.parametrize("longitude", [-83.0, -81.5])
def test_a_station_lies_as_far_from_a_meridian_as_the_geodesic_says(longitude):
    # Karney 2013 by geographiclib: the way along the parallel is no longer than the shortest by 0.1 % here.
    stations = pd.DataFrame({"latitude": [33.0], "longitude": [longitude]}, index=["S"])
    true_km = Geodesic.WGS84.Inverse(33.0, longitude, 33.0, -82.0)["s12"] / 1000
    assert station_coast_km(stations, COAST)["S"] == pytest.approx(true_km, rel=0.004)


def test_cells_lie_farther_with_every_column_from_the_coast():
    grid = Grid(CRS.from_epsg(4326), -84.0, 34.0, 0.01, 0.01, 100, 150)
    found = cell_coast_km(grid, COAST)
    assert found.shape == (100, 150) and (np.diff(found, axis=1) < 0).all()
