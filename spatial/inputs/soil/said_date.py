"""The day that region.toml says a layer was made."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import pandas as pd

from spatial.inputs.cells import EARLIEST, LATEST
from spatial.inputs.checks import Report
from spatial.inputs.region_file import FILE


def said_date(place: str, section: Mapping[str, Any], report: Report) -> pd.Timestamp:
    """Return the day a layer was made, NaT where unsaid; one that is no date, or that cannot be, is refused."""
    if "date" not in section:
        return pd.Timestamp("NaT")
    try:
        day = date.fromisoformat(section["date"])
    except ValueError:
        day = date.min
    if not EARLIEST.date() <= day <= LATEST.date():
        report.refuse(FILE, f"{place} date", f"is {section['date']!r}", "Write it as 2025-09-01")
        return pd.Timestamp("NaT")
    return pd.Timestamp(day)
