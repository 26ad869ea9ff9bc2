"""The lie of the invented land: its square on the map, its heights, and the chance that shapes everything on it."""

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Shape = BaseGeometry
Surface = Callable[[Floats, Floats], Floats]

METRES = "EPSG:32617"  # UTM zone 17 north
LEFT_M, BOTTOM_M, SIDE_M = 256_000.0, 3_611_000.0, 54_000.0
MARGIN_M = 3_000.0
COORDINATE_DECIMALS = 7


def dice(topic: str) -> np.random.Generator:
    """Return the random numbers that belong to `topic`: the same ones in every run."""
    return np.random.default_rng(list(topic.encode()))


def box(margin_m: float = 0.0) -> shapely.Polygon:
    """Return the square of the district, widened by `margin_m` [m]."""
    right, top = LEFT_M + SIDE_M, BOTTOM_M + SIDE_M
    return shapely.box(LEFT_M - margin_m, BOTTOM_M - margin_m, right + margin_m, top + margin_m)


def at_km(east_km: float, north_km: float) -> tuple[float, float]:
    """Return the point so many km east and north of the district's south-west corner [m]."""
    return LEFT_M + 1_000 * east_km, BOTTOM_M + 1_000 * north_km


def northness(y_m: Floats) -> Floats:
    """Return 0 at the south edge of the district and 1 at its north edge."""
    return (y_m - BOTTOM_M) / SIDE_M


def waves(topic: str, longest_m: float, shortest_m: float, count: int = 28) -> Surface:
    """Return a smooth random surface of about unit spread: many plane waves between two wavelengths [m]."""
    chance = dice(topic)
    lengths = np.geomspace(longest_m, shortest_m, count)
    angles, phases = chance.uniform(0, 2 * np.pi, count), chance.uniform(0, 2 * np.pi, count)
    weights = lengths / np.sqrt(np.sum(lengths**2) / 2)

    def surface(x_m: Floats, y_m: Floats) -> Floats:
        total = np.zeros(np.broadcast(x_m, y_m).shape)
        for length, angle, phase, weight in zip(lengths, angles, phases, weights, strict=True):
            along = (x_m - LEFT_M) * np.cos(angle) + (y_m - BOTTOM_M) * np.sin(angle)
            total += weight * np.sin(2 * np.pi * along / length + phase)
        return total

    return surface


def height_m(x_m: Floats, y_m: Floats) -> Floats:
    """Return the height of the land [m]: hills in the north, a plain in the south, a fall line between."""
    north = northness(y_m)
    hilly = 1 / (1 + np.exp(-(north - 0.48) / 0.07))
    rough = waves("height", 16_000, 1_500)(x_m, y_m)
    return 70 + 35 * north + 55 * hilly + (7 + 13 * hilly) * rough


def on_the_globe(table: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return `table` in longitude and latitude, its coordinates rounded as they are written."""
    turned = table.set_crs(METRES, allow_override=True).to_crs("EPSG:4326")
    rounded = shapely.transform(turned.geometry.to_numpy(), lambda xy: np.round(xy, COORDINATE_DECIMALS))
    return turned.set_geometry(gpd.GeoSeries(rounded, index=turned.index, crs="EPSG:4326"))


def lon_lat(x_m: Floats | float, y_m: Floats | float) -> tuple[Floats, Floats]:
    """Return longitudes and latitudes [deg] of points in the district's metres, rounded as they are written."""
    lon, lat = pyproj.Transformer.from_crs(METRES, "EPSG:4326", always_xy=True).transform(x_m, y_m)
    return np.round(lon, COORDINATE_DECIMALS), np.round(lat, COORDINATE_DECIMALS)


def metres(lon: float, lat: float) -> tuple[float, float]:
    """Return the point of a longitude and latitude [deg] in the district's metres."""
    x_m, y_m = pyproj.Transformer.from_crs("EPSG:4326", METRES, always_xy=True).transform(lon, lat)
    return float(x_m), float(y_m)


def smooth_line(points: Floats, rounds: int = 3) -> Floats:
    """Return the line through `points` (n, 2) with its corners cut; its ends stay.

    Chaikin's corner cutting: each round puts two points on every piece, at a quarter and three quarters.
    """
    for _ in range(rounds):
        near = 0.75 * points[:-1] + 0.25 * points[1:]
        far = 0.25 * points[:-1] + 0.75 * points[1:]
        inner = np.stack([near, far], axis=1).reshape(-1, 2)
        points = np.vstack([points[:1], inner[1:-1], points[-1:]])
    return points
