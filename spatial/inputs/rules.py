"""The numbers of the trade from their rule files: grasses, soil rating schemes, drying days, road speeds, hay."""

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any

from spatial.inputs.checks import Report, first_line
from spatial.inputs.rule_values import known_numbers, rule_value
from spatial.units import written_names
from spatial.values import Grass, GrowthRules, HayRules

SHIPPED = Path(__file__).parents[1] / "rules"
WORDS = ("grass", "name", "like")

# What an annual need not say, and what stands for it.
_NOTHING: dict[str, Any] = {
    "regrowth_days": math.nan,
    "least_regrowth_days": math.nan,
    "target_height_cm": math.nan,
    "growth_cm_day_h": math.nan,
    "growth_day_length_h": math.nan,
    "growth_low_share": math.nan,
    "growth_high_share": math.nan,
    "freeze_cut_height_cm": math.nan,
    "short_freeze_cut_height_cm": math.nan,
    "last_cut_cap": None,
    "may_burn": False,
}

IN_ORDER = (
    ("stubble_cm", "target_height_cm"),
    ("least_regrowth_days", "regrowth_days"),
    ("short_freeze_cut_height_cm", "freeze_cut_height_cm"),
    ("very_low_ph", "target_ph"),
    ("target_ph", "high_ph"),
)

Said = dict[str, tuple[Any, str]]  # of a grass, by our name of the number: value in inside units, and source


def read_grasses(report: Report, own_folder: Path | None = None) -> dict[str, Grass]:
    """Return the grasses by name: the shipped ones, then those of the region's own folder over them.

    A region's file may start from a known grass (`like = "..."`, or the same name) and change some numbers.
    """
    words: dict[str, dict[str, str]] = {}
    numbers: dict[str, Said] = {}
    for path, said in rule_files("grass", own_folder, report):
        name = str(said.get("grass", path.stem))
        own = {key: str(said[key]) for key in WORDS if key in said and str(said[key]) != name}
        words[name] = words.get(name, {}) | own
        numbers[name] = numbers.get(name, {}) | _numbers(path.name, said, report)
    grasses = {name: _grass(name, words, numbers, report) for name in sorted(words)}
    return {name: grass for name, grass in grasses.items() if grass is not None}


def read_drying_days(months_later: int = 0) -> dict[int, int]:
    """Return the days from cutting to baling by month of the cut (1-12), moved by some months for the south."""
    said = _toml(SHIPPED / "drying.toml")["days"]["value"]
    return {(int(month) - 1 + months_later) % 12 + 1: int(days) for month, days in said.items()}


def read_calendar() -> dict[str, tuple[int, int]]:
    """Return the northern (month, day) of each of the year's jobs."""
    days = {name: str(entry["value"]).split("-") for name, entry in _toml(SHIPPED / "calendar.toml").items()}
    return {name: (int(month), int(day)) for name, (month, day) in days.items()}


def read_growth_rules() -> GrowthRules:
    """Return what temperature does to growth."""
    said = {name: entry["value"] for name, entry in _toml(SHIPPED / "growth.toml").items()}
    return GrowthRules(**said | {"rule_place_c": tuple(said["rule_place_c"])})


def read_road_speeds() -> dict[str, float]:
    """Return the speed [km/h] of each road class."""
    factor, offset = written_names("speed_km_h")["speed_mph"]
    said = _toml(SHIPPED / "roads.toml")["speed_mph"]["value"]
    return {str(name): float(mph) * factor + offset for name, mph in said.items()}


def read_hay_rules() -> HayRules:
    """Return the numbers of the hay: yield above stubble, quality by interval, what a herd eats."""
    said = _toml(SHIPPED / "hay.toml")
    found: dict[str, Any] = {}
    sources: dict[str, str] = {}
    for name in (part.name for part in fields(HayRules) if part.name != "sources"):
        written, (factor, _) = next(pair for pair in written_names(name).items() if pair[0] in said)
        value = said[written]["value"]
        numbers = [one if isinstance(one, str) else one * factor for one in _listed(value)]
        found[name] = tuple(numbers) if isinstance(value, list) else numbers[0]
        sources[name] = str(said[written]["source"])
    return HayRules(**found, sources=sources)


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8-sig"))


def rule_files(kind: str, own_folder: Path | None, report: Report) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Give each rule file of a kind with what it says, the shipped ones first; one that cannot be read is refused."""
    if own_folder is not None and not own_folder.is_dir():
        report.refuse(str(own_folder), "", "is not a folder", f"Check [rules] {kind} in region.toml")
    folders = [SHIPPED / kind] + ([own_folder] if own_folder else [])
    for path in (path for folder in folders for path in sorted(folder.glob("*.toml"))):
        try:
            yield path, _toml(path)
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
            cause = f"is not readable TOML ({first_line(error)})"
            report.refuse(path.name, "", cause, "Mend the line it names")


def _numbers(file: str, said: Mapping[str, Any], report: Report) -> Said:
    """Return what a file says of a grass, with every entry refused that is not known, not possible or unsourced."""
    known, found = known_numbers(), {}
    for key, entry in said.items():
        if key in WORDS:
            continue
        if key not in known:
            mend = f"Use one of: {', '.join(sorted(known))}"
            report.refuse(file, key, "is not a number lastcut knows", mend)
        elif not isinstance(entry, dict) or "value" not in entry or not entry.get("source"):
            mend = 'Write value = ..., source = "..." (or "common practice, no source")'
            report.refuse(file, key, "needs a value and its source", mend)
        else:
            try:
                found[known[key].name] = (rule_value(known[key], entry["value"]), str(entry["source"]))
            except (TypeError, ValueError) as error:
                report.refuse(file, f"{key} = {entry['value']!r}", "is not possible", str(error))
    return found


def _grass(
    name: str, words: Mapping[str, Mapping[str, str]], numbers: Mapping[str, Said], report: Report
) -> Grass | None:
    said: Said = {}
    for one in _likes(name, words, report):
        said = numbers[one] | said
    needed = {
        f.name for f in fields(Grass) if f.name not in ("grass", "name", "sources") and f.default is MISSING
    }
    if said.get("last_cut_rule", (True, ""))[0] is False:  # an annual needs no numbers of regrowth
        said = {one: (_NOTHING[one], "") for one in needed & set(_NOTHING)} | said
    if missing := sorted(needed - set(said)):
        mend = 'Give it, or start with like = "..."'
        report.refuse(f"grass {name!r}", ", ".join(missing), "is not given", mend)
        return None
    if fault := _order_fault({key: value for key, (value, _source) in said.items()}):
        report.refuse(f"grass {name!r}", *fault)
        return None
    shown = words[name].get("name", name.replace("_", " "))
    values = {key: value for key, (value, _source) in said.items()}
    sources = {key: source for key, (_value, source) in said.items() if source}
    return Grass(grass=name, name=shown, sources=sources, **values)


def _order_fault(values: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """Return the place, cause and mend of the first pair of numbers that stand in the wrong order."""
    for lower, higher in IN_ORDER:
        if values[lower] > values[higher] or (lower == "stubble_cm" and values[lower] == values[higher]):
            return (
                f"{lower}, {higher}",
                f"are {values[lower]:g} and {values[higher]:g}",
                f"{lower} is the lower",
            )
    return None


def _likes(name: str, words: Mapping[str, Mapping[str, str]], report: Report) -> list[str]:
    """Return the grass, the grass it is like, the one that is like, and so on."""
    chain = [name]
    while (like := words[chain[-1]].get("like", chain[-1])) != chain[-1]:
        if like in chain or like not in words:
            mend = f"Use one of: {', '.join(sorted(words))}"
            report.refuse(f"grass {name!r}", f"like = {like!r}", "is not a grass to start from", mend)
            break
        chain.append(like)
    return chain
