"""The words of the last-cut zones on page and paper, in English, with values in the region's units."""

import math
from collections.abc import Mapping
from datetime import date

from maps.labels import chance_words, day
from maps.paper.words import SHEET_WORDS
from spatial.units import farmer_units
from spatial.values import AVERAGE_CHANCE

FIGURES = 3  # of an area: the zones are no survey
FEW_SHARE = 0.095  # under it a share is fewer than 1 fall of 10

# Words in {braces} are filled in by the page or by the module that asks for them.
PAGE: Mapping[str, str] = {
    "title": "Last-cut zones: {region}",
    "under_title": "Fall {year}. Each zone says by which day to take the last cut.",
    "scripts_off": "This page draws its map with scripts. Allow scripts for this file to read it.",
    "made_on": "Made on {when}",
    "to_list": "Skip the map, go to the zones",
    "map": "Map of the last-cut zones; the list beside it says all that it shows",
    "notebook": "Notebook",
    "zoom_in": "Closer",
    "zoom_out": "Farther",
    "whole": "Whole map",
    "grass": "Grass",
    "chance": "Chance",
    "tab_zones": "Zones",
    "tab_counties": "Counties",
    "tab_notes": "Read me",
    "no_zones": "No zone here: there is no last-cut date for this grass at this chance.",
    "no_counties": "No counties are given, so there is no table of them.",
    "zone_label": "{by}: {size}",
    "go_to": "Closer on the map",
    "to_do": "What to do",
    "dates": "Dates",
    "last_cut": "Cut by: no place in it is earlier",
    "last_cut_latest": "Latest place of the zone",
    "freeze": "Killing freeze has come by ({chance})",
    "freeze_short": "Killing freeze by {dates}",
    "not_reached": "not reached",
    "not_everywhere": "{first} or later, in places never",
    "stubble": "Leave standing at the cut",
    "stubble_or_more": "{height} or more",
    "size": "Size of the zone",
    "risk": "What a later cut risks",
    "risk_says": "In how many falls of 10 the freeze came before a cut on this day had regrown, over the whole zone: "
    "more often in its earliest places. It counts the freeze only; where growth sets the date, a later cut has no "
    "growth left besides.",
    "risk_drawing": "A curve over the day of the cut: {first} on {first_day}, {at_cut} on {cut_day}, {last} on "
    "{last_day}.",
    "risk_table": "The same as a table",
    "risk_day": "Cut on",
    "risk_falls": "Too soon in",
    "county": "County",
    "earliest": "Earliest",
    "middle": "Middle",
    "latest": "Latest",
    "average_middle": "Middle date at the average freeze, a coin toss",
    "cover": "Share of the county with freeze data",
    "counties": "Half of a county's land has its last-cut date by the middle one. Earliest and latest leave out a "
    "hundredth of the land at either end; a zone of the map has the day of its earliest place, in whatever county. "
    "Tap a county for its zone.",
    "outside": "outside the freeze data",
    "unknown": "No freeze data",
    "past": "All its dates are past: see Read me.",
    "county_zone": "The zone of its middle date",
    "cautions": "Cautions",
    "notes": "About these zones",
    "reading": "How to read the map",
    "how_to_read": "In a zone, every place has its last-cut date on the day written there or later, but for strips "
    "along its outlines. The darker a zone, the earlier its day; each week has a hatch of its own, "
    "and keeps it for every grass and chance. A zone that has the whole map is neither dark nor light.",
    "how_chance": "A date set for 1 fall in 5 means: so often the killing freeze comes before a cut on that date has "
    "regrown. The average, 1 fall in 2, is a coin toss.",
    "sources": "Sources",
    "rules": "Where the numbers for {grass} come from",
}
PAPER: Mapping[str, str] = {
    "file_title": "Last-cut zones: {region}",
    "title": "{grass}: when to take the last cut",
    "under_title": "{region}, fall {year}. Cut by this day, and the freeze comes too soon in {chance}.",
    "legend": "The zones and their land",
    "legend_line": "{by}, {size}",
    "legend_note": "Every place in a zone has its own on the day written there or later; near an outline, take the "
    "earlier day.",
    "legend_more": "{count} more zones have no room here; the next sheets have them all.",
    "to_do": "What to do",
    "caution": "Dates are statistics of past seasons, not a forecast. Local extension advice goes first. "
    "A frost pocket is earlier than the land around it.",
    **SHEET_WORDS,
    "counties_title": "{grass}: last cut by county",
    "county": "County",
    "earliest": "Earliest",
    "middle": "Middle",
    "latest": "Latest",
    "average_middle": "Middle, average freeze",
    "cover": "Land with freeze data",
    "counties_note": "Half of a county's land has its date by the middle one. Earliest and latest leave out a "
    "hundredth of the land at either end; a zone has the day of its earliest place, in any county. "
    "The average freeze is a coin toss.",
    "outside": "outside the freeze data",
    "unknown": "No freeze data",
    "past": "All its dates are past.",
    "no_counties": "No counties are given, so there is no table of them.",
    "no_date": "none",
    "no_zones": "No last-cut date for this grass at this chance.",
}
CAUTIONS = (
    "Dates are statistics of past seasons, not a forecast. Local extension advice goes first.",
    "A zone is for a district, not for a field: a frost pocket is earlier than the land around it.",
    "The outlines follow the cells of the freeze layer; near an outline, take the earlier day.",
)
SOURCE_FREEZE = "Freeze dates: {name}, killing freeze at {threshold}{seasons}."
SOURCE_SEASONS = ", {count} seasons from {first} to {last}"
SOURCE_CONTEXT = {
    "counties": "Counties, towns and streams: the region's own layers.",
    "areas": "Areas: as given. Towns and streams: the region's own layers.",
    "district": "Towns and streams: the region's own layers.",
}
# Where the land is told by other areas than counties.
AREAS_PAGE: Mapping[str, str] = {
    "tab_counties": "Areas",
    "no_counties": "No areas are given, so there is no table of them.",
    "county": "Area",
    "cover": "Share of the area with freeze data",
    "counties": "Half of an area's land has its last-cut date by the middle one. Earliest and latest leave out a "
    "hundredth of the land at either end; a zone of the map has the day of its earliest place, in whatever area. "
    "Tap an area for its zone.",
}
AREAS_PAPER: Mapping[str, str] = {
    "counties_title": "{grass}: last cut by area",
    "county": "Area",
    "counties_note": "Half of an area's land has its date by the middle one. Earliest and latest leave out a "
    "hundredth of the land at either end; a zone has the day of its earliest place, in any area. "
    "The average freeze is a coin toss.",
    "no_counties": "No areas are given, so there is no table of them.",
}

REPORT = {
    "grass": "{grass}, last cut of fall {year} by:",
    "area": "  {area}: {earliest_date} in the earliest places, {middle_date} midway, {latest_date} in the latest",
    "area_outside": "  {area}: outside the freeze data, so no dates",
    "shares": "Earliest and latest leave out a hundredth of an area's land at either end; a zone of the map has the "
    "day of its earliest place, in whatever area.",
}
AREA_NOTE = "Earliest and latest leave out a hundredth of the land at either end."
AREA_OUTSIDE = "Outside the freeze data, so no dates."


def page_words(area_kind: str) -> dict[str, str]:
    """Return the words of the page for a table by counties or by other areas."""
    return {**PAGE, **({} if area_kind == "counties" else AREAS_PAGE)}


def paper_words(area_kind: str) -> dict[str, str]:
    """Return the words of the paper for a table by counties or by other areas."""
    return {**PAPER, **({} if area_kind == "counties" else AREAS_PAPER)}


def cut_by(value: date) -> str:
    """Return what a zone is called: "cut by 24 Sep"."""
    return f"cut by {day(value)}"


def land(ha: float, units: str) -> str:
    """Return an area of land to three figures, as "12,300 acres" or "4,980 ha"."""
    size = farmer_units(ha, "_ha", "_ac") if units == "us" else ha
    decimals = FIGURES - 1 - math.floor(math.log10(size)) if size > 0 else 0
    return f"{round(size, decimals):,.{max(0, min(decimals, 1))}f} {'acres' if units == 'us' else 'ha'}"


def days_between(first: object, last: object) -> str:
    """Return two dates as "29 Oct to 4 Nov", or one where they are the same; "" where there is none."""
    one, other = day(first), day(last)
    return one if one == other or not other else f"{one} to {other}" if one else ""


def chance_name(chance: float) -> str:
    """Return a chance as it is chosen: "1 fall in 5", or "1 fall in 2, the average: a coin toss"."""
    words = chance_words(chance)
    return f"{words}, the average: a coin toss" if math.isclose(chance, AVERAGE_CHANCE) else words


def falls_of_ten(share: float) -> str:
    """Return a share as "3 falls of 10"; a small one is never rounded down to none."""
    falls = "fewer than 1" if 0 < share < FEW_SHARE else f"{10 * share:.0f}"
    return f"{falls} fall{'' if falls.endswith(' 1') or falls == '1' else 's'} of 10"


def sentence_case(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]
