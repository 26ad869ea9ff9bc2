"""What region.toml may say: its sections and keys, each with its meaning, and the check against them."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report
from spatial.settings import about_settings
from spatial.units import written_names

FORMAT = 1
FILE = "region.toml"


@dataclass(frozen=True)
class Key:
    """One key of region.toml: the TOML type it has, what it means, and whether a region needs it."""

    kind: str
    help: str
    needed: bool = False
    choices: tuple[str, ...] = ()


_COLUMNS = Key("table", 'our column = your column, as height_in = "HT"')
_LAYER = {
    "file": Key("text", "path of the file, from the region folder", needed=True),
    "layer": Key("text", "name of the layer in the file; else the first with shapes"),
    "crs": Key("text", "coordinate system, only for a file that states none"),
    "columns": _COLUMNS,
}
_TABLE = {
    "file": Key("text", "path of the CSV file, from the region folder", needed=True),
    "columns": _COLUMNS,
}

TOP: dict[str, Key] = {
    "format": Key("whole", "format number of this file", needed=True),
    "name": Key("text", "name of the region, as it stands on the map", needed=True),
    "time_zone": Key("text", "time zone, as America/New_York", needed=True),
    "units": Key("text", "units people read", choices=("us", "metric")),
    "season_start": Key("text", "first day of a freeze season, as 08-01 (south of the equator 02-01)"),
}
SECTIONS: dict[str, dict[str, Key]] = {
    "fields": _LAYER
    | {"defaults": Key("table", 'value of our column where a field has none, as grass = "..."')},
    "freeze": {
        "file": Key("text", "raster of freeze dates", needed=True),
        "kind": Key("text", "what a band is", choices=("chances", "seasons")),
        "threshold_f": Key("number", "temperature of the freeze, deg F"),
        "threshold_c": Key("number", "temperature of the freeze, deg C"),
        "day_count": Key("text", "what the days count from", choices=("season_start", "year")),
        "no_freeze_value": Key("number", "value that means: no freeze came"),
        "chances": Key("list", "chance of each band, rising"),
    },
    "soil_tests": {"files": Key("list", "CSV files of lab tests", needed=True), "columns": _COLUMNS},
    "survey": _LAYER,
    "roads": _LAYER,
    "crews": _TABLE,
    "outlook": _TABLE,
    "clients": _TABLE,
    "season_log": _TABLE,
    "context": {
        "counties": Key("text", "polygons with a name; give fields their area"),
        "towns": Key("text", "points with a name"),
        "streams": Key("text", "lines"),
    },
    "rules": {
        "grass": Key("text", "folder of your own grass files"),
        "soil": Key("text", "folder of your own rating schemes"),
    },
    "settings": {},  # filled from Settings below
}
SECTIONS["settings"] = {
    written: Key("text" if about.choices else "number", f"{about.help} [{about.unit}]", choices=about.choices)
    for name, about in about_settings().items()
    for written in written_names(name)
}
_TYPES: dict[str, Callable[[Any], bool]] = {
    "text": lambda value: isinstance(value, str),
    "whole": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "number": lambda value: isinstance(value, int | float) and not isinstance(value, bool),
    "list": lambda value: isinstance(value, list),
    "table": lambda value: isinstance(value, dict),
}


def read_region_file(folder: Path, report: Report) -> dict[str, Any]:
    """Return what region.toml says, checked; raises InputError where it cannot be read at all."""
    path = folder / FILE
    if not path.is_file():
        cause, mend = "is not there", "Start one with: lastcut new FOLDER --fields FILE"
        raise InputError([Problem(str(path), "", cause, mend)])
    try:
        said = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise InputError(
            [Problem(FILE, "", f"is not readable TOML ({error})", "Mend the line it names")]
        ) from error
    _check_top(said, report)
    for section, keys in said.items():
        if section in SECTIONS and isinstance(keys, dict):
            _check_keys(f"[{section}]", keys, SECTIONS[section], report)
    return said


def settings_said(said: dict[str, Any]) -> dict[str, Any]:
    """Return the settings of a region file in inside units, under the names of `Settings`."""
    section = said.get("settings", {})
    found = {}
    for name in about_settings():
        for written, (factor, offset) in written_names(name).items():
            if written in section:
                value = section[written]
                found[name] = value if (factor, offset) == (1.0, 0.0) else value * factor + offset
    return found


def _check_top(said: dict[str, Any], report: Report) -> None:
    plain = {key: value for key, value in said.items() if key not in SECTIONS}
    _check_keys("", plain, TOP, report)
    for section in SECTIONS:
        if section in said and not isinstance(said[section], dict):
            report.refuse(FILE, section, "is not a section", f"Write [{section}] on a line of its own")
    if said.get("format", FORMAT) != FORMAT:
        report.refuse(
            FILE, "format", f"is {said['format']}; this lastcut reads {FORMAT}", "Get a newer lastcut"
        )
    if "fields" not in said:
        report.refuse(FILE, "[fields]", "is not there", "Name the fields' file")
    if not re.fullmatch(r"(0[1-9]|1[0-2])-01", str(said.get("season_start", "08-01"))):
        report.refuse(FILE, "season_start", "is not the first day of a month", 'Write it as "08-01"')
    _check_time_zone(said.get("time_zone", "UTC"), report)


def _check_time_zone(name: Any, report: Report) -> None:
    try:
        ZoneInfo(str(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        report.refuse(FILE, f"time_zone = {name!r}", "is not known", "Write it as America/New_York")


def _check_keys(place: str, said: dict[str, Any], known: dict[str, Key], report: Report) -> None:
    for name, value in said.items():
        where = f"{place} {name}".strip()
        if name not in known:
            report.refuse(FILE, where, "is not known here", f"Use one of: {', '.join(known)}")
        elif not _TYPES[known[name].kind](value):
            report.refuse(FILE, where, f"is {value!r}", f"Write a {known[name].kind}: {known[name].help}")
        elif known[name].choices and value not in known[name].choices:
            report.refuse(FILE, where, f"is {value!r}", f"Use one of: {', '.join(known[name].choices)}")
    for name, key in known.items():
        if key.needed and name not in said:
            report.refuse(FILE, f"{place} {name}".strip(), "is not there", f"Give the {key.help}")
