"""A soil survey of the district: bottoms along the streams, uplands between them, water without a pH."""

import geopandas as gpd
import numpy as np
import shapely

from sample.land import METRES, Floats, Shape, at_km, box, dice, height_m, northness, waves
from sample.outlines import blob

UPLAND_COUNT = 78
PH_OF = {  # invented symbols
    "Rd-B": 5.6, "Rd-C": 5.3, "Kt-C": 5.1, "Kt-D": 5.0, "Sn-B": 4.9, "Sn-D": 4.8, "Pl-A": 5.7, "Pl-B": 5.5,
    "Dg-A": 6.0, "Ls-A": 6.6, "Bw-A": 5.9, "Fp-A": 6.2, "Sp-A": 5.2, "Water": np.nan,
}  # fmt: skip
HILLS, FALL_LINE, PLAIN = (
    ("Rd-B", "Rd-C", "Kt-C", "Kt-D"),
    ("Sn-B", "Sn-D", "Pl-B"),
    ("Pl-A", "Pl-B", "Dg-A", "Ls-A"),
)
WET = {"Sp-A": "poorly drained", "Bw-A": "somewhat poorly drained", "Fp-A": "moderately well drained"}
SLOPE_PCT = {"A": 1, "B": 4, "C": 9, "D": 17}  # by the letter that ends the symbol
LAKES_KM = ((21.0, 38.6, 620), (36.2, 20.4, 480))
UNSURVEYED_KM = ((0.0, 0.0, 9.0), (54.0, 54.0, 8.0))


def soil_survey(streams: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the map units (`map_unit`, `ph_water` of the top 6 in, drainage, slope, polygons in metres); none overlaps another."""
    water = _water(streams)
    bottoms = _bottoms(streams, water)
    kept_out = shapely.union_all([water, *(shape for _, shape in bottoms)])
    uplands = [(_upland_unit(cell), cell.difference(kept_out)) for cell in _upland_cells()]
    rows = [("Water", part) for part in shapely.get_parts(water)] + bottoms + uplands
    units = [unit for unit, _ in rows]
    shapes = [shape.intersection(box()) for _, shape in rows]
    columns = {
        "map_unit": units,
        "ph_water": [PH_OF[unit] for unit in units],
        "drainage": ["" if unit == "Water" else WET.get(unit, "well drained") for unit in units],
        "slope_pct": [SLOPE_PCT.get(unit[-1], np.nan) for unit in units],
    }
    table = gpd.GeoDataFrame(columns, geometry=shapes, crs=METRES)
    return table[table.geometry.area > 20_000].reset_index(drop=True)


def _water(streams: gpd.GeoDataFrame) -> Shape:
    river = streams[streams.stream_class == "river"].union_all().buffer(45)
    creeks = streams[streams.stream_class == "creek"].union_all()
    lakes = [
        blob(_on(creeks, at_km(east, north)), radius_m, dice(f"lake {radius_m}"))
        for east, north, radius_m in LAKES_KM
    ]
    return shapely.union_all([river.simplify(5), *lakes])


def _on(lines: Shape, point: tuple[float, float]) -> Floats:
    return shapely.get_coordinates(shapely.shortest_line(lines, shapely.Point(point)))[0]


def _bottoms(streams: gpd.GeoDataFrame, water: Shape) -> list[tuple[str, Shape]]:
    """Return a bottom along every longer stream, wider by the river, swampy where the land is flat."""
    wide = waves("bottoms", 5_000, 1_200)
    taken, bottoms = water, []
    for line, stream_class in zip(streams.geometry, streams.stream_class, strict=True):
        if line.length < 4_500:
            continue
        points = shapely.get_coordinates(shapely.segmentize(line, 120))
        width_m = 650 if stream_class == "river" else 260
        widths = width_m * np.clip(1 + 0.35 * wide(points[:, 0], points[:, 1]), 0.5, 2)
        bottom = shapely.union_all(shapely.buffer(shapely.points(points), widths)).simplify(12)
        flat = float(northness(points[:, 1]).mean()) < 0.3
        unit = "Fp-A" if stream_class == "river" else "Sp-A" if flat else "Bw-A"
        bottoms.append((unit, bottom.difference(taken)))
        taken = taken.union(bottom)
    return bottoms


def _upland_cells() -> list[shapely.Polygon]:
    """Return the uplands: cells around scattered points, their borders bent as soil borders are."""
    chance = dice("uplands")
    margin_m = 4_000
    left, bottom, right, top = box(margin_m).bounds
    count = round(UPLAND_COUNT * ((right - left) / (right - left - 2 * margin_m)) ** 2)
    points = np.column_stack([chance.uniform(left, right, count), chance.uniform(bottom, top, count)])
    cells = shapely.get_parts(
        shapely.voronoi_polygons(shapely.MultiPoint(points), extend_to=box(margin_m), ordered=True)
    )
    bent = shapely.transform(shapely.segmentize(cells, 300), _bent)
    kept = [cell for cell in bent if cell.intersects(box()) and not _unsurveyed(cell)]
    return [shapely.make_valid(cell) for cell in kept]


def _bent(points: Floats) -> Floats:
    x_m, y_m = points.T
    east, north = waves("bent east", 8_000, 2_400)(x_m, y_m), waves("bent north", 8_000, 2_400)(x_m, y_m)
    return points + 260 * np.column_stack([east, north])


def _unsurveyed(cell: shapely.Polygon) -> bool:
    middle = cell.centroid
    return any(
        middle.distance(shapely.Point(at_km(east, north))) < 1_000 * km for east, north, km in UNSURVEYED_KM
    )


def _upland_unit(cell: shapely.Polygon) -> str:
    """Return the map unit of an upland: by where it lies and how high."""
    x_m, y_m = np.array([cell.centroid.x]), np.array([cell.centroid.y])
    north = float(northness(y_m)[0])
    units = HILLS if north > 0.56 else FALL_LINE if north > 0.4 else PLAIN
    level = float(height_m(x_m, y_m)[0] - height_m(x_m + 3_000, y_m)[0])
    return units[int(abs(level * 7)) % len(units)]
