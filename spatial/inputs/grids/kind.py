"""What a file says its numbers are: the unit of temperature, and whether minima or something else."""

import math
import re
from collections.abc import Iterable

import numpy as np

from spatial.inputs.grids.part import refusal
from spatial.units import WRITTEN

UNITS = ("F", "C", "K", "tenthsC")
NAMES = {
    "K": {"k", "degk", "kelvin", "kelvins", "degkelvin"},
    "C": {"c", "degc", "celsius", "degcelsius", "centigrade", "degcentigrade", "celcius", "degcelcius"},
    "F": {"f", "degf", "fahrenheit", "degfahrenheit"},
}
UNSAID = {"", "deg", "1", "unknown", "none", "na", "temperature"}  # say nothing of the unit
TENTHS = re.compile(
    r"(?:0?\.1|1e-0?1|10\^?-1|tenths?(?: of)?(?: an?)?)[\s*]*(.+)|(.+?)\s*/\s*10", re.IGNORECASE
)
KELVIN_C = 273.15
TO_C = {"C": (1.0, 0.0), "K": (1.0, -KELVIN_C), "F": WRITTEN["_f"][1:], "tenthsC": (0.1, 0.0)}

# Words of a name or title. The short ones stand for it only as the whole name of a variable: TX is Texas too.
WORDS = {
    "minimum": {"min", "minimum", "minima", "tmin", "tasmin", "tmn", "tmmn", "mn2t", "t2min", "mint"},
    "maximum": {"max", "maximum", "maxima", "tmax", "tasmax", "tmx", "tmmx", "mx2t", "t2max", "maxt"},
    "mean": {"mean", "average", "avg", "tmean", "tavg", "tave", "meant"},
}
SHORT = {"tn": "minimum", "tx": "maximum", "tg": "mean", "tas": "mean"}
OVER_TIME = re.compile(r"\btime:\s*(?:\w+:\s*)*(\w+)", re.IGNORECASE)


def unit_of(file: str, written: str, given: str) -> str:
    """Return the unit of temperatures, one of UNITS, by what the file has written and what was given with it.

    Raises InputError where neither says it, where they contradict one another, and where the file's is none of
    temperature.
    """
    if given not in {"", *UNITS}:
        raise refusal(file, f"unit {given}", "is not known", f"Use one of: {', '.join(UNITS)}")
    own = _unit_in(written)
    if own is None and _plain(written) not in UNSAID:
        cause = f"are in {written!r}, which is no unit of temperature"
        raise refusal(file, "values", cause, "Choose a file, or a variable, of daily minimum temperatures")
    if own is None and not given:
        raise refusal(
            file, "values", "are in a unit that the file does not say", "Say --unit C, F, K or tenthsC"
        )
    if own is not None and given not in {"", own}:
        cause = f"is not the file's own, which says {written!r}"
        raise refusal(file, f"unit {given}", cause, "Leave the unit out, or mend the file")
    return own or given


def to_deg_c(unit: str, scale: float, offset: float) -> tuple[float, float]:
    """Return (scale, offset) from raw numbers to deg C, of those from raw numbers to `unit`."""
    factor, zero = TO_C[unit]
    return factor * scale, factor * offset + zero


def plain_number(value: object) -> float:
    """Return a scale or an offset as it was meant: 0.1 of 0.10000000149, which is 0.1 in single precision; or NaN."""
    try:
        return float(str(np.asarray(value).reshape(-1)[0]))
    except (ValueError, IndexError):
        return math.nan


def refuse_other_kinds(file: str, variable: str, titles: Iterable[str], over_time: str) -> None:
    """Raise InputError where names, titles or the CF `cell_methods` say that the values are no minima.

    A maximum said anywhere is refused; a mean only where nothing says a minimum, since it may be one over space.
    """
    said = {_kind(text) for text in (variable, *titles, " ".join(OVER_TIME.findall(over_time)))}
    said.add(SHORT.get(variable.lower(), ""))
    kind = "maximum" if "maximum" in said else "mean" if "mean" in said and "minimum" not in said else ""
    if kind:
        cause = f"is a daily {kind} by its name or description, not a minimum"
        raise refusal(file, variable, cause, "Give the daily minimum temperatures")


def _unit_in(written: str) -> str | None:
    tenths = TENTHS.fullmatch(written.strip())
    if tenths and _plain(tenths[1] or tenths[2]) in NAMES["C"]:
        return "tenthsC"
    return next((unit for unit, names in NAMES.items() if _plain(written) in names), None)


def _plain(written: str) -> str:
    text = re.sub(r"degrees?", "deg", written.strip().lower().replace("°", "deg").replace("º", "deg"))
    return re.sub(r"[\s_.\-]", "", text)


def _kind(text: str) -> str:
    words = set(re.split(r"[^a-z0-9]+", text.lower()))
    found = [kind for kind, names in WORDS.items() if words & names]
    if "minimum" in found and "maximum" in found:
        return ""  # a title of both, as of the whole collection
    return found[0] if found else ""
