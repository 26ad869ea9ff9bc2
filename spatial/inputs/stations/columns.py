"""Which column of a station file is which: by its usual names, or as the user says; and the unit a name tells."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from spatial.errors import InputError, Problem
from spatial.inputs.stations.readings import Unit

# What files call a thing, the surest name first, in small letters with _ for all else.
NAMES: dict[str, tuple[str, ...]] = {
    "station": (
        "station",
        "station_id",
        "ghcn_id",
        "stationid",
        "station_code",
        "id",
        "site_id",
        "site",
        "stn",
    ),
    "name": ("name", "station_name"),
    "date": (
        "date",
        "obs_date",
        "observation_date",
        "datetime",
        "date_time",
        "timestamp",
        "time",
        "yyyymmdd",
        "year_month_day",
        "day_date",
    ),
    "year": ("year", "yr", "yyyy"),
    "month": ("month", "mo", "mon", "mm"),
    "day": ("day", "dy", "dd", "day_of_month"),
    "day_of_year": ("doy", "day_of_year", "yday", "jday", "julian_day", "julian", "jd"),
    "tmin": (
        *("tmin", "t_min", "tmn", "min_temp", "temp_min", "mintemp", "tempmin", "min_temperature"),
        *("temperature_min", "minimum_temperature", "temperature_minimum", "minimum_temp", "temp_minimum"),
        *(
            "min_air_temp",
            "minimum_air_temperature",
            "air_temp_min",
            "daily_minimum",
            "daily_min",
            "low_temp",
        ),
        *("mint", "tn", "minimum", "min", "low"),
    ),
    "tmax": (
        *("tmax", "t_max", "tmx", "max_temp", "temp_max", "maxtemp", "tempmax", "max_temperature"),
        *("temperature_max", "maximum_temperature", "temperature_maximum", "maximum_temp", "temp_maximum"),
        *(
            "max_air_temp",
            "maximum_air_temperature",
            "air_temp_max",
            "daily_maximum",
            "daily_max",
            "high_temp",
        ),
        *("maxt", "tx", "maximum", "max", "high"),
    ),
    "latitude": ("latitude", "lat"),
    "longitude": ("longitude", "lon", "long", "lng"),
    "elevation": ("elevation", "elev", "altitude", "height"),
    "element": ("element",),
    "value": ("data_value", "value"),
    "quality": ("q_flag", "qflag", "quality_flag"),
}
UNIT_ENDS: dict[str, Unit] = {
    **dict.fromkeys(
        ("0_1_deg_c", "0_1_c", "tenths", "tenths_c", "tenthsc", "tenths_deg_c", "tenths_of_deg_c", "10ths_c"),
        "tenthsC",
    ),
    **dict.fromkeys(("f", "degf", "deg_f", "degrees_f", "fahrenheit", "degrees_fahrenheit"), "F"),
    **dict.fromkeys(("c", "degc", "deg_c", "degrees_c", "celsius", "degrees_celsius", "centigrade"), "C"),
}
TEMPERATURES = ("tmin", "tmax")
LENGTHS = {"m": "m", "meters": "m", "metres": "m", "ft": "ft", "feet": "ft"}
# Other names of a temperature are one of its own words among words that say no more.
OWN_WORDS = {
    "tmin": {"tmin", "min", "mn", "minimum", "lowest", "low"},
    "tmax": {"tmax", "max", "mx", "maximum", "highest", "high"},
}
PLAIN_WORDS = {
    "air",
    "daily",
    "day",
    "t",
    "ta",
    "temp",
    "temps",
    "temperature",
    "temperatures",
    "of",
    "the",
    "2m",
}
CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
MAXIMUM = re.compile(r"tmax|tmx|max|high")
MAY_BE_SAID = (
    *("date", "year", "month", "day", "station", "tmin", "tmin_f", "tmin_c", "tmax", "tmax_f", "tmax_c"),
    *("name", "latitude", "longitude", "elevation", "elevation_m", "elevation_ft"),
)


@dataclass(frozen=True)
class Heading:
    """A column of the file: its own name, and the unit that a name tells, "" where none does."""

    theirs: str
    unit: str = ""
    said_by: str = "its name"


def find_columns(heading: Sequence[str], said: Mapping[str, str], file: str) -> dict[str, Heading]:
    """Return our name -> the file's column, of those that are there; what the user says goes before all.

    Raises InputError for a name of ours that is not known, a column that is not there, and a minimum that is
    named as a maximum.
    """
    problems = [
        problem for ours, theirs in said.items() for problem in _said_faults(ours, theirs, heading, file)
    ]
    if problems:
        raise InputError(problems)
    by_name = {ours: found for ours in NAMES if (found := _by_name(ours, heading)) is not None}
    by_user = dict(_as_said(ours, theirs) for ours, theirs in said.items())
    return by_name | by_user


def plain(name: str) -> str:
    """Return a heading in small letters, with one _ for all that is neither a letter nor a digit."""
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")


def _by_name(ours: str, heading: Sequence[str]) -> Heading | None:
    ends = {"elevation": LENGTHS} | dict.fromkeys(TEMPERATURES, UNIT_ENDS)
    ranked = []
    for theirs in heading:
        for name in dict.fromkeys((plain(theirs), plain(CAMEL.sub("_", theirs)))):
            base, unit = _parted(name, NAMES[ours], ends.get(ours, {}))
            if base in NAMES[ours]:
                ranked.append((NAMES[ours].index(base), Heading(theirs, unit)))
            elif (said := _in_own_words(name, ours)) is not None:
                ranked.append((len(NAMES[ours]), Heading(theirs, said)))
    return min(ranked, key=lambda pair: pair[0])[1] if ranked else None


def _in_own_words(name: str, ours: str) -> str | None:
    """Return the unit, "" where none, of a name that says a temperature in other words; None for another name."""
    own = OWN_WORDS.get(ours, set())
    for end, unit in {"": "", **UNIT_ENDS}.items():
        words = name.removesuffix(f"_{end}").split("_") if end else name.split("_")
        if set(words) & own and set(words) <= own | PLAIN_WORDS:
            return unit
    return None


def _parted(name: str, bases: Sequence[str], ends: Mapping[str, str]) -> tuple[str, str]:
    for end, unit in ends.items():
        base = name.removesuffix(f"_{end}")
        if base != name and base in bases:
            return base, unit
    return name, ""


def _as_said(ours: str, theirs: str) -> tuple[str, Heading]:
    base, end = _parted(ours, (*TEMPERATURES, "elevation"), {"f": "F", "c": "C", "m": "m", "ft": "ft"})
    if end:
        return base, Heading(theirs, end, f"--column {ours}")
    own = _parted(plain(theirs), NAMES.get(ours, ()), UNIT_ENDS if ours in TEMPERATURES else LENGTHS)
    return base, Heading(theirs, own[1])


def _said_faults(ours: str, theirs: str, heading: Sequence[str], file: str) -> list[Problem]:
    if ours not in MAY_BE_SAID:
        mend = f"Use one of: {', '.join(MAY_BE_SAID)}"
        return [Problem(file, "columns", f"{ours!r} is not a column lastcut knows", mend)]
    if theirs not in heading:
        has = f"The file has: {', '.join(heading)}"
        return [Problem(file, f"column {theirs!r} for {ours!r}", "is not there", has)]
    if ours.startswith("tmin") and MAXIMUM.search(plain(theirs)):
        mend = "Say the column of the minima, as tmin=TMIN"
        return [Problem(file, f"column {theirs!r} for {ours!r}", "is named as a maximum", mend)]
    return []
