"""The small values that travel between the rooms: a grid, a freeze layer, a grass, a rating scheme, the hay."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

COMMON_YEAR = 2001  # any year of 365 days
AVERAGE_CHANCE = 0.5  # the average date is the one that has come in half of the seasons
GROWING_MONTHS = 4  # before the season's first day, the growing year begins; common practice, no source
NORTHERN_START = 8  # month in which a northern season begins, as the rule files take it
NUTRIENTS = ("p", "k", "mg")
NO_FREEZE_BAND, SEASONS_BAND = "no_freeze_share", "valid_seasons"  # bands that a layer of chances may have
SAME_THRESHOLD_C = 0.05  # thresholds nearer than this are one: 28 F is written as -2.2 too


def is_southern(season_start: tuple[int, int]) -> bool:
    """Return whether a season that begins on this (month, day) is one of the southern half of the world."""
    return season_start[0] < NORTHERN_START - 1


@dataclass(frozen=True)
class Grid:
    """A north-up raster grid: rows count south, columns count east."""

    crs: Any  # pyproj.CRS
    left: float
    top: float
    cell_width: float
    cell_height: float  # positive
    rows: int
    columns: int


@dataclass(frozen=True)
class Window:
    """A block of cells: `row`, `column` of its first cell, and its size."""

    row: int
    column: int
    rows: int
    columns: int


@dataclass(frozen=True)
class MoreBands:
    """What a layer of chances knows besides its dates, by name.

    `error_days 0.1` and so on: standard error of the day of that chance [days]; `valid_seasons`: seasons behind the
    dates; `no_freeze_share`: share of those without a freeze. `read(window)` gives float32 (bands, rows, columns)
    in the order of `names`; NaN unknown.
    """

    names: tuple[str, ...]
    read: Callable[[Window], NDArray[np.float32]]


def error_band(chance: float) -> str:
    """Return the name of the band that holds the error of a chance's day."""
    return f"error_days {chance:g}"


@dataclass(frozen=True)
class FreezeLayer:
    """Dates of the first freeze at or below `threshold_c` [deg C] on a grid.

    `read(window)` gives float32 (bands, rows, columns): days since the season's first day, or days of the year
    where `day_count` is "year" (1 January is 1); NaN unknown, +inf known never. `kind` says what a band is: one
    of `chances` (share of seasons, ascending), or one season.
    """

    kind: Literal["chances", "seasons"]
    threshold_c: float
    grid: Grid
    chances: tuple[float, ...]  # empty where kind is "seasons"
    seasons: tuple[int, ...]  # first calendar year of each band's season; empty where kind is "chances"
    day_count: Literal["season_start", "year"]
    read: Callable[[Window], NDArray[np.float32]]
    name: str  # the file, for messages
    more: MoreBands | None = None  # of a layer of chances that has them


@dataclass(frozen=True)
class Grass:
    """The numbers of one grass, from its rule file; `sources` says where each comes from, by key."""

    grass: str
    name: str
    killing_freeze_c: float
    regrowth_days: int
    least_regrowth_days: int
    target_height_cm: float  # canopy that should stand at the killing freeze
    stubble_cm: float
    cutting_interval_days: int
    harvest_height_cm: float  # canopy worth an early cut
    freeze_cut_height_cm: float
    short_freeze_cut_height_cm: float  # only when hay is short
    growth_cm_day_h: float  # canopy growth a day for each hour of day length above the limit
    growth_day_length_h: float  # day length at which growth stops
    growth_low_share: float  # of the growth by the line: what the lowest published figure makes of it
    growth_high_share: float  # and the highest
    last_cut_cap: tuple[int, int] | None  # (month, day) after which no early cut is made
    target_ph: float
    very_low_ph: float
    high_ph: float
    may_burn: bool
    weak_evidence: bool
    sources: Mapping[str, str]
    last_cut_rule: bool = True  # False for annuals: no regrowth is kept for the winter
    freeze_cut: bool = True
    burn_hurts: tuple[str, ...] = ()  # cultivars that burning may hurt
    published_days_before_average: float = (
        math.nan
    )  # a published last-cut rule: days before the average freeze
    cautions: tuple[str, ...] = ()  # codes of cautions: prussic_acid, ergot, nitrate


@dataclass(frozen=True)
class GrowthRules:
    """What temperature does to growth: base and best [deg C], the most it adds, and the rule's own place by month."""

    base_temperature_c: float
    best_temperature_c: float
    most_warmth_share: float
    rule_place_c: tuple[float, ...]


@dataclass(frozen=True)
class RatingScheme:
    """Limits that turn a soil test into words, for one extractant and soil group; or an add-on's formula for them."""

    scheme: str
    name: str
    extractant: str
    soil_group: str  # "" where the scheme has only one
    ratings: tuple[str, ...]  # from lowest to highest
    classes: tuple[str, ...]  # what each of them comes to: low, medium or enough
    limits_mg_kg: Mapping[str, tuple[float, ...]]  # nutrient -> upper limits, inclusive, fewer than ratings
    source: str
    grasses: tuple[str, ...] = ()  # those it is made for; empty for any
    unit: Literal["mg/kg", "index"] = "mg/kg"  # of limits_mg_kg: a laboratory's index where it says so
    formula: str = ""  # name of an add-on of spatial.soil_ratings that rates in place of limits
    mg_without_lime_kg_ha: float = math.nan  # Mg that its source gives where Mg is low and no lime is due


@dataclass(frozen=True)
class HayRules:
    """The numbers of the hay; `sources` says where each comes from, by key."""

    dry_matter_low_kg_ha_cm: float  # of canopy above the stubble
    dry_matter_high_kg_ha_cm: float
    least_growth_cm: float  # above the stubble; less gives no measurable yield
    quality_grasses: tuple[str, ...]  # the grasses that the quality was published for
    quality_days: tuple[float, ...]  # intervals between cuts, rising
    crude_protein_share: tuple[float, ...]  # of dry matter, one for each interval
    crude_protein_error_share: tuple[float, float]  # (below, above)
    digestibility_share: tuple[float, ...]
    digestibility_error_share: tuple[float, float]  # (below, above)
    intake_share: float  # dry matter eaten a day, of body weight
    dry_matter_share: float  # of hay as it lies
    waste_share: float  # of hay fed that is not eaten
    sources: Mapping[str, str]


@dataclass(frozen=True)
class RemovalRules:
    """What a tonne of hay as it lies takes out of a field [kg], by grass and nutrient: lowest and highest known.

    Nutrients are n, p2o5, k2o, s and mg; what is not there is not known. `sources` has the same keys.
    """

    kg_t: Mapping[str, Mapping[str, tuple[float, float]]]
    sources: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class GroundRules:
    """From where on ground is wet or steep, and how much of a field must be; `sources` says where each comes from."""

    wet_from: str  # the driest drainage class that is wet
    wet_share: float  # of the field; as much is told
    steep_slope_share: float  # rise over run
    steep_share: float  # of the field; as much is told
    sources: Mapping[str, str]
