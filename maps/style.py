"""Colours and hatches of the fields on map and paper: data only, no drawing."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    r"""How one class of fields is drawn: `fill` and the `mark` colour of its hatch.

    `hatch` is written as strokes: ``/ - . x \`` drawn once for a wide pattern, twice for a close one.
    """

    code: str
    fill: str
    mark: str
    hatch: str


INK = "#211d16"
PAPER = "#fbf6ea"

# The fills are steps 0.08, 0.28, 0.5, 0.7 and 0.9 of the reversed magma ramp of matplotlib (public domain, CC0):
# the fewer days are left, the darker. The hatch tells the classes apart without colour.
URGENCY_LOOKS = (
    Look("past", "#140e36", "#fed89a", "xx"),
    Look("0-7", "#641a80", "#ffffff", "//"),
    Look("8-14", "#b5367a", "#ffffff", "--"),
    Look("15-28", "#f9795d", INK, ".."),
    Look("over_28", "#fed89a", INK, ""),
    Look("", "#ffffff", "#8b8271", "\\\\"),
)

# The same steps of the reversed viridis ramp (CC0): the later in the year of a field, the darker.
STAGE_LOOKS = (
    Look("growing", "#cae11f", INK, ""),
    Look("ready", "#4ec36b", INK, "//"),
    Look("leave_standing", "#21908d", "#ffffff", "xx"),
    Look("freeze_cut", "#355f8d", "#ffffff", "--"),
    Look("dormant", "#482475", "#ffffff", ".."),
    Look("", "#ffffff", "#8b8271", "\\\\"),
)

# Soil, poor to rich from dark to light. pH: steps 0.1, 0.4, 0.75 and 0.95 of matplotlib's plasma (CC0).
PH_LOOKS = (
    Look("very_low", "#41049d", "#ffffff", "xx"),
    Look("low", "#b12a90", "#ffffff", "//"),
    Look("enough", "#f89540", INK, ""),
    Look("high", "#f7e425", INK, ".."),
    Look("", "#ffffff", "#8b8271", "\\\\"),
)

# K: steps 0.3, 0.65 and 0.9 of matplotlib's inferno (CC0).
K_LOOKS = (
    Look("low", "#6a176e", "#ffffff", "xx"),
    Look("medium", "#ea632a", INK, "--"),
    Look("enough", "#f6d746", INK, ""),
    Look("", "#ffffff", "#8b8271", "\\\\"),
)

# P: a ramp of our own, deep water to shallow.
P_LOOKS = (
    Look("low", "#16324f", "#ffffff", "xx"),
    Look("medium", "#4c86a8", "#ffffff", ".."),
    Look("enough", "#d8e8ee", INK, ""),
    Look("", "#ffffff", "#8b8271", "\\\\"),
)
