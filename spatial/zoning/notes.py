"""What the reader of zones must know of their season, their cells and their areas."""

from collections.abc import Iterator, Sequence
from datetime import date

import geopandas as gpd
import numpy as np

from spatial.climate.seasons import Season, growing_year
from spatial.raster.bands import LEAST_CELLS, NO_BAND
from spatial.reasons import Reason, reason
from spatial.zoning.cells import Cut

COARSE_KM2 = 10.0  # common practice, no source
HA_PER_KM2 = 100.0


def past_notes(cuts: Sequence[Cut], season: Season, on: date) -> Iterator[Reason]:
    """Give the note that all last-cut dates lie before the day `on`, and from which day on the next season is shown."""
    latest = max(
        (np.nanmax(cut.cells.days) for cut in cuts if not np.isnan(cut.cells.days).all()), default=np.inf
    )
    if latest < (on - season.start).days:
        coming = Season(season.year + 1, season.start.replace(year=season.start.year + 1))
        first = growing_year(coming)[0].date()
        yield reason("zone_past", season_year=season.year, next_year=coming.year, next_on=first.isoformat())


def cell_notes(cuts: Sequence[Cut], zones: gpd.GeoDataFrame) -> Iterator[Reason]:
    """Give what the size of the layer's cells does to the zones."""
    cells = sum(np.count_nonzero(cut.weeks != NO_BAND) for cut in cuts)
    if not cells:
        return
    cell_ha = zones["area_ha"].sum() / cells
    if cell_ha > COARSE_KM2 * HA_PER_KM2:
        yield reason("zone_coarse", cell_km2=cell_ha / HA_PER_KM2)
    yield reason("zone_patches", patch_ha=LEAST_CELLS * cell_ha)
    if any(cut.small_weeks for cut in cuts):
        yield reason("zone_small_weeks")


def area_notes(areas: gpd.GeoDataFrame) -> Iterator[Reason]:
    """Give the areas that the freeze data do not reach."""
    outside = areas.groupby("area", sort=True)["cover_share"].max()
    for name in outside.index[outside == 0]:
        yield reason("zone_area_outside", area=name)
