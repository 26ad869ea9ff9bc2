"""Freeze surfaces against surfaces that are known beforehand, and the kriging against gstools' own, as a peer."""

import gstools
import numpy as np
import pandas as pd
import pytest
from pyproj import CRS, Transformer

from spatial.climate.surface.kriging import Model, krige
from spatial.climate.surface.leave_one_out import left_out_errors, regression_left_out
from spatial.climate.surface.stations_to_grid import freeze_surface
from spatial.climate.surface.variograms import RATIOS, Fitted, Sites, Weighed, spectrum_of
from spatial.daily import Terrain
from spatial.values import Grid

SIDE, CELL_KM, STATIONS = 120, 2.5, 300  # a district of 300 km by 300 km
GRID = Grid(CRS.from_epsg(32617), 300_000.0, 3_900_000.0, 2500.0, 2500.0, SIDE, SIDE)
EAST_KM, SOUTH_KM = np.meshgrid(np.arange(SIDE) * CELL_KM, np.arange(SIDE) * CELL_KM)


def waves(seed, longest_km, shortest_km, count=60):
    """Return a smooth field of spread 1: a sum of random waves."""
    chance = np.random.default_rng(seed)
    length, way, phase = (
        chance.uniform(shortest_km, longest_km, count),
        *chance.uniform(0, 2 * np.pi, (2, count)),
    )
    along = EAST_KM[..., None] * np.cos(way) + SOUTH_KM[..., None] * np.sin(way)
    field = np.cos(2 * np.pi * along / length + phase).sum(axis=2)
    return (field - field.mean()) / field.std()


def hills(seed):
    """Return heights without valleys, and a date that falls 2 days in 100 m and to the north, with smooth weather."""
    height = 400 + 150 * waves(seed, 90, 25)
    return height, 95 - 0.02 * height + 0.03 * SOUTH_KM + 5 * waves(seed + 100, 500, 80)


def valleys(seed):
    """Return parallel valleys 20 km apart on a high plain, whose floors freeze 3 days earlier for each 100 m of side.

    The weather is a field of gstools with a Matern covariance of 70 km.
    """
    side = 60 * (1 - np.cos(2 * np.pi * (EAST_KM + 0.3 * SOUTH_KM) / 20))
    height = 300 + 80 * waves(seed, 400, 150) + side
    field = gstools.SRF(gstools.Matern(dim=2, nu=1.5, var=25, len_scale=70), seed=seed)
    weather = field.structured([SOUTH_KM[:, 0], EAST_KM[0]])
    return height, 95 - 0.015 * height + 0.03 * side + 0.03 * SOUTH_KM + weather


def measured(seed, known, noise_days, errors_known):
    """Return 300 stations of a known surface, each with its noise, and the surface made of them."""
    height, truth = known(seed)
    chance = np.random.default_rng(seed + 1)
    row, column = chance.integers(0, SIDE, (2, STATIONS))
    error = chance.uniform(*noise_days, STATIONS)
    to_degrees = Transformer.from_crs(GRID.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(
        GRID.left + (column + 0.5) * GRID.cell_width, GRID.top - (row + 0.5) * GRID.cell_height
    )
    stations = pd.DataFrame(
        {
            "latitude": latitude,
            "longitude": longitude,
            "elevation_m": height[row, column],
            "coast_km": np.nan,
            "valid_seasons": 30.0,
            "no_freeze_share": 0.0,
            "day_50": truth[row, column] + error * chance.standard_normal(STATIONS),
            "error_50": error if errors_known else np.nan,
        },
        index=pd.Index([f"s{number:03d}" for number in range(STATIONS)], name="station"),
    )
    return truth, freeze_surface(stations, Terrain(GRID, height.astype(np.float32), "dem.tif"), (0.5,))


@pytest.fixture(
    scope="module",
    params=[
        (1, hills, (2.5, 2.5), False),
        (2, hills, (1.0, 4.0), True),
        (3, valleys, (2.5, 2.5), False),
        (4, valleys, (2.0, 3.0), True),
    ],
    ids=["hills", "hills, unequal noise", "valleys", "valleys, errors known"],
)
def known_and_made(request):
    return measured(*request.param)


def test_leave_one_out_is_at_most_0_8_of_the_regressions(known_and_made):
    row = known_and_made[1].leave_one_out.loc[0.5]
    assert row["rmse_days"] <= 0.8 * row["regression_rmse_days"]
    assert abs(row["bias_days"]) < 0.2


def test_90_to_99_of_100_cells_lie_within_two_stated_errors(known_and_made):
    truth, surface = known_and_made
    assert np.isfinite(surface.days).all()
    within = np.abs(surface.days[0] - truth) <= 2 * surface.error_days[0]
    assert 0.90 <= within.mean() <= 0.99


def test_the_stated_error_is_0_8_to_1_25_of_the_true_one(known_and_made):
    truth, surface = known_and_made
    true_error = np.sqrt(np.mean((surface.days[0] - truth) ** 2))
    assert 0.8 <= np.sqrt(np.mean(surface.error_days[0] ** 2)) / true_error <= 1.25


def sites(count, seed=0):
    """Return places over 300 km on a flat piece of space, with two covariates and unequal noise."""
    chance = np.random.default_rng(seed)
    place = np.column_stack([chance.uniform(0, 300, (count, 2)), np.zeros(count)])
    noise = chance.uniform(0.5, 1.5, count)
    covariates = np.column_stack([np.ones(count), chance.normal(size=(count, 2))])
    return Sites(place, covariates, noise / noise.mean())


def one_variogram(where, values, shape, length_km, ratio_place):
    """Return the model with one variogram and one ratio of noise, of which nothing is in doubt."""
    distance = np.linalg.norm(where.place_km[:, None] - where.place_km, axis=2)
    weight = np.zeros((len(RATIOS), values.shape[1]))
    weight[ratio_place] = 1
    spectrum = spectrum_of(where, values, distance, shape, length_km)
    unknown = np.full(values.shape[1], np.nan)
    fitted = Fitted((Weighed(spectrum, weight),), np.full(values.shape[1], np.inf))
    return Model(where, values, unknown, fitted, np.ones(values.shape[1], dtype=bool))


@pytest.mark.parametrize(
    ("shape", "peer", "length_km"),
    [
        ("exponential", gstools.Exponential, 60.0),
        ("matern", gstools.Matern, 45.0),
        ("gaussian", gstools.Gaussian, 30.0),
    ],
)
def test_kriging_agrees_with_gstools_kriging_with_drift(shape, peer, length_km):
    where, targets = sites(50), sites(30, seed=9)
    values = np.random.default_rng(5).normal(100, 8, (50, 1))
    kriged = krige(one_variogram(where, values, shape, length_km, 12), targets.place_km)[0]
    x = targets.covariates
    value = kriged.shared + x @ kriged.coefficients
    variance = kriged.own + 2 * (x * kriged.mixed).sum(axis=1) + np.einsum("ij,jk,ik->i", x, kriged.square, x)

    smooth = {"nu": 1.5} if shape == "matern" else {}
    # The peer is told the variance: ours is that which the values ask for.
    ours = one_variogram(where, values, shape, length_km, 12)
    shared = _variance_of(ours)
    model = peer(dim=3, var=shared, len_scale=length_km, **smooth)
    other = gstools.krige.Krige(
        model,
        where.place_km.T,
        values[:, 0],
        ext_drift=where.covariates[:, 1:].T,
        cond_err=shared * RATIOS[12] * where.noise,
        exact=False,
    )
    expected, expected_variance = other(targets.place_km.T, ext_drift=x[:, 1:].T)
    np.testing.assert_allclose(value, expected, rtol=0, atol=0.02)
    np.testing.assert_allclose(variance, expected_variance, rtol=5e-3)


def _variance_of(model):
    """Return the variance by generalised least squares, from whole matrices."""
    where, spectrum = model.sites, model.fitted.variograms[0].spectrum
    distance = np.linalg.norm(where.place_km[:, None] - where.place_km, axis=2)
    smooth = {"nu": 1.5} if spectrum.shape == "matern" else {}
    kinds = {"exponential": gstools.Exponential, "matern": gstools.Matern, "gaussian": gstools.Gaussian}
    alike = kinds[spectrum.shape](dim=3, var=1, len_scale=spectrum.length_km, **smooth).correlation(distance)
    inverse = np.linalg.inv(alike + RATIOS[12] * np.diag(where.noise))
    x, y = where.covariates, model.values[:, 0]
    left = y - x @ np.linalg.solve(x.T @ inverse @ x, x.T @ inverse @ y)
    return left @ inverse @ left / (len(y) - x.shape[1])


def test_leaving_one_out_is_working_everything_out_without_it():
    where = sites(40)
    values = np.random.default_rng(6).normal(100, 8, (40, 1))
    whole = one_variogram(where, values, "exponential", 50.0, 12)
    quick, alone = left_out_errors(whole)[:, 0], regression_left_out(whole)[:, 0]
    for place in range(0, 40, 5):
        rest = np.arange(40) != place
        others = Sites(where.place_km[rest], where.covariates[rest], where.noise[rest])
        x = where.covariates[place]
        kriged = krige(one_variogram(others, values[rest], "exponential", 50.0, 12), where.place_km[[place]])[
            0
        ]
        assert quick[place] == pytest.approx(
            values[place, 0] - kriged.shared[0] - x @ kriged.coefficients, abs=0.05
        )
        root = 1 / np.sqrt(others.noise)[:, None]
        by_rest = np.linalg.lstsq(others.covariates * root, values[rest] * root, rcond=None)[0][:, 0]
        assert alone[place] == pytest.approx(values[place, 0] - x @ by_rest, abs=1e-6)
