"""Makes the sample region: an invented district with everything in it, the same in every run.

python scripts/make_sample_region.py [OUT]
"""

import sys
from pathlib import Path

import geopandas as gpd

from sample.counties import counties
from sample.farms import with_lanes
from sample.fields import fields
from sample.freeze import write_freeze
from sample.people import clients, crews, outlook
from sample.roads import main_roads, towns, with_loose_track
from sample.season import season_log
from sample.soil_grid import write_soil_grid
from sample.soil_tests import LABS, soil_tests
from sample.streams import streams
from sample.survey import soil_survey
from sample.texts import REGION, SOURCES
from sample.weather import daily_minima, station_places, write_elevation
from sample.write import write_layer, write_table, write_text


def make(out: Path) -> None:
    """Write every file of the region into folder `out`."""
    out.mkdir(parents=True, exist_ok=True)
    water = streams()
    river = water[water.stream_class == "river"].union_all()
    roads, lanes = with_lanes(main_roads(river), water.union_all())
    hay = fields(roads, lanes, water)
    _write_layers(out, hay, with_loose_track(roads, hay), water)
    _write_tables(out, hay)
    write_layer(out / "counties.gpkg", counties(river), "Polygon")
    write_freeze(out / "freeze_seasons.tif", water)
    write_elevation(out / "elevation.tif")
    write_soil_grid(out / "soil_ph_0_5cm.tif", out / "soil_ph_5_15cm.tif")
    write_table(out / "station_places.csv", station_places())
    write_table(out / "daily_minima.csv.gz", daily_minima(water))
    write_text(out / "region.toml", REGION)
    write_text(out / "SOURCES.md", SOURCES)


def _write_layers(out: Path, hay: gpd.GeoDataFrame, roads: gpd.GeoDataFrame, water: gpd.GeoDataFrame) -> None:
    write_layer(out / "fields.gpkg", hay, "MultiPolygon")
    write_layer(out / "roads.gpkg", roads, "LineString")
    write_layer(out / "streams.gpkg", water, "MultiLineString")
    write_layer(out / "towns.gpkg", towns(), "Point")
    write_layer(out / "soil_survey.gpkg", soil_survey(water), "MultiPolygon")


def _write_tables(out: Path, hay: gpd.GeoDataFrame) -> None:
    write_table(out / "crews.csv", crews())
    write_table(out / "clients.csv", clients())
    write_table(out / "outlook.csv", outlook())
    write_table(out / "season_log.csv", season_log(hay))
    for name, lab in LABS.items():
        write_table(out / f"soil_tests_{name}.csv", soil_tests(lab, hay))


if __name__ == "__main__":
    make(Path(sys.argv[1] if len(sys.argv) > 1 else "sample_region"))
