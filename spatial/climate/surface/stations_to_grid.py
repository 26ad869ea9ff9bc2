"""Freeze dates of stations brought to a grid, each with its error, by the lie of the land and by neighbours."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from spatial.climate.surface.brought import Brought, Cells, Ground, brought, ground_of
from spatial.climate.surface.kriging import far_km
from spatial.climate.surface.leave_one_out import left_out_errors, regression_left_out
from spatial.climate.surface.places import globe_km, known_heights, spread
from spatial.daily import Terrain
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.reasons import Reason, reason

STEP = "freeze surface"
LEAST_STATIONS = 5
HEIGHT_MARGIN_M = 150.0  # beyond the lowest and highest station; common practice, no source
FAR_LEAST_KM, FAR_MOST_KM = 25.0, 150.0  # common practice, no source
FAR_SPACINGS = 2.0  # a cell between stations is never far, however wide they stand
LAST_DAY = 365.0  # since the season's first day
PLOTTING = 1 / 3  # as seasons.chance_days
LEAST_COMPARED_M = 20.0  # a height under this tells nothing of its unit
SURE_ERRORS = 2.0  # the share of seasons with a freeze lies within so many of its errors
UNIT_RATIOS = {  # terrain over station -> what it looks like, what to do
    (2.8, 3.8): ("the terrain is in feet", "Say --dem-unit ft"),
    (80.0, 125.0): ("the terrain is in centimetres", "Say --dem-unit cm"),
    (0.26, 0.36): ("the stations are in feet", "Name their column elevation_ft, or say the right --dem-unit"),
    (0.008, 0.0125): ("the terrain is in metres after all", "Say --dem-unit m, or leave it out"),
}

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Surface:
    """Freeze dates on the terrain's grid.

    `days` (chances, rows, columns): days since the season's first day, +inf no freeze at that chance, NaN not
    known; `error_days` alike: standard error of the day; `no_freeze_share` (rows, columns). `leave_one_out` on
    the chance: stations, rmse_days, regression_rmse_days, bias_days (what a station says less what the others
    say). `coefficients` on the chance: days a unit of each covariate. `told`: what its reader must know.
    """

    days: Cells
    error_days: Cells
    no_freeze_share: Cells
    leave_one_out: pd.DataFrame
    coefficients: pd.DataFrame
    told: tuple[Reason, ...]


def freeze_surface(
    stations: pd.DataFrame,
    terrain: Terrain,
    chances: Sequence[float],
    tell: Tell = quiet,
    coast_km: Cells | None = None,
) -> Surface:
    """Return the freeze dates of the stations at each cell of the terrain, with their errors.

    `stations` is on the station id: latitude, longitude [deg], elevation_m, coast_km, valid_seasons,
    no_freeze_share, and day_10, error_10 ... for each chance in hundredths (+inf not reached, NaN not known).
    `coast_km` is the distance to the coast on the grid. A day is a regression on what the stations bear of
    elevation, latitude, coast and height above the valley floor, all fitted, and the kriged remainder. The error
    is that of the true day at the cell: the stations' own error is no part of it. Cells far from every station,
    or far above or below all of them, are not known. Raises InputError with fewer than 5 stations, or where
    terrain and stations differ in their unit of height.
    """
    check_heights(stations, terrain)
    tell(STEP, 0.0)
    placed, told = _placed(stations.sort_index(), terrain)
    ground = ground_of(terrain, coast_km)
    parts = []
    groups = _groups(placed, chances)
    for done, rows in enumerate(groups):
        parts.append(_brought_days(placed, [chances[row] for row in rows], ground))
        tell(STEP, 0.9 * (done + 1) / (len(groups) + 1))
    told += _told_of(parts, groups, chances)
    known = _known_cells(placed, ground, parts[0], told)
    share, share_error = _no_freeze_share(placed, ground)
    share = np.where(known, share, np.nan).astype(np.float32)
    days, errors = _laid_out(parts, groups, len(chances), known)
    _set_never(days, errors, (share, share_error), _least_shares(placed, chances))
    tell(STEP, 1.0)
    left_out, coefficients = _tables(parts, groups, chances)
    return Surface(days, errors, share, left_out, coefficients, _each_once(told))


def check_heights(stations: pd.DataFrame, terrain: Terrain) -> None:
    """Raise InputError where terrain and stations tell heights in different units, by their middle ratio."""
    own, ground = stations["elevation_m"].to_numpy(float), known_heights(terrain, stations)
    compared = (own > LEAST_COMPARED_M) & (ground > 0)
    if not compared.any():
        return
    ratio = float(np.median(ground[compared] / own[compared]))
    for (least, most), (cause, mend) in UNIT_RATIOS.items():
        if least <= ratio <= most:
            shown = f"is {ratio:.3g} times as high as the stations say they are, as if {cause}"
            raise InputError([Problem(terrain.name, "height", shown, mend)])


def _placed(stations: pd.DataFrame, terrain: Terrain) -> tuple[pd.DataFrame, list[Reason]]:
    """Return the stations with a height, the terrain's where they say none."""
    ground = known_heights(terrain, stations)
    own = stations["elevation_m"].to_numpy(float)
    taken, lost = np.isnan(own) & np.isfinite(ground), np.isnan(own) & np.isnan(ground)
    differs = np.abs(own - ground) > HEIGHT_MARGIN_M
    told = []
    if taken.any():
        told.append(reason("surface_height_taken", station_names=_names(stations[taken])))
    if lost.any():
        told.append(reason("surface_no_height", station_names=_names(stations[lost])))
    if differs.any():
        names = _names(stations[differs])
        told.append(reason("surface_height_differs", station_names=names, margin_elevation_m=HEIGHT_MARGIN_M))
    return stations.assign(elevation_m=np.where(np.isnan(own), ground, own))[~lost], told


def _names(stations: pd.DataFrame) -> tuple[str, ...]:
    return tuple(map(str, stations.index))


def _groups(stations: pd.DataFrame, chances: Sequence[float]) -> list[list[int]]:
    """Return the places of the chances that the same stations know, most stations first, each with enough of them."""
    by_stations: dict[bytes, list[int]] = {}
    counts: dict[bytes, int] = {}
    for row, chance in enumerate(chances):
        known = np.isfinite(_column(stations, "day", chance))
        if known.sum() >= LEAST_STATIONS:
            by_stations.setdefault(known.tobytes(), []).append(row)
            counts[known.tobytes()] = int(known.sum())
    at = _places_of(stations)
    if not by_stations or at < LEAST_STATIONS:
        cause = f"are too few with a place and a freeze date: {len(stations)} at {at} place{'s' * (at != 1)}"
        mend = f"Give {LEAST_STATIONS} at least, better 30 and more"
        raise InputError([Problem("stations", "", cause, mend)])
    return [by_stations[key] for key in sorted(counts, key=lambda key: -counts[key])]


def _places_of(stations: pd.DataFrame) -> int:
    return len(stations[["latitude", "longitude"]].drop_duplicates())


def _brought_days(stations: pd.DataFrame, chances: Sequence[float], ground: Ground) -> Brought:
    known = stations[np.isfinite(_column(stations, "day", chances[0]))]
    values, errors = (
        np.column_stack([_column(known, kind, chance) for chance in chances]) for kind in ("day", "error")
    )
    return brought(known, values, errors, ground)


def _column(stations: pd.DataFrame, kind: str, chance: float) -> Numbers:
    name = f"{kind}_{round(100 * chance)}"
    if name not in stations:
        return np.full(len(stations), np.nan)
    return stations[name].to_numpy(np.float64)


def _told_of(parts: list[Brought], groups: list[list[int]], chances: Sequence[float]) -> list[Reason]:
    told = [why for part in parts for why in part.covariates.told]
    told += _told_of_neighbours(parts, groups, chances)
    if any((np.isnan(part.model.noise_days2) & part.model.kriged).any() for part in parts):
        told.append(reason("surface_own_errors_unknown"))
    dated = {row for rows in groups for row in rows}
    few = tuple(chance for row, chance in enumerate(chances) if row not in dated)
    if few:
        told.append(reason("surface_too_few_at", chances=few, least_stations=LEAST_STATIONS))
    return told


def _told_of_neighbours(
    parts: list[Brought], groups: list[list[int]], chances: Sequence[float]
) -> list[Reason]:
    kriged = {
        row: bool(one)
        for part, rows in zip(parts, groups, strict=True)
        for row, one in zip(rows, part.model.kriged, strict=True)
    }
    if not any(kriged.values()):
        return [reason("surface_regression_alone")]
    alone = tuple(chances[row] for row in sorted(kriged) if not kriged[row])
    return [reason("surface_regression_alone_at", chances=alone)] if alone else []


def _each_once(told: list[Reason]) -> tuple[Reason, ...]:
    return tuple(why for place, why in enumerate(told) if why not in told[:place])


def _known_cells(
    stations: pd.DataFrame, ground: Ground, part: Brought, told: list[Reason]
) -> NDArray[np.bool_]:
    """Return the cells that are neither far from all stations nor far above or below them."""
    place = globe_km(stations["latitude"].to_numpy(float), stations["longitude"].to_numpy(float))
    tree = cKDTree(place)
    spacing = float(np.median(np.asarray(tree.query(place, k=2)[0])[:, 1]))
    alike = np.clip(np.nan_to_num(far_km(part.model), nan=FAR_LEAST_KM), FAR_LEAST_KM, FAR_MOST_KM)
    limit = max(float(alike), FAR_SPACINGS * spacing)
    shape = (len(ground.nodes[0]), len(ground.nodes[1]))
    away = spread(np.asarray(tree.query(ground.node_km)[0]).reshape(shape), ground.nodes, ground.terrain.grid)
    height, own = ground.terrain.height_m, stations["elevation_m"].to_numpy(float)
    low, high = own.min() - HEIGHT_MARGIN_M, own.max() + HEIGHT_MARGIN_M
    told += [
        reason("surface_too_far", far_km=limit),
        reason("surface_beyond_heights", lowest_elevation_m=float(low), highest_elevation_m=float(high)),
    ]
    known: NDArray[np.bool_] = (away <= limit) & (height >= low) & (height <= high)
    return known


def _no_freeze_share(stations: pd.DataFrame, ground: Ground) -> tuple[Cells, Cells]:
    """Return the share of seasons without a freeze at each cell, by the same model as the days, and its error.

    With too few stations that know it, NaN; with enough and none that ever lacked a freeze, 0 and no error.
    """
    without = stations["no_freeze_share"].to_numpy(np.float64)
    known = np.isfinite(without)
    shape = ground.terrain.height_m.shape
    if known.sum() < LEAST_STATIONS:
        return np.full(shape, np.nan, np.float32), np.zeros(shape, np.float32)
    if not (without > 0).any():
        return np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    part = brought(stations[known], without[known, None], _share_errors(stations[known])[:, None], ground)
    return np.clip(part.values[0], 0, 1), part.errors[0]


def _share_errors(stations: pd.DataFrame) -> Numbers:
    """Return the sampling error of each station's share: with one season added on each side it is never none."""
    seasons = stations["valid_seasons"].to_numpy(np.float64)
    share = (stations["no_freeze_share"].to_numpy(np.float64) * seasons + 1) / (seasons + 2)
    errors: Numbers = np.sqrt(share * (1 - share) / seasons)
    return errors


def _laid_out(
    parts: list[Brought], groups: list[list[int]], count: int, known: NDArray[np.bool_]
) -> tuple[Cells, Cells]:
    """Return days and errors by chance, unknown where they are, the days in order over the chances."""
    days, errors = (np.full((count, *known.shape), np.nan, np.float32) for _ in range(2))
    for part, rows in zip(parts, groups, strict=True):
        days[rows] = np.where(known, np.clip(part.values, 0, LAST_DAY), np.nan)
        errors[rows] = np.where(known, part.errors, np.nan)
    dated = sorted(row for rows in groups for row in rows)
    days[dated] = np.sort(days[dated], axis=0)
    return days, errors


def _least_shares(stations: pd.DataFrame, chances: Sequence[float]) -> list[float]:
    """Return the least share of seasons with a freeze that dates each chance: its rank must have frozen."""
    seasons = stations["valid_seasons"].to_numpy(np.float64)
    count = float(np.nanmedian(seasons)) if np.isfinite(seasons).any() else np.inf
    if np.isinf(count):
        return list(chances)
    ranks = [(count + 1 - 2 * PLOTTING) * chance + PLOTTING for chance in chances]
    return [min(max(rank, 1.0), count) / count for rank in ranks]


def _set_never(days: Cells, errors: Cells, no_freeze: tuple[Cells, Cells], least: Sequence[float]) -> None:
    """Set what is not reached, and leave the error unknown where that itself is not sure.

    There the stations that do not reach the chance are missing from the fit, so the days lean early.
    """
    frozen_share, share_error = 1 - no_freeze[0], no_freeze[1]
    for row, share in enumerate(least):
        never = frozen_share < share
        unsure = np.abs(frozen_share - share) < SURE_ERRORS * share_error
        days[row][never], errors[row][never | unsure] = np.inf, np.nan


def _tables(
    parts: list[Brought], groups: list[list[int]], chances: Sequence[float]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    left_out, coefficients = [], []
    for part, rows in zip(parts, groups, strict=True):
        whole, alone = left_out_errors(part.model), regression_left_out(part.model)
        for column, row in enumerate(rows):
            left_out.append(
                {
                    "chance": chances[row],
                    "stations": len(whole),
                    "rmse_days": float(np.sqrt((whole[:, column] ** 2).mean())),
                    "regression_rmse_days": float(np.sqrt((alone[:, column] ** 2).mean())),
                    "bias_days": float(whole[:, column].mean()),
                }
            )
            coefficients.append({"chance": chances[row]} | part.slopes(column))
    return tuple(pd.DataFrame(rows).set_index("chance").sort_index() for rows in (left_out, coefficients))  # type: ignore[return-value]
