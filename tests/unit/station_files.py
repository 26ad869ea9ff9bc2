"""Weather-station files as people send them, made on the spot."""

import numpy as np
import pandas as pd

from spatial.inputs.checks import Report
from spatial.inputs.stations.minima import read_stations
from tests.unit.making import lines_of, write_text


def minima_f(first="2010-01-01", last="2011-12-31", warm=66, cold=24, sway=6, seed=1):
    """Return daily minima in whole deg F with a summer and a winter, as a Series on its days."""
    days = pd.date_range(first, last)
    summer = 0.5 - 0.5 * np.cos(2 * np.pi * (days.day_of_year.to_numpy() - 20) / 365.25)
    weather = np.random.default_rng(seed).normal(0, sway, len(days))
    return pd.Series(np.round(cold + (warm - cold) * summer + weather), index=days)


def tenths_of(values_f):
    """Return deg F as the archive keeps them: whole tenths of deg C."""
    return ((values_f - 32) / 0.18).round().astype(int)


def table_text(values, column="TMIN", station="", separator=",", form="%Y-%m-%d", number="{:g}"):
    """Return a headed table of days and values, with a column of stations where one is named."""
    head = ["STATION"] * bool(station) + ["DATE", column]
    lines = [
        separator.join([station] * bool(station) + [f"{day:{form}}", number.format(value)])
        for day, value in values.items()
    ]
    return "\n".join([separator.join(head), *lines]) + "\n"


def month_line(station, month, element, values, flags=None):
    """Return a line of the archive's months: `values` and quality `flags` by day of the month."""
    flags = flags or {}
    days = [f"{values.get(day, -9999):5d} {flags.get(day, ' ')}X" for day in range(1, 32)]
    return f"{station:11s}{month.replace('-', '')}{element}" + "".join(days)


def months_text(tenths, station="USC00000001", element="TMIN"):
    """Return a record in tenths of deg C in the archive's months."""
    months = tenths.groupby(tenths.index.strftime("%Y-%m"))
    lines = [
        month_line(station, month, element, dict(zip(part.index.day, part, strict=True)))
        for month, part in months
    ]
    return "\n".join(lines) + "\n"


def read(path, *more, **options):
    """Return the records of files, what is refused and what is told."""
    report = Report()
    records = read_stations([path, *more], report, **options)
    return records, lines_of(report.wrong), lines_of(report.told)


def read_text(folder, text, name="station.csv", **options):
    """Return the records of a file with this text, what is refused and what is told."""
    return read(write_text(folder / name, text), **options)


def degrees_f(record):
    """Return the minima of a record in deg F, without its missing days."""
    return (record.tmin_c * 1.8 + 32).dropna()
