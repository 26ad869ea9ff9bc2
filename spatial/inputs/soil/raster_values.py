"""What the cells of a soil raster mean: the scale of each band, what cannot be, and depths brought to one value."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spatial.columns import SOIL_TESTS
from spatial.inputs.checks import Report
from spatial.inputs.soil.raster_bands import SoilBand
from spatial.soil import SoilValue
from spatial.values import Window

TEN = 0.1  # global grids store pH x 10 as whole numbers, so that values above 14 mean a factor of ten
SCALES = (1.0, 0.1, 0.01, 0.001, 0.0001)  # of which at most one makes a number a possible pH
KNOWN_SHARE = 0.5  # of the depth: cells of which less is known are unknown; common practice, no source
SAME_DEPTH = 1e-9
COLUMNS = {"ph": "ph", "p": "p_mg_kg", "k": "k_mg_kg", "mg": "mg_mg_kg"}
NAMES = {"ph": "pH", "p": "P", "k": "K", "mg": "Mg"}

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Decoding:
    """How the raw cells of bands become one value: raw * factor + offset, what can be, and the bands' thickness."""

    factors: Floats
    offsets: Floats
    least: float
    most: float
    thickness_cm: Floats

    def of_bands(self, raw: Floats) -> Floats:
        """Return the values of the bands, (bands, ...), NaN where they cannot be."""
        shape = (-1, *[1] * (raw.ndim - 1))
        values = raw * self.factors.reshape(shape) + self.offsets.reshape(shape)
        possible = (values >= self.least) & (values <= self.most)
        return np.where(possible, values, np.nan)

    def of_depth(self, raw: Floats) -> Floats:
        """Return the mean of the bands by thickness, over those known; NaN where they are less than half of it."""
        values = self.of_bands(raw)
        weights = self.thickness_cm.reshape(-1, *[1] * (raw.ndim - 1)) * ~np.isnan(values)
        known = weights.sum(axis=0)
        total = (np.nan_to_num(values) * weights).sum(axis=0)
        enough = known >= (KNOWN_SHARE - SAME_DEPTH) * self.thickness_cm.sum()
        mean: Floats = np.divide(total, known, out=np.full(known.shape, np.nan), where=enough)
        return mean


@dataclass(frozen=True)
class RawCells:
    """Bands as they stand in their files, by window."""

    read: Callable[[Window], NDArray[np.float32]]


def decoding_of(
    value: SoilValue, bands: Sequence[SoilBand], thickness_cm: Floats, scale: float | None, unit_factor: float
) -> Decoding:
    """Return how bands become values: by `scale` where given, else by what the files state.

    `unit_factor` brings them to mg/kg (1 for pH).
    """
    column = next(column for column in SOIL_TESTS if column.name == COLUMNS[value])
    factors = np.array([band.scale if scale is None else scale for band in bands])
    offsets = np.array([band.offset if scale is None else 0.0 for band in bands])
    least, most = float(column.least or 0.0), float(column.most or np.inf)
    return Decoding(factors * unit_factor, offsets * unit_factor, least, most, thickness_cm)


def with_ph_scale(decoding: Decoding, bands: Sequence[SoilBand], raw: Floats) -> Decoding:
    """Return the decoding with the factor 0.1 for each band that states no scale and mostly holds pH x 10.

    `raw` (bands, cells) are the cells under the fields.
    """
    factors = decoding.factors.copy()
    for place, band in enumerate(bands):
        plain, tenfold = (_count_possible(raw[place] * factor, decoding) for factor in (1.0, TEN))
        if (band.scale, band.offset) == (1.0, 0.0) and tenfold > plain:
            factors[place] = TEN
    return Decoding(factors, decoding.offsets, decoding.least, decoding.most, decoding.thickness_cm)


def tell_values(file: str, value: SoilValue, decoding: Decoding, raw: Floats, report: Report) -> bool:
    """Tell what the cells under the fields hold that cannot be, and where a depth is missing.

    Returns whether any value is left. `raw` (bands, cells) are the cells under the fields.
    """
    known = ~np.isnan(raw)
    if not known.any():
        report.tell(file, "", "says nothing of any field", "Check its place and its coordinate system")
        return False
    values = decoding.of_bands(raw)
    strange = known & np.isnan(values)
    if (strange == known).all():
        cause = f"holds no possible {NAMES[value]} under the fields, as {raw[strange][0]:g}, so left out"
        report.tell(file, "", cause, _mend_of(value, decoding, raw))
        return False
    if strange.any():
        cause = f"hold what no {NAMES[value]} can be, as {raw[strange][0]:g}, and count as unknown"
        place = f"{_percent(strange, known)} of the cells under the fields"
        report.tell(file, place, cause, "Write its value for no data into the file")
    _tell_depths(file, values, report)
    return True


def _mend_of(value: SoilValue, decoding: Decoding, raw: Floats) -> str:
    """Return what mends cells none of which is possible: a scale, where one would make most of them a pH."""
    known = raw[~np.isnan(raw)]
    scales = [
        scale for scale in SCALES if _count_possible(known * scale, decoding) > KNOWN_SHARE * known.size
    ]
    if value == "ph" and scales:
        return f"If it holds pH x {1 / scales[0]:g}, say scale = {scales[0]:g}"
    least, most, unit = decoding.least, decoding.most, "" if value == "ph" else " mg/kg"
    return f"Check what it holds: {NAMES[value]} lies between {least:g} and {most:g}{unit}"


def _tell_depths(file: str, values: Floats, report: Report) -> None:
    known = ~np.isnan(values)
    part = known & ~known.all(axis=0)
    if part.any():
        place = f"{_percent(part, known)} of the cells under the fields"
        cause = "lack a depth; the others stand for it where they are half of the whole or more"
        report.tell(file, place, cause, "Nothing to do, or fill the depth")


def _percent(some: NDArray[np.bool_], whole: NDArray[np.bool_]) -> str:
    """Return the share of cells (bands, cells) with any of `some` among those with any of `whole`."""
    share = 100 * np.count_nonzero(some.any(axis=0)) / np.count_nonzero(whole.any(axis=0))
    return f"{share:.0f} %" if share >= 1 else "less than 1 %"


def _count_possible(values: Floats, decoding: Decoding) -> int:
    return int(np.count_nonzero((values >= decoding.least) & (values <= decoding.most)))
