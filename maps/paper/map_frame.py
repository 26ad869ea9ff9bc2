"""A map on paper: a district in a frame, with scale bars, true north and the marks of latitude and longitude."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, Transform
from numpy.typing import NDArray
from pyproj import Geod, Transformer
from shapely.geometry.base import BaseGeometry

from maps.paper.sheet import Align, Box, Dashes, Sheet, Type
from maps.style import INK, Look

STEPS_DEG = (1 / 60, 2 / 60, 5 / 60, 10 / 60, 0.25, 0.5, 1.0, 2.0, 5.0)
MOST_TICKS = 5
BAR_LENGTHS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)
BAR_SHARE = 0.3  # of the width of the map, at most
M_PER = {"miles": 1609.344, "kilometres": 1000.0}
EDGE_POINTS = 200
MARGIN_SHARE = 0.04
SMALL = Type(7.5)
PALE = "#ffffff"
EARTH = Geod(ellps="WGS84")


@dataclass(frozen=True)
class View:
    """What lies in the frame: metres of a plane around the district's middle, turned into points of the sheet."""

    frame: Box
    to_plane: Transformer  # from longitude, latitude [deg] to metres
    middle: tuple[float, float]  # in the plane [m]
    m_per_pt: float

    def placed(self, shape: BaseGeometry) -> BaseGeometry:
        """Return a shape in degrees as one in points of the sheet."""
        return shapely.transform(shape, self._placed)

    def degrees(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return places of the sheet [pt] as (2, places): longitudes and latitudes [deg]."""
        east = (x - self.frame.left - self.frame.width / 2) * self.m_per_pt + self.middle[0]
        north = (y - self.frame.bottom - self.frame.height / 2) * self.m_per_pt + self.middle[1]
        return np.array(self.to_plane.transform(east, north, direction="INVERSE"))

    def _placed(self, lonlat: NDArray[np.float64]) -> NDArray[np.float64]:
        east, north = self.to_plane.transform(lonlat[:, 0], lonlat[:, 1])
        x = self.frame.left + self.frame.width / 2 + (east - self.middle[0]) / self.m_per_pt
        y = self.frame.bottom + self.frame.height / 2 + (north - self.middle[1]) / self.m_per_pt
        return np.column_stack([x, y])


def view_of(shapes: Sequence[BaseGeometry], frame: Box) -> View:
    """Return the view in which shapes (EPSG:4326) fill a frame, in an equal-area plane around their middle."""
    west, south, east, north = shapely.total_bounds(np.array(shapes))
    plane = (
        f"+proj=laea +lat_0={(south + north) / 2:.6f} +lon_0={(west + east) / 2:.6f} +datum=WGS84 +units=m"
    )
    to_plane = Transformer.from_crs("EPSG:4326", plane, always_xy=True)
    flat = shapely.transform(
        np.array(shapes), lambda lonlat: np.column_stack(to_plane.transform(lonlat[:, 0], lonlat[:, 1]))
    )
    left, bottom, right, top = shapely.total_bounds(flat)
    free = 1 - 2 * MARGIN_SHARE
    m_per_pt = max((right - left) / (free * frame.width), (top - bottom) / (free * frame.height), 1.0)
    return View(frame, to_plane, ((left + right) / 2, (bottom + top) / 2), m_per_pt)


def fill_shape(sheet: Sheet, view: View, shape: BaseGeometry, look: Look, *, outline: float) -> None:
    """Draw a polygon (EPSG:4326) filled and hatched, its outline in ink `outline` [pt] wide."""
    fill_placed(sheet, view, view.placed(shape), look, outline=outline)


def fill_placed(
    sheet: Sheet, view: View, shape: BaseGeometry, look: Look, *, outline: float, dashes: Dashes = "-"
) -> None:
    """Draw a polygon in points of the sheet filled and hatched, its outline in ink `outline` [pt] wide."""
    path = _path(shape, closed=True)
    filled = PathPatch(
        path, facecolor=look.fill, edgecolor=look.mark, hatch=look.hatch or None, linewidth=0.0
    )
    _clipped(sheet, view, filled)
    if dashes != "-":  # on a pale line, so that the dashes are seen on every fill
        _outline(sheet, view, path, PALE, 2.2 * outline, "-")
    _outline(sheet, view, path, INK, outline, dashes)


def draw_lines(
    sheet: Sheet, view: View, lines: Iterable[BaseGeometry], colour: str, width: float, dashes: Dashes = "-"
) -> None:
    """Draw lines (EPSG:4326)."""
    for line in lines:
        patch = PathPatch(
            _path(view.placed(line), closed=False), facecolor="none", edgecolor=colour,
            linewidth=width * sheet.scale, linestyle=dashes,
        )  # fmt: skip
        _clipped(sheet, view, patch)


def draw_frame(sheet: Sheet, view: View) -> None:
    """Draw the frame, with marks and names of longitude beneath it and of latitude to its left."""
    sheet.rectangle(view.frame, "none", width=1.2)
    step = _tick_step(view)
    along = np.linspace(0, 1, EDGE_POINTS)
    xs = view.frame.left + along * view.frame.width
    ys = view.frame.bottom + along * view.frame.height
    for degrees, x in _ticks(view.degrees(xs, np.full_like(xs, view.frame.bottom))[0], xs, step):
        sheet.line([x, x], [view.frame.bottom, view.frame.bottom - 4 * sheet.scale])
        _name_tick(sheet, x, view.frame.bottom - 12 * sheet.scale, degrees, "EW", "center")
    for degrees, y in _ticks(view.degrees(np.full_like(ys, view.frame.left), ys)[1], ys, step):
        sheet.line([view.frame.left - 4 * sheet.scale, view.frame.left], [y, y])
        _name_tick(sheet, view.frame.left - 6 * sheet.scale, y - 2.5 * sheet.scale, degrees, "NS", "right")


def draw_scale(sheet: Sheet, view: View, right: float, y: float, words: Mapping[str, str]) -> None:
    """Draw two bars that end at `right`, one above the other, in miles and kilometres; `words` name their ends."""
    for place, unit in enumerate(M_PER):
        (length, width), base = bar(view, unit), y - place * 13 * sheet.scale
        text = words[unit].format(length=f"{length:g}")
        end = right - sheet.width_of(text, SMALL) - 5 * sheet.scale
        sheet.rectangle(Box(end - width, base, width / 2, 4 * sheet.scale), INK)
        sheet.rectangle(Box(end - width / 2, base, width / 2, 4 * sheet.scale), "#ffffff")
        sheet.write(right, base - 1 * sheet.scale, text, SMALL, "right")


def bar(view: View, unit: str) -> tuple[float, float]:
    """Return the round length of a scale bar in `unit`, miles or kilometres, and how wide that is [pt]."""
    longest = view.frame.width * BAR_SHARE * view.m_per_pt / M_PER[unit]
    length = max((one for one in BAR_LENGTHS if one <= longest), default=BAR_LENGTHS[0])
    return length, length * M_PER[unit] / view.m_per_pt


def draw_north(sheet: Sheet, view: View, x: float, y: float, words: Mapping[str, str]) -> None:
    """Draw an arrow to true north as it is in the middle of the map, and name it to its right."""
    turn, length = north_turn(view), 24 * sheet.scale
    east, north = math.sin(turn), math.cos(turn)
    tip = (x + length * east, y + length * north)
    sheet.line([x, tip[0]], [y, tip[1]], width=1.6)
    for side in (-1, 1):
        angle = turn + math.pi + side * 0.45
        sheet.line(
            [tip[0], tip[0] + 8 * sheet.scale * math.sin(angle)],
            [tip[1], tip[1] + 8 * sheet.scale * math.cos(angle)], width=1.6,
        )  # fmt: skip
    sheet.write(x + 9 * sheet.scale, y + 10 * sheet.scale, words["north"], Type(12, bold=True))
    sheet.write(x + 9 * sheet.scale, y, words["true_north"], SMALL)


def north_turn(view: View) -> float:
    """Return how far true north in the middle of the map is turned from straight up [rad, clockwise]."""
    frame = view.frame
    x, y = frame.left + frame.width / 2, frame.bottom + frame.height / 2
    lon, lat = view.degrees(np.array([x]), np.array([y]))[:, 0]
    lon_on, lat_on, _back = EARTH.fwd(lon, lat, 0.0, 1000.0)
    first, second = shapely.get_coordinates(view.placed(shapely.LineString([(lon, lat), (lon_on, lat_on)])))
    return math.atan2(second[0] - first[0], second[1] - first[1])


def _outline(sheet: Sheet, view: View, path: Path, colour: str, width: float, dashes: Dashes) -> None:
    patch = PathPatch(
        path, facecolor="none", edgecolor=colour, linewidth=width * sheet.scale, linestyle=dashes
    )
    _clipped(sheet, view, patch)


def _clipped(sheet: Sheet, view: View, patch: PathPatch) -> None:
    frame = view.frame
    patch.set_transform(_points(sheet))
    sheet.add(patch)
    patch.set_clip_path(
        Rectangle((frame.left, frame.bottom), frame.width, frame.height, transform=_points(sheet))
    )


def _points(sheet: Sheet) -> Transform:
    return Affine2D().scale(1 / sheet.width, 1 / sheet.height) + sheet.figure.transFigure


def _path(shape: BaseGeometry, *, closed: bool) -> Path:
    """Return the rings of polygons, or the lines of lines, as one path; holes run the other way round."""
    kind = "Polygon" if closed else "LineString"
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == kind and not part.is_empty]
    turned = [shapely.orient_polygons(part) for part in parts] if closed else parts
    lines = [line.coords for part in turned for line in _lines(part)]
    paths = [Path(np.asarray(line)[:, :2], closed=closed) for line in lines]
    return Path.make_compound_path(*paths) if paths else Path(np.empty((0, 2)))


def _lines(part: BaseGeometry) -> list[BaseGeometry]:
    return [part.exterior, *part.interiors] if isinstance(part, shapely.Polygon) else [part]


def _tick_step(view: View) -> float:
    frame = view.frame
    corners = view.degrees(np.array([frame.left, frame.right]), np.array([frame.bottom, frame.top]))
    span = float(np.ptp(corners, axis=1).max())
    return next((step for step in STEPS_DEG if span / step <= MOST_TICKS), STEPS_DEG[-1])


def _ticks(
    degrees: NDArray[np.float64], places: NDArray[np.float64], step: float
) -> list[tuple[float, float]]:
    """Return the round degrees along an edge and where they are [pt]; degrees rise along it."""
    first, last = math.ceil(degrees[0] / step - 1e-9), math.floor(degrees[-1] / step + 1e-9)
    return [
        (number * step, float(np.interp(number * step, degrees, places))) for number in range(first, last + 1)
    ]


def _name_tick(sheet: Sheet, x: float, y: float, degrees: float, signs: str, align: Align) -> None:
    whole = Box(0, 0, sheet.width, sheet.height)
    sheet.try_to_write(x, y, tick_name(degrees, signs), SMALL, within=whole, align=align)


def tick_name(degrees: float, signs: str) -> str:
    """Return degrees and minutes, with the side of the world; `signs` names the positive side first."""
    minutes = round(abs(degrees) * 60)
    side = "" if minutes == 0 else signs[degrees < 0]
    part = f" {minutes % 60:02d}\N{PRIME}" if minutes % 60 else ""
    return f"{minutes // 60}°{part} {side}".strip()
