"""Whether a station's winter lies where its latitude says; the freeze is sought in another season if not."""

import pandas as pd

from spatial.daily import DailyMinima
from spatial.inputs.checks import Report

NORTHERN_WINTER, SOUTHERN_WINTER = (12, 1, 2), (6, 7, 8)
LEAST_VALUES, COLDER_C = 30, 3.0  # so many days of each, and so much colder


def tell_other_winter(record: DailyMinima, report: Report) -> None:
    """Tell where a station is coldest in the winter of the other half of the world."""
    latitude = record.station.latitude_deg
    place = f"station {record.station.station}"
    north, south = (_mean_c(record.tmin_c, months) for months in (NORTHERN_WINTER, SOUTHERN_WINTER))
    if latitude < 0 and north < south - COLDER_C:
        cause = f"lies south of the equator, at {latitude:g}, but is coldest from December to February"
        report.tell(record.file, place, cause, "Mend its latitude, or say --season-start 08-01")
    elif not latitude < 0 and south < north - COLDER_C:
        cause = "is coldest from June to August, as south of the equator, which its latitude does not say"
        report.tell(record.file, place, cause, "Give its latitude, or say --season-start 02-01")


def _mean_c(tmin_c: pd.Series, months: tuple[int, ...]) -> float:
    values = tmin_c[pd.DatetimeIndex(tmin_c.index).month.isin(months)].dropna()
    return float(values.mean()) if len(values) >= LEAST_VALUES else float("nan")
