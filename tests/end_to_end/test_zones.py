"""Last-cut zones of the sample region: the same law as the plan's, and days that are safe wherever they are written."""

from dataclasses import replace
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from spatial.inputs.crews import no_crews
from spatial.inputs.fields import geodesic_area_ha
from spatial.inputs.region import Region
from spatial.plan import make_plan
from spatial.settings import Settings, settings_with
from spatial.zones import Zones, make_zones

ON = date(2026, 9, 8)
SIDE_M = 60.0
START = pd.Timestamp("2026-08-01")


@pytest.fixture(scope="module")
def settings(region: Region) -> Settings:
    return settings_with(ON, region.settings)


@pytest.fixture(scope="module")
def zones(region: Region, settings: Settings) -> Zones:
    return make_zones(region, settings)


@pytest.fixture(scope="module")
def cells(zones: Zones) -> gpd.GeoSeries:
    """The centre of every cell of the zones, row by row, in EPSG:4326."""
    grid = zones.grid
    row, column = np.mgrid[0 : grid.rows, 0 : grid.columns]
    x, y = grid.left + (column + 0.5) * grid.cell_width, grid.top - (row + 0.5) * grid.cell_height
    return gpd.GeoSeries(shapely.points(x.ravel(), y.ravel()), crs=grid.crs).to_crs(4326)


def tiny_fields(region: Region, zones: Zones, cells: gpd.GeoSeries) -> tuple[gpd.GeoDataFrame, np.ndarray]:
    """Return the sample's fields made small in the middle of cells all over the district, and these cells."""
    known = np.flatnonzero(~np.isnan(zones.layers[0].last_cut_days.ravel()))
    chosen = known[np.linspace(0, len(known) - 1, len(region.fields)).astype(int)]
    half = SIDE_M / 2
    squares = (
        cells.iloc[chosen]
        .to_crs(zones.grid.crs)
        .apply(lambda point: shapely.box(point.x - half, point.y - half, point.x + half, point.y + half))
    )
    outlines = gpd.GeoSeries(squares, crs=zones.grid.crs).to_crs(4326).to_numpy()
    fields = region.fields.assign(stubble_cm=np.nan, cold_offset_c=np.nan).set_geometry(outlines)
    return fields.assign(area_ha=geodesic_area_ha(fields.geometry)), chosen


@pytest.mark.parametrize("chance", [0.1, 0.2, 0.5])
def test_a_small_field_in_a_cell_has_the_date_of_the_cell(region, zones, cells, settings, chance):
    fields, chosen = tiny_fields(region, zones, cells)
    asked = replace(settings, chance=chance)
    small = replace(region, fields=fields, crews=no_crews(), roads=None)
    planned = make_plan(small, asked).fields
    layers = {layer.grass: layer for layer in make_zones(small, asked).layers if layer.chance == chance}
    days = [
        layers[grass].last_cut_days.ravel()[cell] for grass, cell in zip(fields["grass"], chosen, strict=True)
    ]
    expected = START + pd.to_timedelta(days, unit="D")
    assert (planned["last_cut_date"].to_numpy() == expected.to_numpy()).all()
    assert planned["last_cut_date"].nunique() > 5


def test_the_grasses_of_the_fields_are_shown_most_land_first(region, zones):
    land = region.fields.groupby("grass")["area_ha"].sum().sort_values(ascending=False)
    assert list(dict.fromkeys(layer.grass for layer in zones.layers)) == land.index.tolist()


def test_wherever_a_zone_is_drawn_its_day_is_no_later_than_the_cell_allows(zones, cells):
    for layer in zones.layers:
        own = zones.bands[(zones.bands["grass"] == layer.grass) & (zones.bands["chance"] == layer.chance)]
        days, found = layer.last_cut_days.ravel(), 0
        for zone in own.itertuples():
            inside = cells.within(zone.geometry).to_numpy()
            assert (START + pd.to_timedelta(days[inside], unit="D")).min() == zone.cut_by_date
            found += inside.sum()
        assert found == np.count_nonzero(~np.isnan(days))


def test_the_zones_of_a_layer_share_their_edges(zones):
    for _layer, own in zones.bands.groupby(["grass", "chance"]):
        assert shapely.coverage_is_valid(own.geometry.to_numpy())


def test_the_zones_cover_the_land_that_has_a_date(zones):
    # 3,600 cells of 1 km, less those that are not known; the ground under UTM differs by a few parts in 10,000.
    layer, whole = zones.layers[0], zones.bands.groupby(["grass", "chance"])["area_ha"].sum()
    known_ha = 100 * np.count_nonzero(~np.isnan(layer.last_cut_days))
    assert whole.to_numpy() == pytest.approx(known_ha, rel=0.005)


def test_a_greater_chance_never_gives_an_earlier_day(zones):
    by = {(layer.grass, layer.chance): layer.last_cut_days for layer in zones.layers}
    for grass, chance in by:
        if chance == 0.2:
            known = ~np.isnan(by[grass, 0.2])
            assert (by[grass, 0.2][known] <= by[grass, 0.5][known]).all()


def test_half_the_land_of_a_county_has_its_date_by_the_middle_one(region, zones, cells):
    layer = zones.layers[0]
    for row in zones.areas[
        (zones.areas["grass"] == layer.grass) & (zones.areas["chance"] == layer.chance)
    ].itertuples():
        county = region.context["counties"].set_index("name").geometry[row.area]
        days = layer.last_cut_days.ravel()[cells.within(county).to_numpy()]
        date_of = START + pd.to_timedelta(days[~np.isnan(days)], unit="D")
        # By cell centres alone, so near half and not half.
        assert (date_of <= row.middle_date).mean() > 0.45
        assert (date_of < row.middle_date).mean() < 0.55
        assert row.earliest_date <= row.middle_date <= row.latest_date <= date_of.max()


def test_every_zone_says_what_to_do_in_words_and_codes_that_are_known(zones):
    for band in zones.bands.itertuples():
        assert band.reasons[0].code == "zone_cut_by"
        assert band.reasons[0].values["cut_by_date"] == band.cut_by_date
        # The grass's own cap leaves no curve: the freeze alone would invite a later cut.
        assert len(band.risk) == (0 if band.grass == "native_warm_season" else 50)
    assert zones.bands["zone_id"].is_unique
