"""Every word a person reads, in English, with values in the region's units."""

import math
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any

import pandas as pd

from maps.amounts import AMOUNTS
from maps.sentences import SENTENCES
from spatial.reasons import Reason
from spatial.units import farmer_units

# The host's locale must not change a word, so the names of days and months are ours.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
STAGES = {
    "growing": "growing",
    "ready": "ready to cut",
    "leave_standing": "leave standing",
    "freeze_cut": "freeze cut",
    "dormant": "dormant",
    "": "not known",
}
URGENCIES = {
    "past": "past the date",
    "0-7": "0 to 7 days left",
    "8-14": "8 to 14 days left",
    "15-28": "15 to 28 days left",
    "over_28": "more than 28 days left",
    "": "no last-cut date",
}
INTENTS = {
    "hay": "hay",
    "stockpile": "stockpiled for grazing",
    "overseeded": "overseeded this fall",
    "grazed": "grazed",
}
LIMITS = {
    "freeze": "the killing freeze less regrowth",
    "growth": "the last days of growth",
    "rule": "the cap for this grass",
    "": "",
}
FLAGS = {
    "ph_low": "pH low",
    "ph_very_low": "pH very low",
    "ph_high": "pH high",
    "sample_ph": "sample pH here",
    "sample_soil": "no soil test",
    "soil_test_old": "soil test old",
    "p_low": "P low",
    "p_medium": "P medium",
    "k_low": "K low",
    "k_medium": "K medium",
    "mg_low": "Mg low",
    "mg_medium": "Mg medium",
    "no_rating_scheme": "no rating scheme",
}
CUT_KINDS = {"early": "early cut", "freeze": "freeze cut", "thatch": "thatch cut", "": ""}
ORIGINS = {"lab": "lab sample", "survey": "soil survey", "raster": "soil grid", "": ""}
COVARIATES = {
    "elevation_m": "height",
    "latitude_deg": "latitude",
    "coast_km": "distance to the coast",
    "above_floor_m": "height above the valley floor",
}
NUTRIENTS = {"p": "P", "k": "K", "mg": "Mg", "ph": "pH"}
CAUTIONS = (
    "Dates are statistics of past seasons, not a forecast. Local extension advice and the soil laboratory go first.",
    "On the road: slow-moving-vehicle emblem, lights, and the local rules for wide machines.",
    "Hot hay can burn: if bales heat, call the fire service before moving any.",
    "Burning and spraying: local codes, the label and licensed practice go first.",
    "Frosted johnsongrass, sorghum or sudangrass in a field can make prussic acid: ask a veterinarian before grazing.",
    "Some stargrass hybrids have poisoned stock in rare cases: when in doubt, test or ask a veterinarian.",
)

COUNTS = ("none", "one", "two", "three", "four")
MOST_YEARS_LISTED = 6  # runs of years
MOST_STATIONS_LISTED = 12

FULL_AREA = 500  # from here on no tenths are told


def sentence(why: Reason, units: str) -> str:
    """Return one plain sentence for a reason, in `units` ("us" or "metric")."""
    words = {name: _value(name, value, units) for name, value in why.values.items()}
    text = SENTENCES[why.code].format_map(words)
    # A line about a file begins with its name, and pH with a small letter, as they are written.
    return text if why.code == "note_input" or text.startswith("pH ") else text[:1].upper() + text[1:]


def sentences(reasons: tuple[Reason, ...], units: str) -> str:
    """Return the sentences of several reasons, one after another."""
    return " ".join(sentence(why, units) for why in reasons)


def day(value: object) -> str:
    """Return a date as "24 Sep", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{stamp.day} {MONTHS[stamp.month - 1]}"


def day_in_year(value: object) -> str:
    """Return a date as "24 Sep 2026", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{day(stamp)} {stamp.year}"


def area(ha: float, units: str) -> str:
    """Return an area as "12.4 acres" or "5.0 ha"."""
    size = farmer_units(ha, "_ha", "_ac") if units == "us" else ha
    return f"{size:,.{0 if size >= FULL_AREA else 1}f} {'acres' if units == 'us' else 'ha'}"


def rough_area(ha: float, units: str) -> str:
    """Return an area that is roughly known as "1,000 acres" or "400 ha"."""
    size = farmer_units(ha, "_ha", "_ac") if units == "us" else ha
    return f"{_rough(size):,g} {'acres' if units == 'us' else 'ha'}"


def square(km2: float, units: str) -> str:
    """Return a large area that is roughly known as "40 square miles" or "100 square kilometers"."""
    side = math.sqrt(km2)
    size = farmer_units(side, "_km", "_mi") ** 2 if units == "us" else km2
    return f"{_rough(size):,g} square {'miles' if units == 'us' else 'kilometers'}"


def _rough(size: float) -> float:
    """Return a number to one figure and a half: 988 as 1000, 247 as 250."""
    step = 10.0 ** math.floor(math.log10(size)) / 2
    return round(size / step) * step


def height(cm: float, units: str) -> str:
    """Return a height as "8 in" or "20 cm"."""
    halves = round(2 * farmer_units(cm, "_cm", "_in")) / 2
    return f"{halves:g} in" if units == "us" else f"{cm:.0f} cm"


def temperature(c: float, units: str) -> str:
    """Return a temperature as "28.0 F" or "-2.2 °C"."""
    return f"{farmer_units(c, '_c', '_f'):.1f} F" if units == "us" else f"{c:.1f} °C"


def distance(m: float, units: str) -> str:
    """Return a distance as "0.4 mi" or "0.7 km"."""
    return f"{farmer_units(m / 1000, '_km', '_mi'):.1f} mi" if units == "us" else f"{m / 1000:.1f} km"


def hay_yield(t_ha: float, units: str) -> str:
    """Return a yield as "0.5 tons an acre" or "1.1 t/ha"."""
    return (
        f"{farmer_units(t_ha, '_t_ha', '_tons_ac'):.1f} tons an acre" if units == "us" else f"{t_ha:.1f} t/ha"
    )


def hay(t: float, units: str) -> str:
    """Return an amount of hay as "50 tons" (short tons) or "45 t"."""
    if math.isnan(t):
        return "an unknown amount"
    return f"{farmer_units(t, '_t', '_tons'):.0f} tons" if units == "us" else f"{t:.0f} t"


def chance_words(chance: float) -> str:
    """Return a chance in words: "1 fall in 5", or "3 falls in 10"."""
    for outof in (2, 3, 4, 5, 10, 20, 50, 100):
        part = chance * outof
        if round(part) >= 1 and math.isclose(part, round(part)):
            return f"{round(part)} fall{'s' if round(part) > 1 else ''} in {outof}"
    return f"{chance:.3g} of all falls"


def elevation(m: float, units: str) -> str:
    """Return a height of the ground as "1,247 feet" or "380 m"."""
    return f"{farmer_units(m, '_m', '_ft'):,.0f} feet" if units == "us" else f"{m:,.0f} m"


def far(km: float, units: str) -> str:
    """Return a long way as "16 miles" or "25 km"."""
    return f"{farmer_units(km, '_km', '_mi'):.0f} miles" if units == "us" else f"{km:.0f} km"


def season_years(years: Sequence[int]) -> str:
    """Return seasons by their first years, in rising order: "the seasons begun in 1990 to 1993 and 2004"."""
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    shown = [f"{run[0]} to {run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs[:MOST_YEARS_LISTED]]
    more = sum(len(run) for run in runs[MOST_YEARS_LISTED:])
    listed = _listed([*shown, f"{more} more"] if more else shown)
    return f"the season{'' if len(years) == 1 else 's'} begun in {listed}"


def _station_names(names: Sequence[str]) -> str:
    shown, more = names[:MOST_STATIONS_LISTED], len(names) - MOST_STATIONS_LISTED
    return _listed([*shown, f"{more} more"] if more > 0 else shown)


def _listed(names: Sequence[str]) -> str:
    """Return names as "a, b and c"."""
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _days(count: float) -> str:
    return f"{count:.0f} day{'' if count == 1 else 's'}"


def _stamp(value: object) -> date | None:
    if isinstance(value, datetime | pd.Timestamp | date) and not pd.isna(value):
        return value
    return None


def _value(name: str, value: Any, units: str) -> str:
    if known := _BY_NAME.get(name):
        return known(value)
    for suffix, words in _BY_SUFFIX.items():
        if name.endswith(suffix):
            return words(value, units)
    return str(value)


_BY_SUFFIX: dict[str, Callable[[Any, str], str]] = {
    **AMOUNTS,
    "sample_date": lambda value, _units: day_in_year(value),
    "made_date": lambda value, _units: day_in_year(value),
    "seen_date": lambda value, _units: day_in_year(value),
    "_date": lambda value, _units: day(value),
    "_cm": height,
    "_t_ha": hay_yield,
    "patch_ha": rough_area,
    "_ha": area,
    "cell_km2": square,
    "buffer_ph": lambda value, _units: f"{value:.2f}",
    "_ph": lambda value, _units: f"{value:.1f}",
    "_t": hay,
    "elevation_m": elevation,
    "_m": distance,
    "far_km": far,
    "least_c": lambda value, units: f"{value * 1.8 + 32:.0f} F" if units == "us" else f"{value:.0f} °C",
    "cold_offset_c": lambda value, units: f"{value * 1.8:.0f} F" if units == "us" else f"{value:.0f} °C",
}
_BY_NAME: dict[str, Callable[[Any], str]] = {
    "chance": chance_words,
    "chances": lambda chances: _listed([chance_words(chance) for chance in chances]),
    "covariate": lambda name: COVARIATES[name].capitalize(),
    "covariates": lambda names: _listed([COVARIATES[name] for name in names]),
    "most_covariates": lambda count: COUNTS[count],
    "season_years": season_years,
    "station_names": _station_names,
    "known_buffers": _listed,
    "origin": lambda value: ORIGINS.get(value, value),
    "soil_groups": lambda groups: ", ".join(group.replace("_", " ") for group in groups),
    "stage": lambda value: STAGES.get(value, value),
    "intent": lambda value: INTENTS.get(value, value),
    "nutrient": lambda value: NUTRIENTS.get(value, value),
    "nutrients": lambda names: _listed([NUTRIENTS.get(name, name) for name in names]),
    "ph": lambda value: f"{value:.1f}",
    "target_ph": lambda value: f"{value:.1f}",
    "days": _days,
    "error_days": _days,
    "drying_days": _days,
    "by_date": day_in_year,
    "dates": lambda dates: ", ".join(map(day, dates)),
    "start_date": day_in_year,
    "circuity": lambda value: f"{value:g}",
}


# The map page.


def weekday(value: object) -> str:
    """Return a date as "Thu 24 Sep", or "" where there is none."""
    stamp = _stamp(value)
    return "" if stamp is None else f"{WEEKDAYS[stamp.weekday()]} {day(stamp)}"


def clock(value: object) -> str:
    """Return the hour of a time as "09:30", or "" where there is none; text stays as it is."""
    stamp = _stamp(value)
    return f"{stamp:%H:%M}" if stamp is not None else value if isinstance(value, str) else ""


def days_left(days: int | None) -> str:
    """Return days left in words: "4 days left", "last day", "3 days past", "no date"."""
    if days is None:
        return "no date"
    if days == 0:
        return "last day"
    return f"{abs(days)} day{'' if abs(days) == 1 else 's'} {'left' if days > 0 else 'past'}"
