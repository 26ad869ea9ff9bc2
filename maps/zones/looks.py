"""Colours and hatches of the last-cut zones: a ramp from early, dark, to late, light, and a hatch for each week."""

from collections.abc import Sequence
from datetime import date

from maps.style import INK, Look

# Pine to straw, our own: red, green and lightness rise all the way, so that a later week is always lighter.
RAMP = ("#2a4e59", "#2f6a62", "#5f9352", "#a8b552", "#e3d27a", "#fbf0c8")
# Neighbours in time differ in their stroke; the round begins anew after eleven weeks, far away in lightness.
HATCHES = ("", "//", "..", "\\\\", "--", "xx", "/", ".", "\\", "-", "x")
WHITE = "#ffffff"
MARK_CONTRAST = 3.2  # a little over the 3:1 that WCAG 2.2 (1.4.11) asks of graphics
DAYS_PER_WEEK = 7
MIXES = 40
MIDDLE = 0.5  # of the ramp
UNKNOWN = Look("unknown", "#ffffff", "#8b8271", "xx")  # land of the areas without a date


def zone_looks(layers: Sequence[Sequence[date]], season_start: date) -> dict[date, Look]:
    """Return the look of every zone's first date, layer by layer: days of one week have one look in all layers.

    Weeks run from the first day of the season, as those of the zones do. The ramp is for weeks that stand beside
    others; one that has a whole layer wherever it occurs is of the middle colour.
    """
    weeks = {day: (day - season_start).days // DAYS_PER_WEEK for layer in layers for day in layer}
    beside = sorted({weeks[day] for layer in layers if len(layer) > 1 for day in layer})
    fills = {week: _on_ramp(place / max(len(beside) - 1, 1)) for place, week in enumerate(beside)}
    looks = {
        week: _look(step, fills.get(week, _on_ramp(MIDDLE)))
        for step, week in enumerate(sorted(set(weeks.values())))
    }
    return {day: looks[week] for day, week in weeks.items()}


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours, 1 to 21, as WCAG 2.2 defines it."""
    dark, light = sorted([_luminance(one), _luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def _look(step: int, fill: str) -> Look:
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
