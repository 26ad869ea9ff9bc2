"""A region and its settings in, a plan out: dates, flags, a route and advice for every field."""

from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from spatial.agronomy.advice import advice
from spatial.agronomy.deadline import last_cuts, stages
from spatial.agronomy.regrowth import ready_dates
from spatial.agronomy.soil import soil_flags
from spatial.climate.frost import killing_freezes
from spatial.climate.seasons import Season, season_of
from spatial.errors import Tell, quiet
from spatial.inputs.region import Region
from spatial.reasons import Reason
from spatial.routing.route import CuttingRoute, cutting_route
from spatial.routing.workdays import workable_days
from spatial.settings import Settings


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
