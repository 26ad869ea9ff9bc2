"""The zones: one row a grass, chance and week of last-cut dates, with its outline, dates, advice and risk."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.agronomy.zone_advice import zone_advice
from spatial.agronomy.zone_bands import risk_of_zone, zone_table
from spatial.climate.freeze_raster import season_counts
from spatial.climate.seasons import dates_of
from spatial.errors import Tell
from spatial.inputs.fields import geodesic_area_ha
from spatial.raster.bands import NO_BAND, band_polygons
from spatial.raster.kinds import kinds_of
from spatial.values import AVERAGE_CHANCE
from spatial.zoning.cells import WEEK_DAYS, Cut, Ground

DATES = {
    "cut_by_date": "first_cut_day",
    "latest_date": "last_cut_day",
    "freeze_from_date": "first_freeze_day",
    "freeze_to_date": "last_freeze_day",
    "average_from_date": "first_average_day",
    "average_to_date": "last_average_day",
}
KEPT = (
    "zone_id",
    "grass",
    "chance",
    "cut_by_date",
    "latest_date",
    "freeze_from_date",
    "freeze_to_date",
    "area_ha",
    "stubble_cm",
    "reasons",
    "risk",
    "no_freeze",
    "geometry",
)


def zones_of_weeks(cuts: Sequence[Cut], ground: Ground, tell: Tell) -> gpd.GeoDataFrame:
    """Return the zones of all layers, in their order and from early to late; the columns are those of `KEPT`.

    `cut_by_date` is the first last-cut date in the zone and `latest_date` the last; `freeze_from_date` and
    `freeze_to_date` the first and last freeze in it at its chance, NaT where not reached, in part of it or all
    (`no_freeze`). `risk` is empty where the layer has no seasons.
    """
    tell("zones", 0.0)
    counts, zones = _counts_by_zone(cuts, ground), []
    for number, cut in enumerate(cuts):
        tell("zones", number / len(cuts))
        zones.append(_zones(cut, counts[number], ground))
    return gpd.GeoDataFrame(pd.concat(zones, ignore_index=True))


def _zones(cut: Cut, counts: dict[int, NDArray[np.float64]], ground: Ground) -> gpd.GeoDataFrame:
    table = zone_table(*_cells_of(cut, ground))
    dates = {
        name: pd.Series(dates_of(table[day].to_numpy(), ground.season), index=table.index).astype(
            "datetime64[ns]"
        )
        for name, day in DATES.items()
    }
    shapes = band_polygons(cut.weeks, cut.surface, WEEK_DAYS, ground.grid).set_index("band").geometry
    table = table.assign(
        **dates,
        grass=cut.grass.grass,
        chance=cut.chance,
        stubble_cm=cut.grass.stubble_cm,
        area_ha=geodesic_area_ha(shapes),
        no_freeze=np.isposinf(table["first_freeze_day"]),
        average_known=table["first_average_day"].notna(),
    )
    rows = table.reset_index().to_dict("records")
    regrowth = (cut.regrowth_days, cut.lower_regrowth_days)
    table["zone_id"] = [_zone_id(row) for row in rows]
    table["reasons"] = _column(
        table, [tuple(zone_advice(row, cut.grass, regrowth, cut.chance)) for row in rows]
    )
    table["risk"] = _column(table, [_risk(row, cut, counts, ground) for row in rows])
    return gpd.GeoDataFrame(table.assign(geometry=shapes)[list(KEPT)], geometry="geometry", crs=shapes.crs)


def _cells_of(
    cut: Cut, ground: Ground
) -> tuple[NDArray[np.int32], NDArray[np.float64], dict[str, NDArray[np.floating]]]:
    """Return the week, the land and what is known of each cell that lies in a zone."""
    zoned = cut.weeks != NO_BAND
    error = ground.raster.error_days[ground.chances.index(cut.chance)]
    cells = {
        "cut_day": cut.cells.days,
        "freeze_day": ground.freeze_days(cut.chance),
        "average_day": ground.freeze_days(AVERAGE_CHANCE),
        "error_days": error,
        "limit": cut.cells.limit,
        "low_cm": cut.cells.low_cm,
        "high_cm": cut.cells.high_cm,
    }
    return (
        cut.weeks[zoned],
        ground.places.land[zoned],
        {name: values[zoned] for name, values in cells.items()},
    )


def _counts_by_zone(cuts: Sequence[Cut], ground: Ground) -> list[dict[int, NDArray[np.float64]]]:
    """Return for each layer the land times seasons that froze on each day, by week; nothing for a layer of chances."""
    if ground.freeze.kind != "seasons":
        return [{} for _cut in cuts]
    # The seasons are read once: cells that share their zone in every layer are one group.
    group = np.zeros(ground.places.land.shape, dtype=np.int64)
    for cut in cuts:
        weeks, week = kinds_of(cut.weeks)
        _groups, group = kinds_of(group * len(weeks) + week)
    counts = season_counts(ground.freeze, ground.window, ground.season, group, ground.places.land)
    return [_by_week(_week_of_group(cut.weeks, group, len(counts)), counts) for cut in cuts]


def _week_of_group(weeks: NDArray[np.int32], group: NDArray[np.int64], groups: int) -> NDArray[np.int32]:
    found = np.empty(groups, dtype=np.int32)
    found[group.ravel()] = weeks.ravel()  # all cells of a group have one week
    return found


def _by_week(weeks: NDArray[np.int32], counts: NDArray[np.float64]) -> dict[int, NDArray[np.float64]]:
    return {int(week): counts[weeks == week].sum(axis=0) for week in np.unique(weeks)}


def _risk(
    row: dict[Any, Any], cut: Cut, counts: dict[int, NDArray[np.float64]], ground: Ground
) -> tuple[tuple[pd.Timestamp, float], ...]:
    # Where the grass's own rule sets the date, the freeze alone would invite a later cut.
    if row["band"] not in counts or row["limit"] == "rule":
        return ()
    start = pd.Timestamp(ground.season.start)
    found = risk_of_zone(counts[row["band"]], int(row["first_cut_day"]), cut.regrowth_days)
    return tuple((start + pd.Timedelta(days=day), share) for day, share in found)


def _zone_id(row: dict[Any, Any]) -> str:
    return f"{row['grass'].replace('_', ' ')}, chance {row['chance']:g}, by {row['cut_by_date']:%Y-%m-%d}"


def _column(table: pd.DataFrame, values: list[Any]) -> pd.Series:
    return pd.Series(values, index=table.index, dtype=object)
