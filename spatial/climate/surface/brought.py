"""Values of stations brought to every cell of the terrain, with their errors."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.surface.covariates import Covariates, covariates_of
from spatial.climate.surface.kriging import Kriged, Model, fit, krige
from spatial.climate.surface.places import globe_km, node_places, nodes_of, spread
from spatial.climate.surface.variograms import Sites
from spatial.daily import Terrain

LEAST_KNOWN_SHARE = 0.5  # of the stations whose own error is known, for the others to be taken as their mean
LEAST_NOISE = 0.25  # of the mean variance: a small error may be luck in a station's seasons

Numbers = NDArray[np.float64]
Cells = NDArray[np.float32]


@dataclass(frozen=True)
class Ground:
    """The terrain, the nodes that slow things are worked out at (rows, columns, place [km]), and what cells know."""

    terrain: Terrain
    nodes: tuple[Numbers, Numbers]
    node_km: Numbers
    latitude_deg: Cells
    coast_km: Cells | None


@dataclass(frozen=True)
class Brought:
    """Values and their standard errors at the cells (c, rows, columns), and what they were worked out with."""

    values: Cells
    errors: Cells
    coefficients: Numbers  # (c, 1 + p)
    model: Model
    covariates: Covariates

    def slopes(self, column: int) -> dict[str, float]:
        """Return how much one set of values changes with a unit of each covariate."""
        found = self.coefficients[column, 1:] / self.covariates.scale
        return {name: float(slope) for name, slope in zip(self.covariates.names, found, strict=True)}


def ground_of(terrain: Terrain, coast_km: Cells | None) -> Ground:
    """Return the ground of a terrain; `coast_km` is on its grid."""
    nodes = nodes_of(terrain.grid)
    latitude, longitude = node_places(terrain.grid, nodes)
    place = globe_km(latitude, longitude).reshape(-1, 3)
    return Ground(terrain, nodes, place, spread(latitude, nodes, terrain.grid).astype(np.float32), coast_km)


def brought(stations: pd.DataFrame, values: Numbers, own_errors: Numbers, ground: Ground) -> Brought:
    """Return values (n, c) of stations at every cell; `own_errors` (n, c) are the stations', NaN not known."""
    covariates = covariates_of(stations, ground.terrain, ground.latitude_deg, values, ground.coast_km)
    used = covariates.used
    noise, noise_days2 = _noise(own_errors[used])
    place = globe_km(stations["latitude"].to_numpy(float)[used], stations["longitude"].to_numpy(float)[used])
    model = fit(Sites(place, covariates.at_stations, noise), values[used], noise_days2)
    kriged = krige(model, ground.node_km)
    at_cells = [_at_cells(one, covariates, ground) for one in kriged]
    found, errors = (np.stack(part) for part in zip(*at_cells, strict=True))
    return Brought(found, errors, np.array([one.coefficients for one in kriged]), model, covariates)


def _noise(own_errors: Numbers) -> tuple[Numbers, Numbers]:
    """Return the variance of each station's noise relative to the mean (n), and its mean (c), NaN not known."""
    variance = np.where(own_errors > 0, own_errors, np.nan) ** 2
    known = np.isfinite(variance).mean(axis=0) >= LEAST_KNOWN_SHARE
    mean = np.array(
        [np.nanmean(one) if is_known else np.nan for one, is_known in zip(variance.T, known, strict=True)]
    )
    relative = np.nan_to_num(variance[:, known] / mean[known], nan=1.0)
    noise = np.maximum(relative.mean(axis=1), LEAST_NOISE) if known.any() else np.ones(len(own_errors))
    return noise / noise.mean(), mean


def _at_cells(one: Kriged, covariates: Covariates, ground: Ground) -> tuple[Cells, Cells]:
    """Return the values and errors of one set at the cells."""
    grid, nodes = ground.terrain.grid, ground.nodes
    shape = (len(nodes[0]), len(nodes[1]))
    own, shared, *mixed = (
        spread(part.reshape(shape), nodes, grid) for part in (one.own, one.shared, *one.mixed.T)
    )
    value = shared + one.coefficients[0]
    variance = own + one.square[0, 0] + 2 * mixed[0]
    at = [
        (cells - middle) / scale
        for cells, middle, scale in zip(covariates.cells, covariates.middle, covariates.scale, strict=True)
    ]
    for row, x in enumerate(at, start=1):
        value += x * one.coefficients[row]
        across = 2 * (mixed[row] + one.square[0, row])
        for column in range(1, row):
            across += 2 * one.square[row, column] * at[column - 1]
        variance += x * (across + x * one.square[row, row])
    return value.astype(np.float32), np.sqrt(np.maximum(variance, 0)).astype(np.float32)
