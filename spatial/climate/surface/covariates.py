"""What a freeze date is regressed on: elevation, latitude, distance to the coast, height above the valley floor."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from spatial.climate.surface.kriging import regression_left
from spatial.climate.surface.places import at_places, globe_km
from spatial.climate.surface.valley import above_floor_m
from spatial.daily import Terrain
from spatial.reasons import Reason, reason

STATIONS_EACH = 10  # common practice, no source
LEAST_SPREAD = {"elevation_m": 1.0, "latitude_deg": 0.01, "coast_km": 0.1, "above_floor_m": 1.0}
MOST_TOLD_BY_OTHERS = 0.95  # share of a covariate's variance; 20 times the variance of its coefficient
REACHES_KM = (
    1.5,
    2.0,
    3.0,
    4.0,
    6.0,
    8.0,
)  # of the valley floor, the one that fits best; common practice, no source
NEIGHBOURS = 8
LEAST_ON_TERRAIN = 0.8  # share of the stations that must lie on the terrain for the valley to be used

Numbers = NDArray[np.float64]


HELD = ("above_floor_m", "coast_km")  # never told for more than the stations have seen of it


@dataclass(frozen=True)
class Covariates:
    """The covariates kept, less their mean at the stations and over their spread.

    `names` with their units; `at_stations` (n, 1 + p) with a first column of ones; `cells` one (rows, columns)
    each; `middle` and `scale` (p); `told` what was dropped; `used` (n) the stations that have them all.
    """

    names: tuple[str, ...]
    at_stations: Numbers
    cells: tuple[NDArray[np.float32], ...]
    middle: Numbers
    scale: Numbers
    used: NDArray[np.bool_]
    told: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class _Found:
    values: dict[str, Numbers] = field(default_factory=dict)
    cells: dict[str, NDArray[np.float32]] = field(default_factory=dict)
    told: list[Reason] = field(default_factory=list)


def covariates_of(
    stations: pd.DataFrame,
    terrain: Terrain,
    cell_latitude: NDArray[np.float32],
    days: Numbers,
    coast_km: NDArray[np.float32] | None,
) -> Covariates:
    """Return the covariates that the stations can bear: one for each 10 of them, at least one.

    `days` (n, c) choose the reach of the valley. One that hardly differs between the stations, or that the others
    tell, is dropped.
    """
    found = _Found()
    _add(found, "elevation_m", stations["elevation_m"].to_numpy(float), terrain.height_m)
    _add(found, "latitude_deg", stations["latitude"].to_numpy(float), cell_latitude)
    _add_coast(found, stations, coast_km)
    used = _add_valley(found, stations, terrain, days)
    names = _kept(found, used, days[used], max(1, int(used.sum()) // STATIONS_EACH))
    at = np.array([found.values[name][used] for name in names]).reshape(len(names), -1)
    middle, scale = at.mean(axis=1), at.std(axis=1)
    columns = np.column_stack([np.ones(int(used.sum())), ((at.T - middle) / scale)])
    # Heights above a floor that no station has seen are held at the last that one has.
    cells = tuple(_held(name, found.cells[name], found.values[name][used]) for name in names)
    return Covariates(tuple(names), columns, cells, middle, scale, used, tuple(found.told))


def _held(name: str, cells: NDArray[np.float32], seen: Numbers) -> NDArray[np.float32]:
    return np.clip(cells, seen.min(), seen.max()) if name in HELD else cells


def less_neighbours(stations: pd.DataFrame) -> Numbers:
    """Return what takes from each station the mean of its 8 nearest, (n, n): what differs from place to place stays."""
    place = globe_km(stations["latitude"].to_numpy(float), stations["longitude"].to_numpy(float))
    count = min(NEIGHBOURS, len(place) - 1)
    nearest = np.argsort(cdist(place, place), axis=1, kind="stable")[:, 1 : count + 1]
    less = np.eye(len(place))
    np.subtract.at(less, (np.arange(len(place))[:, None], nearest), 1 / count)
    return less


def _add(found: _Found, name: str, at_stations: Numbers, cells: NDArray[np.float32]) -> None:
    found.values[name] = at_stations
    found.cells[name] = cells


def _add_coast(found: _Found, stations: pd.DataFrame, coast_km: NDArray[np.float32] | None) -> None:
    at_stations = stations["coast_km"].to_numpy(float)
    if coast_km is None:
        if np.isfinite(at_stations).any():
            found.told.append(reason("surface_coast_not_of_places"))
    elif not np.isfinite(at_stations).all():
        found.told.append(reason("surface_coast_not_of_stations"))
    else:
        _add(found, "coast_km", at_stations, coast_km)


def _add_valley(found: _Found, stations: pd.DataFrame, terrain: Terrain, days: Numbers) -> NDArray[np.bool_]:
    """Add the height above the floor by the reach that fits best, and return the stations that may be used."""
    everywhere = np.ones(len(stations), dtype=bool)
    if len(stations) // STATIONS_EACH < len(found.values) + 1:
        return everywhere
    cells = [above for reach in REACHES_KM if (above := above_floor_m(terrain, reach)) is not None]
    on = np.isfinite(at_places(terrain.height_m, stations, terrain.grid))
    if not cells or on.mean() < LEAST_ON_TERRAIN:
        why = "surface_valleys_off_terrain" if cells else "surface_valleys_too_coarse"
        found.told.append(reason(why))
        return everywhere
    at = [at_places(one, stations, terrain.grid) for one in cells]
    near = less_neighbours(stations[on])
    others, own = np.column_stack(list(found.values.values()))[on], near @ days[on]
    left = [regression_left(near @ np.column_stack([others, one[on]]), own) for one in at]
    best = int(np.argmin([(one**2).sum() for one in left]))
    _add(found, "above_floor_m", at[best], cells[best])
    if not on.all():
        found.told.append(reason("surface_off_terrain", station_names=tuple(map(str, stations.index[~on]))))
    return on


def _kept(found: _Found, used: NDArray[np.bool_], days: Numbers, most: int) -> list[str]:
    """Return the names that are kept, those that tell more of the days first."""
    kept: list[str] = []
    for name in sorted(found.values, key=lambda one: _days_left(found.values[one][used], days)):
        own = found.values[name][used]
        if own.std() < LEAST_SPREAD[name]:
            found.told.append(reason("surface_covariate_alike", covariate=name))
        elif _told_by(own, [found.values[other][used] for other in kept]) > MOST_TOLD_BY_OTHERS:
            found.told.append(reason("surface_covariate_told", covariate=name, covariates=tuple(kept)))
        elif len(kept) == most:
            found.told.append(_too_many(name, found, len(own), most))
        else:
            kept.append(name)
    return kept


def _days_left(values: Numbers, days: Numbers) -> float:
    """Return the squares of the days that a covariate alone leaves, to two figures: like ones keep their order."""
    columns = np.column_stack([np.ones(len(values)), values - values.mean()])
    return float(f"{(regression_left(columns, days) ** 2).sum():.2g}")


def _too_many(name: str, found: _Found, stations: int, most: int) -> Reason:
    """Return that the stations bear no more covariates, with all that could be used if there were more of them."""
    covariates = tuple(dict.fromkeys((*found.values, "above_floor_m")))
    return reason(
        "surface_covariate_too_many",
        covariate=name,
        covariates=covariates,
        stations=stations,
        most_covariates=most,
    )


def _told_by(values: Numbers, others: Sequence[Numbers]) -> float:
    columns = np.column_stack([np.ones(len(values)), *others])
    left = regression_left(columns, values[:, None])
    return 1 - float(left.var() / values.var())
