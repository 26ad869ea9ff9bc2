"""Says on which days each crew can mow, and in which areas a day is too wet."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

import pandas as pd

from spatial.settings import Settings

_COLUMNS = ("crew", "date", "shift_start_min", "shift_end_min", "wet_areas")


def workable_days(
    crews: pd.DataFrame,
    outlook: pd.DataFrame,
    areas: Iterable[object],
    drying_days: Mapping[int, int],
    settings: Settings,
) -> pd.DataFrame:
    """Return one row for each crew and day on which it can mow somewhere, by crew and date.

    Columns: crew, date, shift_start_min, shift_end_min [minutes after midnight], wet_areas (frozenset of the
    names in `areas` that may not be mown that day; a missing name is "").

    Days run from `settings.on` for `settings.horizon_days`, never beyond the outlook's last day; without an
    outlook every day counts as dry. A day is wet for an area when its chance of rain, or that of one of the
    `drying_days` after it (by the month of the cut), reaches `settings.rain_limit_share`; an area's own rows
    go before the rows for everywhere. The cautious reading: a day inside the outlook without a row counts as
    wet; only drying days past the outlook's end, of which nothing can be known, count as dry.
    """
    wet_by_day = _wet_areas(outlook, sorted({area_name(area) for area in areas}), drying_days, settings)
    rows = [
        (crew, pd.Timestamp(day), own.shift_start_min, own.shift_end_min, wet)
        for crew, own in crews.sort_index().iterrows()
        for day, wet in wet_by_day.items()
        if _at_work(own, day)
    ]
    types = {"date": "datetime64[us]", "shift_start_min": "int64", "shift_end_min": "int64"}
    return pd.DataFrame(rows, columns=list(_COLUMNS)).astype(types)


def area_name(area: object) -> str:
    """Return the name of an area as it is compared: trimmed text, "" where it is missing."""
    return area.strip() if isinstance(area, str) else ""


def _at_work(crew: Any, day: date) -> bool:
    off = {value.date() if isinstance(value, pd.Timestamp) else value for value in crew.days_off}
    return bool(crew.shift_start_min < crew.shift_end_min and day not in off and day.weekday() not in off)


def _wet_areas(
    outlook: pd.DataFrame, areas: list[str], drying_days: Mapping[int, int], settings: Settings
) -> dict[date, frozenset[str]]:
    """Return the wet areas of each day of the horizon; a day on which every area is wet is left out."""
    areas = areas or [""]
    last_known = None if outlook.empty else pd.Timestamp(outlook["date"].max()).date()
    dry_chance = _dry_chances(outlook, settings)
    wet_by_day: dict[date, frozenset[str]] = {}
    for day in _horizon(last_known, settings):
        hay_days = [day + timedelta(n) for n in range(drying_days[day.month] + 1)]
        watched = [] if last_known is None else [dry for dry in hay_days if dry <= last_known]
        wet = frozenset(area for area in areas if not all(_is_dry(dry_chance, dry, area) for dry in watched))
        if len(wet) < len(areas):
            wet_by_day[day] = wet
    return wet_by_day


def _horizon(last_known: date | None, settings: Settings) -> list[date]:
    days = [settings.on + timedelta(n) for n in range(settings.horizon_days)]
    return days if last_known is None else [day for day in days if day <= last_known]


def _dry_chances(outlook: pd.DataFrame, settings: Settings) -> dict[tuple[date, str], bool]:
    """Return whether a day is dry by (day, area); of two rows for the same the rainier one counts."""
    known = outlook.dropna(subset=["date", "rain_chance_share"]) if len(outlook) else outlook
    dry: dict[tuple[date, str], bool] = {}
    rows: list[Any] = list(known.itertuples())
    for row in rows:
        key = (pd.Timestamp(row.date).date(), area_name(row.area))
        dry[key] = dry.get(key, True) and bool(row.rain_chance_share < settings.rain_limit_share)
    return dry


def _is_dry(dry: Mapping[tuple[date, str], bool], day: date, area: str) -> bool:
    return dry.get((day, area), dry.get((day, ""), False))
