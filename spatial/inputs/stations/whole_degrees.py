"""Readings taken in whole degrees F, brought back to exactly those from the tenths of deg C they were kept in."""

import numpy as np
import pandas as pd

LEAST_SHARE = 0.95  # of a year's readings; of a metric station's, 0.18 to 0.36 are such tenths by chance
LEAST_READINGS = 30  # a year with fewer follows the whole record
EXACT_C = 0.001


def in_whole_degrees_f(tmin_c: pd.Series) -> pd.Series:
    """Return daily minima [deg C] with readings of whole degrees F as exactly (F - 32) * 5 / 9.

    `tmin_c` is on a DatetimeIndex, NaN missing. Year by year: where at least 95 % of the readings are whole
    degrees F kept in tenths of a deg C, those readings are brought back, and only those; 28 F, kept as -2.2,
    becomes -2.2222. Records of US stations are kept so (NOAA NCEI, GHCN-Daily; found in their values).
    """
    known = tmin_c.notna()
    if not known.any():
        return tmin_c
    matches = were_whole_f(tmin_c)
    year = pd.DatetimeIndex(tmin_c.index).year
    readings = known.groupby(year).transform("sum")
    share = matches.groupby(year).transform("sum") / readings.where(readings >= LEAST_READINGS)
    share = share.fillna(matches.sum() / known.sum())
    return tmin_c.mask(matches & (share >= LEAST_SHARE), _nearest_whole_f(tmin_c))


def were_whole_f(tmin_c: pd.Series) -> pd.Series:
    """Tell which temperatures [deg C] are whole degrees F: exactly, or in one of the ways tenths are made of them.

    Tenths are rounded, or a half is added and the rest cut off, which below zero gives a tenth too much: 28 F then
    stands as -2.1 (so in the archive's record of Milwaukee, winters 2013 to 2025).
    """
    whole_c = _nearest_whole_f(tmin_c)
    ways = (whole_c, np.round(whole_c, 1), np.trunc(whole_c * 10.0 + 0.5) / 10.0)
    close = [(tmin_c - way).abs() < EXACT_C for way in ways]
    return close[0] | close[1] | close[2]


def _nearest_whole_f(tmin_c: pd.Series) -> pd.Series:
    return ((tmin_c * 1.8 + 32.0).round() - 32.0) * 5.0 / 9.0
