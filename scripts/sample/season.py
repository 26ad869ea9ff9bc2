"""This season in the district: the day it is, what is special about single fields, and the log of what was done."""

from datetime import date, timedelta
from typing import Any

import geopandas as gpd
import pandas as pd

from sample.land import dice

THIS_DAY = date(2026, 9, 8)

SPECIAL: dict[str, dict[str, Any]] = {
    # Measured this week and too short to cut, whatever the days since the last cut say.
    "TD-02": {"height_in": 5.5, "height_date": "2026-09-06"},
    "MS-03": {"height_in": 5.0, "height_date": "2026-09-05"},
    "SW-02": {"height_in": 6.5, "height_date": "2026-09-07"},
    # Long uncut.
    "HT-04": {"previous_cut_date": "2026-07-09", "height_in": 19.0, "height_date": "2026-09-04"},
    "LS-02": {"previous_cut_date": "2026-07-14"},
    "OY-03": {"previous_cut_date": "2026-07-11", "cold_offset_f": 2.0},
    # Natives: one cut just before its cap, the others have stood since June.
    "BH-05": {"previous_cut_date": "2026-08-27"},
    # Nobody remembers when it was cut.
    "CG-03": {"previous_cut_date": None, "height_in": None, "height_date": None},
    # Cut since, as the log says, and not measured after that.
    "VC-04": {"height_in": None, "height_date": None},
    "NQ-06": {"height_in": None, "height_date": None},
    # Kept for something else than hay.
    "OF-03": {"intent": "overseeded"},
    "MS-01": {"intent": "overseeded"},
    "DA-01": {"intent": "overseeded", "promised_by": "2026-09-18"},
    "VC-06": {"intent": "stockpile", "water": True},
    "TH-07": {"intent": "stockpile", "water": True},
    "LS-03": {"intent": "stockpile", "water": True},
    "GB-02": {"intent": "grazed", "water": True},
    "CG-01": {"intent": "grazed", "water": True},
    # Weedy: cut last, clean the machine.
    "GB-01": {"weedy": True},
    "OY-02": {"weedy": True},
    "SW-06": {"weedy": True},
    "DA-04": {"weedy": True},
    "LS-04": {"weedy": True},
    # Promised; the last of them for a day that is too late.
    "NQ-02": {"promised_by": "2026-09-12"},
    "TD-03": {"promised_by": "2026-09-15"},
    "BH-02": {"promised_by": "2026-09-17"},
    "HT-02": {"promised_by": "2026-09-19"},
    "SW-04": {"promised_by": "2026-09-24"},
    "OF-05": {"promised_by": "2026-10-20"},
    # In a cold hollow.
    "TD-07": {"cold_offset_f": 3.0},
    "OF-04": {"cold_offset_f": 2.0},
    "NQ-05": {"cold_offset_f": 2.0},
    "GB-05": {"cold_offset_f": 2.0},
    "VC-03": {"cold_offset_f": 4.0},
    "BH-01": {"cold_offset_f": 3.0},
}

# Cut since the fields file was drawn up: too late for another cut this fall, or nearly.
LATE_CUTS = (
    ("2026-09-01", "OF-01"),
    ("2026-09-02", "VC-04"),
    ("2026-09-03", "BH-03"),
    ("2026-09-04", "NQ-06"),
)
HEIGHTS_CM = (
    ("2026-09-03", "TD-01", 37), ("2026-09-03", "TD-04", 34), ("2026-09-04", "VC-01", 29), ("2026-09-04", "VC-03", 24),
    ("2026-09-05", "SW-05", 38), ("2026-09-05", "TH-03", 41), ("2026-09-06", "LS-05", 44), ("2026-09-07", "GB-03", 47),
)  # fmt: skip
OTHER = (
    ("2026-07-21", "note", "", "Gadwall", "", "Stem maggot flies in bermudagrass, scout after each cut"),
    ("2026-08-06", "sprayed_until", "TH-02", "", "2026-09-12", "Label: no hay cut before this day"),
    ("2026-08-19", "note", "", "Lorimer", "", "Fall armyworms reported along the river"),
    ("2026-08-24", "sprayed_until", "SW-01", "", "2026-09-07", "Label interval is over"),
    ("2026-08-25", "note", "GB-04", "", "", "Owner leaves this for quail until spring"),
    ("2026-08-31", "note", "LS-01", "", "", "Gate post leans, take the narrow rake"),
    ("2026-09-02", "note", "TD-05", "", "", "Wet corner behind the terrace, 1 ac"),
    ("2026-09-07", "note", "NQ-02", "", "", "Two parts, one by the lane, one by the road"),
)
HAY_T = (
    ("2026-07-30", "VC-05", 31.4),
    ("2026-08-06", "TD-03", 5.2),
    ("2026-08-13", "BH-02", 22.0),
)  # weighed
COLUMNS = ["date", "fact", "field_id", "area", "value", "note"]


def season_log(fields: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return the season's log in order of days; values in cm, t, or a date.

    It holds the cuts of about every third field, four cuts that the fields file does not know of yet, heights, hay
    that was weighed, sprayings and notes.
    """
    late = [(day, "cut", field_id, "", "10", "") for day, field_id in LATE_CUTS]
    heights = [(day, "height", field_id, "", str(height_cm), "") for day, field_id, height_cm in HEIGHTS_CM]
    hay = [(day, "hay", field_id, "", str(weight_t), "") for day, field_id, weight_t in HAY_T]
    rows = [*_cuts(fields), *late, *heights, *hay, *OTHER]
    return pd.DataFrame(rows, columns=COLUMNS).sort_values(["date", "fact", "field_id"], kind="stable")


def _cuts(fields: gpd.GeoDataFrame) -> list[tuple[str, ...]]:
    """Return the cuts that the crews wrote down, some with the one before."""
    chance = dice("season log")
    known = fields[fields.previous_cut_date.notna()]
    written = known[chance.random(len(known)) < 0.36]
    rows = []
    for field_id, day, stubble_in in zip(
        written.field_id, written.previous_cut_date, written.stubble_in.fillna(4), strict=True
    ):
        rows.append((day, "cut", field_id, "", f"{stubble_in * 2.54:.0f}", ""))
        if chance.random() < 0.3:
            earlier = date.fromisoformat(day) - timedelta(days=int(chance.integers(30, 39)))
            rows.append((earlier.isoformat(), "cut", field_id, "", "10", ""))
    return rows
