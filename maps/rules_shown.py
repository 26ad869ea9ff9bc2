"""The rules in use, a line each: what the number is, its value in the region's units, where it comes from."""

from collections.abc import Callable
from typing import Any

from maps.labels import height
from spatial.inputs.region import Region
from spatial.units import farmer_units
from spatial.values import Grass


def rules_in_use(region: Region) -> list[tuple[str, list[str]]]:
    """Return for each grass of the region's fields its name and the lines of its rules."""
    named = set(region.fields["grass"])
    return [
        (grass.name, rule_lines(grass, region.units))
        for name, grass in region.grasses.items()
        if name in named
    ]


def rule_lines(grass: Grass, units: str) -> list[str]:
    """Return one line for each number of a grass that has a source, as "target height: 8 in (source)"."""
    return [_line(name, getattr(grass, name), source, units) for name, source in grass.sources.items()]


def _line(name: str, value: Any, source: str, units: str) -> str:
    for suffix, words in _BY_UNIT.items():
        if name.endswith(suffix):
            return f"{_plain(name.removesuffix(suffix))}: {words(value, units)} ({source})"
    return f"{_plain(name)}: {_other(value)} ({source})"


def _plain(name: str) -> str:
    return name.replace("_ph", " pH").replace("_", " ")


def _other(value: Any) -> str:
    if isinstance(value, tuple) and value and isinstance(value[0], int):  # month and day
        return "{:02d}-{:02d}".format(*value)
    if isinstance(value, tuple):
        return ", ".join(value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value is None else f"{value:g}"


_BY_UNIT: dict[str, Callable[[Any, str], str]] = {
    "_cm_day_h": lambda value, _units: f"{value:g} cm a day for each hour of day length above the limit",
    "_h": lambda value, _units: f"{value:g} h",
    "_days": lambda value, _units: f"{value:g} days",
    "_cm": height,
    "_c": lambda value, units: (
        f"{farmer_units(value, '_c', '_f'):.0f} F" if units == "us" else f"{value:.1f} °C"
    ),
}
