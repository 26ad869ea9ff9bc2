"""The days of the year's jobs, in the season of the plan."""

from collections.abc import Mapping
from datetime import date, timedelta

NORTHERN_START = date(2001, 8, 1)  # the season that the calendar is written for, in a year of 365 days
YEAR_DAYS = 365


def season_calendar(days: Mapping[str, tuple[int, int]], season_start: date) -> dict[str, date]:
    """Return each job's date in the season that begins on `season_start`.

    `days` are northern (month, day); a day counts from 1 August, so that a season which begins half a year later
    has them half a year later.
    """
    return {name: season_start + timedelta(days=_after_start(*day)) for name, day in days.items()}


def _after_start(month: int, day: int) -> int:
    return (date(NORTHERN_START.year, month, day) - NORTHERN_START).days % YEAR_DAYS
