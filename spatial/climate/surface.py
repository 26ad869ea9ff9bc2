"""Freeze dates of stations brought to a grid, each with its error, by the lie of the land and by neighbours."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from spatial.climate.brought import Brought, Cells, Ground, brought, ground_of
from spatial.climate.kriging import far_km
from spatial.climate.leave_one_out import left_out_errors, regression_left_out
from spatial.climate.places import globe_km, known_heights, spread
from spatial.daily import Terrain
from spatial.errors import InputError, Problem, Tell, quiet

STEP = "freeze surface"
LEAST_STATIONS = 5
HEIGHT_MARGIN_M = 150.0  # beyond the lowest and highest station; common practice, no source
FAR_LEAST_KM, FAR_MOST_KM = 25.0, 150.0  # common practice, no source
FAR_SPACINGS = 2.0  # a cell between stations is never far, however wide they stand
LAST_DAY = 365.0  # since the season's first day
PLOTTING = 1 / 3  # as seasons.chance_days
LEAST_COMPARED_M = 20.0  # a height under this tells nothing of its unit
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
    told: tuple[str, ...]


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
    share = np.where(known, _no_freeze_share(placed, ground), np.nan).astype(np.float32)
    days, errors = _laid_out(parts, groups, len(chances), known)
    _set_never(days, errors, share, _least_shares(placed, chances))
    tell(STEP, 1.0)
    left_out, coefficients = _tables(parts, groups, chances)
    return Surface(days, errors, share, left_out, coefficients, tuple(dict.fromkeys(told)))


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


def _placed(stations: pd.DataFrame, terrain: Terrain) -> tuple[pd.DataFrame, list[str]]:
    """Return the stations with a height, the terrain's where they say none."""
    ground = known_heights(terrain, stations)
    own = stations["elevation_m"].to_numpy(float)
    taken, lost = np.isnan(own) & np.isfinite(ground), np.isnan(own) & np.isnan(ground)
    told = [
        f"{cause}: {', '.join(map(str, stations.index[which]))}"
        for which, cause in (
            (taken, "the terrain's height was taken for stations that say none"),
            (lost, "stations without a height, off the terrain, were left out"),
            (
                np.abs(own - ground) > HEIGHT_MARGIN_M,
                "stations lie far off the terrain's height; check their place",
            ),
        )
        if which.any()
    ]
    return stations.assign(elevation_m=np.where(np.isnan(own), ground, own))[~lost], told


def _groups(stations: pd.DataFrame, chances: Sequence[float]) -> list[list[int]]:
    """Return the places of the chances that the same stations know, most stations first, each with enough of them."""
    by_stations: dict[bytes, list[int]] = {}
    counts: dict[bytes, int] = {}
    for row, chance in enumerate(chances):
        known = np.isfinite(_column(stations, "day", chance))
        if known.sum() >= LEAST_STATIONS:
            by_stations.setdefault(known.tobytes(), []).append(row)
            counts[known.tobytes()] = int(known.sum())
    if not by_stations:
        cause = f"are too few with a place and a freeze date: {len(stations)} for any chance"
        mend = f"Give {LEAST_STATIONS} at least, better 30 and more"
        raise InputError([Problem("stations", "", cause, mend)])
    return [by_stations[key] for key in sorted(counts, key=lambda key: -counts[key])]


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


def _told_of(parts: list[Brought], groups: list[list[int]], chances: Sequence[float]) -> list[str]:
    told = [line for part in parts for line in part.covariates.told]
    for part, rows in zip(parts, groups, strict=True):
        alone = [
            f"{chances[row]:g}" for row, kriged in zip(rows, part.model.kriged, strict=True) if not kriged
        ]
        if alone:
            told.append(f"neighbours share nothing beyond the regression at chance {', '.join(alone)}")
        unknown = np.isnan(part.model.noise_days2) & part.model.kriged
        if unknown.any():
            told.append(
                "the stations' own errors are not known: what neighbours do not share was taken for them"
            )
    few = sorted(set(range(len(chances))) - {row for rows in groups for row in rows})
    if few:
        shown = ", ".join(f"{chances[row]:g}" for row in few)
        told.append(f"under {LEAST_STATIONS} stations have a date at chance {shown}: no dates there")
    return told


def _known_cells(stations: pd.DataFrame, ground: Ground, part: Brought, told: list[str]) -> NDArray[np.bool_]:
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
        f"cells more than {limit:.0f} km from every station are not known",
        f"cells under {low:.0f} m or over {high:.0f} m are not known: no station lies near that height",
    ]
    known: NDArray[np.bool_] = (away <= limit) & (height >= low) & (height <= high)
    return known


def _no_freeze_share(stations: pd.DataFrame, ground: Ground) -> Cells:
    """Return the share of seasons without a freeze at each cell, by the same model as the days."""
    without = stations["no_freeze_share"].to_numpy(np.float64)
    known = np.isfinite(without)
    if not (without > 0).any() or known.sum() < LEAST_STATIONS:
        return np.full(ground.terrain.height_m.shape, np.nan if not known.any() else 0, np.float32)
    part = brought(stations[known], without[known, None], _share_errors(stations[known])[:, None], ground)
    share: Cells = np.clip(part.values[0], 0, 1)
    return share


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


def _set_never(days: Cells, errors: Cells, no_freeze_share: Cells, least: Sequence[float]) -> None:
    for row, share in enumerate(least):
        never = 1 - no_freeze_share < share
        days[row][never], errors[row][never] = np.inf, np.nan


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
