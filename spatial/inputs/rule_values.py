"""One number of a rule file: brought to the type and the inside unit that it has in `Grass`, if it can be true."""

from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from spatial.units import written_names
from spatial.values import Grass

# What can be true of a number of a grass, by the end of its name, in inside units.
POSSIBLE = {
    "_c": (-20.0, 5.0),
    "_days": (1.0, 366.0),
    "_cm": (0.0, 300.0),
    "_cm_day_h": (0.0, 10.0),
    "_day_length_h": (0.0, 24.0),
    "_ph": (2.5, 10.5),
    "_share": (0.0, 10.0),
    "_average": (1.0, 366.0),
}


@dataclass(frozen=True)
class RuleNumber:
    """A number of `Grass` under one of the names it may be written in: its type and the way to the inside unit."""

    name: str
    type: Any
    factor: float
    offset: float


def known_numbers() -> dict[str, RuleNumber]:
    """Return every written name of a number of `Grass`."""
    numbers = [f for f in fields(Grass) if f.name not in ("grass", "name", "sources")]
    return {
        written: RuleNumber(f.name, f.type, *scale)
        for f in numbers
        for written, scale in written_names(f.name).items()
    }


def rule_value(number: RuleNumber, value: Any) -> Any:
    """Return a value from a rule file in inside units.

    Raises TypeError or ValueError, with what to write instead, where the value cannot be.
    """
    if number.type is bool:
        if not isinstance(value, bool):
            raise TypeError("Write true or false")
        return value
    if number.type == tuple[str, ...]:
        return _texts(value)
    if number.type not in (int, float):
        return _month_and_day(value)
    if isinstance(value, bool) or not isinstance(value, int if number.type is int else int | float):
        raise TypeError("Write a whole number" if number.type is int else "Write a number")
    inside = value if (number.factor, number.offset) == (1.0, 0.0) else value * number.factor + number.offset
    least, most = next(span for end, span in POSSIBLE.items() if number.name.endswith(end))
    if not least <= inside <= most:
        raise ValueError(f"It lies between {least:g} and {most:g} as {number.name}")
    return inside


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        raise TypeError('Write a list of texts, as ["Tifton 85"]')
    return tuple(value)


def _month_and_day(value: Any) -> tuple[int, int] | None:
    if value == "":
        return None
    try:
        day = date.fromisoformat(f"2001-{value}")  # a year without 29 February: the day must be in every year
    except ValueError as error:
        raise ValueError('Write the day as "08-31", or "" for none') from error
    return day.month, day.day
