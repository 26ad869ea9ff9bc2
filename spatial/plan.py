"""A region and its settings in, a plan out: dates, flags, a route and advice for every field."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

import geopandas as gpd
import numpy as np
import pandas as pd

from spatial.agronomy.advice import advice
from spatial.agronomy.deadline import days_left, last_cuts, stages
from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.regrowth import Growth, canopy_cm, growth, ready_dates
from spatial.agronomy.soil import soil_flags
from spatial.agronomy.stand import stands_on
from spatial.climate.daylight import day_length_h
from spatial.climate.forecast import forecast_freezes
from spatial.climate.frost import killing_freezes
from spatial.climate.seasons import Season, growing_year, season_of
from spatial.errors import Tell, quiet
from spatial.inputs.region import Region
from spatial.reasons import Reason, reason
from spatial.routing.check_route import check_route
from spatial.routing.route import CuttingRoute, cutting_route
from spatial.routing.urgency import urgency_class
from spatial.routing.workdays import workable_days
from spatial.settings import Settings

LATITUDE_STEP_DEG = 0.1  # day length changes by less than half a minute over it in fall


@dataclass(frozen=True)
class Plan:
    """What was worked out.

    `fields`: GeoDataFrame (EPSG:4326) on `field_id`, columns in DEVELOPERS.md; `route`: one row a stop;
    `notes`: what the reader of the whole plan must know.
    """

    region: Region
    settings: Settings
    season: Season
    fields: gpd.GeoDataFrame
    route: pd.DataFrame
    notes: tuple[Reason, ...]


def make_plan(region: Region, settings: Settings, tell: Tell = quiet) -> Plan:
    """Return the plan of a region for the day `settings.on`.

    Reads no file but the freeze layer's windows, and neither clock nor network. Raises InputError where the freeze
    layer does not reach the chance asked for, and whatever `tell` raises to stop the run.
    """
    season = season_of(settings.on, region.season_start)
    fields, numbers = region.fields, grass_numbers(region.fields, region.grasses)
    grown = _growth(fields, numbers, season)
    tell("freeze dates", 0.0)
    fields = fields.join(killing_freezes(fields, region.freeze, season, settings))
    fields = fields.join(last_cuts(fields, numbers, grown))
    fields = _with_stand(fields, numbers, grown, region, season, settings)
    tell("soil", 0.0)
    fields = fields.join(
        soil_flags(fields, numbers, region.soil_tests, region.survey, region.schemes, settings.on)
    )
    route = _checked_route(fields, region, settings, tell)
    fields = fields.join(route.fields)
    fields = fields.join(advice(fields.join(numbers.drop(columns=["stubble_cm", "regrowth_days"])), settings))
    tell("plan", 1.0)
    return Plan(
        region, settings, season, fields, route.stops, (*_notes(fields, region, settings), *route.notes)
    )


def _growth(fields: gpd.GeoDataFrame, numbers: pd.DataFrame, season: Season) -> Growth:
    days = growing_year(season)
    latitudes = fields.geometry.representative_point().y
    rows = np.unique(np.round(latitudes / LATITUDE_STEP_DEG)) * LATITUDE_STEP_DEG
    hours = day_length_h(rows[:, None], days.day_of_year.to_numpy()[None, :])
    return growth(numbers, latitudes, pd.DataFrame(hours, index=rows, columns=days))


def _with_stand(
    fields: gpd.GeoDataFrame,
    numbers: pd.DataFrame,
    grown: Growth,
    region: Region,
    season: Season,
    settings: Settings,
) -> gpd.GeoDataFrame:
    """Return the fields with what is known of each stand today, its ready date, stage and days left."""
    stands = stands_on(fields, region.season_log, settings.on, season.start)
    today = pd.Series(pd.Timestamp(settings.on), index=fields.index)
    fields = fields.assign(
        **stands,
        stubble_cm=numbers["stubble_cm"],
        ready_date=ready_dates(stands, numbers, grown),
        canopy_now_cm=canopy_cm(stands, numbers, grown, today),
        forecast_freeze_date=forecast_freezes(
            fields, region.outlook, numbers["killing_freeze_c"], settings.on
        ),
        days_left=days_left(fields["last_cut_date"], settings.on),
    )
    return fields.assign(
        stage=stages(fields, settings.on, settings.freeze_cut_days),
        urgency=urgency_class(fields["days_left"]),
    )


def _checked_route(fields: gpd.GeoDataFrame, region: Region, settings: Settings, tell: Tell) -> CuttingRoute:
    areas = sorted(set(fields["area"]))
    workdays = workable_days(region.crews, region.outlook, areas, region.drying_days, settings)
    route = cutting_route(fields, region.roads, region.crews, workdays, settings, tell)
    faults = check_route(route.stops, fields, region.crews, workdays, route.travel, settings)
    if faults:
        raise AssertionError("the route breaks its own rules: " + "; ".join(faults))
    return route


def _notes(fields: gpd.GeoDataFrame, region: Region, settings: Settings) -> Iterator[Reason]:
    if fields["freeze_cover_share"].gt(0).any():
        seasons = fields["freeze_seasons"].max()
        yield reason(
            "note_statistics", chance=settings.chance, seasons="" if pd.isna(seasons) else int(seasons)
        )
    yield from _absent(fields, region, settings)
    for area, freeze_date in fields.groupby("area")["killing_freeze_recorded_date"].min().dropna().items():
        yield reason("note_freeze_recorded", area=area, freeze_date=freeze_date)
    for problem in region.told:
        yield reason("note_input", line=str(problem))


def _absent(fields: gpd.GeoDataFrame, region: Region, settings: Settings) -> Iterator[Reason]:
    counts = {
        "note_no_freeze_data": int((~(fields["freeze_cover_share"] > 0)).sum()),
        "note_no_grass": int((fields["grass"] == "").sum()),
    }
    for code, count in counts.items():
        if count:
            yield reason(code, count=count)
    if region.crews.empty:
        yield reason("note_no_crews")
    elif region.outlook.empty:
        yield reason("note_no_outlook", days=settings.horizon_days)
    elif region.outlook["date"].max() < pd.Timestamp(settings.on + timedelta(days=settings.horizon_days - 1)):
        yield reason("note_outlook_ends", last_date=region.outlook["date"].max())
    if region.roads is None and not region.crews.empty:
        yield reason("note_no_roads", circuity=settings.circuity)
    if region.soil_tests.empty and region.survey is None:
        yield reason("note_no_soil")
