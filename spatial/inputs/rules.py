"""The numbers of the trade from their rule files: grasses, soil rating schemes, drying days, road speeds."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any

from spatial.inputs.checks import Report
from spatial.units import written_names
from spatial.values import Grass, RatingScheme

SHIPPED = Path(__file__).parents[1] / "rules"
PLAIN = ("grass", "name", "sources")
MG_KG_PER = {"lb/ac": 0.5, "ppm": 1.0, "mg/kg": 1.0}


def read_grasses(report: Report, own_folder: Path | None = None) -> dict[str, Grass]:
    """Return the grasses by name: the shipped ones, then those of the region's own folder over them.

    A region's file may start from a known grass (`like = "..."`, or the same name) and change some numbers.
    """
    known: dict[str, dict[str, Any]] = {}
    for path, said in _files("grass", own_folder, report):
        name = str(said.get("grass", path.stem))
        known[name] = known.get(name, {}) | said
        _refuse_unknown_keys(path.name, said, report)
    grasses = {name: _grass(name, _whole(name, known, report), report) for name in sorted(known)}
    return {name: grass for name, grass in grasses.items() if grass is not None}


def read_schemes(report: Report, own_folder: Path | None = None) -> tuple[RatingScheme, ...]:
    """Return the soil rating schemes, one for each soil group of each file; a region's own come first."""
    found = [
        scheme for path, said in _files("soil", own_folder, report) for scheme in _schemes(path, said, report)
    ]
    return tuple(reversed(found))


def read_drying_days() -> dict[int, int]:
    """Return the days from cutting to baling by month of the cut (1-12)."""
    said = _toml(SHIPPED / "drying.toml")["days"]["value"]
    return {int(month): int(days) for month, days in said.items()}


def read_road_speeds() -> dict[str, float]:
    """Return the speed [km/h] of each road class."""
    factor, offset = written_names("speed_km_h")["speed_mph"]
    said = _toml(SHIPPED / "roads.toml")["speed_mph"]["value"]
    return {str(name): float(mph) * factor + offset for name, mph in said.items()}


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _files(kind: str, own_folder: Path | None, report: Report) -> Iterator[tuple[Path, dict[str, Any]]]:
    folders = [SHIPPED / kind] + ([own_folder] if own_folder else [])
    for path in (path for folder in folders for path in sorted(folder.glob("*.toml"))):
        try:
            yield path, _toml(path)
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
            report.refuse(path.name, "", f"is not readable TOML ({error})", "Mend the line it names")


def _whole(name: str, known: Mapping[str, dict[str, Any]], report: Report) -> dict[str, Any]:
    """Return what is said of a grass, on top of what is said of the grass it is like."""
    said, seen = dict(known[name]), {name}
    while like := said.pop("like", None):
        if like in seen or like not in known:
            report.refuse(
                f"grass {name!r}",
                f"like = {like!r}",
                "is not a grass to start from",
                f"Use one of: {', '.join(sorted(known))}",
            )
            break
        seen.add(like)
        said = known[like] | said
    return said


def _number_names() -> dict[str, tuple[str, float, float]]:
    """Return every written name of a number of `Grass`: our name, factor and offset."""
    names = [f.name for f in fields(Grass) if f.name not in PLAIN]
    return {other: (name, *scale) for name in names for other, scale in written_names(name).items()}


def _refuse_unknown_keys(file: str, said: Mapping[str, Any], report: Report) -> None:
    known = _number_names()
    for key, entry in said.items():
        if key in ("grass", "name", "like"):
            continue
        if key not in known:
            report.refuse(
                file, key, "is not a number lastcut knows", f"Use one of: {', '.join(sorted(known))}"
            )
        elif not isinstance(entry, dict) or "value" not in entry or not entry.get("source"):
            report.refuse(
                file,
                key,
                "needs a value and its source",
                'Write value = ..., source = "..." (or "common practice, no source")',
            )


def _grass(name: str, said: Mapping[str, Any], report: Report) -> Grass | None:
    numbers, sources = _numbers(said)
    needed = {f.name for f in fields(Grass) if f.name not in PLAIN and f.default is MISSING}
    if missing := sorted(needed - set(numbers)):
        report.refuse(
            f"grass {name!r}", ", ".join(missing), "is not given", 'Give it, or start with like = "..."'
        )
        return None
    return Grass(grass=name, name=str(said.get("name", name.replace("_", " "))), sources=sources, **numbers)


def _numbers(said: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    numbers: dict[str, Any] = {}
    sources: dict[str, str] = {}
    known = _number_names()
    for key, entry in said.items():
        if key not in known or not isinstance(entry, dict) or "value" not in entry:
            continue
        ours, factor, offset = known[key]
        numbers[ours] = _inside(entry["value"], factor, offset)
        sources[ours] = str(entry.get("source", ""))
    return numbers, sources


def _inside(value: Any, factor: float, offset: float) -> Any:
    if isinstance(value, str):  # a day of the year, as "08-31"; empty for none
        return tuple(int(part) for part in value.split("-")) if value else None
    if isinstance(value, bool) or (factor == 1.0 and offset == 0.0):
        return value
    return value * factor + offset


def _schemes(path: Path, said: Mapping[str, Any], report: Report) -> Iterator[RatingScheme]:
    missing = [
        key for key in ("name", "extractant", "unit", "ratings", "limits", "source") if not said.get(key)
    ]
    if missing or said["unit"] not in MG_KG_PER:
        cause = f"lacks {', '.join(missing)}" if missing else f"has unit {said['unit']!r}"
        report.refuse(path.name, "", cause, f"Units known: {', '.join(MG_KG_PER)}")
        return
    factor = MG_KG_PER[said["unit"]]
    for group, limits in said["limits"].items():
        inside = {
            nutrient.lower(): tuple(limit * factor for limit in row) for nutrient, row in limits.items()
        }
        yield RatingScheme(
            path.stem,
            said["name"],
            said["extractant"],
            "" if group == "any" else group,
            tuple(said["ratings"]),
            inside,
            said["source"],
        )
