"""The map page: one file that opens anywhere, with no network, and shows the plan as map and list."""

from datetime import datetime
from pathlib import Path

from maps import labels
from maps.layers import page_data
from maps.offline_page import offline_page
from maps.page_words import PAGE
from spatial.plan import Plan

LEAVES = ("fields", "rounds", "buy", "notes")
SCRIPTS = (
    "make",
    "state",
    "fields_state",
    "hatches",
    "ground",
    "shapes",
    "placing",
    "tags",
    "way",
    "head",
    "choices",
    "sheet",
    "fields_sheet",
    "entries",
    "rounds",
    "buy",
    "leaves",
    "wall",
    "start",
)


def write_map(plan: Plan, path: Path, made_on: datetime) -> None:
    """Write the map page of a plan as one file; raises OSError where it cannot be written."""
    path.write_text(map_page(plan, made_on), encoding="utf-8", newline="\n")


def map_page(plan: Plan, made_on: datetime) -> str:
    """Return the map page as HTML that asks no network for anything.

    Equal plans give equal pages but for the line that says when it was made. Raises InputError where the installed
    Leaflet is not the one this page was made for.
    """
    words = {
        "title": PAGE["title"].format(region=plan.region.name),
        "made": PAGE["made_on"].format(when=f"{labels.day_in_year(made_on)}, {made_on:%H:%M}"),
        "scripts_off": PAGE["scripts_off"],
    }
    return offline_page(LEAVES, SCRIPTS, ("page.css",), page_data(plan), words)
