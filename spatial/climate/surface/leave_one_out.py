"""How far off the value at each station would be, had that station not been there."""

import numpy as np
from numpy.typing import NDArray

from spatial.climate.surface.kriging import Model, candidates
from spatial.climate.surface.variograms import RATIOS, Solved, Spectrum

Numbers = NDArray[np.float64]


def left_out_errors(model: Model) -> Numbers:
    """Return what each station says less what the others say of it, (n, c).

    Regression and kriging weights are worked out anew without the station, in closed form (Dubrule 1983,
    Mathematical Geology 15:687-699, from memory); the variograms stay.
    """
    errors = regression_left_out(model)
    if model.fitted is not None:
        kriged = np.zeros_like(errors)
        for weighed, place, one in candidates(model):
            kriged += weighed.weight[place] * _left_out(weighed.spectrum, RATIOS[place], one)
        errors = np.where(model.kriged, kriged, errors)
    return errors


def regression_left_out(model: Model) -> Numbers:
    """Return the same for the regression alone, by least squares with the stations' noise as weights, (n, c)."""
    x, weight = model.sites.covariates, 1 / model.sites.noise[:, None]
    inverse = np.linalg.inv(x.T @ (x * weight))
    left = model.values - x @ (inverse @ (x.T @ (model.values * weight)))
    lever = np.einsum("ij,jk,ik->i", x, inverse, x) * weight[:, 0]
    found: Numbers = left / (1 - lever)[:, None]
    return found


def _left_out(spectrum: Spectrum, ratio: float, one: Solved) -> Numbers:
    size = spectrum.size + ratio
    left = (spectrum.values - spectrum.covariates @ one.coefficients) / size[:, None]
    lever = spectrum.turn.T @ (spectrum.covariates / size[:, None])
    own = (spectrum.turn.T**2 / size).sum(axis=1) - np.einsum("ij,jk,ik->i", lever, one.spread, lever)
    found: Numbers = (spectrum.turn.T @ left) / own[:, None]
    return found
