"""The words of the sample region: its region.toml, and where everything in it comes from."""

REGION = """\
# An invented district; SOURCES.md says how it was made.
format = 1
name = "Ossamee River district"
time_zone = "America/New_York"
units = "us"
season_start = "08-01"

[fields]
file = "fields.gpkg"
layer = "fields"

[freeze]
file = "freeze_seasons.tif"
kind = "seasons"
threshold_f = 28
day_count = "season_start"
no_freeze_value = 999

[soil_tests]
files = ["soil_tests_mill_creek.csv", "soil_tests_two_rivers.csv"]

[labs."Mill Creek Soil Laboratory"]
lime_rnv_pct = 100

[labs."Two Rivers Agricultural Testing"]
lime_rnv_pct = 90

[lime]
product = "Bald Knob quarry lime"
cce_pct = 90
through_10_mesh_pct = 95
through_50_mesh_pct = 40

[survey]
file = "soil_survey.gpkg"
columns = { ph = "ph_water" }
date = "2024-10-01"

[soil_rasters.ph]
files = ["soil_ph_0_5cm.tif", "soil_ph_5_15cm.tif"]
depths_cm = [0, 5, 15]
scale = 0.1
date = "2023-06-01"

[roads]
file = "roads.gpkg"

[crews]
file = "crews.csv"

[outlook]
file = "outlook.csv"

[clients]
file = "clients.csv"

[season_log]
file = "season_log.csv"

[context]
counties = "counties.gpkg"
towns = "towns.gpkg"
streams = "streams.gpkg"

[settings]
chance = 0.2
"""

SOURCES = """\
# Where this region comes from

Everything in this folder is invented. No person, farm, laboratory, town, county, stream, road, freeze date, soil
value or weather in it is real, and no file of anyone else went into it. The coordinates are real ground, about
32.6 to 33.1 N and 83.6 to 83.0 W along the fall line of Georgia, but nothing drawn on them is there. Grass and
cultivar names are public ones. Do not take a date or a rate from here to a real field.

`python scripts/make_sample_region.py [OUT]` makes it again: the same content in every run, and the same bytes on
the same machine with the package versions in `scripts/constraints.txt`.

| file | what it is | how it was made |
|---|---|---|
| region.toml | what belongs to the region | written by hand |
| fields.gpkg | 70 hay fields of 14 clients on 4 grasses; two have holes (a pond, a house), one has two parts | land \
along lanes and roads, without verges, stream banks and woods, cut to the farm's usual size |
| freeze_seasons.tif | first day at or below 28 F in each of 30 seasons, as days since 1 August; 1 km cells, UTM 17 N; \
-1 unknown (a corner without fields), 999 no freeze came (the south, in the three mildest seasons) | a middling day, \
earlier in the north, on high ground and on valley floors; an anomaly for each season; small noise |
| daily_minima.csv.gz, station_places.csv | daily minima of 18 stations over 20 seasons in whole deg F, and where they \
stand; the plan does not use them | a year's course with weather that lasts some days; colder in the north and on \
valley floors |
| elevation.tif | heights of the land, 300 m cells, whole metres | the invented height surface |
| soil_tests_mill_creek.csv | 27 tests: Mehlich-1 in lb/ac, Adams-Evans buffer; the newest with the laboratory's own \
rates of lime and K2O | drawn around usual values |
| soil_tests_two_rivers.csv | 19 tests: Mehlich-3 in ppm, Mehlich buffer; one field in two zones | drawn around usual \
values |
| soil_ph_0_5cm.tif, soil_ph_5_15cm.tif | pH times ten of a corner that is not surveyed, 250 m cells | a smooth \
surface around 5.7 |
| soil_survey.gpkg | map units with pH, drainage and slope; two corners are not surveyed, water has no pH | bottoms along the streams, \
bent cells between them; invented symbols |
| roads.gpkg | highways, county roads and farm lanes | crossroads joined to near neighbours, few bridges; one farm \
track was drawn without joining it to a road, as happens |
| towns.gpkg, counties.gpkg | 10 towns, 4 counties | placed by hand; counties meet at surveyed lines and a river |
| streams.gpkg | a river and its creeks | where water gathers on an invented height surface |
| crews.csv, clients.csv | two crews, 14 clients | written by hand; herds and stored hay drawn |
| outlook.csv | ten days from 8 September 2026, with rain in the middle | written by hand |
| season_log.csv | cuts, heights, sprayings and notes of this season up to 7 September 2026 | partly by hand |

The region is meant to be planned for 8 September 2026: `lastcut plan sample_region --on 2026-09-08`.
"""
