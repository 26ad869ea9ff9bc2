"""What the reader of a whole plan must know: statistics, what is absent, what was mended."""

from collections.abc import Iterator
from datetime import date, timedelta

import geopandas as gpd
import pandas as pd

from spatial.inputs.region import Region
from spatial.reasons import Reason, reason
from spatial.settings import Settings

CAUTIOUS_CHANCE = 0.2
LONG_REGROWTH_DAYS = 42  # six weeks, which go with the average date: Hancock, Univ. of Georgia


def notes(
    fields: gpd.GeoDataFrame, clients: pd.DataFrame, region: Region, settings: Settings
) -> Iterator[Reason]:
    """Give the notes of a plan, those that weigh most first."""
    yield from _statistics(fields, region, settings)
    yield from _absent(fields, region, settings)
    uncounted = int((clients["need_t"].isna() & ~clients["short"].eq(True).fillna(False).astype(bool)).sum())
    if uncounted:
        yield reason("note_hay_not_counted", count=uncounted)
    recorded = fields[fields["killing_freeze_recorded_date"].notna() & (fields["area"] != "")]
    log = region.season_log
    by_area = set(log.loc[(log["fact"] == "killing_freeze") & (log["field_id"] == ""), "area"])
    for area, freeze_date in recorded.groupby("area")["killing_freeze_recorded_date"].min().items():
        if area in by_area:
            yield reason("note_freeze_recorded", area=area, freeze_date=freeze_date)
    for problem in region.told:
        yield reason("note_input", line=str(problem))


def _statistics(fields: gpd.GeoDataFrame, region: Region, settings: Settings) -> Iterator[Reason]:
    if not fields["freeze_cover_share"].gt(0).any():
        return
    seasons = fields["freeze_seasons"].max()
    if pd.isna(seasons):
        yield reason("note_statistics_chances", chance=settings.chance)
    else:
        yield reason("note_statistics", chance=settings.chance, seasons=int(seasons))
    used = [
        grass
        for name, grass in region.grasses.items()
        if name in set(fields["grass"]) and grass.last_cut_rule
    ]
    longest = max((grass.regrowth_days for grass in used if grass.last_cut_cap is None), default=0)
    if settings.chance <= CAUTIOUS_CHANCE and longest >= LONG_REGROWTH_DAYS:
        yield reason("note_risk_twice", chance=settings.chance, regrowth_days=longest)


def _absent(fields: gpd.GeoDataFrame, region: Region, settings: Settings) -> Iterator[Reason]:
    counts = {
        "note_no_freeze_data": int((~(fields["freeze_cover_share"] > 0)).sum()),
        "note_no_grass": int((fields["grass"] == "").sum()),
    }
    for code, count in counts.items():
        if count:
            yield reason(code, count=count)
    yield from _outlook(region, settings)
    if region.roads is None and not region.crews.empty:
        yield reason("note_no_roads", circuity=settings.circuity)
    if region.temperature.empty and (fields["last_cut_limit"] == "growth").any():
        yield reason("note_growth_by_light")
    soil = region.soil
    if soil.tests.empty and soil.survey is None and not soil.rasters:
        yield reason("note_no_soil")
    yield from future_tests(soil.tests, fields.index, settings.on)


def future_tests(tests: pd.DataFrame, field_ids: pd.Index, on: date) -> Iterator[Reason]:
    """Give a note where lab tests of the fields are dated after day `on`, which are not used."""
    later = tests["field_id"].isin(field_ids) & (tests["sample_date"] > pd.Timestamp(on))
    if later.any():
        yield reason("note_future_tests", count=int(later.sum()), on_date=on)


def _outlook(region: Region, settings: Settings) -> Iterator[Reason]:
    last = region.outlook["date"].max()
    horizon_end = pd.Timestamp(settings.on + timedelta(days=settings.horizon_days - 1))
    if region.crews.empty:
        yield reason("note_no_crews")
    elif region.outlook.empty:
        yield reason("note_no_outlook", days=settings.horizon_days)
    elif last < pd.Timestamp(settings.on) or region.outlook["date"].min() > horizon_end:
        yield reason("note_outlook_stale", last_date=last)
    elif last < horizon_end:
        yield reason("note_outlook_ends", last_date=last)


def idle_days(workdays: pd.DataFrame, region: Region, settings: Settings) -> Iterator[Reason]:
    """Give the days of the outlook on which no crew can mow, where there are crews and some days."""
    days = pd.date_range(settings.on, periods=settings.horizon_days)
    told = days[days.isin(region.outlook["date"])]
    idle = [day for day in told if day not in set(workdays["date"])]
    if idle and not region.crews.empty:
        yield reason("note_idle_days", dates=tuple(idle))
