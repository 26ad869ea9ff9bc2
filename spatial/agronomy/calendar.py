"""The days of the year's jobs, in the season of the plan."""

import calendar as months
from collections.abc import Mapping
from datetime import date

from spatial.values import NORTHERN_START

YEAR_MONTHS = 12


def season_calendar(days: Mapping[str, tuple[int, int]], season_start: date) -> dict[str, date]:
    """Return each job's date in the season that begins on `season_start`.

    `days` are northern (month, day); in a season that begins in another month every job moves by as many months,
    and a day that its month does not have is the month's last.
    """
    return {name: _in_season(month, day, season_start) for name, (month, day) in days.items()}


def _in_season(month: int, day: int, start: date) -> date:
    months_on = start.month - 1 + (month - NORTHERN_START) % YEAR_MONTHS
    year, there = start.year + months_on // YEAR_MONTHS, months_on % YEAR_MONTHS + 1
    return date(year, there, min(day, months.monthrange(year, there)[1]))
