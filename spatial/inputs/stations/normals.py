"""Freeze dates of stations from the official annual normals, in both forms that they are given out in."""

import re
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd

from spatial.daily import Station, StationDates
from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report
from spatial.inputs.stations.columns import Heading, find_columns
from spatial.inputs.stations.normal_values import Normal, days_since_august, normal_of, share_of
from spatial.inputs.stations.places import place_of
from spatial.inputs.stations.text import heading_of, read_text, table_of
from spatial.reasons import Reason, reason

# NOAA NCEI, readmes of the 1981-2010 and the 1991-2020 normals: ANN-TMIN-PRBFST-T28FP10 is the date by which the
# first 28 F of the cold season has come in 10 % of seasons, ANN-TMIN-PRBOCC-LSTH028 how many seasons have one.
DATE_COLUMN = re.compile(r"ANN-TMIN-PRBFST-T(\d\d)FP(\d\d)")
PERIOD = re.compile(r"(?<!\d)((?:18|19|20)\d\d)[-_]((?:18|19|20)\d\d)(?!\d)")
NORTHERN_SEASON = (8, 1)
SAME_F = 0.05
SLACK_DAYS = 1.0  # two dates may fall so much by rounding
SEASON_COLUMNS = ("freeze_day", "freeze_date", "freeze_tmin_c", "missing_days")
ESTIMATED = {"E", "Q"}


def is_normals(path: Path) -> bool:
    """Tell whether a file holds official annual normals with freeze dates."""
    try:
        return any(DATE_COLUMN.fullmatch(name) for name in heading_of(read_text(path)))
    except InputError:
        return False


def read_normals(path: Path, threshold_c: float, report: Report) -> list[StationDates]:
    """Return the freeze dates of the stations in a file of official annual normals at `threshold_c` [deg C].

    A chance whose freeze does not come is +inf, one that is not known NaN; the days count a year of 365 days. A
    station that cannot be used is left out, and the report says why: a threshold that the file does not have,
    dates that do not rise with the chance, a station south of the equator.
    """
    try:
        table = table_of(read_text(path), path.name)
        wanted = _wanted(table, threshold_c, path.name)
    except InputError as error:
        report.wrong.extend(error.problems)
        return []
    columns = find_columns(list(table.columns), {}, path.name)
    found = []
    for _place, row in table.iterrows():
        try:
            found.append(_dates(row, columns, wanted, path.name))
        except InputError as error:
            report.wrong.extend(error.problems)
    return found


def _wanted(table: pd.DataFrame, threshold_c: float, file: str) -> tuple[int, dict[float, str]]:
    """Return the threshold [deg F], and the column of each chance."""
    matches = [found for name in table.columns if (found := DATE_COLUMN.fullmatch(name))]
    if not matches or table.empty:
        cause = "has no freeze dates of official annual normals"
        raise InputError([Problem(file, "ANN-TMIN-PRBFST", cause, "Give the annual file of a station")])
    threshold_f = threshold_c * 1.8 + 32.0
    known = sorted({int(found[1]) for found in matches})
    nearest = min(known, key=lambda degrees: abs(degrees - threshold_f))
    if abs(nearest - threshold_f) > SAME_F:
        one_of = f"Use one of: {', '.join(f'{degrees} F' for degrees in known)}"
        raise InputError([Problem(file, f"threshold {threshold_f:g} F", "is not among the normals", one_of)])
    chances = {int(found[2]) / 100: found[0] for found in matches if int(found[1]) == nearest}
    return nearest, dict(sorted(chances.items()))


def _dates(
    row: pd.Series, columns: Mapping[str, Heading], wanted: tuple[int, dict[float, str]], file: str
) -> StationDates:
    threshold_f, names = wanted
    station = _station(row, columns, file)
    normals = {chance: normal_of(row, name) for chance, name in names.items()}
    freeze_share = share_of(row, f"ANN-TMIN-PRBOCC-LSTH{threshold_f:03d}", file)
    days = {
        chance: days_since_august(normal, chance, freeze_share, file) for chance, normal in normals.items()
    }
    _refuse_falling(days, normals, station.station, file)
    seasons = max((normal.years for normal in normals.values()), default=0)
    period = _period(file)
    length = period[1] - period[0] + 1 if period != (0, 0) else seasons
    return StationDates(
        station=station,
        threshold_c=(threshold_f - 32) * 5 / 9,
        season_start=NORTHERN_SEASON,
        origin="normals",
        period=period,
        valid_seasons=seasons,
        invalid_seasons=max(length - seasons, 0) if seasons else 0,
        no_freeze_share=1 - freeze_share,
        chances=tuple(days),
        days=np.array(list(days.values())),
        error_days=np.full(len(days), np.nan),
        seasons=pd.DataFrame(columns=list(SEASON_COLUMNS), index=pd.Index([], name="season", dtype=np.int64)),
        trend=None,
        file=file,
        told=_told(normals, days, seasons),
    )


def _station(row: pd.Series, columns: Mapping[str, Heading], file: str) -> Station:
    name = str(row[columns["station"].theirs]) if "station" in columns else file.partition(".")[0]
    station = place_of(name, row.to_frame().T, columns)
    if station.latitude_deg < 0:
        cause = "lies south of the equator, where the official first freeze is of another season"
        raise InputError([Problem(file, f"station {name}", cause, "Give its daily minima")])
    return station


def _refuse_falling(
    days: Mapping[float, float], normals: Mapping[float, Normal], station: str, file: str
) -> None:
    known = [(day, normals[chance].text, chance) for chance, day in days.items() if not np.isnan(day)]
    for (early, its, chance), (late, other, next_chance) in pairwise(known):
        if late < early - SLACK_DAYS:
            cause = f"{its} at chance {chance:g} is after {other} at chance {next_chance:g}"
            raise InputError([Problem(file, f"station {station}", cause, "Get the file again")])


def _period(file: str) -> tuple[int, int]:
    found = PERIOD.search(file)
    first, last = (int(found[1]), int(found[2])) if found else (0, 0)
    return (first, last) if first < last else (0, 0)


def _told(normals: Mapping[float, Normal], days: Mapping[float, float], seasons: int) -> tuple[Reason, ...]:
    unknown = tuple(chance for chance, day in days.items() if np.isnan(day))
    year_round = any(normal.kind == "year round" for normal in normals.values())
    estimated = any(normal.completeness in ESTIMATED for normal in normals.values())
    reasons = (
        (bool(unknown), reason("station_no_official_date", chances=unknown)),
        (year_round, reason("station_year_round")),
        (estimated, reason("station_estimated")),
        (not seasons, reason("station_seasons_unsaid")),
    )
    return tuple(why for holds, why in reasons if holds)
