"""The cells of a freeze layer drawn in steps, what has no date hatched, and the stations upon them."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch, Rectangle
from matplotlib.path import Path
from matplotlib.patheffects import withStroke
from matplotlib.transforms import Bbox
from numpy.typing import NDArray
from rasterio.features import shapes
from rasterio.transform import from_bounds

from maps.freeze import words
from maps.freeze.steps import Steps
from maps.freeze.view import LayerView, places_of
from maps.labels import day
from maps.style import INK

WHITE, GREY = "#ffffff", "#8b8271"
NEVER_LOOK: dict[str, Any] = {"facecolor": WHITE, "edgecolor": INK, "hatch": "...", "linewidth": 0}
UNKNOWN_LOOK: dict[str, Any] = {"facecolor": WHITE, "edgecolor": GREY, "hatch": "\\\\\\", "linewidth": 0}
HALO = withStroke(linewidth=3.0, foreground=WHITE)
DOT_POINTS = 6.5
CLEAR = 1.1  # how much larger than itself the room around a label is
# Where a station's date may stand beside its dot: offset [pt] and alignment, the best first.
LABEL_PLACES = (
    (6, 0, "left", "center"),
    (-6, 0, "right", "center"),
    (0, 6, "center", "bottom"),
    (0, -6, "center", "top"),
)


def draw_cells(panel: Axes, view: LayerView, values: NDArray[np.float64], steps: Steps) -> None:
    """Fill a panel with values in steps; what is never (+inf) and what is not known (NaN) has its own hatch."""
    left, right, bottom, top = view.extent
    panel.add_patch(Rectangle((0, 0), 1, 1, transform=panel.transAxes, zorder=0, **UNKNOWN_LOOK))
    if steps.fills:
        numbers = np.ma.masked_invalid(steps.numbers(values))
        colours, count = ListedColormap(steps.fills), len(steps.fills)
        how: dict[str, Any] = {"interpolation": "nearest", "aspect": "auto", "zorder": 1}
        panel.imshow(numbers, cmap=colours, vmin=-0.5, vmax=count - 0.5, extent=view.extent, **how)
    never = np.isposinf(values)
    if never.any():
        panel.add_patch(PathPatch(_outline(never, view.extent), zorder=2, **NEVER_LOOK))
    panel.set_xlim(left, right)
    panel.set_ylim(bottom, top)


def key_of(values: NDArray[np.float64], steps: Steps) -> list[Artist]:
    """Return the lines of a legend: the steps, and what has no value where there is such."""
    key: list[Artist] = [
        Patch(facecolor=fill, edgecolor=INK, linewidth=0.5, label=name)
        for fill, name in zip(steps.fills, steps.names, strict=True)
    ]
    if np.isposinf(values).any():
        key.append(Patch(label=words.LAYER_KEY["never"], **NEVER_LOOK | {"linewidth": 0.5}))
    if np.isnan(values).any():
        key.append(Patch(label=words.LAYER_KEY["unknown"], **UNKNOWN_LOOK | {"linewidth": 0.5}))
    return key


def draw_stations(panel: Axes, view: LayerView, stations: pd.DataFrame, steps: Steps) -> Artist:
    """Draw the stations of a view with their own dates, left out where they would touch, and return their key."""
    dots = panel.transData.transform(stations[["x", "y"]].to_numpy())
    half = DOT_POINTS / 2 * panel.figure.dpi / 72
    taken = [Bbox([dot - half, dot + half]) for dot in dots]
    for x, y, days in stations[["x", "y", "day"]].itertuples(index=False):
        fill = steps.fill(days) if np.isfinite(days) else WHITE
        style: dict[str, Any] = {"markeredgecolor": INK, "markersize": DOT_POINTS, "zorder": 3}
        panel.plot([x], [y], "o", markerfacecolor=fill, path_effects=[HALO], **style)
    for x, y, days in stations[["x", "y", "day"]].itertuples(index=False):
        when = words.season_date(days, view.season_start)
        if not np.isnan(days):
            _write_beside(panel, (x, y), words.NO_FREEZE_STATION if when is None else day(when), taken)
    hollow: dict[str, Any] = {"markerfacecolor": WHITE, "markeredgecolor": INK, "markersize": DOT_POINTS}
    return Line2D([], [], linestyle="", marker="o", label=words.LAYER_KEY["station"], **hollow)


def stations_within(view: LayerView, stations: pd.DataFrame) -> pd.DataFrame:
    """Return the stations that lie in a view, with their place `x`, `y` in it; none where it has no place."""
    if view.crs is None:
        return stations.iloc[:0].assign(x=0.0, y=0.0)
    lons, lats = (stations[name].to_numpy(np.float64) for name in ("longitude_deg", "latitude_deg"))
    x, y = places_of(view, lons, lats)
    left, right, bottom, top = view.extent
    inside = (x >= left) & (x <= right) & (y >= bottom) & (y <= top)
    return stations.assign(x=x, y=y).iloc[np.flatnonzero(inside)]


def _outline(mask: NDArray[np.bool_], extent: tuple[float, float, float, float]) -> Path:
    left, right, bottom, top = extent
    place = from_bounds(left, bottom, right, top, mask.shape[1], mask.shape[0])
    found = shapes(mask.astype(np.uint8), mask=mask, transform=place)
    # The holes of a shape run the other way round than its outside.
    rings = [ring for geometry, _value in found for ring in geometry["coordinates"]]
    return Path.make_compound_path(*(Path(ring, closed=True) for ring in rings))


def _write_beside(panel: Axes, at: tuple[float, float], text: str, taken: list[Bbox]) -> None:
    """Write a text beside a dot where it is inside the panel and touches nothing; nowhere else."""
    for right, up, across, along in LABEL_PLACES:
        label = panel.annotate(
            text,
            at,
            xytext=(right, up),
            textcoords="offset points",
            horizontalalignment=across,
            verticalalignment=along,
            fontsize=8,
            path_effects=[HALO],
            zorder=4,
        )
        box, room = label.get_window_extent().expanded(CLEAR, CLEAR), panel.bbox
        inside = room.x0 <= box.x0 and box.x1 <= room.x1 and room.y0 <= box.y0 and box.y1 <= room.y1
        if inside and not any(box.overlaps(other) for other in taken):
            taken.append(box)
            return
        label.remove()
