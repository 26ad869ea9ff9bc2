"""Where each client farms: a lane off a road, and the road cut in two where the lane leaves it."""

from dataclasses import dataclass
from typing import Literal

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from sample.land import METRES, Floats, Shape, at_km, dice
from sample.roads import winding


@dataclass(frozen=True)
class Place:
    """Where a client has fields [km east and north], a letter for the grass of each, and what is odd there."""

    east_km: float
    north_km: float
    grasses: str
    oddity: Literal["", "pond", "house", "two parts"] = ""


@dataclass(frozen=True)
class Farm:
    """One client: its code in field names, its usual field [ac], and its places."""

    client: str
    code: str
    usual_ac: float
    places: tuple[Place, ...]


FARMS = (
    Farm("Thistledrum", "TD", 22, (Place(15.0, 46.5, "hhhh"), Place(20.0, 51.0, "hch"))),
    Farm("O'Fennimore", "OF", 14, (Place(27.5, 43.0, "cch"), Place(32.5, 47.5, "hc"))),
    Farm("Núñez & Quarle", "NQ", 26, (Place(34.5, 38.5, "hhh", "two parts"), Place(30.0, 36.0, "hhh"))),
    Farm("Grebble Brothers", "GB", 16, (Place(6.5, 36.0, "hch"), Place(8.0, 49.5, "nh"))),
    Farm("Vandersloop Cattle", "VC", 48, (Place(44.0, 41.0, "hhh", "house"), Place(47.0, 50.5, "hbh"))),
    Farm("Ottoline Yarrow", "OY", 11, (Place(20.5, 28.5, "nnh"),)),
    Farm("Björkhage", "BH", 18, (Place(33.0, 26.5, "hhhhn"),)),
    Farm("Sorrelwink", "SW", 24, (Place(15.5, 21.0, "hhb"), Place(7.5, 21.0, "hhb"))),
    Farm("D'Arbelline", "DA", 13, (Place(39.5, 29.0, "hchc"),)),
    Farm("Muckalow Stables", "MS", 8, (Place(46.0, 18.0, "hhhh"),)),
    Farm("Twelve Herons", "TH", 60, (Place(25.5, 15.5, "hhhh", "pond"), Place(20.0, 9.0, "hbb"))),
    Farm("Hobb Tarnley", "HT", 15, (Place(37.5, 13.5, "nhnh"),)),
    Farm("Cindermere Goats", "CG", 9, (Place(9.0, 9.5, "bbh"),)),
    Farm("Łysek & Sons", "LS", 40, (Place(49.0, 10.0, "bhb"), Place(38.0, 5.5, "bh"))),
)


def with_lanes(
    roads: gpd.GeoDataFrame, streams: Shape
) -> tuple[gpd.GeoDataFrame, dict[Place, shapely.LineString]]:
    """Return the roads with a lane to every place, each joined to its road end to end, and the lanes by place."""
    lanes = {}
    for farm in FARMS:
        for place in farm.places:
            roads, lanes[place] = _with_lane(roads, place, streams)
    return roads.reset_index(drop=True), lanes


def _with_lane(
    roads: gpd.GeoDataFrame, place: Place, streams: Shape
) -> tuple[gpd.GeoDataFrame, shapely.LineString]:
    number, turn_off_m = _turn_off(roads, place)
    road = roads.geometry.iloc[number]
    around = road.interpolate(turn_off_m).buffer(3_000).bounds
    blocked = shapely.clip_by_rect(shapely.union_all([streams, *roads.geometry]), *around).buffer(80)
    lane = min(_possible_lanes(road, turn_off_m, place), key=lambda line: line.intersection(blocked).length)
    added = gpd.GeoDataFrame(
        {"road_class": [roads.road_class.iloc[number]] * 2 + ["farm"]},
        geometry=[*_halves(road, turn_off_m), lane],
        crs=METRES,
    )
    return pd.concat([roads.drop(roads.index[number]), added], ignore_index=True), lane


def _turn_off(roads: gpd.GeoDataFrame, place: Place) -> tuple[int, float]:
    """Return the county road nearest to the place and how far along it the lane leaves [m]."""
    home = shapely.Point(*at_km(place.east_km, place.north_km))
    gaps = roads.geometry.distance(home).to_numpy() + np.where(roads.road_class == "county", 0, 1e6)
    number = int(np.argmin(gaps))
    road = roads.geometry.iloc[number]
    return number, float(np.clip(road.project(home), 0.25 * road.length, 0.75 * road.length))


def _halves(road: shapely.LineString, cut_m: float) -> list[shapely.LineString]:
    """Return `road` in two pieces that share a rounded point."""
    middle = np.round(road.interpolate(cut_m).coords[0], 2)
    first = shapely.get_coordinates(substring(road, 0, cut_m))
    second = shapely.get_coordinates(substring(road, cut_m, road.length))
    first[-1] = second[0] = middle
    return [shapely.LineString(first), shapely.LineString(second)]


def _possible_lanes(road: shapely.LineString, turn_off_m: float, place: Place) -> list[shapely.LineString]:
    """Return lanes that leave the road at about a right angle, two on each side."""
    start = np.round(np.array(road.interpolate(turn_off_m).coords[0]), 2)
    ahead = np.array(road.interpolate(turn_off_m + 50).coords[0]) - start
    heading = np.arctan2(ahead[1], ahead[0])
    topic = f"lane {place.east_km} {place.north_km}"
    chance = dice(topic)
    length_m = chance.uniform(900, 1_300) * (len(place.grasses) / 4) ** 0.5
    turns = [side * (np.pi / 2 + chance.uniform(-0.35, 0.35)) for side in (1, 1, -1, -1)]
    ends = [_beyond(start, heading + turn, length_m) for turn in turns]
    return [winding(np.vstack([start, end]), topic, 0.09) for end in ends]


def _beyond(start: Floats, heading: float, length_m: float) -> Floats:
    return start + length_m * np.array([np.cos(heading), np.sin(heading)])
