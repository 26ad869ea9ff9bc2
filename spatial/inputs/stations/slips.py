"""Readings of a station that no thermometer in the air has given: they become missing, and that is told."""

import numpy as np
import pandas as pd

from spatial.inputs.checks import Report

# After the checks of the archive of daily records on its own values (Durre et al. 2010, J. Appl. Meteorol.
# Climatol. 49, 1615-1633; from memory): a spike of 25 deg C, and 20 equal values one after another.
SPIKE_C, STREAK_DAYS = 25.0, 20
USUAL_STEP_C = 0.5  # a record that hardly moves from day to day was made by hand: nothing in it stands out
SAME_C = 1e-6


def without_slips(days: pd.DataFrame, station: str, report: Report) -> pd.DataFrame:
    """Return a station's readings, a row a day in order, without spikes of cold and without a stuck thermometer.

    `days` is as from `sane_days`. A spike lies 25 deg C and more under the day before and the day after; stuck is a
    minimum that stands on 20 days and more one after another, in a record that else moves.
    """
    known = days.dropna(subset=["tmin_c"])
    steps = known["tmin_c"].diff().abs()
    if len(known) < STREAK_DAYS or not steps.quantile(0.75) >= USUAL_STEP_C:
        return days
    slips = {
        f"lies {SPIKE_C:g} deg C and more under the days beside it": _spikes(known),
        f"is the same on {STREAK_DAYS} days and more one after another": _streaks(known),
    }
    for words, wrong in slips.items():
        if wrong.any():
            first = known[wrong].iloc[0]
            count = int(wrong.sum())
            cause = f"{words}, {count} in all, first {first['tmin']:g} on {first['date']:%Y-%m-%d}"
            place = f"station {station}, column {str(first['column'])!r}"
            report.tell(str(first["file"]), place, cause, "They count as missing")
    wrong = pd.concat(slips.values(), axis=1).any(axis=1).reindex(days.index, fill_value=False)
    return days.assign(tmin_c=days["tmin_c"].mask(wrong, np.nan))


def _spikes(known: pd.DataFrame) -> pd.Series:
    next_day = known["date"].diff() == pd.Timedelta(days=1)
    drop = known["tmin_c"].diff() <= -SPIKE_C
    rise = known["tmin_c"].diff().shift(-1) >= SPIKE_C
    return next_day & next_day.shift(-1, fill_value=False) & drop & rise


def _streaks(known: pd.DataFrame) -> pd.Series:
    run = (known["tmin_c"].diff().abs() > SAME_C).cumsum()
    return known.groupby(run)["tmin_c"].transform("size") >= STREAK_DAYS
