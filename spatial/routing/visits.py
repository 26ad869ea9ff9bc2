"""Turns candidate fields and crew-days into the visits that a route is made of."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.routing.model import DAY_MIN, NO_WAY_MIN, Round
from spatial.routing.roads import Travel
from spatial.routing.urgency import urgency_weight
from spatial.routing.windows import days_after
from spatial.settings import Settings
from spatial.units import HA_PER_ACRE

# Share of a shift that work in one field may fill; the rest is for what no plan knows (common practice, no
# source).
_FULL_SHARE = 0.95

# By how much a float may be off before it costs a minute or a part.
_TINY = 1e-9


def crew_day_table(crews: pd.DataFrame, workdays: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Return the crew-days in order of crew and date, with what a route needs of their crew.

    Adds yard (position of the crew), work_rate_ha_h, day (after `settings.on`) and shift_min to the columns
    of `workdays`.
    """
    kinds = {"date": "datetime64[us]", "shift_start_min": "int64", "shift_end_min": "int64"}
    known = workdays[workdays["crew"].isin(crews.index)].astype(kinds)
    known = known.sort_values(["crew", "date"], ignore_index=True)
    return known.assign(
        yard=crews.index.get_indexer(pd.Index(known["crew"])),
        work_rate_ha_h=crews["work_rate_ha_h"].reindex(known["crew"]).to_numpy(dtype="float64"),
        day=days_after(known["date"], settings.on).astype("int64"),
        shift_min=known["shift_end_min"] - known["shift_start_min"],
    )


def whole_minutes(travel: Travel) -> NDArray[np.int64]:
    """Return the travel times rounded up to whole minutes; `NO_WAY_MIN` where there is no way."""
    minutes = np.ceil(np.nan_to_num(travel.minutes - _TINY, nan=NO_WAY_MIN)).clip(0).astype("int64")
    np.fill_diagonal(minutes, 0)
    return minutes


def field_parts(
    area_ha: pd.Series,
    to_yard_min: NDArray[np.int64],
    crew_days: pd.DataFrame,
    may: NDArray[np.bool_],
    settings: Settings,
) -> NDArray[np.int64]:
    """Return into how many equal parts each field is split: the fewest that fit; 0 where too few days fit them.

    `to_yard_min` and `may` are (crew-days, fields). The parts are so large that the crew that gets most done
    works in one for up to 0.95 of its shift, the way there and back still fitting in. The crew-days that may
    cut the field must have room for all of them.
    """
    shift_min = crew_days["shift_min"].to_numpy()[:, None]
    min_per_ha = 60 / crew_days["work_rate_ha_h"].to_numpy()[:, None]
    work_min = np.where(may, np.floor(shift_min - 2 * to_yard_min - settings.fold_min).clip(0), 0.0)
    most_ha = (np.minimum(work_min, np.floor(_FULL_SHARE * shift_min)) / min_per_ha).max(axis=0, initial=0.0)
    whole_ha = area_ha.to_numpy(dtype="float64")
    parts = np.ceil(
        np.divide(whole_ha, most_ha, out=np.zeros_like(whole_ha), where=most_ha > 0) - _TINY
    ).clip(1)
    part_min = np.ceil(whole_ha / parts * min_per_ha - _TINY) + settings.fold_min
    places = np.floor((work_min + settings.fold_min) / part_min).sum(axis=0, where=may)
    return np.where((most_ha > 0) & (places >= parts), parts, 0).astype("int64")


def visits_to(fields: pd.DataFrame, parts: NDArray[np.int64], settings: Settings) -> pd.DataFrame:
    """Return one row for each part of each field: field (position), parts, area_ha, first_day, last_day, prize.

    The prize is in minutes of driving: acres times `settings.acre_worth_min`, up to twice that when urgent.
    """
    field = np.repeat(np.arange(len(fields)), parts)
    days = fields[["first_day", "last_day"]].iloc[field].reset_index(drop=True)
    area_ha = fields["area_ha"].to_numpy()[field] / parts[field]
    worth = settings.acre_worth_min * area_ha / HA_PER_ACRE * (1 + urgency_weight(days["last_day"]))
    return days.assign(field=field, parts=parts[field], area_ha=area_ha, prize=worth.round().astype("int64"))


def round_of(
    visits: pd.DataFrame,
    crew_days: pd.DataFrame,
    travel_min: NDArray[np.int64],
    can_come: NDArray[np.bool_],
    settings: Settings,
) -> Round:
    """Return the round to be planned: minutes count from midnight of `settings.on`.

    `travel_min` has the yards first, then the fields; `can_come` (crew-days, fields): no wet area and a
    way there.
    """
    field = visits["field"].to_numpy()
    yards = len(travel_min) - can_come.shape[1]
    rates = crew_days.groupby("yard")["work_rate_ha_h"].first().reindex(range(yards), fill_value=1.0)
    work_min = 60 * visits["area_ha"].to_numpy() / rates.to_numpy()[:, None]
    place = np.concatenate([np.arange(yards), yards + field])
    midnight = crew_days["day"].to_numpy() * DAY_MIN
    return Round(
        travel_min=travel_min[np.ix_(place, place)],
        service_min=np.ceil(work_min - _TINY).astype("int64") + int(np.ceil(settings.fold_min)),
        earliest_min=(visits["first_day"].to_numpy() * DAY_MIN).astype("int64"),
        latest_min=((visits["last_day"].to_numpy() + 1) * DAY_MIN).astype("int64"),
        prize=visits["prize"].to_numpy(),
        field=field,
        yard=crew_days["yard"].to_numpy(),
        start_min=midnight + crew_days["shift_start_min"].to_numpy(),
        end_min=midnight + crew_days["shift_end_min"].to_numpy(),
        closed=~can_come[:, field],
    )
