"""What to do with each field now, and why its date is what it is, as reasons for the page and the sheet."""

from collections.abc import Iterable, Iterator
from typing import Any

import pandas as pd

from spatial.agronomy.freeze_cut import freeze_cut
from spatial.agronomy.why import trust, why_this_date
from spatial.names import plain
from spatial.reasons import Reason, reason
from spatial.settings import Settings


def advice(fields: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return for each field three tuples of reasons: advice (what to do now), why (its date) and mind (what else).

    `fields` carries every column of a plan up to the route, the grass numbers (grass_name, may_burn, ...),
    ask_date (from when a killing freeze is asked for), burn_now (in the weeks before green-up), drying_days,
    hay_short (by the owner's word or the count of hay), and the reasons of others in pests and freeze_outlook.
    """
    said = {
        "advice": [tuple(_what(row, settings)) for row in fields.itertuples()],
        "why": [tuple(why_this_date(row, settings)) for row in fields.itertuples()],
        "mind": [
            (*_owner(row, settings), *trust(row, settings), *_cautions(row)) for row in fields.itertuples()
        ],
    }
    return pd.DataFrame(
        {name: pd.Series(rows, index=fields.index, dtype=object) for name, rows in said.items()}
    )


def short_freeze_cut_last(record: tuple[Reason, ...]) -> pd.Timestamp | None:
    """Return the date of last fall's short freeze cut from a stand's record; None where there was none."""
    dates = [
        pd.Timestamp(str(one.values["cut_date"]))
        for one in record
        if one.code == "short_freeze_cut_last_year"
    ]
    return dates[-1] if dates else None


def _what(row: Any, settings: Settings) -> Iterable[Reason]:
    if not row.grass_name:
        return [reason("no_date_no_grass")] + (
            [reason("no_date_no_freeze_data")] if _no_freeze_data(row) else []
        )
    if not row.last_cut_rule:
        return list(_annual(row, settings))
    if row.stage not in _HAY:
        return [reason("no_date_no_freeze_data" if _no_freeze_data(row) else "not_ready_this_season")]
    steps = {"stockpile": _STOCKPILE, "grazed": _GRAZED, "overseeded": _OVERSEEDED}.get(row.intent, _HAY)
    return list(steps[row.stage](row, settings))


def _annual(row: Any, settings: Settings) -> Iterator[Reason]:
    if pd.notna(row.killing_freeze_recorded_date):
        yield reason("annual_frozen")
    elif row.ask_date < pd.Timestamp(settings.on):
        yield reason("ask_for_freeze", late_date=row.ask_date)
    elif pd.notna(row.forecast_freeze_date):
        yield reason("annual_forecast", freeze_date=row.forecast_freeze_date, least_c=row.forecast_least_c)
    elif pd.notna(row.killing_freeze_date):
        yield reason("annual_before_freeze", killing_freeze_date=row.killing_freeze_date)
    else:
        yield reason("annual_no_rule")


def _cautions(row: Any) -> Iterator[Reason]:
    for caution in row.cautions:
        yield reason(f"caution_{caution}")


def _growing(row: Any, _settings: Settings) -> Iterator[Reason]:
    if pd.isna(row.ready_date):
        yield reason("not_ready_this_season")
    elif row.ready_date > row.last_cut_date:
        yield reason("no_early_cut_left", ready_date=row.ready_date, last_cut_date=row.last_cut_date)
    else:
        yield reason("wait_until_ready", ready_date=row.ready_date)
        yield from _cut_by(row, row.ready_date)


def _ready(row: Any, settings: Settings) -> Iterator[Reason]:
    opened = row.closed_until_date + pd.Timedelta(days=1)
    today = pd.Timestamp(settings.on)
    yield from _cut_by(row, max(today, opened) if pd.notna(opened) else today)
    if pd.isna(row.previous_cut_date) and pd.isna(row.height_cm):
        yield reason("height_unknown")


def _cut_by(row: Any, first: pd.Timestamp) -> Iterator[Reason]:
    """Give the cut's limits, where `first` is the first day on which it can be made."""
    planned = max(first, row.cut_date) if pd.notna(row.cut_date) else first
    if planned <= row.two_cuts_by_date:
        yield reason(
            "cut_by_to_fit_two", two_cuts_by_date=row.two_cuts_by_date, last_cut_date=row.last_cut_date
        )
    else:
        yield reason("this_is_the_last", last_cut_date=row.last_cut_date)
    leave_cm = max(row.stubble_cm, row.usual_stubble_cm)
    yield reason("leave_stubble", stubble_cm=leave_cm)
    if row.stubble_cm < row.usual_stubble_cm:
        yield reason("usually_cut_short", stubble_cm=row.stubble_cm, regrowth_days=round(row.regrowth_days))
    if pd.notna(row.cut_date):
        yield reason("planned_cut", cut_date=row.cut_date, crew=row.crew)


def _leave_standing(row: Any, settings: Settings) -> Iterator[Reason]:
    if row.ask_date < pd.Timestamp(settings.on):
        yield from _ask(row)
        if row.freeze_cut:
            yield reason("freeze_cut_late")
        return
    yield reason("leave_standing", last_cut_date=row.last_cut_date)
    if row.freeze_cut and row.short_freeze_cut_height_cm < row.freeze_cut_height_cm:
        yield reason(
            "wait_for_freeze_cut",
            least_height_cm=row.freeze_cut_height_cm,
            short_height_cm=row.short_freeze_cut_height_cm,
        )
    else:
        yield reason("leave_until_spring", stubble_cm=row.usual_stubble_cm)


def _ask(row: Any) -> Iterator[Reason]:
    yield reason("ask_for_freeze", late_date=row.ask_date)


def _freeze_cut(row: Any, _settings: Settings) -> Iterable[Reason]:
    return (
        freeze_cut(row) if row.freeze_cut else [reason("leave_until_spring", stubble_cm=row.usual_stubble_cm)]
    )


def _dormant(row: Any, _settings: Settings) -> Iterator[Reason]:
    if pd.notna(row.green_up_date):
        yield reason("greened_up", seen_date=row.green_up_date)
        return
    if not row.freeze_cut:
        yield reason("native_dormant", stubble_cm=row.usual_stubble_cm)
    elif pd.isna(row.canopy_now_cm) or row.canopy_low_cm < row.freeze_cut_height_cm <= row.canopy_high_cm:
        yield reason("dormant_look")
    elif row.canopy_high_cm < row.freeze_cut_height_cm:
        yield reason("dormant_little_thatch")
    else:
        yield reason("dormant_thatch")
        if row.water:
            yield reason("dormant_graze")
    if row.burn_now and row.may_burn:
        yield from _burning(row)
    if row.weeds_now:
        yield reason("dormant_weeds")


def _burning(row: Any) -> Iterator[Reason]:
    stands = plain(row.cultivar)
    if any(plain(name) in stands for name in row.burn_hurts):
        yield reason("dormant_burn_hurts", cultivar=row.cultivar)
        return
    yield reason("dormant_burn_caution")
    if row.burn_hurts:
        yield reason("burn_ask_cultivar", cultivars=", ".join(row.burn_hurts))


def _one(code: str) -> Any:
    return lambda _row, _settings: [reason(code)]


def _asked_or(code: str) -> Any:
    """Return a step that says `code` until the day from which the killing freeze is asked for."""

    def step(row: Any, settings: Settings) -> list[Reason]:
        return list(_ask(row)) if row.ask_date < pd.Timestamp(settings.on) else [reason(code)]

    return step


def _grazed_rest(row: Any, _settings: Settings) -> Iterator[Reason]:
    yield reason("grazed_rest_from", last_cut_date=row.last_cut_date, stubble_cm=row.usual_stubble_cm)


def _graze_after(row: Any, _settings: Settings) -> Iterator[Reason]:
    if pd.notna(row.green_up_date):
        yield reason("greened_up", seen_date=row.green_up_date)
        return
    yield reason("graze_after_freeze" if row.water else "graze_needs_water")


_HAY = {
    "growing": _growing,
    "ready": _ready,
    "leave_standing": _leave_standing,
    "freeze_cut": _freeze_cut,
    "dormant": _dormant,
}
_STOCKPILE = dict.fromkeys(
    ("growing", "ready", "leave_standing"), _asked_or("stockpile_rest")
) | dict.fromkeys(("freeze_cut", "dormant"), _graze_after)
_GRAZED = dict.fromkeys(("growing", "ready"), _grazed_rest) | {
    "leave_standing": _asked_or("grazed_keep_off"),
    "freeze_cut": _graze_after,
    "dormant": _graze_after,
}
_OVERSEEDED = dict.fromkeys(("growing", "ready"), _one("overseed_clip")) | dict.fromkeys(
    ("leave_standing", "freeze_cut", "dormant"), _one("overseeded_leave")
)


def _owner(row: Any, settings: Settings) -> Iterator[Reason]:
    yield from row.pests
    early = row.stage in ("growing", "ready")
    if row.weedy and early and row.intent in ("hay", "overseeded"):
        yield reason("weedy_clean_machine")
    if early and pd.notna(row.next_freeze_date):
        yield reason("freeze_in_outlook", freeze_date=row.next_freeze_date, least_c=row.next_freeze_c)
    if pd.notna(row.closed_until_date):
        yield reason("sprayed_until", until_date=row.closed_until_date)
    if pd.notna(row.promised_by_date) and early:
        yield _promise(row, settings)
    if row.stage != "freeze_cut":  # the outlook's own freeze says more there
        yield from row.freeze_outlook


def _promise(row: Any, settings: Settings) -> Reason:
    promised = row.promised_by_date
    if promised < pd.Timestamp(settings.on):
        return reason("promise_missed", promised_by_date=promised)
    if promised > row.last_cut_date:
        return reason("promise_after_last_cut", promised_by_date=promised, last_cut_date=row.last_cut_date)
    return reason("promised_by", promised_by_date=promised)


def _no_freeze_data(row: Any) -> bool:
    return not row.freeze_cover_share > 0
