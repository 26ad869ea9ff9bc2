"""Lime from a sample's pH and buffer pH: the built-in formulas, tables, and what add-ons offer."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from spatial.addons import FAILS, add_on
from spatial.errors import InputError, Problem, Stopped
from spatial.soil import LimeMethod
from spatial.units import HA_PER_ACRE, KG_PER_LB, KG_PER_T, WRITTEN

Floats = NDArray[np.float64]
Formula = Callable[[Floats, Floats, Floats], Floats]  # pH, buffer pH, target pH: rate [t/ha]

GROUP = "spatial.lime_methods"
T_HA_PER_TONS_AC = WRITTEN["_tons_ac"][1]
T_HA_PER_LB_AC = KG_PER_LB / HA_PER_ACRE / KG_PER_T

MEHLICH_FULL_PH = 6.6  # pH at which the buffer finds no acidity left
ADAMS_EVANS_FULL_PH = 8.0
# pH = 7.79 - 5.55 Hs + 2.27 Hs^2, Hs the acid share of the exchange sites: equation from memory.
A, B, C = 7.79, -5.55, 2.27
MOST_T_HA = 40.0  # 18 tons an acre; no table of lime rates goes so far: common practice, no source


def method_rates(method: LimeMethod, ph: Floats, buffer_ph: Floats, target_ph: Floats) -> Floats:
    """Return the lime of a method [t/ha of its own lime], NaN where it does not reach so low or so far.

    Raises InputError where its formula is not known, fails, or gives what cannot be a rate; names the formula.
    """
    if not method.formula:
        rates = _by_table(method.table, buffer_ph)
    else:
        found = add_on(GROUP, method.formula, FORMULAS)
        rates = _checked(method, _called(method, found, (ph, buffer_ph, target_ph)), ph.shape)
    rates = np.where(rates < method.least_t_ha, 0.0, rates)
    return np.where((ph >= method.only_below_ph) | (ph >= target_ph), 0.0, rates)


def mehlich_north_carolina(ph: Floats, buffer_ph: Floats, target_ph: Floats) -> Floats:
    """Return lime [t/ha] by the Mehlich buffer; NaN from pH 6.6 up and for a target above it.

    Ac = (6.6 - buffer pH) * 4 [meq/100 cm3], times (target - pH) / (6.6 - pH) [tons/ac]; no credit for recent lime.
    NCDA&CS, buffer table.
    """
    acidity = mehlich_acidity(buffer_ph)
    reaches = (ph < MEHLICH_FULL_PH) & (target_ph <= MEHLICH_FULL_PH)
    part = (target_ph - ph) / np.where(reaches, MEHLICH_FULL_PH - ph, np.nan)
    return acidity * np.maximum(part, 0.0) * T_HA_PER_TONS_AC


def mehlich_acidity(buffer_ph: Floats) -> Floats:
    """Return the acidity Ac [meq/100 cm3] that the Mehlich buffer found, 0 or more (NCDA&CS, buffer table)."""
    return np.maximum(MEHLICH_FULL_PH - buffer_ph, 0.0) * 4.0


def adams_evans(ph: Floats, buffer_ph: Floats, target_ph: Floats) -> Floats:
    """Return lime [t/ha] by the Adams-Evans buffer; NaN below pH 4.51, where the acid share is over 1.

    8000 (8.00 - buffer pH) / Hs1 * (Hs1 - Hs2) * 1.5 [lb/ac]. Adams and Evans 1962, SSSA Proc. 26:355-357; form as in
    Huluka 2007; the equation between pH and Hs is from memory.
    """
    now, wanted = _acid_share(ph), _acid_share(target_ph)
    part = 1.0 - wanted / np.where(now > 0.0, now, np.nan)
    return 1000.0 * exchangeable_acidity(buffer_ph) * np.maximum(part, 0.0) * 1.5 * T_HA_PER_LB_AC


def exchangeable_acidity(buffer_ph: Floats) -> Floats:
    """Return the exchangeable H [meq/100 g] that the Adams-Evans buffer found, 0 or more (UGA AESL, method page)."""
    return np.maximum(ADAMS_EVANS_FULL_PH - buffer_ph, 0.0) * 8.0


def _acid_share(ph: Floats) -> Floats:
    """Return the acid share Hs of the exchange sites, 0 to 1; NaN where it would be more."""
    inner = B * B - 4.0 * C * (A - ph)
    share = (-B - np.sqrt(np.maximum(inner, 0.0))) / (2.0 * C)
    return np.where((inner < 0.0) | (share > 1.0), np.nan, np.maximum(share, 0.0))


FORMULAS: Mapping[str, Formula] = {
    "mehlich_north_carolina": mehlich_north_carolina,
    "adams_evans": adams_evans,
}


def _by_table(table: tuple[tuple[float, float], ...], buffer_ph: Floats) -> Floats:
    rates = np.full(buffer_ph.shape, np.nan)
    for least, rate_t_ha in table:  # falling: the first that is low enough counts
        rates = np.where(np.isnan(rates) & (buffer_ph >= least), rate_t_ha, rates)
    return rates


def _called(method: LimeMethod, formula: Callable[..., object], given: tuple[Floats, ...]) -> object:
    try:
        return formula(*(values.copy() for values in given))
    except (InputError, Stopped):
        raise
    except FAILS as error:
        cause = f"fails ({type(error).__name__}: {error})"
        raise InputError([Problem(GROUP, method.formula, cause, _MEND)]) from error


_MEND = "Update the package that offers it, or name another formula in the lime method"


def _checked(method: LimeMethod, rates: object, shape: tuple[int, ...]) -> Floats:
    try:
        found = np.asarray(rates, dtype=float)
    except (TypeError, ValueError) as error:
        raise InputError([Problem(GROUP, method.formula, "gives no numbers", _MEND)]) from error
    if found.shape != shape:
        raise InputError(
            [Problem(GROUP, method.formula, "gives another number of rates than samples", _MEND)]
        )
    if (found < 0.0).any() or np.isinf(found).any():
        raise InputError([Problem(GROUP, method.formula, "gives a rate that cannot be", _MEND)])
    if method.formula not in FORMULAS and (found > MOST_T_HA).any():
        cause = f"gives a rate of over {MOST_T_HA:g} t/ha (18 tons/ac)"
        raise InputError([Problem(GROUP, method.formula, cause, _MEND)])
    return found
