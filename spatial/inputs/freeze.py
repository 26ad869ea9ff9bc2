"""The freeze layer: what its bands and codes mean, from region.toml or its own tags, read window by window."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from numpy.typing import NDArray
from pyproj import CRS
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader
from rasterio.windows import Window as RasterWindow

from spatial.errors import InputError, Problem
from spatial.inputs.checks import Report
from spatial.units import written_names
from spatial.values import SAME_THRESHOLD_C, FreezeLayer, Grid, Window

KINDS = ("chances", "seasons")
DAY_COUNTS = ("season_start", "year")
LEAST_C, MOST_C = -20.0, 5.0  # a killing freeze lies between
TAGS = ("kind", "threshold_c", "threshold_f", "day_count", "no_freeze_value")


def read_freeze(path: Path, section: dict[str, Any], report: Report) -> FreezeLayer | None:
    """Return the freeze layer, or None with the reasons in the report.

    What region.toml says wins over the file's tags (`freeze_kind`, `threshold_c` or `_f`, `day_count`,
    `no_freeze_value`); a threshold that neither states is refused, as is one that both state differently.
    """
    try:
        with rasterio.open(path) as raster:
            said = freeze_tags(raster) | {key: value for key, value in section.items() if key != "file"}
            _refuse_two_thresholds(path.name, freeze_tags(raster), section, report)
            return _layer(path, raster, said, report)
    except RasterioError as error:
        report.refuse(
            path.name, "", f"cannot be read as a raster ({str(error).splitlines()[0]})", "Save it as GeoTIFF"
        )
    except InputError as error:
        report.wrong.extend(error.problems)
    return None


def freeze_tags(raster: DatasetReader) -> dict[str, Any]:
    """Return what a raster's own tags say of it, under the names region.toml uses."""
    tags = {key.lower().removeprefix("freeze_"): value for key, value in raster.tags().items()}
    said: dict[str, Any] = {key: tags[key] for key in TAGS if key in tags}
    return {key: _number(value) if key not in ("kind", "day_count") else value for key, value in said.items()}


def _layer(path: Path, raster: DatasetReader, said: dict[str, Any], report: Report) -> FreezeLayer | None:
    kind = said.get("kind")
    if kind not in KINDS:
        report.refuse(
            path.name, "kind", "is not said", f"Say in region.toml what a band is: {' or '.join(KINDS)}"
        )
    threshold_c = _threshold_c(said)
    if threshold_c is None or not LEAST_C <= threshold_c <= MOST_C:
        report.refuse(
            path.name, "threshold", "is not said, or not possible", "Say threshold_f = 28 in region.toml"
        )
    if said.get("day_count") not in DAY_COUNTS:
        report.refuse(
            path.name,
            "day_count",
            "is not said",
            'Say in region.toml what the days count from: "season_start" or "year"',
        )
    chances, seasons = _bands(path, raster, said, report)
    if report.wrong or threshold_c is None:
        return None
    reader = _reader(path, said.get("no_freeze_value"))
    grid = _grid(path, raster)
    return FreezeLayer(kind, threshold_c, grid, chances, seasons, said["day_count"], reader, path.name)  # type: ignore[arg-type]  # kind is one of KINDS here


def _threshold_c(said: dict[str, Any]) -> float | None:
    for name, (factor, offset) in written_names("threshold_c").items():
        if isinstance(said.get(name), int | float):
            return float(said[name]) * factor + offset
    return None


def _refuse_two_thresholds(file: str, tags: dict[str, Any], section: dict[str, Any], report: Report) -> None:
    own, given = _threshold_c(tags), _threshold_c(section)
    if own is not None and given is not None and abs(own - given) > SAME_THRESHOLD_C:
        report.refuse(
            file,
            "threshold",
            f"is {own * 1.8 + 32:.1f} F in the file and {given * 1.8 + 32:.1f} F in region.toml",
            "Keep the one that the layer was made with",
        )


def _bands(
    path: Path, raster: DatasetReader, said: dict[str, Any], report: Report
) -> tuple[tuple[float, ...], tuple[int, ...]]:
    if said.get("kind") != "chances":
        return (), tuple(_season_of_band(text, band) for band, text in enumerate(raster.descriptions))
    chances = said.get("chances") or [_number(text or "") for text in raster.descriptions]
    good = len(chances) == raster.count and all(
        isinstance(chance, float) and 0 < chance < 1 for chance in chances
    )
    if not good or list(chances) != sorted(set(chances)):
        report.refuse(
            path.name,
            "chances",
            f"do not name its {raster.count} bands",
            "Say in region.toml, rising: chances = [0.1, 0.2, 0.5]",
        )
        return (), ()
    return tuple(chances), ()


def _season_of_band(description: str | None, band: int) -> int:
    first = (description or "")[:4]
    return int(first) if first.isdigit() else band


def _grid(path: Path, raster: DatasetReader) -> Grid:
    if raster.crs is None:
        raise InputError(
            [Problem(path.name, "", "does not say its coordinate system", "Write it into the file")]
        )
    step = raster.transform
    if step.b or step.d or step.a <= 0 or step.e >= 0:
        raise InputError(
            [Problem(path.name, "", "is rotated or has north down", "Warp it to a north-up grid")]
        )
    return Grid(
        CRS.from_wkt(raster.crs.to_wkt()), step.c, step.f, step.a, -step.e, raster.height, raster.width
    )


def _reader(path: Path, no_freeze: float | None) -> Callable[[Window], NDArray[np.float32]]:
    def read(window: Window) -> NDArray[np.float32]:
        block = RasterWindow(window.column, window.row, window.columns, window.rows)
        try:
            with rasterio.open(path) as raster:
                raw = raster.read(window=block, masked=True)
                scales, offsets = np.array(raster.scales), np.array(raster.offsets)
        except RasterioError as error:
            cause = f"is damaged: it opens but cannot be read ({str(error).splitlines()[0]})"
            raise InputError([Problem(path.name, "", cause, "Get the file again")]) from error
        days = raw.astype(np.float32) * scales[:, None, None] + offsets[:, None, None]
        never = (raw.data == no_freeze) if no_freeze is not None else np.isposinf(raw.data)
        days = np.where(np.ma.getmaskarray(raw) & ~never, np.nan, days.data)
        return np.where(never, np.inf, days).astype(np.float32)

    return read


def _number(text: object) -> float | None:
    try:
        return float(str(text))
    except ValueError:
        return None
