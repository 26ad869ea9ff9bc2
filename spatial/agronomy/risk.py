"""What a cut risks: its last day at every chance shown, and the share of seasons that froze too soon after it."""

from datetime import date

import pandas as pd

from spatial.agronomy.deadline import last_cuts
from spatial.agronomy.regrowth import Growth

RISK_DAYS = range(-21, 29)  # around the last-cut date


def cuts_by_chance(
    freeze_dates: pd.DataFrame,
    errors_days: pd.DataFrame,
    cover: pd.Series,
    numbers: pd.DataFrame,
    grown: Growth,
) -> pd.DataFrame:
    """Return the last-cut date of each field at each chance, one column of `freeze_dates` a chance.

    Columns: last_cut_10_date and so on, and by_chance, a tuple of (chance, killing-freeze date, last-cut date,
    error of the freeze date [days]) for each field; `cover` is the share of the field with freeze data.
    """
    columns, rows = {}, []
    for chance, dates in freeze_dates.items():
        freezes = pd.DataFrame({"killing_freeze_date": dates, "freeze_cover_share": cover})
        last = last_cuts(freezes, numbers, grown)["last_cut_date"]
        columns[f"last_cut_{round(100 * float(str(chance)))}_date"] = last
        rows.append([(chance, *one) for one in zip(dates, last, errors_days[chance], strict=True)])
    by_chance = pd.Series(list(zip(*rows, strict=True)), index=freeze_dates.index, dtype=object)
    return pd.DataFrame(columns).assign(by_chance=by_chance)


def risk_curves(fields: pd.DataFrame, season_days: pd.DataFrame, season_start: date) -> pd.Series:
    """Return for each field a tuple of (day of the cut, share), one for each day around its last-cut date.

    The share is that of the past seasons whose freeze came before the cut had regrown for `regrowth_days`.
    `season_days` (fields, seasons): days since the season's first day, +inf no freeze, NaN not known. Empty where
    a field has no last-cut date or no season is known.
    """
    start, curves = pd.Timestamp(season_start), []
    known = season_days.notna().sum(axis=1)
    for days in RISK_DAYS:
        cut = fields["last_cut_date"] + pd.Timedelta(days=days)
        regrown = (cut - start).dt.days + fields["regrowth_days"]
        share = season_days.lt(regrown, axis=0).sum(axis=1) / known.where(known > 0)
        curves.append(list(zip(cut, share.round(3), strict=True)))
    rows = [
        tuple(one for one in row if pd.notna(one[0]) and pd.notna(one[1]))
        for row in zip(*curves, strict=True)
    ]
    return pd.Series(rows, index=fields.index, dtype=object, name="risk")
