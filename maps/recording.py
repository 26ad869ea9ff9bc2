"""What a person typed to `record`, as facts for the season log."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime

from spatial.errors import InputError, Problem
from spatial.record import Fact
from spatial.units import CM_PER_INCH, T_PER_SHORT_TON

EATERS = ("fall_armyworm", "stem_maggot")
HEIGHTS = ("height", "stubble", "eaten")


def facts_of(
    days: Mapping[str, datetime | None],
    measures: Mapping[str, float | None],
    note: str,
    today: date,
    field_id: str,
    area: str,
) -> list[Fact]:
    """Return one fact for each thing said.

    `days` are the days by kind of fact; `measures` the heights (height, stubble, eaten, each in inches as `_in` or
    in cm as `_cm`), the hay (`hay_tons` of 2,000 lb, or `hay_t`) and `stand_cover_pct`. A stubble goes with its cut,
    canopy eaten with its pest, a height with a freeze cut where there is one, and hay is of the day of the cut.
    Raises InputError where nothing is said, a measure is said in both units or has no fact to go with.
    """
    on = {kind: when.date() for kind, when in days.items() if when is not None}
    values = {name: _height(measures, name) for name in HEIGHTS}
    values |= {"hay": _hay(measures), "stand_cover": _kept(measures.get("stand_cover_pct"))}
    _check_pairs(on, values)
    said = [*_dated(on, values, today), *_measured(on, values, today)]
    if not said and note:
        said = [("note", today, "")]
    if not said:
        _refuse("nothing is said", "Give --cut, --hay, --height-in, --killing-freeze or --note")
    return [Fact(happened, kind, field_id, area, value, note) for kind, happened, value in said]


def _height(measures: Mapping[str, float | None], name: str) -> str:
    """Return a height in cm as the log keeps it; "" where it is not given."""
    inches, cm = measures.get(f"{name}_in"), measures.get(f"{name}_cm")
    if inches is not None and cm is not None:
        _refuse(f"the {name} is given in inches and in cm", f"Give --{name}-in or --{name}-cm")
    return _kept(cm if inches is None else inches * CM_PER_INCH)


def _hay(measures: Mapping[str, float | None]) -> str:
    """Return the hay in t as the log keeps it; "" where it is not given."""
    tons, t = measures.get("hay_tons"), measures.get("hay_t")
    if tons is not None and t is not None:
        _refuse("the hay is given in tons of 2,000 lb and in metric tons", "Give --hay or --hay-t")
    return _kept(t if tons is None else tons * T_PER_SHORT_TON)


def _kept(value: float | None) -> str:
    return "" if value is None else f"{round(value, 2):g}"


def _check_pairs(on: Mapping[str, date], values: Mapping[str, str]) -> None:
    if values["stubble"] and "cut" not in on:
        _refuse("a stubble is given without a cut", "Give --cut with the day of it")
    if values["eaten"] and sum(kind in on for kind in EATERS) != 1:
        _refuse(
            "canopy eaten is given without the one pest that ate it", "Give --fall-armyworm or --stem-maggot"
        )


def _dated(on: Mapping[str, date], values: Mapping[str, str], today: date) -> Iterator[tuple[str, date, str]]:
    goes_with = {"cut": "stubble", "freeze_cut": "height"} | dict.fromkeys(EATERS, "eaten")
    for kind, day in on.items():
        if kind == "sprayed_until":
            yield kind, today, day.isoformat()
        else:
            yield kind, day, values.get(goes_with.get(kind, ""), "")


def _measured(
    on: Mapping[str, date], values: Mapping[str, str], today: date
) -> Iterator[tuple[str, date, str]]:
    if values["height"] and "freeze_cut" not in on:
        yield "height", today, values["height"]
    if values["hay"]:
        yield "hay", on.get("cut", on.get("freeze_cut", today)), values["hay"]
    if values["stand_cover"]:
        yield "stand_cover", on.get("green_up", today), values["stand_cover"]


def _refuse(cause: str, mend: str) -> None:
    raise InputError([Problem("record", "", cause, mend)])
