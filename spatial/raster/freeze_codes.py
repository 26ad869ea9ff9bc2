"""The codes of freeze days in files, and what their tags say of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from spatial.units import farmer_units
from spatial.values import COMMON_YEAR

NO_FREEZE, UNKNOWN = 999, -9999  # known never, and not known


@dataclass(frozen=True)
class FreezeFacts:
    """What holds of all bands of a freeze layer: threshold [deg C], season's first day, seasons, days looked at.

    `part` are the (month, day) from which and until which the record has days; days of the year after it are
    not looked at, so "no freeze" means none by its end.
    """

    threshold_c: float
    season_start: tuple[int, int]
    seasons: tuple[int, ...]
    part: tuple[tuple[int, int], tuple[int, int]]
    calendar: str
    source: str


def coded(days: NDArray[np.floating]) -> NDArray[np.float32]:
    """Return days with their codes: NO_FREEZE for +inf, UNKNOWN for NaN."""
    codes = np.where(np.isposinf(days), NO_FREEZE, np.where(np.isnan(days), UNKNOWN, days))
    return codes.astype(np.float32)


def season_tags(facts: FreezeFacts) -> dict[str, str]:
    """Return the tags of a layer with a band a season."""
    codes = f"{_counted(facts)}. {_never(facts, 'in that season')} {UNKNOWN}: not known, too many days are missing."
    return _tags("seasons", facts, codes)


def chance_tags(facts: FreezeFacts, least_seasons: int) -> dict[str, str]:
    """Return the tags of a layer with a band a chance, their errors, the valid seasons and the no-freeze share."""
    codes = (
        f"Bands 0.1 to 0.9: {_counted(facts)}, by which the freeze has come in that share of seasons. "
        f"{_never(facts, 'in that share of seasons')} "
        f"{UNKNOWN}: not known, fewer than {least_seasons} valid seasons. "
        "error_days: standard error of that day [days]. valid_seasons: seasons behind it. "
        "no_freeze_share: share of them without a freeze."
    )
    return _tags("chances", facts, codes)


def surface_tags(threshold_c: float, season_start: str, source: str) -> dict[str, str]:
    """Return the tags of a layer of chances spread from stations, with the errors of each chance."""
    month, day = (int(part) for part in season_start.split("-"))
    codes = (
        f"Bands 0.1 to 0.9: days since {day_of_year((month, day))} (day 0), by which the freeze has come in that "
        f"share of seasons. {NO_FREEZE}: known to have no freeze in that share of seasons. {UNKNOWN}: not known, far "
        "from every station or far above or below all. error_days: standard error of that day at the cell, "
        "of the surface and of the seasons behind the stations together, at most [days]. "
        "valid_seasons: of the middle station. "
        "no_freeze_share: share of seasons without a freeze."
    )
    return _stated(threshold_c, season_start) | {"freeze_kind": "chances", "source": source, "codes": codes}


def _tags(kind: str, facts: FreezeFacts, codes: str) -> dict[str, str]:
    return _stated(facts.threshold_c, _written(facts.season_start)) | {
        "freeze_kind": kind,
        "seasons": _run(facts.seasons),
        "calendar": facts.calendar,
        "covered_from": _written(facts.part[0]),
        "covered_to": _written(facts.part[1]),
        "source": facts.source,
        "codes": codes,
    }


def _stated(threshold_c: float, season_start: str) -> dict[str, str]:
    return {
        "threshold_c": f"{threshold_c:.6g}",
        "threshold_f": f"{farmer_units(threshold_c, '_c', '_f'):.6g}",
        "day_count": "season_start",
        "season_start": season_start,
        "no_freeze_value": str(NO_FREEZE),
    }


def _counted(facts: FreezeFacts) -> str:
    same_share = "; each of a year's 360 days is the same share of 365" if facts.calendar == "360_day" else ""
    return f"days since {day_of_year(facts.season_start)} (day 0{same_share})"


def _never(facts: FreezeFacts, when: str) -> str:
    return f"{NO_FREEZE}: known to have no freeze {when} by {day_of_year(facts.part[1])}."


def day_of_year(month_day: tuple[int, int]) -> str:
    """Return a day of the year in words: 28 January."""
    return f"{month_day[1]} {date(COMMON_YEAR, month_day[0], 1):%B}"


def _written(month_day: tuple[int, int]) -> str:
    return f"{month_day[0]:02d}-{month_day[1]:02d}"


def _run(seasons: Sequence[int]) -> str:
    whole = len(seasons) == seasons[-1] - seasons[0] + 1
    return f"{seasons[0]}-{seasons[-1]}" if whole else ", ".join(map(str, seasons))
