"""The crews: yard, work rate, shift and days off, on `crew`."""

import re
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.columns import CREWS
from spatial.inputs.checks import Report
from spatial.inputs.tables import empty_table, read_table

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SHORTEST = 3  # letters of a weekday
SHIFT = ("09:00", "18:00")  # common practice, no source: from when the dew is off until evening


Numbers = TypeVar("Numbers", float, pd.Series)


def work_rate_ha_h(speed_km_h: Numbers, width_m: Numbers, field_efficiency_share: Numbers) -> Numbers:
    """Return the area cut in an hour [ha/h] at a speed [km/h], a width [m] and a field efficiency [share].

    ha/h = km/h x m x E / 10, the metric form of ac/h = mph x ft x E / 8.25 (Univ. Kentucky AEN-73).
    """
    return speed_km_h * width_m * field_efficiency_share / 10.0


def read_crews(path: Path, section: dict[str, Any], report: Report) -> pd.DataFrame:
    """Return the crews sorted on index `crew`.

    Columns: yard_lon, yard_lat [deg], work_rate_ha_h, shift_start_min, shift_end_min [min after midnight],
    days_off (tuple of weekday numbers, Monday 0, and dates).
    """
    crews = _crews(read_table(path, CREWS, section, report, "crew"))
    _refuse_bad(crews, path.name, report)
    return crews


def no_crews() -> pd.DataFrame:
    """Return the table of crews of a region that names none."""
    return _crews(empty_table(CREWS))


def _crews(table: pd.DataFrame) -> pd.DataFrame:
    rate = work_rate_ha_h(table["speed_km_h"], table["width_m"], table["field_efficiency_share"])
    return pd.DataFrame(
        {
            "crew": table["crew"],
            "yard_lon": table["yard_lon"],
            "yard_lat": table["yard_lat"],
            "work_rate_ha_h": table["work_rate_ha_h"].fillna(rate),
            "shift_start_min": _whole([_minutes(text or SHIFT[0]) for text in table["shift_start"]]),
            "shift_end_min": _whole([_minutes(text or SHIFT[1]) for text in table["shift_end"]]),
            "days_off": pd.Series(list(map(_days_off, table["days_off"])), index=table.index, dtype=object),
        }
    ).set_index("crew")


def _whole(numbers: list[int]) -> NDArray[np.int64]:
    return np.array(numbers, dtype=np.int64)


def _refuse_bad(crews: pd.DataFrame, file: str, report: Report) -> None:
    for crew, row in crews.iterrows():
        place = f"crew {crew!r}"
        if pd.isna(row["work_rate_ha_h"]):
            report.refuse(
                file,
                place,
                "has no work rate",
                "Give work_rate_ac_h, or width_ft, speed_mph and field_efficiency_pct",
            )
        if pd.isna(row["yard_lon"]) or pd.isna(row["yard_lat"]):
            report.refuse(file, place, "has no yard", "Give yard_lon and yard_lat")
        if not -1 < row["shift_start_min"] < row["shift_end_min"]:
            report.refuse(
                file, place, "has no possible shift", "Write shift_start and shift_end as 09:30 and 18:00"
            )
        if None in row["days_off"]:
            report.refuse(
                file,
                place,
                "has a day off that is not known",
                "Use weekdays as sun or sunday, or dates as 2026-09-12, parted by spaces",
            )


def _minutes(text: str) -> int:
    """Return the minutes after midnight of a time as 09:30, or -1 where it is none."""
    found = re.fullmatch(r"([01]?[0-9]|2[0-3]):([0-5][0-9])", text)
    return -1 if found is None else 60 * int(found[1]) + int(found[2])


def _days_off(text: str) -> tuple[int | date | None, ...]:
    return tuple(_day_off(word) for word in re.split(r"[\s,;/]+", text) if word)


def _day_off(word: str) -> int | date | None:
    days = [
        number
        for number, day in enumerate(WEEKDAYS)
        if len(word) >= SHORTEST and day.startswith(word.lower())
    ]
    if days:
        return days[0]
    try:
        return date.fromisoformat(word)
    except ValueError:
        return None
