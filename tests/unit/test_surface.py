"""What bringing stations' freeze dates to a surface promises."""

import numpy as np
import pandas as pd
import pytest
from pyproj import CRS, Transformer

from spatial.climate.surface.stations_to_grid import check_heights, freeze_surface
from spatial.daily import Terrain
from spatial.errors import InputError
from spatial.reasons import CODES, reason
from spatial.values import Grid

UTM = CRS.from_epsg(32617)
CELL_M = 2000.0
TO_DEGREES = Transformer.from_crs(32617, 4326, always_xy=True)
CHANCES = (0.2, 0.5, 0.8)


def terrain(rows=40, columns=50, low_m=100.0, high_m=500.0):
    """Return hills: waves of 60 km on a slope that rises west."""
    row, column = np.mgrid[0:rows, 0:columns]
    wave = np.sin(2 * np.pi * (row + 2 * column) / 30)
    share = 0.5 + 0.25 * wave + 0.25 * (1 - 2 * column / columns)
    height = low_m + (high_m - low_m) * share
    return Terrain(
        Grid(UTM, 300_000, 3_800_000, CELL_M, CELL_M, rows, columns), height.astype(np.float32), "dem.tif"
    )


def stations(ground, count=40, by=0, **columns):
    """Return stations in the middle of cells, all freezing on day 100 at any chance."""
    rows, columns_ = np.random.default_rng(by).integers(0, ground.height_m.shape, (count, 2)).T
    longitude, latitude = TO_DEGREES.transform(
        ground.grid.left + (columns_ + 0.5) * CELL_M, ground.grid.top - (rows + 0.5) * CELL_M
    )
    table = pd.DataFrame(
        {
            "latitude": latitude,
            "longitude": longitude,
            "elevation_m": ground.height_m[rows, columns_].astype(float),
            "coast_km": np.nan,
            "valid_seasons": 30.0,
            "no_freeze_share": 0.0,
        },
        index=pd.Index([f"s{n:03d}" for n in range(count)], name="station"),
    )
    days = {f"day_{round(100 * chance)}": 100.0 for chance in CHANCES}
    return table.assign(**(days | columns))


def cell_degrees(ground):
    row, column = np.mgrid[0 : ground.grid.rows, 0 : ground.grid.columns]
    longitude, latitude = TO_DEGREES.transform(
        ground.grid.left + (column + 0.5) * CELL_M, ground.grid.top - (row + 0.5) * CELL_M
    )
    return latitude, longitude


def test_dates_that_elevation_and_latitude_tell_are_told_exactly():
    ground = terrain()
    given = stations(ground)
    law = 200 - 0.02 * given["elevation_m"] - 3 * given["latitude"]
    surface = freeze_surface(given.assign(day_50=law), ground, (0.5,))
    expected = 200 - 0.02 * ground.height_m - 3 * cell_degrees(ground)[0]
    np.testing.assert_allclose(surface.days[0], expected, atol=0.01)
    assert surface.coefficients.loc[0.5, ["elevation_m", "latitude_deg"]].tolist() == pytest.approx(
        [-0.02, -3.0], abs=1e-4
    )
    assert np.nanmax(surface.error_days) < 0.05
    assert surface.leave_one_out.loc[0.5, "rmse_days"] < 0.01


def test_the_same_date_everywhere_gives_that_date():
    ground = terrain()
    surface = freeze_surface(stations(ground), ground, CHANCES)
    np.testing.assert_allclose(surface.days, 100, atol=1e-3)


def noisy(ground, count=60, by=1):
    chance = np.random.default_rng(by)
    given = stations(ground, count)
    middle = 100 - 0.02 * given["elevation_m"] + chance.normal(0, 3, count)
    spread = {f"day_{round(100 * one)}": middle + 10 * (one - 0.5) for one in CHANCES}
    wild = spread["day_80"] + chance.normal(0, 6, count)
    return given.assign(**(spread | {"day_80": np.maximum(wild, middle)}))


def test_a_higher_chance_is_never_earlier():
    ground = terrain()
    surface = freeze_surface(noisy(ground), ground, CHANCES)
    assert np.isfinite(surface.days).all()
    assert (np.diff(surface.days, axis=0) >= 0).all()


def test_the_order_of_the_stations_changes_nothing():
    ground = terrain()
    given = noisy(ground)
    one, other = (freeze_surface(table, ground, CHANCES) for table in (given, given[::-1]))
    np.testing.assert_array_equal(one.days, other.days)
    np.testing.assert_array_equal(one.error_days, other.error_days)


def test_cells_far_from_every_station_are_not_known():
    wide = terrain(columns=400)
    near = Terrain(wide.grid, wide.height_m[:, :50], "dem.tif")
    surface = freeze_surface(stations(near), wide, CHANCES)
    assert np.isfinite(surface.days[:, :, :40]).all()
    # The stations are within 50 cells of 2 km; nothing is known from 150 km beyond.
    assert np.isnan(surface.days[:, :, 126:]).all()
    assert np.isnan(surface.error_days[:, :, 126:]).all()
    assert [25 <= why.values["far_km"] <= 150 for why in surface.told if why.code == "surface_too_far"] == [
        True
    ]


def test_cells_far_above_or_below_every_station_are_not_known():
    ground = terrain()
    height = ground.height_m.copy()
    height[0, 0], height[0, 1], height[0, 2] = 2000, -300, np.nan
    surface = freeze_surface(stations(ground), Terrain(ground.grid, height, "dem.tif"), CHANCES)
    assert np.isnan(surface.days[:, 0, :3]).all()
    assert np.isfinite(surface.days[:, 0, 3:]).all()


def test_a_chance_that_no_station_reaches_is_no_freeze():
    ground = terrain()
    given = stations(ground, day_80=np.inf, no_freeze_share=0.4)
    surface = freeze_surface(given, ground, CHANCES)
    np.testing.assert_allclose(surface.no_freeze_share, 0.4, atol=1e-3)
    assert np.isposinf(surface.days[2]).all()
    np.testing.assert_allclose(surface.days[:2], 100, atol=1e-3)
    assert surface.leave_one_out.index.tolist() == [0.2, 0.5]


def test_stations_without_freeze_make_a_warm_side():
    ground = terrain()
    given = stations(ground, 80)
    warm = given["longitude"] > given["longitude"].median()
    given = given.assign(no_freeze_share=np.where(warm, 0.5, 0.0), day_80=np.where(warm, np.inf, 100.0))
    surface = freeze_surface(given, ground, CHANCES)
    assert np.isposinf(surface.days[2][:, 40:]).mean() > 0.9
    assert np.isfinite(surface.days[2][:, :10]).mean() > 0.9
    assert np.isfinite(surface.days[0]).all()
    # Just at the rank of the season: of 30 seasons the rank of 0.8 is 24.6, so a share of 0.82 must have frozen.
    frozen = 1 - surface.no_freeze_share
    assert (np.isposinf(surface.days[2]) == (frozen < np.float32(24.6 / 30))).all()


def test_near_the_edge_of_what_is_reached_the_error_is_not_known():
    ground = terrain()
    given = stations(ground, count=60)
    warm = given["longitude"] > given["longitude"].median()
    given = given.assign(
        no_freeze_share=np.where(warm, 0.5, 0.0), day_80=np.where(warm, np.inf, 100.0), valid_seasons=30
    )
    surface = freeze_surface(given, ground, CHANCES)
    dated = np.isfinite(surface.days[2])
    assert np.isnan(surface.error_days[2][dated]).any()
    assert np.isfinite(surface.error_days[2][:, :5]).any()


def test_too_few_stations_that_know_their_warm_seasons_say_nothing_of_them():
    ground = terrain()
    given = noisy(ground).assign(no_freeze_share=np.nan)
    given.loc[given.index[:4], "no_freeze_share"] = 0.9
    assert np.isnan(freeze_surface(given, ground, CHANCES).no_freeze_share).all()


def test_an_unknown_date_leaves_a_station_out_of_that_chance_alone():
    ground = terrain()
    given = noisy(ground)
    given.loc["s007", "day_50"] = np.nan
    surface = freeze_surface(given, ground, CHANCES)
    assert surface.leave_one_out["stations"].tolist() == [60, 59, 60]


@pytest.mark.parametrize("count", [5, 11])
def test_few_stations_give_a_regression_and_say_so(count):
    ground = terrain()
    surface = freeze_surface(noisy(ground, count), ground, CHANCES)
    assert list(surface.coefficients) == ["elevation_m"]
    assert reason("surface_regression_alone") in surface.told
    could_be_used = ("elevation_m", "latitude_deg", "above_floor_m")
    assert (
        reason(
            "surface_covariate_too_many",
            covariate="latitude_deg",
            covariates=could_be_used,
            stations=count,
            most_covariates=1,
        )
        in surface.told
    )
    assert np.isfinite(surface.days).any()
    # What a few stations scatter by may be the ground's own doing: it is in the error.
    assert np.nanmin(surface.error_days[1]) > 1.0


def test_four_stations_are_refused():
    ground = terrain()
    with pytest.raises(InputError, match="stations: are too few"):
        freeze_surface(stations(ground, 4), ground, CHANCES)


def test_stations_all_at_one_place_are_refused():
    ground = terrain()
    given = stations(ground)
    given = given.assign(latitude=given["latitude"].iloc[0], longitude=given["longitude"].iloc[0])
    with pytest.raises(InputError, match="40 at 1 place"):
        freeze_surface(given, ground, CHANCES)


def test_a_flat_country_has_no_elevation_effect():
    ground = terrain(low_m=200, high_m=200)
    surface = freeze_surface(noisy(ground), ground, CHANCES)
    assert "elevation_m" not in surface.coefficients
    assert reason("surface_covariate_alike", covariate="elevation_m") in surface.told


def test_a_coast_that_latitude_tells_already_is_dropped():
    ground = terrain()
    coast = ((cell_degrees(ground)[0] - 33) * 111).astype(np.float32)
    given = noisy(ground)
    given = given.assign(coast_km=(given["latitude"] - 33) * 111)
    surface = freeze_surface(given, ground, CHANCES, coast_km=coast)
    assert "coast_km" not in surface.coefficients
    told = [one for one in surface.told if one.code == "surface_covariate_told"]
    assert [one.values["covariate"] for one in told] == ["coast_km"]


def test_what_is_told_can_be_put_into_words():
    ground = terrain()
    given = noisy(ground, 25).assign(day_80=np.nan)
    given.loc["s003", "elevation_m"] = np.nan
    given.loc["s004", "elevation_m"] += 160
    given.loc["s005", "coast_km"] = 3.0
    told = freeze_surface(given, ground, CHANCES).told
    assert [set(why.values) for why in told] == [set(CODES[why.code]) for why in told]
    assert {"surface_height_taken", "surface_height_differs", "surface_coast_not_of_places"} <= {
        why.code for why in told
    }
    assert reason("surface_too_few_at", chances=(0.8,), least_stations=5) in told
    assert len([why for why in told if why.code == "surface_coast_not_of_places"]) == 1


def test_the_coast_is_used_where_cells_and_stations_have_it():
    ground = terrain()
    column = np.broadcast_to(np.arange(50) * 2.0, (40, 50))
    given = stations(ground)
    east, _ = Transformer.from_crs(4326, 32617, always_xy=True).transform(
        given["longitude"].to_numpy(), given["latitude"].to_numpy()
    )
    km = (east - 300_000) / 1000 - 1
    given = given.assign(coast_km=km, day_50=90 + 0.1 * km)
    surface = freeze_surface(given, ground, (0.5,), coast_km=column.astype(np.float32))
    np.testing.assert_allclose(surface.days[0], 90 + 0.1 * column, atol=0.01)


def test_a_station_without_a_height_takes_the_terrains():
    ground = terrain()
    given = stations(ground)
    given.loc["s003", "elevation_m"] = np.nan
    surface = freeze_surface(given, ground, CHANCES)
    assert reason("surface_height_taken", station_names=("s003",)) in surface.told
    assert surface.leave_one_out["stations"].tolist() == [40, 40, 40]


@pytest.mark.parametrize(
    ("terrain_factor", "station_factor", "said"),
    [
        (3.28084, 1, "the terrain is in feet. Say --dem-unit ft"),
        (100, 1, "the terrain is in centimetres. Say --dem-unit cm"),
        (1, 3.28084, "the stations are in feet. Name their column elevation_ft"),
    ],
)
def test_heights_in_two_units_are_refused(terrain_factor, station_factor, said):
    ground = terrain()
    given = stations(ground)
    given = given.assign(elevation_m=given["elevation_m"] * station_factor)
    other = Terrain(ground.grid, ground.height_m * np.float32(terrain_factor), "dem.tif")
    with pytest.raises(InputError, match=said):
        check_heights(given, other)
    with pytest.raises(InputError, match=said):
        freeze_surface(given, other, CHANCES)


def test_heights_in_one_unit_pass():
    ground = terrain()
    given = stations(ground)
    check_heights(given.assign(elevation_m=given["elevation_m"] * 1.3), ground)


def test_the_work_can_be_stopped():
    class StoppedHereError(Exception):
        pass

    def stop(_step, share):
        if share > 0:
            raise StoppedHereError

    ground = terrain()
    with pytest.raises(StoppedHereError):
        freeze_surface(stations(ground), ground, CHANCES, stop)
