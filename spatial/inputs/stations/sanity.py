"""Whether the daily minima of a station can be what they are taken for; a wrong column or unit is named."""

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from spatial.inputs.checks import Report
from spatial.inputs.stations.change import unit_change
from spatial.inputs.stations.readings import UNIT_WORDS

MOST_TMIN_C = (85.0 - 32.0) * 5.0 / 9.0
TENTH_C = 0.1  # the archive's rounding
LEAST_CROSSED, CROSSED_SHARE = 3, 0.001  # so many days with a minimum over the maximum are slips of the pen
MOST_STEP_DAYS, MOST_A_DAY = 1.5, 1.5
MONTHLY_DAYS = (27.0, 32.0)
MONTHS, MONTH_VALUES = 12, 10
# No place where hay is made has such months [deg C]. Common practice, no source; wide on purpose.
LEAST_WARMEST_C, MOST_WARMEST_C, LEAST_COLDEST_C, MOST_SWING_C = 0.0, 30.0, -60.0, 60.0
LEAST_CONSTANT = 10
SAME_SHARE = 0.5  # of the days with the minimum of the maximum: they are one column
SAME_C = 0.06  # two readings of one day nearer than this were one before they were rounded
WHICH = "Say the right column (--column tmin=NAME) or unit (--unit F, C or tenthsC)"
GIVE_DAILY = "Give the daily record"


def sane_columns(rows: pd.DataFrame, station: str, report: Report) -> bool:
    """Tell whether one station's readings of one file are daily minima in any unit, else with the reason in the report.

    `rows` is as for `sane_days`, with tmin_c and tmax_c in the file's own numbers.
    """
    return _passes(_once(_in_order(rows)), UNITLESS_CHECKS, station, report)


def sane_days(rows: pd.DataFrame, station: str, report: Report) -> pd.DataFrame | None:
    """Return the readings of one station, a row a day in order, or None with the reason in the report.

    `rows` has date, tmin_c, tmax_c [deg C, NaN missing], tmin, tmax (as the file has them), row, file, column,
    tmax_column and unit; at least one minimum is there. Of days that stand twice with the same minimum one is
    kept. A few days with the minimum over the maximum become missing, and are told; more are refused.
    """
    days = _once(_in_order(rows))
    return _uncrossed(days, station, report) if _passes(days, CHECKS, station, report) else None


Fault = tuple[str, str, str, str] | None  # file, column, cause, mend
Check = Callable[[pd.DataFrame], Fault]


def _passes(days: pd.DataFrame, checks: Sequence[Check], station: str, report: Report) -> bool:
    for check in checks:
        fault = check(days)
        if fault is not None:
            file, column, cause, mend = fault
            report.refuse(file, f"station {station}, {column}", cause, mend)
            return False
    return True


def _in_order(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.sort_values(["date", "file", "row"], kind="stable").reset_index(drop=True)


def _once(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows without those that say of a day what another said, or nothing where another says something."""
    known = rows["tmin_c"].notna()
    said = known.groupby(rows["date"]).transform("any")
    rows = rows[known | ~said]
    first = rows.groupby("date")["tmin_c"].transform("first")
    repeated = rows["date"].duplicated() & ((rows["tmin_c"] - first).abs().lt(SAME_C) | first.isna())
    return rows[~repeated].reset_index(drop=True)


def _many_a_day(days: pd.DataFrame) -> Fault:
    if len(days) <= MOST_A_DAY * days["date"].nunique():
        return None
    twice = days["date"].duplicated(keep=False)
    return _fault(days[twice], "has several readings a day, first on {day}", GIVE_DAILY)


def _too_rare(days: pd.DataFrame) -> Fault:
    step = float(days["date"].drop_duplicates().diff().dt.days.median())
    if not step > MOST_STEP_DAYS:
        return None
    monthly = MONTHLY_DAYS[0] <= step <= MONTHLY_DAYS[1]
    words = "is monthly" if monthly else f"has a value every {step:g} days, not every day"
    return _fault(days, f"{words}, from {{day}} on", GIVE_DAILY)


def _two_values(days: pd.DataFrame) -> Fault:
    other = days[days["date"].duplicated()]
    if other.empty:
        return None
    of_day = days[days["date"] == other["date"].iloc[0]]
    values = " and ".join(f"{value:g}" for value in of_day["tmin"].iloc[:2])
    return _fault(other, f"has {values} for {{day}}", "Keep the right one")


def _crossed(days: pd.DataFrame) -> pd.Series:
    return days["tmin_c"] > days["tmax_c"] + TENTH_C / 10


def _over_maximum(days: pd.DataFrame) -> Fault:
    crossed, both = _crossed(days), int((days["tmin_c"].notna() & days["tmax_c"].notna()).sum())
    if crossed.sum() <= max(LEAST_CROSSED, CROSSED_SHARE * both):
        return None
    first = days[crossed].iloc[0]
    numbers = f"{first['tmin']:g} over {first['tmax']:g}"
    cause = f"is over the maximum, {first['tmax_column']!r}, on {crossed.sum()} of {both} days"
    return _fault(
        days[crossed], f"{cause}, first on {{day}} ({numbers})", f"The columns may be shifted. {WHICH}"
    )


def _same_as_maximum(days: pd.DataFrame) -> Fault:
    if days["tmax_c"].isna().all():
        return None
    both = days.dropna(subset=["tmin_c", "tmax_c"])
    same = (both["tmin_c"] - both["tmax_c"]).abs() < TENTH_C / 10
    if len(both) < LEAST_CONSTANT or same.mean() <= SAME_SHARE:
        return None
    cause = (
        f"is the same as the maximum, {both['tmax_column'].iloc[0]!r}, on {same.sum()} of {len(both)} days"
    )
    return _fault(both[same], f"{cause}, first on {{day}}", WHICH)


def _too_warm(days: pd.DataFrame) -> Fault:
    hot = days[days["tmin_c"] > MOST_TMIN_C + TENTH_C / 2]
    if hot.empty:
        return None
    shown = f"{hot['tmin'].iloc[0]:g} {UNIT_WORDS[hot['unit'].iloc[0]]}"
    return _fault(hot, f"has a minimum of {shown} on {{day}}, over 85 F", WHICH)


def _constant(days: pd.DataFrame) -> Fault:
    known = days.dropna(subset=["tmin"])
    if len(known) < LEAST_CONSTANT or known["tmin"].ne(known["tmin"].iloc[0]).any():
        return None
    return _fault(known, f"is {known['tmin'].iloc[0]:g} on every day from {{day}} on", WHICH)


def _strange_months(days: pd.DataFrame) -> Fault:
    months = days.groupby(days["date"].dt.month)["tmin_c"].agg(["mean", "count"])
    if len(months) < MONTHS or months["count"].min() < MONTH_VALUES:
        return None
    warmest, coldest = float(months["mean"].max()), float(months["mean"].min())
    ranges = (
        (warmest < LEAST_WARMEST_C, f"a warmest month of {warmest:.1f} deg C"),
        (warmest > MOST_WARMEST_C, f"a warmest month of {warmest:.1f} deg C"),
        (coldest < LEAST_COLDEST_C, f"a coldest month of {coldest:.1f} deg C"),
        (warmest - coldest > MOST_SWING_C, f"{warmest - coldest:.0f} deg C between its months"),
    )
    strange = [words for wrong, words in ranges if wrong]
    return _fault(days, f"would have {strange[0]}, read from {{day}} on", WHICH) if strange else None


def _changed_unit(days: pd.DataFrame) -> Fault:
    found = unit_change(days)
    if found is None:
        return None
    year, unit = found
    sides = f"{UNIT_WORDS[unit]} on one side of {year}, {UNIT_WORDS[days['unit'].iloc[0]]} on the other"
    cause = f"looks as if its unit changes: {sides}"
    return _fault(days, cause, "Give each part in a file of its own, with its unit")


UNITLESS_CHECKS: tuple[Check, ...] = (_many_a_day, _too_rare, _over_maximum, _same_as_maximum, _constant)
CHECKS: tuple[Check, ...] = (
    *UNITLESS_CHECKS,
    _too_warm,
    _two_values,
    _strange_months,
    _changed_unit,
)


def _fault(rows: pd.DataFrame, cause: str, mend: str) -> Fault:
    first = rows.iloc[0]
    day = f"{first['date']:%Y-%m-%d}"
    return str(first["file"]), f"column {first['column']!r}", cause.replace("{day}", day), mend


def _uncrossed(days: pd.DataFrame, station: str, report: Report) -> pd.DataFrame:
    crossed = _crossed(days)
    if crossed.any():
        on = ", ".join(f"{day:%Y-%m-%d}" for day in days["date"][crossed].iloc[:3])
        place = f"station {station}, column {days['column'].iloc[0]!r}"
        cause = f"is over the maximum on {crossed.sum()} days ({on})"
        report.tell(str(days["file"][crossed].iloc[0]), place, cause, "Those days count as missing")
    return days.assign(tmin_c=days["tmin_c"].mask(crossed, np.nan))
