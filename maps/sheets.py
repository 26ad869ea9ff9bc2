"""What the sheet of one field says: titled sections of plain lines and small tables."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from maps import labels
from maps.page_words import PAGE
from maps.soil_layers import soil_section
from spatial.reasons import Reason
from spatial.settings import Settings

Row = dict[str, Any]
Section = dict[str, Any]  # "title" with "pairs" (a label and its value), "lines" (sentences) or both


WEEK = 7  # days between the lines of the risk
FEW_SHARE = 0.095  # under it a share is fewer than 1 fall of 10


def known(value: Any) -> Any:
    """Return a cell of a table, or None where it is missing."""
    if isinstance(value, tuple | list):
        return tuple(value)
    if isinstance(value, Reason) or value is None:
        return value
    return None if pd.api.types.is_scalar(value) and pd.isna(value) else value


def sheet(row: Row, settings: Settings, units: str, on_route: list[str]) -> list[Section]:
    """Return the sections of a field's sheet, in the order they are read; a section with nothing to say is left out."""
    said_by_route = {"planned_cut"} if on_route else set()
    to_do = (one for one in row.get("advice") or () if one.code not in said_by_route)
    sections = [
        _lines("to_do", _sentences(to_do, units)),
        _lines("on_route", on_route),
        _lines("off_route", _sentences([row["why_not"]] if row.get("why_not") else [], units)),
        _pairs("dates", _dates(row, settings)),
        _lines("why", _sentences(row.get("why") or (), units)),
        _pairs("other_chances", _other_chances(row)),
        _pairs("risk", _risk(row)),
        _lines("mind", _sentences(row.get("mind") or (), units)),
        _lines("hay", _sentences(row.get("hay") or (), units)),
        soil_section(row, units),
        _lines("jobs", _sentences(row.get("tasks") or (), units)),
        _lines("record", _sentences(row.get("stand_record") or (), units)),
        _pairs("field", _field(row, units)),
    ]
    return [section for section in sections if section.get("lines") or section.get("pairs")]


def cut_by(row: Row) -> str:
    """Return the last-cut date as a few words for the list."""
    date = row.get("last_cut_date")
    if date is None:
        return PAGE["no_last_cut"]
    return PAGE["passed" if row["urgency"] == "past" else "by"].format(day=labels.day(date))


def facts(row: Row, units: str) -> list[str]:
    """Return what a row of the list says beside the name and client: size and stage."""
    size = "" if row.get("area_ha") is None else labels.area(row["area_ha"], units)
    return [fact for fact in (size, labels.STAGES[row["stage"]] if row["stage"] else "") if fact]


def _sentences(reasons: Iterable[Reason], units: str) -> list[str]:
    return [labels.sentence(why, units) for why in reasons]


def _lines(title: str, lines: list[str]) -> Section:
    return {"title": PAGE[title], "lines": lines}


def _pairs(title: str, pairs: list[tuple[str, str]]) -> Section:
    return {"title": PAGE[title], "pairs": [list(pair) for pair in pairs if pair[1]]}


def _dates(row: Row, settings: Settings) -> list[tuple[str, str]]:
    cover, seasons = row.get("freeze_cover_share"), row.get("freeze_seasons")
    has_freeze = bool(cover)
    return [
        (PAGE["last_cut"], labels.day(row.get("last_cut_date")) or PAGE["no_last_cut"]),
        (PAGE["last_cut_why"], labels.LIMITS.get(row.get("last_cut_limit") or "", "")),
        (
            f"{PAGE['freeze']} ({labels.chance_words(settings.chance)})",
            _freeze(row, "killing_freeze_date", has_freeze),
        ),
        (f"{PAGE['freeze']} ({PAGE['average']})", _freeze(row, "average_freeze_date", has_freeze)),
        (PAGE["regrowth"], _days(row.get("regrowth_days"))),
        (PAGE["ready"], labels.day(row.get("ready_date"))),
        (PAGE["previous_cut"], labels.day_in_year(row.get("previous_cut_date"))),
        (PAGE["promised"], labels.day(row.get("promised_by_date"))),
        (PAGE["seasons"], "" if seasons is None else f"{seasons:.0f}"),
        (PAGE["cover"], "" if cover is None else f"{100 * cover:.0f} %"),
    ]


def _other_chances(row: Row) -> list[tuple[str, str]]:
    """Return the last-cut date at each chance shown, with the error of its freeze date."""
    return [
        (labels.chance_words(chance), _with_error(labels.day(last_cut), error_days))
        for chance, _freeze_date, last_cut, error_days in row.get("by_chance") or ()
    ]


def _with_error(date: str, error_days: float) -> str:
    return (
        date
        if not date or pd.isna(error_days)
        else PAGE["with_error"].format(date=date, days=max(1, round(error_days)))
    )


def _risk(row: Row) -> list[tuple[str, str]]:
    """Return for cuts a week apart in how many falls of 10 the freeze came too soon after."""
    return [
        (labels.day(cut_date), PAGE["too_soon"].format(falls=_falls(share)))
        for cut_date, share in (row.get("risk") or ())[::WEEK]
    ]


def _falls(share: float) -> str:
    """Return a share as falls of 10; a small one is never rounded down to none."""
    return PAGE["fewer_than_one"] if 0 < share < FEW_SHARE else f"{10 * share:.0f}"


def _freeze(row: Row, column: str, has_freeze: bool) -> str:
    return labels.day(row.get(column)) or PAGE["not_reached" if has_freeze else "unknown"]


def _days(days: float | None) -> str:
    return "" if days is None else PAGE["regrowth_days"].format(days=f"{days:.0f}")


def _field(row: Row, units: str) -> list[tuple[str, str]]:
    return [
        (PAGE["field_id"], str(row["field_id"])),
        (PAGE["stage_now"], labels.STAGES.get(row["stage"], "")),
        (PAGE["grass"], ", ".join(str(row[part]) for part in ("grass_name", "cultivar") if row.get(part))),
        (PAGE["size"], "" if row.get("area_ha") is None else labels.area(row["area_ha"], units)),
        (PAGE["kept_for"], labels.INTENTS.get(row.get("intent") or "", "")),
        (PAGE["height"], "" if row.get("height_cm") is None else labels.height(row["height_cm"], units)),
        (PAGE["stubble"], "" if row.get("stubble_cm") is None else labels.height(row["stubble_cm"], units)),
        (PAGE["place"], str(row.get("area") or "")),
        (PAGE["weedy"], PAGE["yes"] if row.get("weedy") else ""),
    ]
