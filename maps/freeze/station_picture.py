"""A station's freeze dates as a picture: the seasons over the years, and the share of them that froze by a date."""

import math
import textwrap
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from maps.freeze import words
from maps.freeze.station_report import ChanceDate, chance_dates, season_days
from maps.labels import chance_words, day
from maps.paper.picture import drawable, sheet
from maps.style import INK, PAPER
from spatial.daily import StationDates, Trend
from spatial.values import AVERAGE_CHANCE

WIDTH_IN, HEIGHT_IN = 11.0, 6.0
YEARS_PLACE = (0.085, 0.25, 0.45, 0.6)  # left, low, width, height, as shares of the sheet
CURVE_PLACE = (0.56, 0.25, 0.26, 0.6)
ALONE_PLACE = (0.085, 0.25, 0.7, 0.6)
MARKED = (0.2, AVERAGE_CHANCE)  # the chances whose dates are written out
SHARE_TICKS = (0.2, 0.5, 0.8)
LANE_SHARE = 0.09  # height of the lane of no-freeze or not-valid seasons, of the range of days
PAD_SHARE, LEAST_PAD_DAYS = 0.04, 2.0
NAME_LETTERS = 70
YEAR_TICKS = 8
DOT, LINE, BAND, NEVER, TREND, TREND_BAND = "#641a80", "#140e36", "#fbc9a4", "#8b8271", "#1f7a78", "#cfe3da"
LEGEND_COLUMNS = 4
LABEL_GAP_SHARE = 0.18  # least distance of two labels beside the curve, of its height
# The days of the month that get a tick, for spans of up to so many days.
TICK_DAYS = ((24, (1, 5, 9, 13, 17, 21, 25, 29)), (60, (1, 8, 15, 22)), (130, (1, 15)), (1000, (1,)))
EMPTY_DAYS = (31.0, 122.0)  # what is shown where there is no date at all


@dataclass(frozen=True)
class Frame:
    """The range of days shown, and where the seasons without a date stand above and below it [days]."""

    low: float
    high: float
    never_at: float
    invalid_at: float
    lowest: float
    highest: float


def draw_station(dates: StationDates, path: Path, units: str, a: float = 1 / 3) -> None:
    """Draw the freeze dates of a station as a PNG picture, in `units` ("us" or "metric").

    Left the seasons over the years, with the trend, which is applied to no date; right the share of seasons in
    which the freeze has come by a date, with one standard error either way. Of official normals, which have no
    seasons, the right one only. `a` is the plotting position that the dates were worked out with.
    """
    with sheet(path, WIDTH_IN, HEIGHT_IN) as figure:
        seasons, frame = season_days(dates), _frame(dates)
        curve = figure.add_axes(ALONE_PLACE if seasons.empty else CURVE_PLACE)
        panels = [curve]
        if not seasons.empty:
            panels.insert(0, figure.add_axes(YEARS_PLACE))
            _draw_years(panels[0], seasons, dates.trend, frame)
        _draw_curve(curve, dates, a)
        for panel in panels:
            _draw_date_axis(panel, dates, frame)
            _draw_marked(panel, dates)
        _draw_marks(curve, dates, frame)
        curve.tick_params(left=seasons.empty, labelleft=seasons.empty)
        _write_marked(curve, dates, frame)
        _write_round(figure, panels, dates, units)


def _frame(dates: StationDates) -> Frame:
    seasons = season_days(dates)
    errors = np.nan_to_num(dates.error_days)
    shown = np.concatenate([seasons, dates.days - errors, dates.days + errors])
    finite = shown[np.isfinite(shown)] if np.isfinite(shown).any() else np.array(EMPTY_DAYS)
    low, high = float(finite.min()), float(finite.max())
    pad = max(PAD_SHARE * (high - low), LEAST_PAD_DAYS)
    low, high = low - pad, high + pad
    lane = LANE_SHARE * (high - low)
    lowest = low - lane if seasons.isna().any() else low
    highest = high + lane if np.isposinf(seasons).any() else high
    return Frame(low, high, high + lane / 2, low - lane / 2, lowest, highest)


def _draw_years(panel: Axes, seasons: pd.Series, trend: Trend | None, frame: Frame) -> None:
    froze = seasons[np.isfinite(seasons)]
    never, invalid = seasons.index[np.isposinf(seasons)], seasons.index[seasons.isna()]
    if trend is not None:
        _draw_trend(panel, froze, trend, frame)
    if len(froze):
        panel.plot(froze.index, froze, "o", color=DOT, markersize=4, label=words.LEGEND["season"])
    if len(never):
        hollow: dict[str, Any] = {"markerfacecolor": "none", "markeredgecolor": DOT, "markersize": 5}
        panel.plot(never, [frame.never_at] * len(never), "o", label=words.LEGEND["no_freeze"], **hollow)
        panel.axhline(frame.high, color=NEVER, linewidth=0.6)
    if len(invalid):
        at = [frame.invalid_at] * len(invalid)
        panel.plot(invalid, at, "|", color=INK, markersize=9, label=words.LEGEND["not_valid"])
        panel.axhline(frame.low, color=NEVER, linewidth=0.6)
    first, last = int(seasons.index.min()), int(seasons.index.max())
    years = MaxNLocator(nbins=YEAR_TICKS, integer=True).tick_values(first, last)
    panel.set_xticks([int(year) for year in years if first <= year <= last])
    panel.set_xlim(first - 1, last + 1)
    panel.set_xlabel(words.YEARS_AXIS)


def _draw_trend(panel: Axes, froze: pd.Series, trend: Trend, frame: Frame) -> None:
    """Draw the trend through the middle of the seasons, its interval between the two outer slopes."""
    years = np.linspace(froze.index.min(), froze.index.max(), 101)
    middle_year, middle_day = np.median(froze.index), np.median(froze)

    def line(days_a_year: float) -> NDArray[np.float64]:
        days: NDArray[np.float64] = middle_day + days_a_year * (years - middle_year)
        return np.clip(days, frame.low, frame.high)

    told = words.LEGEND["trend"].format(slope=words.slope(trend.days_a_year))
    panel.plot(years, line(trend.days_a_year), "-.", color=TREND, linewidth=1.5, label=told)
    band = line(trend.low_days_a_year), line(trend.high_days_a_year)
    panel.fill_between(
        years, *band, color=TREND_BAND, linewidth=0, label=words.LEGEND["trend_band"], zorder=0.6
    )


def _draw_curve(panel: Axes, dates: StationDates, a: float) -> None:
    chances = np.array(dates.chances)
    if np.isfinite(dates.error_days).any():
        band = dates.days - dates.error_days, dates.days + dates.error_days
        known = np.isfinite(band[0])
        lows, highs = (np.where(known, edge, np.nan) for edge in band)
        panel.fill_between(chances, lows, highs, color=BAND, linewidth=0, label=words.LEGEND["band"])
    seasons = season_days(dates).dropna()
    froze = np.sort(seasons[np.isfinite(seasons)])
    if len(froze):
        share = (np.arange(1, len(froze) + 1) - a) / (len(seasons) + 1 - 2 * a)
        step: dict[str, Any] = {"drawstyle": "steps-pre", "linewidth": 1.0}
        panel.plot(share, froze, color=DOT, label=words.LEGEND["curve"], **step)
    reached = np.isfinite(dates.days)
    if reached.any():
        line = "s:" if len(froze) else "s-"
        style: dict[str, Any] = {"color": LINE, "markersize": 4, "linewidth": 0.8}
        panel.plot(chances[reached], dates.days[reached], line, label=words.LEGEND["chances"], **style)
    if dates.no_freeze_share > 0:
        hatch: dict[str, Any] = {"facecolor": "none", "edgecolor": NEVER, "hatch": "\\\\", "linewidth": 0}
        panel.axvspan(1 - dates.no_freeze_share, 1, label=words.LEGEND["never"], **hatch)
    panel.set_xlim(0, 1)
    panel.set_xticks(SHARE_TICKS, [chance_words(share) for share in SHARE_TICKS])
    panel.set_xticks(np.arange(1, 10) / 10, minor=True)
    panel.set_xlabel(words.SHARE_AXIS)


def _draw_date_axis(panel: Axes, dates: StationDates, frame: Frame) -> None:
    ticks = _date_ticks(frame, dates.season_start)
    if frame.highest > frame.high:
        ticks[frame.never_at] = words.NO_FREEZE_LANE
    if frame.lowest < frame.low:
        ticks[frame.invalid_at] = words.NOT_VALID_LANE
    panel.set_yticks(list(ticks), list(ticks.values()))
    panel.set_ylim(frame.lowest, frame.highest)
    panel.grid(axis="y", color=NEVER, linewidth=0.3)
    panel.set_axisbelow(True)


def _date_ticks(frame: Frame, season_start: tuple[int, int]) -> dict[float, str]:
    wanted = next(days for span, days in TICK_DAYS if frame.high - frame.low <= span)
    ticks = {}
    for number in range(math.ceil(frame.low), math.floor(frame.high) + 1):
        when = words.season_date(number, season_start)
        if when is not None and when.day in wanted:
            ticks[float(number)] = day(when)
    return ticks


def _marked(dates: StationDates) -> list[ChanceDate]:
    return [one for one in chance_dates(dates) if any(math.isclose(one.chance, chance) for chance in MARKED)]


def _draw_marked(panel: Axes, dates: StationDates) -> None:
    for one in _marked(dates):
        if one.when is not None:
            style = "-" if math.isclose(one.chance, AVERAGE_CHANCE) else "--"
            panel.axhline(one.days, color=LINE, linewidth=1.0, linestyle=style, zorder=1.5)


def _draw_marks(panel: Axes, dates: StationDates, frame: Frame) -> None:
    """Draw a mark on the curve for each of the marked chances, with a line down to its share."""
    for one in _marked(dates):
        if one.when is not None:
            panel.vlines(one.chance, frame.lowest, one.days, color=LINE, linewidth=0.8, linestyle=":")
            panel.plot([one.chance], [one.days], "D", color=LINE, markerfacecolor=PAPER, markersize=8)


def _write_marked(panel: Axes, dates: StationDates, frame: Frame) -> None:
    """Write the dates of the marked chances beside the curve, each at its height but apart from one another."""
    shown = [one for one in _marked(dates) if not math.isnan(one.days)]
    top = frame.highest - frame.lowest
    heights = [(one.days - frame.lowest) / top if one.when else 1.0 for one in shown]
    for one, height, written_at in zip(shown, heights, _apart(heights), strict=True):
        leader: dict[str, Any] = {
            "arrowstyle": "-",
            "linewidth": 0.7,
            "relpos": (0, 0.5),
            "shrinkA": 1,
            "shrinkB": 0,
        }
        panel.annotate(
            words.line_label(one.chance, one.when, one.error_days),
            xy=(1, height),
            xytext=(1.07, written_at),
            xycoords="axes fraction",
            textcoords="axes fraction",
            verticalalignment="center",
            arrowprops=leader if one.when else None,
        )


def _apart(heights: list[float]) -> list[float]:
    """Return rising heights moved as far as it takes for labels not to touch, inside the height of the panel."""
    half = LABEL_GAP_SHARE / 2
    inside = [min(max(height, half), 1 - half) for height in heights]
    for place in range(1, len(inside)):
        short = LABEL_GAP_SHARE - (inside[place] - inside[place - 1])
        if short > 0:
            down = min(short / 2, inside[place - 1] - half)
            inside[place - 1] -= down
            inside[place] += short - down
    over = max(max(inside, default=0) - (1 - half), 0)
    return [height - over for height in inside]


def _write_round(figure: Figure, panels: list[Axes], dates: StationDates, units: str) -> None:
    station = textwrap.shorten(drawable(words.station_name(dates)), NAME_LETTERS, placeholder=" ...")
    threshold = words.degrees(dates.threshold_c, units)
    title = words.STATION_TITLE.format(threshold=threshold, station=station)
    figure.text(0.02, 0.94, title, fontsize=13)
    unknown = f"; {words.dates_not_known(dates)}" if np.isnan(dates.days).all() else ""
    figure.text(0.02, 0.895, words.seasons_words(dates) + unknown, fontsize=10)
    found = [panel.get_legend_handles_labels() for panel in panels]
    handles = [handle for both in found for handle in both[0]]
    labels = [label for both in found for label in both[1]]
    low_left: dict[str, Any] = {"loc": "lower left", "bbox_to_anchor": (0.01, 0.045), "borderaxespad": 0.0}
    figure.legend(handles, labels, ncol=LEGEND_COLUMNS, frameon=False, fontsize=8.5, **low_left)
    figure.text(0.02, 0.02, words.CAUTION, fontsize=8.5)
