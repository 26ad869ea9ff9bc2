"""The counties of the district: their lines are surveyed ones, bent a little, and a river."""

import geopandas as gpd
import numpy as np
import shapely

from sample.land import MARGIN_M, METRES, Floats, Shape, at_km, box

# The county that holds the point [km east and north].
HELD = (("Quillen", 10, 45), ("Averell", 42, 44), ("Lorimer", 30, 22), ("Gadwall", 45, 6))
EAST_WEST_KM = ((-3, 32.4), (9, 32.0), (9, 33.2), (27, 32.7), (27, 31.4), (41, 31.0), (41, 32.3), (57, 31.9))
NORTH_SOUTH_KM = ((28.6, 57), (28.2, 44), (27.0, 44), (27, 32.7))


def counties(river: Shape) -> gpd.GeoDataFrame:
    """Return the counties (`name`, polygons in metres); together they fill the district and its margin."""
    around = box(MARGIN_M)
    lines = [
        shapely.LineString([at_km(*point) for point in points]) for points in (EAST_WEST_KM, NORTH_SOUTH_KM)
    ]
    pieces = shapely.union_all([around.boundary, *lines, _lower_river(river)])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(pieces)))
    held = [_holding(faces, at_km(east, north)) for _, east, north in HELD]
    return gpd.GeoDataFrame({"name": [name for name, _, _ in HELD]}, geometry=held, crs=METRES)


def _lower_river(river: Shape) -> shapely.LineString:
    """Return the river's last stretch across the district, carried on beyond its edges."""
    last = min(shapely.get_parts(shapely.line_merge(river)), key=lambda part: part.centroid.y)
    points = shapely.get_coordinates(shapely.simplify(last, 30))
    return shapely.LineString(
        np.vstack([_beyond(points[1], points[0]), points, _beyond(points[-2], points[-1])])
    )


def _beyond(inner: Floats, end: Floats) -> Floats:
    step = end - inner
    return end + step / np.hypot(*step) * 3 * MARGIN_M


def _holding(faces: list[shapely.Polygon], point: tuple[float, float]) -> shapely.Polygon:
    return next(face for face in faces if face.contains(shapely.Point(point)))
