"""Turns values in the units people write into the project's own (m, ha, cm, km/h, deg C, mg/kg), and back."""

from typing import overload

import numpy as np
import pandas as pd
from numpy.typing import NDArray

HA_PER_ACRE = 0.40468564224
CM_PER_INCH = 2.54
KM_PER_MILE = 1.609344
M_PER_FOOT = 0.3048
KG_PER_T = 1000
KG_PER_LB = 0.45359237
T_PER_SHORT_TON = 0.90718474

# Suffix a person may write -> (suffix used inside, factor, offset): inside = factor * written + offset.
# lb/ac to mg/kg is the soil laboratories' furrow slice of two million pounds an acre, 6 to 7 in deep
# (Penn State Agronomy Guide: ppm x 2 = lb/ac). Tons are short tons of 2000 lb.
WRITTEN: dict[str, tuple[str, float, float]] = {
    "_in": ("_cm", CM_PER_INCH, 0.0),
    "_ft": ("_m", M_PER_FOOT, 0.0),
    "_ac": ("_ha", HA_PER_ACRE, 0.0),
    "_ac_h": ("_ha_h", HA_PER_ACRE, 0.0),
    "_ac_day": ("_ha_day", HA_PER_ACRE, 0.0),
    "_mph": ("_km_h", KM_PER_MILE, 0.0),
    "_mi": ("_km", KM_PER_MILE, 0.0),
    "_f": ("_c", 5.0 / 9.0, -160.0 / 9.0),
    "_lb_ac": ("_mg_kg", 0.5, 0.0),
    "_ppm": ("_mg_kg", 1.0, 0.0),
    "_pct": ("_share", 0.01, 0.0),
    "_lb": ("_kg", KG_PER_LB, 0.0),
    "_tons": ("_t", T_PER_SHORT_TON, 0.0),
    "_tons_ac": ("_t_ha", T_PER_SHORT_TON / HA_PER_ACRE, 0.0),
    "_lb_ac_in": ("_kg_ha_cm", KG_PER_LB / HA_PER_ACRE / CM_PER_INCH, 0.0),
    # A difference has no zero point.
    "cold_offset_f": ("cold_offset_c", 5.0 / 9.0, 0.0),
    # An amount to spread, where other pounds an acre are what a soil holds.
    "k2o_lb_ac": ("k2o_kg_ha", KG_PER_LB / HA_PER_ACRE, 0.0),
}


def written_names(name: str) -> dict[str, tuple[float, float]]:
    """Return every name under which a person may write column `name`, with (factor, offset) to the inside unit.

    The longest suffix that fits is the unit: k_mg_kg is in mg/kg and may not be written in pounds.
    """
    names = {name: (1.0, 0.0)}
    unit = max((inside for inside, _f, _o in WRITTEN.values() if name.endswith(inside)), key=len, default="")
    for suffix, (inside, factor, offset) in WRITTEN.items():
        if inside == unit:
            names[name.removesuffix(inside) + suffix] = (factor, offset)
    return names


@overload
def farmer_units(values: float, inside: str, written: str) -> float: ...
@overload
def farmer_units(values: pd.Series, inside: str, written: str) -> pd.Series: ...
@overload
def farmer_units(values: NDArray[np.float64], inside: str, written: str) -> NDArray[np.float64]: ...
def farmer_units(
    values: float | pd.Series | NDArray[np.float64], inside: str, written: str
) -> float | pd.Series | NDArray[np.float64]:
    """Return values held in unit `inside` as a person writes them in unit `written`.

    Both are suffixes of the table above, e.g. ``farmer_units(2.0, "_ha", "_ac")``; an unknown pair raises
    KeyError.
    """
    if inside == written:
        return values
    own, factor, offset = WRITTEN[written]
    if own != inside:
        raise KeyError(f"{inside} is not what {written} turns into")
    return (values - offset) / factor
