"""Amounts of the soil in words: nutrients and lime on the land and on a whole field, depths, pH, ranges of hay."""

from collections.abc import Callable, Mapping
from typing import Any

from spatial.units import HA_PER_ACRE, farmer_units

NUTRIENTS = {"n": "N", "p2o5": "P2O5", "k2o": "K2O", "s": "S", "mg": "Mg"}
RATE_FROM = {
    "lab": "by the laboratory, from the sample",
    "method": "worked out here from the buffer pH, not the laboratory's rate (ask for it before you buy), by the "
    "sample",
}
ONLY_DOLOMITIC = " Mg is low: buy it only if it is dolomitic; else ask for dolomitic lime."
NEARLY_ALL, ALL = 0.995, 1 - 1e-6  # between them a share is not told as 100 %
LITTLE = 0.005  # a smaller share is not told as 0 %
ROUNDED = ((10_000, 100), (1_000, 50), (100, 5), (0, 1))  # from this size on, to this step


def weight(kg: float, units: str) -> str:
    """Return a weight as "1,250 lb" or "567 kg"."""
    size = farmer_units(kg, "_kg", "_lb") if units == "us" else kg
    return f"{size:,.0f} {_unit(units)}"


def rate(kg_ha: float, units: str) -> str:
    """Return an amount to spread as "100 lb an acre" or "112 kg/ha"."""
    return f"{weight(kg_ha * HA_PER_ACRE, units)} an acre" if units == "us" else f"{kg_ha:,.0f} kg/ha"


def known_cuts(count: int, _units: str) -> str:
    """Return a number of cuts as "1 known cut" or "3 known cuts"."""
    return f"{count} known cut{'' if count == 1 else 's'}"


def _hay_range(t_ha: tuple[float, float], units: str) -> str:
    sizes = [farmer_units(size, "_t_ha", "_tons_ac") if units == "us" else size for size in t_ha]
    unit = "tons an acre" if units == "us" else "t/ha"
    return f"{_span([f'{size:.1f}' for size in sizes])} {unit}"


def weight_range(kg: tuple[float, float], units: str) -> str:
    """Return weights as "420 to 540 lb", each rounded by its size."""
    sizes = [farmer_units(size, "_kg", "_lb") if units == "us" else size for size in kg]
    return f"{_span([_rounded(size) for size in sizes])} {_unit(units)}"


def rate_range(kg_ha: tuple[float, float], units: str) -> str:
    """Return amounts to spread as "42 to 54 lb an acre"."""
    words = weight_range(_of_land(kg_ha, units), units)
    return f"{words} an acre" if units == "us" else f"{words}/ha"


def _nutrients(amounts: tuple[tuple[str, float, float], ...], units: str) -> str:
    """Return amounts of (nutrient, low, high) [kg/ha] as "110 to 140 lb of K2O and 28 lb of P2O5 an acre"."""
    words = [
        f"{weight_range(_of_land((low, high), units), units)} of {NUTRIENTS[name]}"
        for name, low, high in amounts
    ]
    listed = " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
    return f"{listed} {'an acre' if units == 'us' else 'a hectare'}"


def _of_land(kg_ha: tuple[float, float], units: str) -> tuple[float, float]:
    size_ha = HA_PER_ACRE if units == "us" else 1.0
    return kg_ha[0] * size_ha, kg_ha[1] * size_ha


def _unit(units: str) -> str:
    return "lb" if units == "us" else "kg"


def _span(sizes: list[str]) -> str:
    return " to ".join(dict.fromkeys(sizes))


def _rounded(size: float) -> str:
    step = next(step for least, step in ROUNDED if size >= least)
    return f"{step * round(size / step):,}"


def _mapped_ph(said: tuple[float, float, float], _units: str) -> str:
    """Return a mapped pH as "5.5", or as "5.5 on average, 5.1 to 5.9"."""
    mean, least, greatest = said
    ends = f"{least:.1f}", f"{greatest:.1f}"
    return f"{mean:.1f}" if ends[0] == ends[1] else f"{mean:.1f} on average, {ends[0]} to {ends[1]}"


def lime_rate(t_ha: float, units: str) -> str:
    """Return a rate of lime as "1.7 tons an acre" or "0.46 tons an acre"; t/ha where units are metric."""
    rate = farmer_units(t_ha, "_t_ha", "_tons_ac") if units == "us" else t_ha
    return f"{rate:.{2 if round(rate, 1) < 1 else 1}f} {'tons an acre' if units == 'us' else 't/ha'}"


def _depth(cm: float, units: str) -> str:
    return f"{farmer_units(cm, '_cm', '_in'):.2g} in" if units == "us" else f"{cm:.0f} cm"


def _share(share: float, _units: str) -> str:
    """Return a share as "40 %"; nearly all is not all."""
    if 0 < share < LITTLE:
        return "under 1 %"
    return "over 99 %" if NEARLY_ALL <= share < ALL else f"{100 * share:.0f} %"


# By the end of a value's name; a range is a (low, high), told as one number where both are said alike.
AMOUNTS: Mapping[str, Callable[[Any, str], str]] = {
    "hay_range_t_ha": _hay_range,
    "amounts_kg_ha": _nutrients,
    "_range_kg_ha": rate_range,
    "_range_kg": weight_range,
    "_kg_ha": rate,
    "known_cuts": known_cuts,
    **dict.fromkeys(("lime_t_ha", "each_t_ha", "most_t_ha"), lime_rate),
    "depth_cm": _depth,
    "mapped_ph": _mapped_ph,
    "rate_from": lambda by, _units: RATE_FROM[by],
    "only_dolomitic": lambda only, _units: ONLY_DOLOMITIC if only else "",
    "_share": _share,
}
