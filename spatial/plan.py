"""A region and its settings in, a plan out: dates, flags, a route and advice for every field."""

from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from spatial.agronomy.advice import advice, short_freeze_cut_last
from spatial.agronomy.calendar import season_calendar
from spatial.agronomy.deadline import days_left, last_cuts, stages
from spatial.agronomy.grass import grass_numbers
from spatial.agronomy.hay import expected_hay, hay_quality, hay_reasons
from spatial.agronomy.hay_need import hay_need, need_reasons
from spatial.agronomy.pests import eaten_cm, pest_reasons
from spatial.agronomy.regrowth import Growth, canopy_cm, ready_dates
from spatial.agronomy.risk import cuts_by_chance, risk_curves
from spatial.agronomy.season_facts import green_up_dates
from spatial.agronomy.soil.hay_taken import hay_taken
from spatial.agronomy.soil.known import known_soil, parts_to_sample
from spatial.agronomy.soil.nutrients import k2o_wanted, nutrient_reasons, removal
from spatial.agronomy.soil.purchases import purchases
from spatial.agronomy.stand import stands_on
from spatial.agronomy.stand_record import stand_record
from spatial.agronomy.winter import in_window, tasks
from spatial.climate.chances import SHOWN_CHANCES, FreezeChances, freeze_chances
from spatial.climate.forecast import dry_ahead, forecast_freezes
from spatial.climate.frost import freeze_cells, killing_freezes
from spatial.climate.in_season import freeze_outlook, outlook_reasons
from spatial.climate.seasons import Season, growing_year, season_of
from spatial.errors import Tell, quiet
from spatial.growing import growth_at
from spatial.inputs.region import Region
from spatial.notes import idle_days, notes
from spatial.reasons import Reason
from spatial.routing.check_route import check_route
from spatial.routing.route import CuttingRoute, cutting_route
from spatial.routing.urgency import urgency_class
from spatial.routing.workdays import workable_days
from spatial.settings import Settings


@dataclass(frozen=True)
class Plan:
    """What was worked out.

    `fields`: GeoDataFrame (EPSG:4326) on `field_id`, columns in DEVELOPERS.md; `route`: one row a stop; `chances`:
    freeze dates of the fields over chances; `clients`: how each client's hay stands; `purchases`: the lime and K2O to
    buy; `sample_parts`: the part of a field to sample first; `notes`: what the reader of the whole plan must know.
    """

    region: Region
    settings: Settings
    season: Season
    fields: gpd.GeoDataFrame
    route: pd.DataFrame
    chances: FreezeChances
    clients: pd.DataFrame
    purchases: pd.DataFrame
    sample_parts: gpd.GeoDataFrame
    notes: tuple[Reason, ...]


def make_plan(region: Region, settings: Settings, tell: Tell = quiet) -> Plan:
    """Return the plan of a region for the day `settings.on`.

    Reads no file but the freeze layer's windows, and neither clock nor network. Raises InputError where the freeze
    layer does not reach the chance asked for, and whatever `tell` raises to stop the run.
    """
    season = season_of(settings.on, region.season_start)
    fields, numbers = region.fields, grass_numbers(region.fields, region.grasses)
    places = fields.geometry.representative_point()
    grown = growth_at(numbers, places.y, places.x.mean(), region, season)
    tell("freeze dates", 0.0)
    cells = freeze_cells(fields, region.freeze, season)
    fields = fields.join(killing_freezes(fields, cells, settings))
    chances = freeze_chances(fields, cells, sorted({*SHOWN_CHANCES, settings.chance}))
    fields = fields.join(last_cuts(fields, numbers, grown))
    fields = fields.join(risk_curves(fields, chances.season_days, season.start))
    fields = fields.join(_at_chances(fields, chances, numbers, grown, settings))
    fields = _with_stand(fields, numbers, grown, region, season, settings)
    fields = fields.join(freeze_outlook(fields, chances, season, settings.on))
    tell("soil", 0.0)
    # Copied, so that the many columns lie in one block again.
    fields = fields.join(known_soil(fields, numbers, region.soil, settings.on)).copy()
    workdays = workable_days(
        region.crews, region.outlook, sorted(set(fields["area"])), region.drying_days, settings
    )
    route = _checked_route(fields, region, workdays, settings, tell)
    fields = fields.join(route.fields)
    clients, fields = _with_hay(fields, numbers, grown, region, settings)
    fields = _with_nutrients(fields, numbers, region, season, settings)
    fields = _with_words(fields, numbers, region, season, settings, chances)
    said = (*notes(fields, clients, region, settings), *idle_days(workdays, region, settings), *route.notes)
    sampled_first = parts_to_sample(fields, numbers, region.soil)
    tell("plan", 1.0)
    stops, bought, shown = route.stops, purchases(fields), _known_only(fields)
    return Plan(region, settings, season, shown, stops, chances, clients, bought, sampled_first, said)


def _at_chances(
    fields: gpd.GeoDataFrame, chances: FreezeChances, numbers: pd.DataFrame, grown: Growth, settings: Settings
) -> pd.DataFrame:
    """Return what the fields' dates are at each chance shown, and the error of the chosen one."""
    shown = list(SHOWN_CHANCES)
    cuts = cuts_by_chance(
        chances.dates[shown], chances.error_days[shown], fields["freeze_cover_share"], numbers, grown
    )
    watch = chances.dates[SHOWN_CHANCES[0]]
    return cuts.assign(watch_freeze_date=watch, freeze_error_days=chances.error_days[settings.chance])


def _with_stand(
    fields: gpd.GeoDataFrame,
    numbers: pd.DataFrame,
    grown: Growth,
    region: Region,
    season: Season,
    settings: Settings,
) -> gpd.GeoDataFrame:
    """Return the fields with what is known of each stand today, its ready date, stage and days left."""
    on, log = settings.on, region.season_log
    by_light = pd.Series(grown.ends, index=fields.index).astype("datetime64[ns]")
    fields = fields.assign(
        **stands_on(fields, log, on, season.start, growing_year(season)[0].date()),
        stubble_cm=numbers["stubble_cm"],
        season_start_date=pd.Timestamp(season.start),
        ask_date=fields["late_freeze_date"].fillna(by_light.where(fields["freeze_cover_share"] > 0)),
        days_left=days_left(fields["last_cut_date"], on),
    )
    fields = fields.join(forecast_freezes(fields, region.outlook, numbers["killing_freeze_c"], on))
    fields = fields.assign(eaten_cm=eaten_cm(log, fields, on))
    eaten = fields["eaten_cm"]
    uneaten = fields.assign(height_cm=(fields["height_cm"] - eaten).clip(lower=0))
    # Nothing has grown since a recorded freeze.
    until = fields["killing_freeze_recorded_date"].fillna(pd.Timestamp(on))
    fields = fields.assign(
        ready_date=ready_dates(uneaten, numbers, grown),
        canopy_now_cm=(canopy_cm(fields, numbers, grown, until) - eaten).clip(lower=0),
        canopy_low_cm=(canopy_cm(fields, numbers, grown, until, numbers["growth_low_share"]) - eaten).clip(
            lower=0
        ),
        canopy_high_cm=canopy_cm(fields, numbers, grown, until, numbers["growth_high_share"]) - eaten,
        green_up_date=green_up_dates(log, fields, on, season.start),
    )
    return fields.assign(
        stage=stages(fields, on, settings.freeze_cut_days), urgency=urgency_class(fields["days_left"])
    )


def _checked_route(
    fields: gpd.GeoDataFrame, region: Region, workdays: pd.DataFrame, settings: Settings, tell: Tell
) -> CuttingRoute:
    route = cutting_route(fields, region.roads, region.crews, workdays, settings, tell)
    faults = check_route(route.stops, fields, region.crews, workdays, route.travel, settings)
    if faults:
        raise AssertionError("the route breaks its own rules: " + "; ".join(faults))
    return route


def _with_hay(
    fields: gpd.GeoDataFrame, numbers: pd.DataFrame, grown: Growth, region: Region, settings: Settings
) -> tuple[pd.DataFrame, gpd.GeoDataFrame]:
    """Return how each client's hay stands, and the fields with the hay that their next cut may give."""
    today = pd.Timestamp(settings.on)
    cut = fields["cut_date"].fillna(fields["ready_date"].where(fields["ready_date"] > today, today))
    open_early = fields["stage"].isin(["growing", "ready"]) & (cut <= fields["last_cut_date"])
    frozen = fields["stage"].eq("freeze_cut") & numbers["freeze_cut"]
    cut = cut.where(~frozen, today).where(open_early | frozen)
    height_cm = canopy_cm(fields, numbers, grown, cut) - fields["eaten_cm"]
    hay = expected_hay(height_cm, numbers["stubble_cm"], region.hay_rules)
    interval = (cut - fields["previous_cut_date"]).dt.days.where(open_early)
    hay = hay.join(hay_quality(interval, fields["grass"], region.hay_rules)).assign(interval_days=interval)
    fields = fields.assign(
        **hay[["hay_low_t_ha", "hay_high_t_ha"]],
        hay=hay_reasons(hay).where(
            open_early & fields["intent"].eq("hay"), other=pd.Series([()] * len(fields), fields.index)
        ),
        may_be_cut=cut.notna() & fields["intent"].eq("hay"),
    )
    clients = hay_need(region.clients, fields, region.hay_rules)
    short = clients.index[clients["short"].eq(True).fillna(False).astype(bool)]
    fields = fields.assign(hay_short=fields["client"].isin(short))
    return clients.assign(reasons=need_reasons(clients)), fields


def _with_nutrients(
    fields: gpd.GeoDataFrame, numbers: pd.DataFrame, region: Region, season: Season, settings: Settings
) -> gpd.GeoDataFrame:
    """Return the fields with the hay taken off this growing year, what it took out of the soil, and what K asks for."""
    since = growing_year(season)[0].date()
    as_given = fields.assign(previous_cut_date=region.fields["previous_cut_date"])  # a cut, not a grazing
    taken = hay_taken(as_given, numbers, region.season_log, region.hay_rules, since, settings.on)
    fields = fields.join(taken).join(removal(fields, taken, region.soil.removal))
    fields = fields.assign(k2o_wanted=k2o_wanted(fields))
    return fields.assign(nutrients=nutrient_reasons(fields.join(numbers["grass_name"])))


def _with_words(
    fields: gpd.GeoDataFrame,
    numbers: pd.DataFrame,
    region: Region,
    season: Season,
    settings: Settings,
    chances: FreezeChances,
) -> gpd.GeoDataFrame:
    """Return the fields with their advice, the season's jobs and the record of the stand."""
    on, log = settings.on, region.season_log
    calendar = season_calendar(region.calendar, season.start)
    last_calendar = season_calendar(region.calendar, season.start.replace(year=season.year - 1))
    whole = fields.join(numbers.drop(columns="stubble_cm"))
    drying = region.drying_days[on.month]
    record = stand_record(whole, log, region.soil.tests, on, region.season_start)
    whole = whole.assign(
        burn_now=in_window(calendar, "thatch", on),
        weeds_now=in_window(calendar, "weeds", on),
        drying_days=drying,
        dry_ahead=dry_ahead(fields, region.outlook, drying, settings.rain_limit_share, on),
        short_freeze_cut_last_date=record.map(short_freeze_cut_last),
        pests=pest_reasons(log, fields, on, region.season_start),
        freeze_outlook=outlook_reasons(fields, chances, on),
    )
    return fields.join(advice(whole, settings)).assign(
        tasks=tasks(whole, calendar, last_calendar, on), stand_record=record
    )


def _known_only(fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the fields without the ready date of a stand of which nothing is known."""
    known = fields["previous_cut_date"].notna() | fields["height_cm"].notna()
    return fields.drop(columns=["season_start_date"]).assign(ready_date=fields["ready_date"].where(known))
