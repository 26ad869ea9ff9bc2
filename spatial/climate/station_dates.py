"""The freeze dates of a station over chances, each with its error, from its daily minima."""

from calendar import isleap
from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.climate.seasons import LEAST_SEASONS, MOST_MISSING_DAYS, chance_days
from spatial.climate.station_seasons import station_seasons
from spatial.climate.trend import LEAST_SEASONS as LEAST_TREND_SEASONS
from spatial.climate.trend import freeze_trend
from spatial.daily import DailyMinima, StationDates, Trend
from spatial.errors import InputError, Problem
from spatial.reasons import Reason, reason

CHANCES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
NORTHERN_SEASON, SOUTHERN_SEASON = (8, 1), (2, 1)
FEW_SEASONS = 20  # with fewer the errors are wide; common practice, no source
RESAMPLES = 2_000
# An error that leans on more resamples than this without the freeze is not a number of days.
MOST_NOT_REACHED_SHARE = 0.05
FEBRUARY = 2


def station_dates(  # noqa: PLR0913, PLR0917 - a choice of the user's is a parameter
    record: DailyMinima,
    threshold_c: float,
    season_start: tuple[int, int] | None = None,
    seasons: tuple[int, int] | None = None,
    chances: Sequence[float] = CHANCES,
    a: float = 1 / 3,
    seed: int = 1,
) -> StationDates:
    """Return the days by which the freeze has come at each chance, with their errors and the seasons behind them.

    Without `season_start` (month, day) seasons begin on 1 August, south of the equator on 1 February. `seasons` is
    the first and last season wanted; one that the record does not have counts as invalid. `a` is the plotting
    position of `chance_days`. With fewer than 5 valid seasons no day is known. The trend is told, never applied.
    Raises InputError where the record has no day and no seasons are asked for.
    """
    if seasons is None and record.tmin_c.empty:
        cause = "has no daily minimum"
        raise InputError(
            [Problem(record.file, record.station.station, cause, "Leave it out, or give its days")]
        )
    start = season_start or _season_start(record.station.latitude_deg)
    table = station_seasons(record.tmin_c, threshold_c, start, seasons)
    valid = table.loc[table["freeze_day"].notna(), "freeze_day"].to_numpy(np.float64)
    days, errors = _days_and_errors(valid, chances, a, seed)
    trend = freeze_trend(table["freeze_day"])
    assumed = season_start is None and bool(np.isnan(record.station.latitude_deg))
    return StationDates(
        station=record.station,
        threshold_c=threshold_c,
        season_start=start,
        origin="daily",
        period=(int(table.index[0]), int(table.index[-1])),
        valid_seasons=len(valid),
        invalid_seasons=len(table) - len(valid),
        no_freeze_share=float(np.isinf(valid).mean()) if len(valid) else np.nan,
        chances=tuple(chances),
        days=days,
        error_days=errors,
        seasons=table,
        trend=trend,
        file=record.file,
        told=(*_assumption(assumed), *_told(table, trend, start)),
    )


def _season_start(latitude_deg: float) -> tuple[int, int]:
    return SOUTHERN_SEASON if latitude_deg < 0 else NORTHERN_SEASON


def _days_and_errors(
    valid: NDArray[np.float64], chances: Sequence[float], a: float, seed: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if len(valid) < LEAST_SEASONS:
        return np.full(len(chances), np.nan), np.full(len(chances), np.nan)
    days = chance_days(valid, chances, a)
    return days, np.where(np.isfinite(days), _bootstrap_errors(valid, chances, a, seed), np.nan)


def _bootstrap_errors(
    valid: NDArray[np.float64], chances: Sequence[float], a: float, seed: int
) -> NDArray[np.float64]:
    """Return the standard deviation [days] of each chance's day over resamples of the valid seasons.

    NaN where more than a trace of the resamples do not reach the chance. Source: Efron 1979, Annals of Statistics
    7:1-26 (from memory).
    """
    drawn = np.random.default_rng(seed).integers(0, len(valid), (len(valid), RESAMPLES))
    days = chance_days(
        np.sort(valid)[drawn], chances, a
    )  # sorted, so that the order of the seasons is nothing
    reached = np.isfinite(days)
    sure = (~reached).mean(axis=1) <= MOST_NOT_REACHED_SHARE
    errors = np.full(len(chances), np.nan)
    errors[sure] = np.std(days[sure], axis=1, ddof=1, where=reached[sure])
    return errors


def _assumption(assumed: bool) -> Iterator[Reason]:
    if assumed:
        yield reason("station_north_assumed")


def _told(table: pd.DataFrame, trend: Trend | None, start: tuple[int, int]) -> Iterator[Reason]:
    valid, dated = int(table["freeze_day"].notna().sum()), int((table["state"] == "freeze").sum())
    without = valid - dated
    if valid < LEAST_SEASONS:
        yield reason("station_too_few_seasons", seasons=valid, least_seasons=LEAST_SEASONS)
    elif valid < FEW_SEASONS:
        yield reason("station_few_seasons", seasons=valid)
    yield from _left_out(table, start)
    if warm := int(((table["state"] == "not_valid") & ~table["froze"] & _read(table, start)).sum()):
        yield reason("station_warm_left_out", left_out_seasons=warm)
    if without:
        years = _years(table["state"] == "no_freeze")
        yield reason("station_no_freeze", season_years=years, no_freeze_seasons=without, seasons=valid)
    if trend is not None and without:
        yield reason("station_trend_of_freezes", seasons=dated, no_freeze_seasons=without)
    if trend is None and valid >= LEAST_SEASONS:
        yield reason("station_no_trend", seasons=dated, least_seasons=LEAST_TREND_SEASONS)


def _left_out(table: pd.DataFrame, start: tuple[int, int]) -> Iterator[Reason]:
    """Yield which seasons are not valid, by what is wrong with them."""
    not_valid, unread = table["state"] == "not_valid", ~_read(table, start)
    if years := _years(not_valid & ~unread):
        yield reason("station_days_missing", season_years=years, most_missing_days=MOST_MISSING_DAYS)
    if years := _years(not_valid & unread):
        yield reason("station_not_read", season_years=years)
    if years := _years(table["state"] == "not_over"):
        yield reason("station_ends_early", season_years=years)


def _read(table: pd.DataFrame, start: tuple[int, int]) -> pd.Series:
    """Return the seasons of which the record has any day."""
    return table["missing_days"] != _lengths(table.index, start)


def _lengths(years: pd.Index, start: tuple[int, int]) -> NDArray[np.int64]:
    next_year = start[0] > FEBRUARY  # a season's February is that of the year after
    return np.array([365 + isleap(year + next_year) for year in years], dtype=np.int64)


def _years(which: pd.Series) -> tuple[int, ...]:
    return tuple(int(year) for year in which.index[which])
