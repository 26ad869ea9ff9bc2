"""Values at stations brought to other places: a regression, what neighbours share, and the error of both."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from spatial.climate.surface.variograms import (
    RATIOS,
    Fitted,
    Sites,
    Solved,
    Spectrum,
    Weighed,
    correlation,
    fitted_variograms,
    solved,
)

LEAST_STATIONS = 12  # for kriging
LEAST_GAIN = 3.0  # of log likelihood, about 1 in 20 by chance with two numbers fitted
EXACT = 1e-2  # a regression that leaves less than this [the values' unit] leaves nothing to share
NOISE_MARGIN = 1.25  # of the stations' own variance, beyond which scatter is a difference between places
CHUNK = 4096  # places worked on at once
FAR_CORRELATION = 0.05

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Kriged:
    """One set of values at m places, as parts that make the value and its variance for any covariates there.

    Value = `shared` + covariates . `coefficients`; variance = `own` + 2 covariates . `mixed` + covariates' `square`
    covariates. What changes slowly over the ground, `shared` and `own` (m) and `mixed` (m, p), is at the places.
    """

    shared: Numbers
    coefficients: Numbers
    own: Numbers
    mixed: Numbers
    square: Numbers


@dataclass(frozen=True)
class Model:
    """What was fitted to the values (n, c) at the sites; without `fitted` the regression alone."""

    sites: Sites
    values: Numbers
    noise_days2: Numbers  # (c) the stations' own mean variance, NaN not known
    fitted: Fitted | None
    kriged: NDArray[np.bool_]  # (c) whether neighbours share anything


def fit(sites: Sites, values: Numbers, noise_days2: Numbers) -> Model:
    """Return the model of values (n, c); under 12 stations, or where neighbours share nothing, regression alone."""
    exact = regression_left(sites.covariates, values).std(axis=0) < EXACT
    if len(values) < LEAST_STATIONS or exact.all():
        return Model(sites, values, noise_days2, None, np.zeros(values.shape[1], dtype=bool))
    fitted = fitted_variograms(sites, values, noise_days2)
    return Model(sites, values, noise_days2, fitted, (fitted.gain > LEAST_GAIN) & ~exact)


def regression_left(covariates: Numbers, values: Numbers) -> Numbers:
    """Return what ordinary least squares leaves of values (n, c)."""
    found: Numbers = values - covariates @ np.linalg.lstsq(covariates, values, rcond=None)[0]
    return found


def krige(model: Model, place_km: Numbers) -> list[Kriged]:
    """Return each of the c sets of values at places (m, 3) [km].

    Universal kriging of the value without the stations' own noise, averaged over the variograms by their weight;
    the variance holds the doubt about the variogram, the regression's and what neighbours do not tell.
    """
    if model.fitted is None or not model.kriged.any():
        return [_regression(model, column, len(place_km)) for column in range(len(model.kriged))]
    chunks = [place_km[start : start + CHUNK] for start in range(0, len(place_km), CHUNK)]
    at_places = np.concatenate([_place_moments(model, chunk) for chunk in chunks], axis=1)
    return [
        _averaged(at_places[column], _moments(model, column))
        if shared
        else _regression(model, column, len(place_km))
        for column, shared in enumerate(model.kriged)
    ]


def far_km(model: Model) -> float:
    """Return the distance at which places are no longer alike (correlation 0.05), averaged; NaN without kriging."""
    if model.fitted is None or not model.kriged.any():
        return float("nan")
    distance = np.geomspace(0.1, 10_000, 2_000)
    weight, far = [], []
    for one in model.fitted.variograms:
        alike = correlation(one.spectrum.shape, one.spectrum.length_km, distance)
        weight.append(float(one.weight.sum(axis=0)[model.kriged].mean()))
        far.append(float(distance[np.argmax(alike < FAR_CORRELATION)]))
    return float(np.average(far, weights=weight))


def candidates(model: Model) -> Iterator[tuple[Weighed, int, Solved]]:
    """Yield every variogram and place of a ratio that has weight for any set of values, with its regression."""
    for weighed in model.fitted.variograms if model.fitted is not None else ():
        for place in np.flatnonzero(weighed.weight[:, model.kriged].any(axis=1)):
            yield weighed, int(place), solved(weighed.spectrum, RATIOS[place])


def _place_moments(model: Model, place_km: Numbers) -> Numbers:
    """Return the weighted sums (c, m, 3 + 2p): shared, its square, own, mixed, shared times coefficients."""
    distance = cdist(place_km, model.sites.place_km)
    sums: Numbers = np.zeros((len(model.kriged), len(place_km), 3 + 2 * model.sites.covariates.shape[1]))
    last = None
    for weighed, place, one in candidates(model):
        spectrum = weighed.spectrum
        if spectrum is not last:
            alike = correlation(spectrum.shape, spectrum.length_km, distance) @ spectrum.turn.T
            alike2, last = alike * alike, spectrum
        weight = weighed.weight[place]
        sums += _one_moment(model, one, (alike, alike2), spectrum, place) * weight[:, None, None]
    return sums


def _one_moment(
    model: Model, one: Solved, alike: tuple[Numbers, Numbers], spectrum: Spectrum, place: int
) -> Numbers:
    size = spectrum.size + RATIOS[place]
    left = (spectrum.values - spectrum.covariates @ one.coefficients) / size[:, None]
    shared = (alike[0] @ left).T[..., None]  # (c, m, 1)
    drift = alike[0] @ (spectrum.covariates / size[:, None])
    towards = drift @ one.spread
    unit = 1 - alike[1] @ (1 / size) + (drift * towards).sum(axis=1)
    own = (
        np.outer(one.variance, unit) + _beyond_noise(one.variance * RATIOS[place], model.noise_days2)[:, None]
    )
    mixed = -one.variance[:, None, None] * towards
    both = shared * one.coefficients.T[:, None, :]
    return np.concatenate([shared, shared**2, own[..., None], mixed, both], axis=2)


def _moments(model: Model, column: int) -> tuple[Numbers, Numbers]:
    """Return the weighted means of the coefficients (p) and of their square and spread (p, p) of one set."""
    beta, square = 0.0, 0.0
    for weighed, place, one in candidates(model):
        weight, own = weighed.weight[place, column], one.coefficients[:, column]
        beta = beta + weight * own
        square = square + weight * (np.outer(own, own) + one.variance[column] * one.spread)
    return np.asarray(beta), np.asarray(square)


def _averaged(sums: Numbers, moments: tuple[Numbers, Numbers]) -> Kriged:
    (beta, square), count = moments, len(moments[0])
    shared = sums[:, 0]
    own = sums[:, 2] + sums[:, 1] - shared**2
    mixed = sums[:, 3 : 3 + count] + sums[:, 3 + count :] - shared[:, None] * beta
    return Kriged(shared, beta, own, mixed, square - np.outer(beta, beta))


def _regression(model: Model, column: int, places: int) -> Kriged:
    """Return the regression alone; scatter beyond what is known of the stations' noise counts as differences."""
    weight = 1 / model.sites.noise[:, None]
    x, y = model.sites.covariates, model.values[:, column]
    inverse = np.linalg.inv(x.T @ (x * weight))
    beta = inverse @ (x.T @ (y * weight[:, 0]))
    variance = float(((y - x @ beta) ** 2 * weight[:, 0]).sum()) / (len(y) - len(beta))
    known = np.nan_to_num(model.noise_days2[column : column + 1], nan=0.0)
    own = float(_beyond_noise(np.array([variance]), known)[0])
    count, square = len(beta), np.asarray(variance * inverse, dtype=np.float64)
    return Kriged(np.zeros(places), beta, np.full(places, own), np.zeros((places, count)), square)


def _beyond_noise(found_days2: Numbers, known_days2: Numbers) -> Numbers:
    beyond = np.maximum(found_days2 - NOISE_MARGIN * known_days2, 0.0)
    return np.nan_to_num(beyond, nan=0.0)  # not known: all of it is the stations' own
