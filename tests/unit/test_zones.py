"""What last-cut zones promise: the law of the fields on every cell, days that are safe, and clear refusals."""

from dataclasses import replace
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import CRS

from spatial.agronomy.risk import risk_curves
from spatial.agronomy.zone_bands import risk_of_zone
from spatial.errors import InputError, Stopped
from spatial.inputs.region import Region
from spatial.raster.cover import cells_under
from spatial.raster.kinds import kinds_of
from spatial.raster.land_days import land_days
from spatial.settings import Settings, settings_with
from spatial.values import FreezeLayer, Grid, MoreBands, error_band
from spatial.zones import Zones, make_zones
from spatial.zoning.by_area import LAND_SHARES
from spatial.zoning.small_weeks import without_small_weeks
from tests.unit.making import lines_of

ON = date(2026, 9, 8)
UTM = CRS.from_epsg(32617)
NAN, NEVER = np.nan, np.inf
HYBRID = "hybrid_bermudagrass"
# Days since 1 August: 92 is 1 November, and 35 days of regrowth before it is 27 September.
NOVEMBER = 92


def layer(bands, chances=(), more=None, threshold_c=-2.2, cell=1000.0):
    """A freeze layer of the bands (bands, rows, columns) within the sample district."""
    values = np.array(bands, dtype=np.float32)
    grid = Grid(UTM, 260_000.0, 3_640_000.0, cell, cell, *values.shape[1:])
    seasons = () if chances else tuple(range(1991, 1991 + len(values)))
    kind = "chances" if chances else "seasons"
    extra = None if more is None else MoreBands(tuple(more), reading(np.stack(list(more.values()))))
    return FreezeLayer(
        kind, threshold_c, grid, tuple(chances), seasons, "season_start", reading(values), "freeze.tif", extra
    )


def reading(values):
    values = np.asarray(values, dtype=np.float32)

    def read(window):
        rows = slice(window.row, window.row + window.rows)
        return values[:, rows, window.column : window.column + window.columns]

    return read


def flat(*days, rows=4):
    """One band a day, the same on four rows and as many columns."""
    return [np.full((rows, 4), day) for day in days]


@pytest.fixture
def place(region: Region) -> Region:
    """The sample district without its counties."""
    return replace(region, context={})


def zones_of(place: Region, freeze: FreezeLayer, **how) -> Zones:
    settings = how.pop("settings", Settings(on=ON))
    return make_zones(replace(place, freeze=freeze), settings, grasses=how.pop("grasses", [HYBRID]), **how)


def at(zones: Zones, chance: float):
    return zones.bands[zones.bands["chance"] == chance].reset_index(drop=True)


def codes(reasons):
    return [one.code for one in reasons]


def test_the_date_is_the_freeze_less_the_grass_days_of_regrowth(place):
    zones = zones_of(place, layer(flat(*[NOVEMBER] * 10)))
    band = at(zones, 0.2).iloc[0]
    assert band["cut_by_date"] == band["latest_date"] == pd.Timestamp("2026-09-27")
    assert band["freeze_from_date"] == band["freeze_to_date"] == pd.Timestamp("2026-11-01")
    assert zones.layers[0].last_cut_days.tolist() == [[57.0] * 4] * 4


def test_a_layer_stands_for_each_grass_at_the_chance_asked_for_and_at_the_average(place):
    zones = zones_of(place, layer(flat(80, 90, 100)), grasses=[HYBRID, "bahiagrass"])
    kinds = [(one.grass, one.chance) for one in zones.layers]
    assert kinds == [(HYBRID, 0.2), (HYBRID, 0.5), ("bahiagrass", 0.2), ("bahiagrass", 0.5)]


def test_the_average_is_not_shown_twice(place):
    zones = zones_of(place, layer(flat(80, 90, 100)), settings=Settings(on=ON, chance=0.5))
    assert [one.chance for one in zones.layers] == [0.5]
    assert "coin_toss" in codes(zones.bands["reasons"][0])


def test_a_cell_without_a_freeze_has_the_date_of_growth_and_lies_in_a_zone(place):
    zones = zones_of(place, layer(flat(*[NEVER] * 10)))
    band = at(zones, 0.2).iloc[0]
    assert band["no_freeze"]
    assert pd.isna(band["freeze_from_date"])
    assert band["cut_by_date"] > pd.Timestamp("2026-09-01")
    assert {"chance_not_reached", "zone_growth_rules"} <= set(codes(band["reasons"]))


def test_a_zone_with_a_freeze_in_part_of_it_says_so(place):
    # Cells with a freeze at the end of December and cells without have one date, that of growth.
    half = [np.array([[150, 150, NEVER, NEVER]] * 4)] * 10
    band = at(zones_of(place, layer(half)), 0.2).iloc[0]
    assert band["freeze_from_date"] == pd.Timestamp("2026-12-29")
    assert pd.isna(band["freeze_to_date"])
    assert not band["no_freeze"]
    assert "zone_freeze_in_places" in codes(band["reasons"])


def test_a_cell_of_which_nothing_is_known_lies_in_no_zone(place):
    days = np.full((4, 6), float(NOVEMBER))
    days[:, 3:] = NAN
    zones = zones_of(place, layer([days] * 10))
    assert np.isnan(zones.layers[0].last_cut_days[:, 3:]).all()
    centres = gpd.GeoSeries(shapely.points(260_500 + 1000 * np.arange(6), 3_638_500), crs=UTM).to_crs(4326)
    within = centres.within(at(zones, 0.2).geometry[0])
    assert within.tolist() == [True, True, True, False, False, False]


def test_the_day_of_a_zone_is_safe_in_each_of_its_cells(place):
    rng = np.random.default_rng(4)
    zones = zones_of(place, layer(rng.integers(70, 120, (20, 15, 15))))
    row, column = np.mgrid[0:15, 0:15]
    centres = gpd.GeoSeries(
        shapely.points(260_500 + 1000 * column.ravel(), 3_639_500 - 1000 * row.ravel()), crs=UTM
    ).to_crs(4326)
    own = zones.layers[0].last_cut_days.ravel()
    found = 0
    for band in at(zones, 0.2).itertuples():
        inside = centres.within(band.geometry).to_numpy()
        dates = pd.Timestamp("2026-08-01") + pd.to_timedelta(own[inside], unit="D")
        assert dates.min() == band.cut_by_date
        assert dates.max() == band.latest_date
        found += inside.sum()
    assert found == 225


def test_weeks_are_counted_from_the_first_day_of_the_season_on_every_map(place):
    # 54 to 55 days after 1 August and 56 to 57: a new week begins with day 56, eight weeks after the first.
    days = np.array([[54, 54, 55, 55, 56, 56, 57, 57]] * 4) + 35.0
    cut_by = at(zones_of(place, layer([days] * 10)), 0.2)["cut_by_date"]
    assert cut_by.tolist() == [pd.Timestamp("2026-09-24"), pd.Timestamp("2026-09-26")]


def test_the_risk_of_a_zone_of_one_cell_is_that_of_a_field_there():
    days = [88.0, 90, 91, 95, 99, 101, 104, NEVER, NAN, 86.5]
    counts = np.zeros(368)
    for day in (one for one in days if not np.isnan(one)):
        counts[-1 if np.isinf(day) else int(day)] += 3.7
    found = risk_of_zone(counts, 55, 35)
    field = pd.DataFrame({"last_cut_date": [pd.Timestamp("2026-09-25")], "regrowth_days": [35.0]})
    (curve,) = risk_curves(field, pd.DataFrame([days]), date(2026, 8, 1))
    assert [(pd.Timestamp("2026-08-01") + pd.Timedelta(days=day), share) for day, share in found] == list(
        curve
    )


def test_the_risk_of_a_zone_weighs_the_seasons_of_all_its_cells(place):
    # One week, two halves: in the first 3 seasons of 10 freeze too soon for a cut on day 57, in the second none.
    west = [NOVEMBER - 1] * 3 + [NOVEMBER] * 7
    days = np.array([[[one, one, NOVEMBER, NOVEMBER]] * 4 for one in west], dtype=float)
    band = at(zones_of(place, layer(days)), 0.5).iloc[0]
    assert dict(band["risk"])[pd.Timestamp("2026-09-27")] == pytest.approx(0.15, abs=0.001)


def test_a_layer_of_chances_has_no_risk_and_tells_its_error(place):
    bands, error = flat(85, 92, 99), np.full((4, 4), 2.6)
    freeze = layer(bands, chances=(0.1, 0.2, 0.5), more={error_band(0.1): error, error_band(0.5): error})
    band = at(zones_of(place, freeze), 0.2).iloc[0]
    assert band["risk"] == ()
    (why,) = (one for one in band["reasons"] if one.code == "zone_freeze_error")
    assert why.values["error_days"] == 3


def test_a_layer_that_does_not_go_to_the_average_says_so(place):
    zones = zones_of(place, layer(flat(85, 92), chances=(0.1, 0.2)))
    assert [one.chance for one in zones.layers] == [0.2]
    assert "zone_no_average" in codes(zones.notes)
    assert zones.areas["average_middle_date"].isna().all()


def test_without_counties_the_whole_layer_is_one_area(place):
    zones = zones_of(place, layer(flat(*[NOVEMBER] * 10)))
    assert (zones.grid.rows, zones.grid.columns) == (4, 4)
    assert set(zones.areas["area"]) == {place.name}
    assert zones.areas["cover_share"].tolist() == pytest.approx([1.0, 1.0])


def test_the_table_counts_land_from_the_earliest_date_on():
    grid = Grid(UTM, 260_000.0, 3_640_000.0, 1000.0, 1000.0, 1, 20)
    area = gpd.GeoSeries([shapely.box(260_000, 3_639_000, 280_000, 3_640_000)], crs=UTM)
    days, land = np.arange(40.0, 60.0)[np.newaxis], np.ones((1, 20))
    found = land_days(days, cells_under(area, grid), land, [0.05, 0.5, 0.95])
    assert found[:, 0].tolist() == [40, 49, 58]


def test_earliest_and_latest_leave_out_a_hundredth_of_the_land():
    assert LAND_SHARES == {"earliest_date": 0.01, "middle_date": 0.5, "latest_date": 0.99}


def test_half_a_cell_counts_half_and_unknown_land_not_at_all():
    grid = Grid(UTM, 260_000.0, 3_640_000.0, 1000.0, 1000.0, 1, 3)
    areas = gpd.GeoSeries(
        [
            shapely.box(260_600, 3_639_000, 262_000, 3_640_000),
            shapely.box(262_000, 3_639_000, 263_000, 3_640_000),
        ],
        crs=UTM,
    )
    found = land_days(np.array([[50.0, 60.0, NAN]]), cells_under(areas, grid), np.ones((1, 3)), [0.28, 0.3])
    assert found[:, 0].tolist() == [50, 60]
    assert np.isnan(found[:, 1]).all()


def test_each_area_given_has_its_dates_and_equal_names_are_one_area(place):
    days = np.array([[NOVEMBER] * 2 + [NOVEMBER + 5] * 2] * 4, dtype=float)
    boxes = [
        shapely.box(260_000 + 1000 * west, 3_636_000, 261_000 + 1000 * west, 3_640_000) for west in range(4)
    ]
    given = gpd.GeoDataFrame({"name": ["West", "West", "East", ""]}, geometry=boxes, crs=UTM)
    found = zones_of(place, layer([days] * 10), areas=given).areas
    found = found[found["chance"] == 0.2].set_index("area")["middle_date"]
    assert found.to_dict() == {
        "East": pd.Timestamp("2026-10-02"),
        "West": pd.Timestamp("2026-09-27"),
        "unnamed 4": pd.Timestamp("2026-10-02"),
    }


def test_an_area_beyond_the_layer_stands_in_the_table_without_a_date(place):
    far = gpd.GeoDataFrame({"name": ["Far"]}, geometry=[shapely.box(-90, 40, -89, 41)], crs=4326)
    row = zones_of(place, layer(flat(*[NOVEMBER] * 10)), areas=far).areas.iloc[0]
    assert row["cover_share"] == 0
    assert pd.isna(row["middle_date"])


def test_only_the_part_of_the_layer_around_the_areas_and_fields_is_mapped(place):
    near = gpd.GeoDataFrame(
        {"name": ["Near"]}, geometry=[shapely.box(261_100, 3_638_100, 262_900, 3_638_900)], crs=UTM
    )
    nowhere = replace(place, fields=place.fields.iloc[:1].set_geometry(near.to_crs(4326).geometry.to_numpy()))
    zones = zones_of(nowhere, layer([np.full((8, 8), float(NOVEMBER))] * 10), areas=near)
    assert (zones.grid.left, zones.grid.top, zones.grid.rows, zones.grid.columns) == (
        261_000,
        3_639_000,
        1,
        2,
    )


def test_the_reader_is_told_of_areas_that_the_layer_does_not_reach(place):
    boxes = [shapely.box(-90, 40, -89, 41), shapely.box(-89, 30, -70, 35)]
    far = gpd.GeoDataFrame({"name": ["Far", "Near"]}, geometry=boxes, crs=4326)
    zones = zones_of(place, layer(flat(*[NOVEMBER] * 10)), areas=far)
    assert [one.values["area"] for one in zones.notes if one.code == "zone_area_outside"] == ["Far"]


def test_whose_land_the_table_tells_of_is_known(region, place):
    freeze = layer(flat(*[NOVEMBER] * 10))
    box = gpd.GeoDataFrame({"name": ["A"]}, geometry=[shapely.box(-89, 30, -70, 35)], crs=4326)
    kinds = [
        zones_of(region, freeze).area_kind,
        zones_of(place, freeze).area_kind,
        zones_of(region, freeze, areas=box).area_kind,
    ]
    assert kinds == ["counties", "district", "areas"]


@pytest.mark.parametrize(
    ("on", "said"),
    [
        (date(2026, 9, 27), []),  # the last-cut date itself
        (date(2026, 9, 28), [(2026, 2027, "2027-04-01")]),
        (date(2027, 1, 15), [(2026, 2027, "2027-04-01")]),
        (date(2027, 4, 1), []),
    ],
)
def test_dates_that_are_all_past_are_called_so_and_the_next_season_is_named(place, on, said):
    zones = zones_of(place, layer(flat(*[NOVEMBER] * 10)), settings=Settings(on=on))
    notes = [tuple(one.values.values()) for one in zones.notes if one.code == "zone_past"]
    assert notes == said


@pytest.mark.parametrize(("cell", "coarse"), [(3000.0, False), (10_000.0, True)])
def test_a_layer_of_large_cells_is_called_coarse(place, cell, coarse):
    zones = zones_of(place, layer(flat(*[NOVEMBER] * 10), cell=cell))
    assert ("zone_coarse" in codes(zones.notes)) == coarse


# Weeks that hold next to no land


def merged(*weeks):
    """The weeks of 1,000 equal cells, given as (week, cells, first day)."""
    cells = np.repeat([week for week, _count, _day in weeks], [count for _week, count, _day in weeks])
    own = np.repeat([float(day) for _week, _count, day in weeks], [count for _week, count, _day in weeks])
    found = without_small_weeks(cells[np.newaxis].astype(np.int32), own[np.newaxis], np.ones((1, len(cells))))
    return dict(zip(*np.unique(found, return_counts=True), strict=True))


def test_a_week_of_under_a_hundredth_of_the_land_joins_the_one_before_it():
    assert merged((8, 500, 56), (9, 9, 63), (10, 491, 70)) == {8: 509, 10: 491}
    assert merged((8, 500, 56), (9, 10, 63), (10, 490, 70)) == {8: 500, 9: 10, 10: 490}


def test_a_small_first_week_takes_in_one_that_begins_a_day_later():
    # 2 October, 62 days after 1 August, ends a week; the land of 3 October is called by it.
    assert merged((8, 3, 62), (9, 997, 63)) == {8: 1000}


def test_a_small_place_with_an_early_freeze_stays_on_the_map():
    assert merged((8, 3, 58), (9, 997, 63)) == {8: 3, 9: 997}


def test_land_of_which_nothing_is_known_counts_for_no_week():
    assert merged((-9999, 990, NAN), (8, 5, 56), (9, 5, 63)) == {-9999: 990, 8: 5, 9: 5}


def refusal(place, freeze, **how):
    with pytest.raises(InputError) as refused:
        zones_of(place, freeze, **how)
    return lines_of(refused.value.problems)


def test_a_grass_that_needs_another_threshold_is_refused(place):
    (line,) = refusal(place, layer(flat(90), threshold_c=0.0))
    assert line.startswith("freeze.tif: threshold: is 32.0 F, but hybrid bermudagrass needs 28.0 F.")


@pytest.mark.parametrize(
    ("grass", "cause"),
    [("bermudda", "is not known"), ("pearl_millet", "is an annual and has no last-cut date")],
)
def test_a_grass_without_a_date_is_refused_with_those_that_have_one(place, grass, cause):
    (line,) = refusal(place, layer(flat(90)), grasses=[grass])
    assert line.startswith(f"zones: grass '{grass}': {cause}. Use one of: ")
    assert HYBRID in line
    assert "millet" not in line.split("Use")[1]


def test_a_grass_may_be_named_as_people_call_it(place):
    assert zones_of(place, layer(flat(90)), grasses=["Hybrid bermudagrass"]).layers[0].grass == HYBRID


def test_a_region_without_a_freeze_layer_or_with_one_that_ends_too_soon_is_refused(place):
    assert "is not given" in refusal(place, None)[0]
    asked = Settings(on=ON, chance=0.2)
    assert (
        "has the chances 0.3 to 0.5"
        in refusal(place, layer(flat(90, 95), chances=(0.3, 0.5)), settings=asked)[0]
    )


def test_a_layer_that_knows_nothing_of_the_district_is_refused(place):
    assert refusal(place, layer(flat(NAN, NAN))) == [
        "freeze.tif: says nothing of this district. Check its place and its coordinate system"
    ]


def test_fields_without_a_grass_that_has_a_date_are_refused_unless_one_is_named(place):
    annual = replace(place, fields=place.fields.assign(grass="pearl_millet"))
    assert "name no grass that has a last-cut date" in refusal(annual, layer(flat(90)), grasses=[])[0]
    assert len(zones_of(annual, layer(flat(90))).layers) == 2


def test_a_run_can_be_stopped(place):
    def stop(_step, _share):
        raise Stopped

    with pytest.raises(Stopped):
        zones_of(place, layer(flat(90)), tell=stop)


def test_a_southern_district_has_its_dates_in_its_own_fall(place):
    south = replace(
        place,
        season_start=(2, 1),
        fields=place.fields.set_geometry(place.fields.geometry.scale(1, -1, origin=(0, 0))),
        freeze=None,
    )
    freeze = layer(flat(*[110] * 10))
    grid = replace(freeze.grid, crs=CRS.from_epsg(32717), top=10_000_000.0 - 3_636_000.0)
    zones = make_zones(
        replace(south, freeze=replace(freeze, grid=grid)), settings_with(date(2026, 3, 20)), grasses=[HYBRID]
    )
    # Day 110 after 1 February is 22 May; with 35 days of regrowth, 17 April or, if growth says so, before.
    assert pd.Timestamp("2026-03-01") < zones.bands["cut_by_date"][0] <= pd.Timestamp("2026-04-17")


def test_kinds_are_the_distinct_values_and_the_place_of_each():
    kinds, place = kinds_of(np.array([[7, -2], [7, 100]]))
    assert kinds.tolist() == [-2, 7, 100]
    assert place.tolist() == [[1, 0], [1, 2]]
    assert kinds_of(np.empty(0, dtype=int))[0].tolist() == []
