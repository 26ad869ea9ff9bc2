"""The freeze layer: what its bands and codes mean, from region.toml or its own tags, read window by window."""

import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import rasterio
from numpy.typing import NDArray
from pyproj import CRS
from pyproj.exceptions import ProjError
from rasterio.errors import CRSError, NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader
from rasterio.windows import Window as RasterWindow

from spatial.errors import InputError, Problem
from spatial.inputs.checks import WARNINGS_LOCK, Report, first_line
from spatial.inputs.freeze_bands import bands_of, number_in
from spatial.raster.cover import cell_values, cells_under
from spatial.units import farmer_units, written_names
from spatial.values import (
    NO_FREEZE_BAND,
    SAME_THRESHOLD_C,
    SEASONS_BAND,
    FreezeLayer,
    Grid,
    MoreBands,
    Window,
)

KINDS = ("chances", "seasons")
DAY_COUNTS = ("season_start", "year")
LEAST_C, MOST_C = -20.0, 5.0  # a killing freeze lies between
MOST_DAYS = 366.0  # no day of a season, nor of a year, lies beyond
MOST_OF_MORE = {SEASONS_BAND: 10_000.0, NO_FREEZE_BAND: 1.0}  # bands beside the dates; the others hold days
TAGS = ("kind", "threshold_c", "threshold_f", "day_count", "no_freeze_value")


def read_freeze(
    path: Path, section: Mapping[str, Any], report: Report, season_start: tuple[int, int] | None = None
) -> FreezeLayer | None:
    """Return the freeze layer, or None with all the reasons in the report.

    What region.toml says wins over the file's tags (`freeze_kind`, `threshold_c` or `_f`, `day_count`,
    `no_freeze_value`); a threshold that neither states is refused, as are two that differ. Days that the file's
    `season_start` counts from another day than the region's (month, day), where given, are refused too. A read of
    its cells raises InputError where the file is damaged or a cell holds what is no day.
    """
    own = Report()
    layer = None
    try:
        with open_raster(path) as raster:
            layer = _layer(path, raster, section, own)
            _check_season_start(path.name, raster, section, season_start, own)
    except InputError as error:
        own.wrong.extend(error.problems)
    report.wrong.extend(own.wrong)
    report.told.extend(own.told)
    return None if own.wrong else layer


def check_cells(layer: FreezeLayer, fields: gpd.GeoDataFrame, report: Report) -> None:
    """Read the cells under the fields once, and report a damaged file and values that are no days."""
    try:
        cover = cells_under(fields.geometry, layer.grid)
        values = cell_values(layer, cover)
        if layer.more is not None:
            cell_values(layer.more, cover)
    except InputError as error:
        report.wrong.extend(error.problems)
        return
    except ProjError as error:
        cause = f"has a coordinate system that leads to no place ({first_line(error)})"
        report.refuse(layer.name, "", cause, "Save it in a known one, as EPSG:5070")
        return
    if np.isnan(values).all():
        report.tell(layer.name, "", "says nothing of any field", "Check its place and its coordinate system")


def freeze_tags(raster: DatasetReader) -> dict[str, Any]:
    """Return what a raster's own tags say of it, under the names region.toml uses."""
    tags = _plain_tags(raster)
    words = {key: tags[key] for key in ("kind", "day_count") if key in tags}
    numbers = {key: number_in(tags[key]) for key in TAGS if key in tags and key not in words}
    return words | {key: number for key, number in numbers.items() if number is not None}


def _plain_tags(raster: DatasetReader) -> dict[str, str]:
    return {key.lower().removeprefix("freeze_"): value for key, value in raster.tags().items()}


@contextmanager
def open_raster(path: Path) -> Iterator[DatasetReader]:
    """Give the open raster; raises InputError where it cannot be opened, or is found damaged while it is read."""
    if not path.exists():
        raise InputError([Problem(path.name, "", "is not there", "Check its name")])
    opened = False
    try:
        with WARNINGS_LOCK, warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)  # told as a missing place
            with rasterio.open(path) as raster:
                opened = True
                yield raster
    except (RasterioError, CRSError) as error:
        said = first_line(error)
        if opened:
            cause, mend = f"is damaged: it opens but cannot be read ({said})", "Get the file again"
        else:
            cause, mend = f"cannot be read as a raster ({said})", "Save it as GeoTIFF"
        raise InputError([Problem(path.name, "", cause, mend)]) from error


def refuse_unplaced(file: str, raster: DatasetReader, report: Report) -> None:
    """Put into the report that a raster does not say where it lies, or is not a north-up grid."""
    step = raster.transform
    if step.is_identity:
        report.refuse(file, "", "does not say where it lies", "Save it as GeoTIFF with its place")
    elif step.b or step.d or step.a <= 0 or step.e >= 0:
        report.refuse(file, "", "is rotated or has north down", "Warp it to a north-up grid")


def _layer(
    path: Path, raster: DatasetReader, section: Mapping[str, Any], report: Report
) -> FreezeLayer | None:
    tags = freeze_tags(raster)
    said = {**tags, **section}
    for key, known in (("kind", KINDS), ("day_count", DAY_COUNTS)):
        if said.get(key) not in known:
            cause = f"is {said[key]!r}" if key in said else "is not said"
            report.refuse(path.name, key, cause, f'Say in region.toml: {key} = "{known[0]}" or "{known[1]}"')
    threshold_c = _threshold_c(path.name, [section, tags], report)
    _check_no_freeze(path.name, raster, said.get("no_freeze_value"), report)
    bands = bands_of(path.name, raster.descriptions, said, report)
    grid = raster_grid(path.name, raster, section.get("crs", ""), report)
    if report.wrong or threshold_c is None or grid is None:
        return None
    return FreezeLayer(
        said["kind"],
        threshold_c,
        grid,
        bands.chances,
        bands.seasons,
        said["day_count"],
        _days_reader(path, bands.dates, said.get("no_freeze_value")),
        path.name,
        _more_bands(path, bands.more, said.get("no_freeze_value")),
    )


def _check_season_start(
    file: str,
    raster: DatasetReader,
    section: Mapping[str, Any],
    season_start: tuple[int, int] | None,
    report: Report,
) -> None:
    """Refuse days that count from another day than the region's seasons begin on."""
    tags = _plain_tags(raster)
    counted = section.get("day_count", tags.get("day_count")) == "season_start"
    if season_start is None or not counted or "season_start" not in tags:
        return
    theirs, ours = tags["season_start"], "{:02}-{:02}".format(*season_start)
    if theirs.strip() != ours:
        cause = f"is {theirs} in the layer, and {ours} in region.toml"
        report.refuse(file, "season_start", cause, f"Bring a layer whose days count from {ours}")


def _threshold_c(file: str, said: list[Mapping[str, Any]], report: Report) -> float | None:
    """Return the threshold that region.toml and the tags state, or None with the reason in the report."""
    names = written_names("threshold_c").items()
    stated = [
        float(one[name]) * factor + offset for one in said for name, (factor, offset) in names if name in one
    ]
    shown = " and ".join(f"{farmer_units(value, '_c', '_f'):.1f} F" for value in stated)
    if not stated:
        cause, mend = "is not said", "Say in region.toml the one it was made with, as threshold_f = 28"
    elif max(stated) - min(stated) > SAME_THRESHOLD_C:
        cause, mend = f"is said to be {shown}", "Keep the one that the layer was made with"
    elif not LEAST_C <= stated[0] <= MOST_C:
        cause, mend = f"of {shown} is not possible", f"A freeze lies between {LEAST_C:g} and {MOST_C:g} deg C"
    else:
        return stated[0]
    report.refuse(file, "threshold", cause, mend)
    return None


def _check_no_freeze(file: str, raster: DatasetReader, value: float | None, report: Report) -> None:
    """Refuse a code for "known never" that the file also uses for "unknown"."""
    if value is not None and (np.isnan(value) or value in raster.nodatavals):
        cause = f"is {value:g}, which means no data in the file"
        report.refuse(file, "no_freeze_value", cause, "Give the two different values")


def raster_grid(file: str, raster: DatasetReader, crs: str, report: Report) -> Grid | None:
    """Return where a raster's cells lie, or None with the reasons in the report; `crs` serves a file without one."""
    step, before = raster.transform, len(report.wrong)
    refuse_unplaced(file, raster, report)
    if raster.crs is None and not crs:
        mend = 'Say it in region.toml, as crs = "EPSG:4326"'
        report.refuse(file, "", "does not say its coordinate system", mend)
        return None
    try:
        place = CRS.from_user_input(crs if raster.crs is None else raster.crs.to_wkt())
    except ProjError:
        report.refuse(file, f"crs = {crs!r}", "is not known", "Use EPSG:number")
        return None
    if len(report.wrong) > before:
        return None
    return Grid(place, step.c, step.f, step.a, -step.e, raster.height, raster.width)


def _days_reader(
    path: Path, places: Sequence[int], no_freeze: float | None
) -> Callable[[Window], NDArray[np.float32]]:
    def read(window: Window) -> NDArray[np.float32]:
        days, never, unknown = _decoded(path, places, window, no_freeze)
        _refuse_no_days(days[~never & ~unknown], path.name)
        return np.where(never, np.inf, np.where(unknown, np.nan, days)).astype(np.float32)

    return read


def _more_bands(path: Path, more: Mapping[str, int], no_freeze: float | None) -> MoreBands | None:
    most = np.array([MOST_OF_MORE.get(name, MOST_DAYS) for name in more])[:, None, None]
    dated = np.array([name not in MOST_OF_MORE for name in more])[:, None, None]

    def read(window: Window) -> NDArray[np.float32]:
        values, never, unknown = _decoded(path, list(more.values()), window, no_freeze)
        # Where no date is reached, it has no error; a count of seasons may be the same number as that code.
        unknown |= never & dated
        strange = ~unknown & ~((values >= 0) & (values <= most))
        if strange.any():
            band, found = list(more)[np.argwhere(strange)[0][0]], values[strange][0]
            cause = f"holds {found:g}, which it cannot be"
            raise InputError([Problem(path.name, f"band {band!r}", cause, "Write its value for no data")])
        return np.where(unknown, np.nan, values).astype(np.float32)

    return MoreBands(tuple(more), read) if more else None


def _decoded(
    path: Path, places: Sequence[int], window: Window, no_freeze: float | None
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Return the values of some bands of a window, and where they mean known never and unknown."""
    block = RasterWindow(window.column, window.row, window.columns, window.rows)
    with open_raster(path) as raster:
        raw = raster.read([place + 1 for place in places], window=block, masked=True)
        scales, offsets = (np.array(each)[list(places)] for each in (raster.scales, raster.offsets))
    codes = raw.data.astype(np.float32)
    never = np.isposinf(codes) | (codes == np.float32(np.nan if no_freeze is None else no_freeze))
    unknown = (np.ma.getmaskarray(raw) | ~np.isfinite(codes)) & ~never
    return codes * scales[:, None, None] + offsets[:, None, None], never, unknown


def _refuse_no_days(days: NDArray[np.float64], file: str) -> None:
    strange = days[(days < 0) | (days > MOST_DAYS)]
    if strange.size:
        cause = f"holds {strange[0]:g}, which is no day of a season or year"
        mend = "Say which value is its no_freeze_value, and write its value for no data into the file"
        raise InputError([Problem(file, "values", cause, mend)])
