"""The words of freeze dates worked out from daily temperatures, in English, with values in the region's units."""

import math
from datetime import date

import numpy as np

from maps.labels import chance_words, day
from spatial.climate.seasons import MOST_MISSING_DAYS, Season, dates_of
from spatial.daily import StationDates, Trend
from spatial.units import farmer_units
from spatial.values import AVERAGE_CHANCE, COMMON_YEAR, is_southern

YEARS_PER_DECADE = 10
A_YEAR_OF_DAYS = 365

CAUTION = 'Dates are statistics of past seasons, not a forecast; "give or take" holds about 2 times in 3.'
HEAD = "{station}, first freeze at or below {threshold}, {seasons}"
DAILY_SEASONS = "{valid} of {all} seasons from {first} to {last}"
NORMAL_SEASONS = "official normals of {first} to {last}"
NORMALS = "official normals"
BY_DAY = "by {day}, {error}"
AVERAGE = "the average, a coin toss"
NOT_REACHED = "never: a freeze comes in fewer seasons than that"
NOT_KNOWN = "not known"
GIVE_OR_TAKE = "give or take {days}"
ERROR_NOT_KNOWN = "error not known"
ALWAYS_FREEZE = "Every season had a freeze."
NO_FREEZE = "No freeze in {share} of the seasons."
ENDS = "Earliest {first} at {first_low}; latest {last} at {last_low}."
NO_DATE = "No first freeze is dated."
TREND = (
    "Trend, told but not applied to any date: {slope} in 10 years (95 % interval: {low} to {high}), over "
    "{seasons} seasons with a freeze{sure}."
)
TREND_UNSURE = "; it may be none at all"
NOTE = "Note: {note}"
DATES_NOT_KNOWN = "no date is known: {why}"
WHY_UNKNOWN = {"daily": "too few valid seasons", "normals": "the normals do not give it"}

# The pictures.
STATION_TITLE = "First freeze at or below {threshold}: {station}"
YEARS_AXIS = "season, by the year it begins in"
SHARE_AXIS = "share of seasons with a freeze by this date"
NO_FREEZE_LANE = "no freeze"
NOT_VALID_LANE = "not valid"
LINE = "{chance}:\nby {day},\n{error}"
LINE_NOT_REACHED = "{chance}:\nnot reached"
AVERAGE_NAME = "average, {chance}"
LEGEND = {
    "season": "first freeze of a season",
    "no_freeze": "a season without a freeze",
    "not_valid": "a season that is not valid",
    "curve": "seasons in order of their date",
    "chances": "date of each chance",
    "band": "one standard error either way",
    "never": "no freeze in this share of seasons",
    "trend": "trend, not applied: {slope} in 10 years",
    "trend_band": "its 95 % interval",
}
GRID = "First freeze at or below {threshold} on a grid: {count} seasons from {first} to {last}"
GRID_PART = "Days from {first} to {last}; no freeze means none by then."
GRID_CELLS = "{known} of {cells} cells have enough valid seasons."
SURFACE = "First freeze at or below {threshold} spread from {count} stations"
SURFACE_ERROR = "{chance}: as a rule the map misses a station left out of it by {days} days{regression}."
SURFACE_REGRESSION = ", by {days} without its neighbours"
SURFACE_KNOWN = (
    "{share} % of the cells have a date or are known to have none; the rest is too far from stations."
)
CHANCES_FILE = "Chances: {path}"
SEASONS_FILE = "Seasons: {path}"
PICTURE_FILE = "Picture: {path}"
LAYER_TITLE = "Freeze dates of {name}"

LAYER_UNDER = "First freeze at or below {threshold}{seasons}"
LAYER_SEASONS = ", seasons {seasons}"
LAYER_DATES = "By this date in {chance}"
LAYER_ERRORS = "Standard error of that date"
LAYER_KEY = {
    "never": "no freeze so often",
    "unknown": "not known",
    "station": "station, with\nits own date",
}
ERROR_STEP = "{low:g} to {high:g} days"
NO_FREEZE_STATION = "none"
NORTH = "N"
MILES, KILOMETRES = "{length:g} mi", "{length:g} km"


def season_date(days: float, season_start: tuple[int, int]) -> date | None:
    """Return the date of days since the season's first day; None where it is never (+inf) or not known (NaN).

    Seasons without a 29 February. Part of a day is rounded down: the earlier date is the cautious one.
    """
    season = Season(COMMON_YEAR, date(COMMON_YEAR, *season_start))
    found: date | None = dates_of(np.array([days]), season)[0].item()
    return found


def station_name(dates: StationDates) -> str:
    """Return a station's name and number, or the one of the two that it has."""
    return " ".join(f"{dates.station.name} {dates.station.station}".split())


def degrees(value_c: float, units: str) -> str:
    """Return a temperature as short as it is exact: "28 F", "-2.2 °C"; "an unknown temperature" for NaN."""
    if math.isnan(value_c):
        return "an unknown temperature"
    shown = farmer_units(value_c, "_c", "_f") if units == "us" else value_c
    return f"{round(shown, 1) + 0.0:g} {'F' if units == 'us' else '°C'}"


def season_name(year: int, season_start: tuple[int, int]) -> str:
    """Return what people call a season: "1991-92", or "1991" where its cold months lie in one year."""
    if is_southern(season_start):
        return f"{year}"
    return f"{year}-{year + 1}" if (year + 1) % 100 == 0 else f"{year}-{(year + 1) % 100:02d}"


def no_period(dates: StationDates) -> bool:
    """Return whether it is not known which seasons stand behind the dates; normals whose file does not say have 0."""
    return dates.period == (0, 0)


def seasons_words(dates: StationDates) -> str:
    """Return how many seasons stand behind the dates, and which."""
    first, last = dates.period
    if no_period(dates):
        return NORMALS
    if dates.origin == "normals":
        return NORMAL_SEASONS.format(first=first, last=last)
    names = [season_name(year, dates.season_start) for year in (first, last)]
    count = dates.valid_seasons + dates.invalid_seasons
    return DAILY_SEASONS.format(valid=dates.valid_seasons, all=count, first=names[0], last=names[1])


def dates_not_known(dates: StationDates) -> str:
    """Return that no date is known of a station, and why."""
    return DATES_NOT_KNOWN.format(why=WHY_UNKNOWN[dates.origin])


def chance_line(chance: float, when: date | None, days: float, error_days: float) -> str:
    """Return by when the freeze has come: "by 7 Oct, give or take 3 days", or that it has not, or is not known."""
    if when is None:
        return NOT_KNOWN if math.isnan(days) else NOT_REACHED
    line = BY_DAY.format(day=day(when), error=give_or_take(error_days))
    return f"{line}: {AVERAGE}" if math.isclose(chance, AVERAGE_CHANCE) else line


def give_or_take(error_days: float) -> str:
    """Return a standard error as "give or take 3 days"; it is never shown as less than one."""
    if not math.isfinite(error_days):
        return ERROR_NOT_KNOWN
    return GIVE_OR_TAKE.format(days=counted(max(1, round(error_days)), "day"))


def chance_name(chance: float) -> str:
    """Return a chance in words, the average by its name too."""
    words = chance_words(chance)
    return AVERAGE_NAME.format(chance=words) if math.isclose(chance, AVERAGE_CHANCE) else words


def line_label(chance: float, when: date | None, error_days: float) -> str:
    """Return what stands beside the line of a chance, in short lines."""
    name = chance_name(chance)
    if when is None:
        return LINE_NOT_REACHED.format(chance=name)
    return LINE.format(chance=name, day=day(when), error=give_or_take(error_days))


def trend_line(trend: Trend) -> str:
    """Return a trend with its interval and what is done with it: nothing."""
    sure = "" if trend.low_days_a_year * trend.high_days_a_year > 0 else TREND_UNSURE
    return TREND.format(
        slope=slope(trend.days_a_year),
        low=slope(trend.low_days_a_year),
        high=slope(trend.high_days_a_year),
        seasons=trend.seasons,
        sure=sure,
    )


def slope(days_a_year: float) -> str:
    """Return a trend as "1.2 days later" or "0.3 days earlier", in 10 years."""
    days = round(days_a_year * YEARS_PER_DECADE, 1)
    return f"{abs(days):.1f} days {'earlier' if days < 0 else 'later'}"


def why_invalid(missing_days: float, state: str) -> str:
    """Return why a season is not valid."""
    if state == "not_over":
        return "not over when the record ends"
    if missing_days >= A_YEAR_OF_DAYS:
        return "no daily minimum read"
    return f"{missing_days:.0f} daily minima missing before a freeze, more than {MOST_MISSING_DAYS}"


def counted(count: int, what: str) -> str:
    """Return a count with its thing: "1 day", "3 days"."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def days_of_season(first: date, last: date) -> str:
    """Return a run of days as "28 Sep–4 Oct" or "5–11 Oct"."""
    if first.month == last.month:
        return f"{first.day}–{day(last)}"
    return f"{day(first)}–{day(last)}"


def degree_name(degrees: float, sides: str) -> str:
    """Return a longitude or latitude as "83.5° W"; `sides` names the positive side first."""
    side = sides[0] if degrees > 0 else sides[1] if degrees < 0 else ""
    return f"{abs(round(degrees, 2)):g}° {side}".rstrip()


def layer_under(threshold_c: float, seasons: str, units: str) -> str:
    """Return what stands under the title of a layer: its threshold and, where it says so, its seasons."""
    told = LAYER_SEASONS.format(seasons=seasons) if seasons else ""
    return LAYER_UNDER.format(threshold=degrees(threshold_c, units), seasons=told)
