"""How alike two places are by the distance between them: the candidates, and how well each fits the stations."""

from dataclasses import dataclass
from itertools import product

import gstools
import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.spatial.distance import cdist

SHAPES = {  # from rough to smooth
    "exponential": gstools.Exponential(dim=3),
    "matern": gstools.Matern(dim=3, nu=1.5),
    "gaussian": gstools.Gaussian(dim=3),
}
# What is held of each shape before any station speaks: a date drawn from many seasons mostly varies smoothly.
# Common practice, no source.
HELD = {"exponential": 0.1, "matern": 0.5, "gaussian": 0.4}
LENGTHS = 8  # tried, from the stations' own spacing to the width of all
RATIOS = np.geomspace(1e-3, 30, 19)  # of the stations' noise to the variance that neighbours share
TABLE = 4096  # steps of a table of correlations
MOST_VARIOGRAMS = 8  # kept of shapes and lengths
WEIGHT_KEPT = 0.95  # of the likelihood
LEAST_WEIGHT = 1e-3
NOTHING = 1e-12  # a variance under this is none; its log would not be a number
TRUST = 0.5  # spread of the log of the noise's variance about what the stations say of it

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Sites:
    """Stations as kriging sees them: place (n, 3) [km], covariates (n, p), and noise (n) relative to the mean."""

    place_km: Numbers
    covariates: Numbers
    noise: Numbers


@dataclass(frozen=True)
class Spectrum:
    """One variogram at the stations, by its own directions, in which stations are not alike.

    `size` (n) are the variances; `turn` (n, n) leads from stations to directions, the noise made equal; so do
    `covariates` (n, p) and `values` (n, c).
    """

    shape: str
    length_km: float
    size: Numbers
    turn: Numbers
    covariates: Numbers
    values: Numbers


@dataclass(frozen=True)
class Solved:
    """The regression under one variogram and one ratio of noise.

    Coefficients (p, c), their spread (p, p) for a variance of 1, the variance shared (c), the log likelihood (c).
    """

    coefficients: Numbers
    spread: Numbers
    variance: Numbers
    likelihood: Numbers


@dataclass(frozen=True)
class Weighed:
    """A variogram with the weight (ratios, c) of each ratio of noise, for each set of values."""

    spectrum: Spectrum
    weight: Numbers


@dataclass(frozen=True)
class Fitted:
    """The variograms kept, and by how much the best raises the log likelihood over no likeness at all (c)."""

    variograms: tuple[Weighed, ...]
    gain: Numbers


def fitted_variograms(sites: Sites, values: Numbers, noise_days2: Numbers) -> Fitted:
    """Return the variograms that fit the values (n, c) best, with weights that sum to 1 for each c.

    A weight is the likelihood of the contrasts that the regression leaves free, with the variance integrated out:
    so the doubt about the variogram comes into the error (Handcock and Stein 1993, Technometrics 35:403-410, from
    memory). `noise_days2` (c) is the stations' own mean variance, NaN not known.
    """
    distance = cdist(sites.place_km, sites.place_km)
    spectra = [spectrum_of(sites, values, distance, *one) for one in product(SHAPES, lengths_km(distance))]
    plain, trusted = (
        np.array(part) for part in zip(*(_fits(one, noise_days2) for one in spectra), strict=True)
    )
    weight = np.exp(trusted - trusted.max(axis=(0, 1)))
    weight /= weight.sum(axis=(0, 1))
    kept = _heaviest(weight.sum(axis=1).mean(axis=1))
    weight = np.where(weight[kept] < LEAST_WEIGHT, 0, weight[kept])
    weight /= weight.sum(axis=(0, 1))
    weighed = [Weighed(spectra[place], part) for place, part in zip(kept, weight, strict=True)]
    return Fitted(tuple(weighed), plain.max(axis=(0, 1)) - solved(spectra[0], np.inf).likelihood)


def lengths_km(distance: Numbers) -> Numbers:
    """Return the lengths tried: from the middle distance to the nearest neighbour to that across all stations."""
    apart = distance + np.where(distance > 0, 0.0, np.inf)
    nearest = float(np.median(apart.min(axis=1)))
    return np.geomspace(nearest, max(float(distance.max()), 2 * nearest), LENGTHS)


def correlation(shape: str, length_km: float, distance: Numbers) -> Numbers:
    """Return how alike places at a distance [km] are, 1 at none."""
    model = SHAPES[shape]
    step = (float(distance.max()) or 1.0) / TABLE
    table = model.correlation(np.arange(TABLE + 2) * step / length_km)
    place = distance / step
    low = place.astype(np.int32)
    return np.asarray(table[low] + (place - low) * np.diff(table)[low])


def spectrum_of(sites: Sites, values: Numbers, distance: Numbers, shape: str, length_km: float) -> Spectrum:
    """Return a variogram at the stations, by its own directions."""
    scale = 1 / np.sqrt(sites.noise)
    alike = correlation(shape, length_km, distance) * scale[:, None] * scale
    size, turn = eigh(alike, driver="evr")
    turned = turn.T * scale
    return Spectrum(shape, length_km, np.maximum(size, 0), turned, turned @ sites.covariates, turned @ values)


def solved(spectrum: Spectrum, ratio: float) -> Solved:
    """Return the regression by generalised least squares under a variogram and a ratio of noise (inf: noise only)."""
    size = np.ones_like(spectrum.size) if np.isinf(ratio) else spectrum.size + ratio
    z, y = spectrum.covariates, spectrum.values
    normal = z.T @ (z / size[:, None])
    inverse: Numbers = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    coefficients = inverse @ (z.T @ (y / size[:, None]))
    left = y - z @ coefficients
    free = len(z) - z.shape[1]
    variance = np.maximum((left * left / size[:, None]).sum(axis=0) / free, NOTHING)
    logs = np.log(size).sum() + np.linalg.slogdet(normal)[1]
    return Solved(coefficients, inverse, variance, -0.5 * (logs + free * np.log(variance)))


def _fits(spectrum: Spectrum, noise_days2: Numbers) -> tuple[Numbers, Numbers]:
    """Return the log likelihood of each ratio (ratios, c): of the values alone, and with what is known of the noise."""
    tried = [solved(spectrum, ratio) for ratio in RATIOS]
    plain = np.array([one.likelihood for one in tried])
    noise = np.array([one.variance * ratio for one, ratio in zip(tried, RATIOS, strict=True)])
    off = np.log(noise / noise_days2) / TRUST
    trusted = plain - 0.5 * np.where(np.isnan(off), 0, off) ** 2
    return plain, trusted + np.log(HELD[spectrum.shape])


def _heaviest(weight: Numbers) -> NDArray[np.int64]:
    order = np.argsort(-weight, kind="stable")
    enough = int(np.searchsorted(np.cumsum(weight[order]), WEIGHT_KEPT)) + 1
    return order[: min(enough, MOST_VARIOGRAMS)]
