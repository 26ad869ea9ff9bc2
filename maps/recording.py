"""What a person typed to `record`, as facts for the season log."""

from collections.abc import Mapping
from datetime import date, datetime

from spatial.errors import InputError, Problem
from spatial.record import Fact
from spatial.units import CM_PER_INCH


def facts_of(
    days: Mapping[str, datetime | None],
    heights: Mapping[str, float | None],
    note: str,
    today: date,
    field_id: str,
    area: str,
) -> list[Fact]:
    """Return one fact for each thing said; raises InputError where nothing is said."""
    facts = []
    for kind, when in days.items():
        if when is None:
            continue
        happened, value = (today, when.date().isoformat()) if kind == "sprayed_until" else (when.date(), "")
        facts.append(Fact(happened, kind, field_id, area, value, note))
    cm = heights["height_cm"] if heights["height_in"] is None else heights["height_in"] * CM_PER_INCH
    if cm is not None:
        facts.append(Fact(today, "height", field_id, area, f"{cm:.1f}", note))
    if not facts and note:
        facts.append(Fact(today, "note", field_id, area, "", note))
    if not facts:
        raise InputError(
            [Problem("record", "", "nothing is said", "Give --cut, --height-in, --killing-freeze or --note")]
        )
    return facts
