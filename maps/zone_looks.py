"""Colours and hatches of the last-cut zones: a ramp from early, dark, to late, light, and a hatch for each week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from maps.style import INK, Look

# Pine to straw, our own: red, green and lightness rise all the way, so that a later week is always lighter.
RAMP = ("#23404a", "#2f6a62", "#5f9352", "#a8b552", "#e3d27a", "#fbf0c8")
# Neighbours in time differ in their stroke; the round begins anew after eleven weeks, far away in lightness.
HATCHES = ("", "//", "..", "\\\\", "--", "xx", "/", ".", "\\", "-", "x")
WHITE = "#ffffff"
MARK_CONTRAST = 3.2  # a little over the 3:1 that WCAG 2.2 (1.4.11) asks of graphics
DAYS_PER_WEEK = 7
MIXES = 40


@dataclass(frozen=True)
class ZoneKey:
    """What tells a zone's look: the layer it is of, and the first date of its week."""

    layer: int
    cut_by: date


def zone_looks(keys: Sequence[ZoneKey]) -> dict[ZoneKey, Look]:
    """Return the look of every zone: one week has one look in all layers, and no two weeks of a layer share one."""
    weeks = _weeks(keys)
    # Weeks that no zone has take no part of the ramp.
    steps = {week: step for step, week in enumerate(sorted(set(weeks.values())))}
    return {key: _look(steps[week], len(steps) - 1) for key, week in weeks.items()}


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours, 1 to 21, as WCAG 2.2 defines it."""
    dark, light = sorted([_luminance(one), _luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def _weeks(keys: Sequence[ZoneKey]) -> dict[ZoneKey, int]:
    """Return the week of each zone, counted from the earliest date of all."""
    weeks: dict[ZoneKey, int] = {}
    first = min((key.cut_by for key in keys), default=date.min)
    before: tuple[int, int] = (-1, -1)
    for key in sorted(set(keys), key=lambda one: (one.layer, one.cut_by)):
        least = before[1] + 1 if before[0] == key.layer else 0
        weeks[key] = max(least, round((key.cut_by - first).days / DAYS_PER_WEEK))
        before = key.layer, weeks[key]
    return weeks


def _look(step: int, last: int) -> Look:
    fill = _on_ramp(step / last if last else 0.5)
    return Look(f"week-{step}", fill, _mark(fill), HATCHES[step % len(HATCHES)])


def _on_ramp(share: float) -> str:
    place = share * (len(RAMP) - 1)
    lower = min(int(place), len(RAMP) - 2)
    return _mixed(RAMP[lower], RAMP[lower + 1], place - lower)


def _mark(fill: str) -> str:
    """Return the quietest hatch colour that is still seen on a fill."""
    strong = max((INK, WHITE), key=lambda colour: contrast(colour, fill))
    marks = (_mixed(fill, strong, part / MIXES) for part in range(MIXES + 1))
    return next((mark for mark in marks if contrast(mark, fill) >= MARK_CONTRAST), strong)


def _mixed(one: str, other: str, share: float) -> str:
    parts = (
        round(low + share * (high - low)) for low, high in zip(_channels(one), _channels(other), strict=True)
    )
    return "#" + "".join(f"{part:02x}" for part in parts)


def _channels(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))


def _luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2)."""
    limit = 0.04045
    red, green, blue = (
        share / 12.92 if share <= limit else ((share + 0.055) / 1.055) ** 2.4
        for share in (channel / 255 for channel in _channels(colour))
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
