"""The words that every sheet of paper has: scale, north, when it was made, which sheet it is."""

from collections.abc import Mapping

SHEET_WORDS: Mapping[str, str] = {
    "made_on": "Made on {when}",
    "north": "N",
    "true_north": "true north",
    "miles": "{length} mi",
    "kilometres": "{length} km",
    "sheet": "Sheet {number} of {count}",
}
