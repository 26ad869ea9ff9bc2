"""What each band of a freeze layer is: a season, the day of a chance, or what else is known of the dates."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from spatial.inputs.checks import Report, listed
from spatial.values import NO_FREEZE_BAND, SEASONS_BAND, error_band

ERROR_BAND = re.compile(r"error_days (0?\.\d+)")


@dataclass(frozen=True)
class Bands:
    """The places of a file's bands: those of the dates with the chance or season of each, and others by name."""

    dates: tuple[int, ...]
    chances: tuple[float, ...] = ()
    seasons: tuple[int, ...] = ()
    more: Mapping[str, int] = field(default_factory=dict)


def bands_of(file: str, descriptions: Sequence[str | None], said: Mapping[str, Any], report: Report) -> Bands:
    """Return what the bands of a file are, by what is `said` of the layer and by their descriptions.

    A band described by a number is the day of that chance; region.toml may name the first bands instead, by
    `chances`. Of the others those that a layer of chances may have are offered, and those of another name told. A
    band without a name, and chances that do not rise, are refused.
    """
    names = [(text or "").strip() for text in descriptions]
    everything = tuple(range(len(names)))
    if said.get("kind") != "chances":
        return Bands(everything, seasons=tuple(_season(name, place + 1) for place, name in enumerate(names)))
    found: list[Any] = list(said.get("chances", []))
    dates = everything[: len(found)] if "chances" in said else _numbered(names)
    chances = [number_in(text) for text in found or (names[place] for place in dates)]
    others = {place: names[place] for place in everything if place not in dates}
    if not _rising(chances) or len(chances) != len(dates) or not all(map(_is_a_name, others.values())):
        cause = f"do not name its bands, of which there are {len(names)}"
        report.refuse(file, "chances", cause, "Say in region.toml, rising: chances = [0.1, 0.2, 0.5]")
        return Bands(dates)
    rising = tuple(float(chance) for chance in chances if chance is not None)
    return Bands(dates, rising, more=_more(file, others, rising, report))


def number_in(text: object) -> float | None:
    """Return the number that a text is, or None."""
    try:
        return float(str(text))
    except ValueError:
        return None


def _season(name: str, band: int) -> int:
    first = name[:4]
    return int(first) if first.isdigit() else band


def _numbered(names: list[str]) -> tuple[int, ...]:
    return tuple(place for place, name in enumerate(names) if number_in(name) is not None)


def _rising(chances: list[float | None]) -> bool:
    known = [chance for chance in chances if chance is not None and 0 < chance < 1]
    return bool(known) and known == chances and known == sorted(set(known))


def _is_a_name(name: str) -> bool:
    return name != "" and number_in(name) is None


def _more(file: str, others: Mapping[int, str], chances: tuple[float, ...], report: Report) -> dict[str, int]:
    offered = {error_band(chance) for chance in chances} | {SEASONS_BAND, NO_FREEZE_BAND}
    named = {_plain(name): place for place, name in others.items()}
    strangers = sorted(set(named) - offered)
    if strangers:
        place = listed("band", map(repr, strangers))
        report.tell(file, place, "not of a known name, so not used", "Check how it is spelled")
    return {name: place for name, place in named.items() if name in offered}


def _plain(name: str) -> str:
    """Return the name of an error band with its chance written as ours is."""
    found = ERROR_BAND.fullmatch(name)
    return error_band(float(found[1])) if found else name
