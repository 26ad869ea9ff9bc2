"""The values of the soil: rasters of it, laboratories, and how lime is reckoned."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spatial.values import Grid, GroundRules, RatingScheme, RemovalRules, Window

SoilValue = Literal["ph", "p", "k", "mg"]

TOP_CM = 15.0  # the topsoil that a mapped value stands for
RATING_CLASSES = ("low", "medium", "enough")  # what a scheme's words come to, from lowest to highest

# A sample older than this [days] sets nothing. pH three years, K a season: from memory; P and Mg: common practice.
OLD_SAMPLE_DAYS = {"ph": 3 * 365, "k": 365, "p": 3 * 365, "mg": 3 * 365}

# The drainage classes of the public soil survey, from dry to wet.
DRAINAGE = (
    "excessively drained",
    "somewhat excessively drained",
    "well drained",
    "moderately well drained",
    "somewhat poorly drained",
    "poorly drained",
    "very poorly drained",
)


@dataclass(frozen=True)
class SoilRaster:
    """A grid of pH, P, K or Mg of the topsoil, its depth bands brought to one.

    `read(window)` gives float32 (1, rows, columns): pH, or mg/kg; NaN unknown. `made_date` is NaT where unsaid.
    """

    value: SoilValue
    grid: Grid
    read: Callable[[Window], NDArray[np.float32]]
    extractant: str  # of P, K and Mg; "" where unsaid
    soil_group: str
    made_date: pd.Timestamp
    name: str  # the file, for messages


@dataclass(frozen=True)
class Laboratory:
    """What a region says of a laboratory: stands for empty cells of its reports, as its reports say it themselves."""

    ph_method: str = ""
    buffer: str = ""
    extractant: str = ""
    unit: str = ""  # of P, K and Mg where a column does not say its own
    soil_group: str = ""
    depth_cm: float = math.nan
    lime_quality_share: float = math.nan  # effective part of the lime that its lime rates are in


@dataclass(frozen=True)
class LimeMethod:
    """A way from a sample's pH and buffer pH to lime, from a file in rules/lime.

    `formula` names a built-in or an add-on of `spatial.lime_methods`; where it is empty, `table` is looked up. Rates
    are in `lime` of `quality_share` (effective CaCO3 as a share) for a layer of `depth_cm`; NaN where its source
    does not say.
    """

    method: str  # the file's stem
    name: str
    buffers: tuple[str, ...]  # what a laboratory may call the buffer
    source: str
    lime: str = "lime"  # what its rates are tons of
    quality_share: float = math.nan
    depth_cm: float = math.nan
    depth_source: str = ""
    formula: str = ""
    table: tuple[tuple[float, float], ...] = ()  # (least buffer pH, rate [t/ha]), falling by buffer pH
    grasses: tuple[str, ...] = ()  # those it is for; empty: all
    least_buffer_ph: float = 4.0
    most_buffer_ph: float = 8.0  # no sample reads more in this buffer
    only_below_ph: float = math.nan  # no lime from this pH up
    target_ph: float = math.nan  # the one target that a table is for; NaN: any
    least_t_ha: float = 0.0  # a smaller rate is no lime


@dataclass(frozen=True)
class LimeProduct:
    """The lime that is to be spread: its name and its effective part (RNV, ECCE), up to 1.3."""

    name: str
    quality_share: float


@dataclass(frozen=True)
class LimeRules:
    """How a region limes: methods, laboratories, the product, and what one surface application may carry."""

    methods: tuple[LimeMethod, ...]
    laboratories: Mapping[str, Laboratory] = field(default_factory=dict)
    product: LimeProduct | None = None
    depth_cm: float = math.nan  # depth to lime; NaN: the method's own
    most_t_ha: float = math.nan  # product in one surface application


@dataclass(frozen=True)
class Soil:
    """All that a region knows of its soil, and the rules it is judged by.

    `tests` has the columns of SOIL_TESTS and a `field_id` in every row that lies in a field; `survey` polygons with
    the columns of SURVEY (its date and name in `attrs`), None where there is none.
    """

    tests: pd.DataFrame
    survey: gpd.GeoDataFrame | None
    rasters: tuple[SoilRaster, ...]
    schemes: tuple[RatingScheme, ...]
    lime: LimeRules
    ground: GroundRules
    removal: RemovalRules
