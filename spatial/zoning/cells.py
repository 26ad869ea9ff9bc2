"""The cells of the zones: the freeze and the last cut of every grass and chance on the part of the layer mapped."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.deadline import LIMITS, last_cuts
from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.regrowth import regrowth_days
from spatial.agronomy.zone_advice import LOWER_CM
from spatial.agronomy.zone_dates import CellCuts, Pairs, freeze_pairs, on_cells
from spatial.climate.freeze_raster import FreezeRaster, freeze_raster
from spatial.climate.seasons import Season, dates_of
from spatial.errors import InputError, Problem, Tell
from spatial.growing import LATITUDE_STEP_DEG, growth_at
from spatial.inputs.region import Region
from spatial.raster.bands import bands_of, without_specks
from spatial.raster.places import CellPlaces, cell_places, lon_lat_of, part_of, window_around
from spatial.values import FreezeLayer, Grass, Grid, Window
from spatial.zoning.small_weeks import without_small_weeks

WEEK_DAYS = 7
MID_DAY = 0.5


@dataclass(frozen=True)
class Ground:
    """What all layers share: the freeze on the part of its layer that is mapped, and where its cells lie.

    `raster` has a row for each of `chances`; `longitude` [deg] is that of the region's middle.
    """

    region: Region
    season: Season
    freeze: FreezeLayer
    window: Window
    grid: Grid
    places: CellPlaces
    longitude: float
    chances: tuple[float, ...]
    raster: FreezeRaster

    def freeze_days(self, chance: float) -> NDArray[np.float64]:
        """Return the freeze at a chance, (rows, columns): +inf not reached, NaN unknown or beyond the layer."""
        if chance not in self.chances:
            return np.full(self.places.latitude.shape, np.nan)
        days: NDArray[np.float64] = self.raster.days[self.chances.index(chance)]
        return days


@dataclass(frozen=True)
class Cut:
    """One grass at one chance: its cells' last cuts, and their weeks, counted from the season's start.

    `weeks` has no specks and no small weeks.

    `surface` is the last cut with its part of a day, (rows, columns), along which the edges of zones are laid;
    `small_weeks`, whether a week had so little land that it lies in another.
    """

    grass: Grass
    chance: float
    regrowth_days: float
    lower_regrowth_days: float  # after a cut that leaves LOWER_CM less
    cells: CellCuts
    weeks: NDArray[np.int32]
    surface: NDArray[np.float64]
    small_weeks: bool


def ground_of(
    region: Region,
    season: Season,
    freeze: FreezeLayer,
    chances: tuple[float, ...],
    around: gpd.GeoSeries,
    tell: Tell,
) -> Ground:
    """Return the ground on the part of the freeze layer around some shapes (any CRS) and the fields.

    Raises InputError where the layer is damaged or knows nothing there, and whatever `tell` raises.
    """
    window = window_around([around, region.fields.geometry], freeze.grid)
    grid = part_of(freeze.grid, window)
    places = cell_places(grid)
    raster = freeze_raster(freeze, window, chances, season, tell)
    if np.isnan(raster.days[0] + places.latitude).all():
        mend = "Check its place and its coordinate system"
        raise InputError([Problem(freeze.name, "", "says nothing of this district", mend)])
    return Ground(region, season, freeze, window, grid, places, _longitude(region, grid), chances, raster)


def cuts_of(grasses: Sequence[Grass], ground: Ground, tell: Tell) -> Iterator[Cut]:
    """Give the last cuts of every grass at every chance of the ground, grass by grass."""
    wanted = [(grass, chance) for grass in grasses for chance in ground.chances]
    for number, (grass, chance) in enumerate(wanted):
        tell("last cuts", number / len(wanted))
        yield _cut(grass, chance, ground)


def _cut(grass: Grass, chance: float, ground: Ground) -> Cut:
    freeze, start = ground.freeze_days(chance), pd.Timestamp(ground.season.start)
    whole = _whole_days(freeze, ground.season)
    pairs = freeze_pairs(whole, ground.places.latitude, LATITUDE_STEP_DEG)
    cuts = _cuts_of_pairs(grass, pairs, ground)
    cells = on_cells(pairs, cuts, start)
    by_freeze = (cells.limit == LIMITS.index("freeze")) & np.isfinite(freeze)
    surface = cells.days + np.subtract(freeze, whole, out=np.full(freeze.shape, MID_DAY), where=by_freeze)
    clear = without_specks(bands_of(cells.days, WEEK_DAYS))
    weeks = without_small_weeks(clear, cells.days, ground.places.land)
    regrowth, lower = (_regrowth_days(grass, less_cm, ground) for less_cm in (0.0, LOWER_CM))
    return Cut(grass, chance, regrowth, lower, cells, weeks, surface, bool((weeks != clear).any()))


def _regrowth_days(grass: Grass, less_cm: float, ground: Ground) -> float:
    fields = pd.DataFrame({"grass": grass.grass, "stubble_cm": [grass.stubble_cm - less_cm]})
    return float(regrowth_days(grass_numbers(fields, ground.region.grasses)).iloc[0])


def _cuts_of_pairs(grass: Grass, pairs: Pairs, ground: Ground) -> pd.DataFrame:
    """Return the last cuts of fields of a grass, one a pair, at the grass's own stubble: the law of every field."""
    fields = pd.DataFrame({"grass": grass.grass, "stubble_cm": np.nan}, index=range(len(pairs.latitude)))
    numbers = grass_numbers(fields, ground.region.grasses)
    latitudes = pd.Series(pairs.latitude, index=fields.index)
    grown = growth_at(numbers, latitudes, ground.longitude, ground.region, ground.season)
    dates = dates_of(pairs.freeze_day, ground.season).astype("datetime64[s]")
    return last_cuts(
        pd.DataFrame({"killing_freeze_date": dates, "freeze_cover_share": 1.0}, index=fields.index),
        numbers,
        grown,
    )


def _whole_days(freeze_days: NDArray[np.float64], season: Season) -> NDArray[np.float64]:
    """Return freeze days as those of their dates; +inf and NaN stay."""
    since = dates_of(freeze_days, season) - np.datetime64(season.start, "D")
    return np.where(np.isfinite(freeze_days), since / np.timedelta64(1, "D"), freeze_days)


def _longitude(region: Region, grid: Grid) -> float:
    """Return the longitude that the plan takes for its fields [deg], or the grid's middle where there are none."""
    if len(region.fields):
        return float(region.fields.geometry.representative_point().x.mean())
    return float(lon_lat_of(grid, np.array([[grid.columns / 2, grid.rows / 2]]))[0, 0])
