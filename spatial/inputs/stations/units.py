"""Which unit the temperatures of a file are in: what its values allow, and what they alone can mean."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.inputs.checks import Report
from spatial.inputs.stations.readings import FACTORS, UNIT_WORDS, UNITS, Readings, Unit
from spatial.inputs.stations.whole_degrees import were_whole_f

# How a year of daily minima looks where hay is made [deg C]. Common practice, no source; wide on purpose.
LEAST_C, MOST_C = -65.0, 40.0  # no daily minimum lies beyond
WARM_MONTH_C = (0.0, 30.0)  # mean of the warmest month
MOST_SWING_C = 50.0  # between the means of the warmest and the coldest month
COOL_C, COOL_SWING_C = 10.0, 9.0  # a place without a warm month has a winter, or is no place for hay
MOST_STEP_C = 6.0  # usual change from one day to the next
# What a shorter record must show, besides, before its unit is taken from it.
LEAST_DAYS, LEAST_STEP_C, LEAST_SPREAD_C, USUAL_MOST_C = 60, 0.5, 8.0, 29.5
MONTHS, MONTH_VALUES = 12, 10  # a whole year: each calendar month with so many values
RARE = 0.001  # the share of wild values that says nothing
WHOLE = 0.999
GRID_SHARE, GRID_VALUES = 0.95, 20  # so large a share of at least so many values
EXACT_GRID = 1e-4
TENTH_IN_F = 0.18  # a tenth of a deg C
ASK = "say --unit F, C or tenthsC"


@dataclass(frozen=True)
class Evidence:
    """What tells the unit of a column, in its own numbers.

    `months` are the means by calendar month, NaN throughout where the record is not a whole year.
    """

    count: int
    least: float
    most: float
    spread: float  # between the 1 % and the 99 % value
    step: float  # the median change from one day to the next, NaN where no two days follow
    warmest: float
    coldest: float
    whole: bool
    grid: Unit | None  # the unit that the last digits give away


def unit_of(readings: Readings, stated: Unit | None, report: Report) -> Unit | None:
    """Return the unit of a file's minima, or None with the reason in the report.

    A unit that the file's form, its column's name or the user states is kept, unless the values speak for another
    one; a unit found from the values is told.
    """
    said = readings.unit or stated
    place = f"column {readings.column!r}"
    evidence = evidence_of(readings.table)
    if readings.unit and stated and stated != readings.unit:
        cause = f"is in {UNIT_WORDS[readings.unit]} by {readings.said_by}, not in {UNIT_WORDS[stated]}"
        report.refuse(readings.file, place, cause, "Leave out --unit, or rename the column")
        return None
    if said is not None:
        return _kept(said, evidence, readings, report)
    fits = [unit for unit in UNITS if may_be(unit, evidence) and is_like(unit, evidence)]
    if len(fits) == 1:
        report.tell(
            readings.file, place, f"is read in {UNIT_WORDS[fits[0]]}, as its values show", f"Else {ASK}"
        )
        return fits[0]
    cause = f"does not show its unit, with values from {evidence.least:g} to {evidence.most:g}"
    if not any(may_be(unit, evidence) for unit in UNITS):
        cause = f"is no daily minimum in deg F or C, with values from {evidence.least:g} to {evidence.most:g}"
    report.refuse(readings.file, place, cause, f"{ASK[0].upper()}{ASK[1:]}, or another column")
    return None


def evidence_of(table: pd.DataFrame) -> Evidence:
    """Return what the minima of all stations of a file show; at least one must be there."""
    rows = table.dropna(subset=["tmin"]).sort_values(["station", "date"])
    values = rows["tmin"].to_numpy(np.float64)
    least, low, high, most = np.quantile(values, [RARE, 0.01, 0.99, 1 - RARE])
    months = rows.groupby(rows["date"].dt.month)["tmin"].agg(["mean", "size"])
    whole_year = len(months) == MONTHS and bool((months["size"] >= MONTH_VALUES).all())
    means = months["mean"] if whole_year else pd.Series([np.nan])
    return Evidence(
        len(values),
        float(least),
        float(most),
        float(high - low),
        _step(rows),
        float(means.max()),
        float(means.min()),
        bool((values % 1 == 0).mean() >= WHOLE),
        _grid(values),
    )


def may_be(unit: Unit, evidence: Evidence) -> bool:
    """Tell whether values may be in a unit at all, at a place where hay is made."""
    factor, offset = FACTORS[unit]
    if evidence.least * factor + offset < LEAST_C or evidence.most * factor + offset > MOST_C:
        return False
    if evidence.grid not in (None, unit) or (unit == "tenthsC" and not evidence.whole):
        return False
    if np.isnan(evidence.warmest):
        return True
    warm, swing = evidence.warmest * factor + offset, (evidence.warmest - evidence.coldest) * factor
    seasonal = warm >= COOL_C or swing >= COOL_SWING_C
    usual = WARM_MONTH_C[0] <= warm <= WARM_MONTH_C[1] and swing <= MOST_SWING_C and seasonal
    return usual and not evidence.step * factor > MOST_STEP_C


def is_like(unit: Unit, evidence: Evidence) -> bool:
    """Tell whether values show a unit well enough to be taken for it unasked, of those that they may be in."""
    if evidence.grid == unit or not np.isnan(evidence.warmest):
        return True
    factor, offset = FACTORS[unit]
    if evidence.count < LEAST_DAYS or np.isnan(evidence.step):
        return True  # too little to leave any unit out
    steady = LEAST_STEP_C <= evidence.step * factor <= MOST_STEP_C
    return (
        steady
        and evidence.spread * factor >= LEAST_SPREAD_C
        and evidence.most * factor + offset <= USUAL_MOST_C
    )


def _kept(said: Unit, evidence: Evidence, readings: Readings, report: Report) -> Unit | None:
    others = [unit for unit in UNITS if unit != said and may_be(unit, evidence)]
    if may_be(said, evidence) or not others:
        return said
    words = " or ".join(UNIT_WORDS[unit] for unit in others)
    cause = f"is said to be in {UNIT_WORDS[said]}, but its values are those of {words}"
    report.refuse(
        readings.file, f"column {readings.column!r}", cause, "Say the unit it is in, or another column"
    )
    return None


def _step(rows: pd.DataFrame) -> float:
    follows = (rows["date"].diff() == pd.Timedelta(days=1)) & (rows["station"] == rows["station"].shift())
    return float(rows["tmin"].diff().abs()[follows].median()) if follows.any() else np.nan


def _grid(values: NDArray[np.float64]) -> Unit | None:
    """Return the unit that last digits give away: tenths of deg C in deg F, or whole deg F in deg C."""
    broken = values[values % 1 != 0]
    if len(broken) < GRID_VALUES or len(broken) < len(values) / 4:
        return None
    tenths_c = (broken - 32.0) / TENTH_IN_F
    if np.mean(np.abs(tenths_c - np.round(tenths_c)) < EXACT_GRID) >= GRID_SHARE:
        return "F"
    return "C" if were_whole_f(pd.Series(values)).mean() >= GRID_SHARE else None
