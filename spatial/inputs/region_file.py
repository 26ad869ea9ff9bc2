"""What region.toml may say: its sections and keys, each with its meaning, and the check against them."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from spatial.errors import InputError, Problem
from spatial.inputs.cells import is_number
from spatial.inputs.checks import Report, first_line
from spatial.settings import about_settings, settings_with
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


_COLUMNS = Key("names", 'our column = your column, as height_in = "HT"')
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
    | {"defaults": Key("values", 'value of our column where a field has none, as grass = "..."')},
    "freeze": {
        "file": Key("text", "raster of freeze dates", needed=True),
        "crs": Key("text", "coordinate system, only for a file that states none"),
        "kind": Key("text", "what a band is", choices=("chances", "seasons")),
        "threshold_f": Key("number", "temperature of the freeze, deg F"),
        "threshold_c": Key("number", "temperature of the freeze, deg C"),
        "day_count": Key("text", "what the days count from", choices=("season_start", "year")),
        "no_freeze_value": Key("number", "value that means: no freeze came"),
        "chances": Key("numbers", "chance of each band, rising"),
    },
    "soil_tests": {
        "files": Key("texts", "CSV files of lab tests", needed=True),
        "columns": Key(
            "name_lists",
            'our column = your column, as ph = "pHw"; where files differ, k = ["Potash", "K lb/ac"]',
        ),
    },
    "survey": _LAYER
    | {
        "tables": Key(
            "texts",
            "the survey's tables mapunit, component and chorizon: their files, their folder or their database",
        ),
        "date": Key("text", "day the survey was published, as 2025-09-01"),
    },
    "lime": {
        "product": Key("text", "name of the lime that is spread"),
        "rnv_pct": Key("number", "its relative neutralizing value (ECCE, effective CaCO3), from the label"),
        "cce_pct": Key("number", "its CaCO3 equivalent, where no RNV is given; with the two sieves"),
        "through_10_mesh_pct": Key("number", "part of it that passes a 10-mesh sieve"),
        "through_50_mesh_pct": Key("number", "part of it that passes a 50-mesh sieve"),
        "depth_in": Key("number", "depth to lime, in; if not given, the depth that the rate is for"),
        "depth_cm": Key("number", "depth to lime, cm"),
        "most_tons_ac": Key("number", "most lime in one surface application, tons an acre; 2 if not given"),
        "most_t_ha": Key("number", "most lime in one surface application, t/ha"),
    },
    "roads": _LAYER,
    "crews": _TABLE,
    "outlook": _TABLE,
    "temperature": _TABLE,
    "clients": _TABLE,
    "season_log": {
        "file": Key("text", "CSV file that `record` appends to; season_log.csv if not given"),
        "columns": _COLUMNS,
    },
    "context": {
        "counties": Key("text", "polygons with a name; give fields their area"),
        "towns": Key("text", "points with a name"),
        "streams": Key("text", "lines"),
    },
    "rules": {
        "grass": Key("text", "folder of your own grass files"),
        "soil": Key("text", "folder of your own rating schemes"),
        "lime": Key("text", "folder of your own lime methods"),
    },
    "settings": {},  # filled from Settings below
}
# Sections of which there may be several, each under a name: [labs."..."], [soil_rasters.k].
NAMED_SECTIONS: dict[str, dict[str, Key]] = {
    "labs": {
        "ph_method": Key("text", "how it measures pH: water, CaCl2, or CaCl2 brought to water"),
        "buffer": Key("text", "its buffer, as Adams-Evans"),
        "extractant": Key("text", "its extractant of P, K and Mg, as Mehlich-1"),
        "unit": Key("text", "unit of its P, K and Mg", choices=("ppm", "mg/kg", "lb/ac", "index")),
        "soil_group": Key("text", "soil group of its samples, as coastal_plain"),
        "depth_in": Key("number", "depth of its samples, in"),
        "depth_cm": Key("number", "depth of its samples, cm"),
        "lime_rnv_pct": Key("number", "relative neutralizing value of the lime that its lime rates are in"),
    },
    "soil_rasters": {
        "files": Key("texts", "raster files of one value, a file or a band for each depth", needed=True),
        "value": Key("text", "what it is; if not given, the section's name", choices=("ph", "p", "k", "mg")),
        "unit": Key("text", "unit of P, K and Mg", choices=("ppm", "mg/kg", "lb/ac")),
        "depths_in": Key("numbers", "limits of the depths from the top, as [0, 2, 6], in"),
        "depths_cm": Key("numbers", "limits of the depths from the top, as [0, 5, 15], cm"),
        "scale": Key("number", "what a value must be multiplied by, as 0.1; if not given, it is found"),
        "extractant": Key("text", "extractant of P, K and Mg"),
        "soil_group": Key("text", "soil group of the rating scheme"),
        "date": Key("text", "day it was made, as 2025-09-01"),
        "crs": Key("text", "coordinate system, only for a file that states none"),
    },
}
SECTIONS["settings"] = {
    written: Key("text" if about.choices else "number", f"{about.help} [{about.unit}]", choices=about.choices)
    for name, about in about_settings().items()
    for written in written_names(name)
}


_TYPES: dict[str, Callable[[Any], bool]] = {
    "text": lambda value: isinstance(value, str),
    "whole": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "number": is_number,
    "texts": lambda value: isinstance(value, list) and all(isinstance(one, str) for one in value),
    "numbers": lambda value: isinstance(value, list) and all(map(is_number, value)),
    "names": lambda value: isinstance(value, dict) and all(isinstance(one, str) for one in value.values()),
    "name_lists": lambda value: (
        isinstance(value, dict)
        and all(isinstance(one, str) or (_TYPES["texts"](one) and one) for one in value.values())
    ),
    "values": lambda value: (
        isinstance(value, dict) and not any(isinstance(one, list | dict) for one in value.values())
    ),
}
_WORDS = {
    "text": 'text in quotes, as "..."',
    "whole": "a whole number",
    "number": "a number",
    "texts": 'a list of texts, as ["...", "..."]',
    "numbers": "a list of numbers, as [0.1, 0.5]",
    "names": 'names in braces, as { height_in = "HT" }',
    "name_lists": 'names in braces, as { ph = "pHw", k = ["Potash", "K lb/ac"] }',
    "values": 'values in braces, as { grass = "..." }',
}


def read_region_file(folder: Path, report: Report) -> dict[str, Any]:
    """Return what region.toml says, without the entries that `report` refuses.

    So every entry that is left has the type and the section that the tables above give it. Raises InputError where
    the file cannot be read at all, or has another format number.
    """
    said = _toml(folder / FILE)
    if said.get("format", FORMAT) != FORMAT:
        cause = f"is {said['format']}, and this lastcut reads {FORMAT}"
        raise InputError([Problem(FILE, "format", cause, f"Write format = {FORMAT}, or get a newer lastcut")])
    sections = {*SECTIONS, *NAMED_SECTIONS}
    kept = _kept("", {key: value for key, value in said.items() if key not in sections}, TOP, report)
    for section, keys in SECTIONS.items():
        if isinstance(said.get(section), dict):
            kept[section] = _kept(f"[{section}]", said[section], keys, report)
        elif section in said:
            report.refuse(FILE, section, "is not a section", f"Write [{section}] on a line of its own")
    for section, keys in NAMED_SECTIONS.items():
        if section in said:
            kept[section] = _named(section, said[section], keys, report)
    if "fields" not in said:
        report.refuse(FILE, "[fields]", "is not there", "Name the fields' file")
    _check_season_start(kept, report)
    _check_time_zone(kept, report)
    _check_settings(kept, report)
    return kept


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


def _toml(path: Path) -> dict[str, Any]:
    if not path.is_file():
        cause, mend = "is not there", "Start one with: lastcut new FOLDER --fields FILE"
        raise InputError([Problem(str(path), "", cause, mend)])
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        cause = f"is not readable TOML ({first_line(error)})"
        raise InputError([Problem(FILE, "", cause, "Mend the line it names")]) from error


def _kept(place: str, said: dict[str, Any], known: dict[str, Key], report: Report) -> dict[str, Any]:
    """Return the entries that are as described; the others are refused, as are needed ones that are absent."""
    kept = {}
    for name, value in said.items():
        if fault := _fault(name, value, known, top=not place):
            report.refuse(FILE, f"{place} {name}".strip(), *fault)
        else:
            kept[name] = value
    for name, key in known.items():
        if key.needed and name not in said:
            report.refuse(FILE, f"{place} {name}".strip(), "is not there", f"Give the {key.help}")
    return kept


def _named(section: str, said: Any, keys: dict[str, Key], report: Report) -> dict[str, dict[str, Any]]:
    """Return the parts of a section of which there may be several, by name."""
    if not isinstance(said, dict) or not all(isinstance(part, dict) for part in said.values()):
        report.refuse(
            FILE, section, "needs a name to each part", f'Write [{section}."NAME"] on a line of its own'
        )
        return {}
    return {name: _kept(f"[{section}.{name}]", part, keys, report) for name, part in said.items()}


def _fault(name: str, value: Any, known: dict[str, Key], *, top: bool) -> tuple[str, str] | None:
    if name not in known:
        return (
            "is not known here",
            f"Use one of: {', '.join([*known, *((*SECTIONS, *NAMED_SECTIONS) if top else ())])}",
        )
    key = known[name]
    if not _TYPES[key.kind](value):
        return f"is {value!r}", f"Write {_WORDS[key.kind]}: {key.help}"
    if key.choices and value not in key.choices:
        return f"is {value!r}", f"Use one of: {', '.join(key.choices)}"
    return None


def _check_season_start(kept: dict[str, Any], report: Report) -> None:
    if not re.fullmatch(r"(0[1-9]|1[0-2])-01", kept.get("season_start", "08-01")):
        del kept["season_start"]
        report.refuse(FILE, "season_start", "is not the first day of a month", 'Write it as "08-01"')


def _check_time_zone(kept: dict[str, Any], report: Report) -> None:
    name = kept.get("time_zone", "UTC")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        report.refuse(FILE, f"time_zone = {name!r}", "is not known", "Write it as America/New_York")


def _check_settings(kept: dict[str, Any], report: Report) -> None:
    section = kept.get("settings", {})
    for name in about_settings():
        twice = [written for written in written_names(name) if written in section]
        if len(twice) > 1:
            report.refuse(FILE, f"[settings] {' and '.join(twice)}", "say the same", "Keep one of them")
    try:
        settings_with(date.min, settings_said(kept))
    except InputError as error:
        for problem in error.problems:
            report.refuse(FILE, f"[settings] {problem.place}", problem.cause, problem.mend)
