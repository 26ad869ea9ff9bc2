"""What only shows when the parts of a region are seen together: grasses, thresholds, ids and areas that must fit."""

from collections.abc import Mapping
from typing import Protocol

import geopandas as gpd
import pandas as pd

from spatial.inputs.cells import code_of
from spatial.inputs.checks import Report, listed
from spatial.inputs.freeze import check_cells
from spatial.inputs.soil.survey_fit import tell_survey_fit
from spatial.soil import Soil
from spatial.units import farmer_units
from spatial.values import SAME_THRESHOLD_C, FreezeLayer, Grass, is_southern

FAR_YARD_DEG = 5.0  # a yard farther than this from the fields is a mistake: from memory


class Parts(Protocol):
    """The parts of a region that must fit each other."""

    @property
    def fields(self) -> gpd.GeoDataFrame:
        """Return the fields on `field_id`."""

    @property
    def grasses(self) -> Mapping[str, Grass]:
        """Return the grasses by name."""

    @property
    def freeze(self) -> FreezeLayer | None:
        """Return the freeze layer."""

    @property
    def soil(self) -> Soil:
        """Return what is known of the soil; its tests have their `field_id`."""

    @property
    def outlook(self) -> pd.DataFrame:
        """Return the outlook with its `area`."""

    @property
    def crews(self) -> pd.DataFrame:
        """Return the crews with yard_lon and yard_lat."""

    @property
    def season_start(self) -> tuple[int, int]:
        """Return the month and day on which a season begins."""

    @property
    def season_log(self) -> pd.DataFrame:
        """Return the season log with `field_id` and `area`."""


def check_together(region: Parts, report: Report) -> None:
    """Report unknown grasses, a freeze layer that does not serve them, and rows about fields or areas not there."""
    _check_grasses(region, report)
    _check_hemisphere(region, report)
    _check_yards(region, report)
    if region.freeze is not None:
        _check_threshold(region, region.freeze, report)
        check_cells(region.freeze, region.fields, report)
    if region.soil.survey is not None:
        tell_survey_fit(region.fields, region.soil.survey, report)
    _tell_repeats(region.outlook, report)
    for part, table in (("soil_tests", region.soil.tests), ("season_log", region.season_log)):
        _tell_strangers(part, "field", table["field_id"], region.fields.index, report)
    for part, table in (("outlook", region.outlook), ("season_log", region.season_log)):
        _tell_strangers(part, "area", table["area"], region.fields["area"], report)


def _tell_repeats(outlook: pd.DataFrame, report: Report) -> None:
    repeated = outlook[outlook.duplicated(["date", "area"])].drop_duplicates(["date", "area"])
    for row in repeated.itertuples():
        place = f"{row.date:%Y-%m-%d} {row.area}".strip()
        report.tell(
            "outlook", place, "stands in more than one row", "The rainier and the colder count; keep one"
        )


def _check_hemisphere(region: Parts, report: Report) -> None:
    if region.fields.empty:
        return
    south = region.fields.total_bounds[3] < 0
    if south != is_southern(region.season_start):
        where, start = ("south", "02-01") if south else ("north", "08-01")
        cause = f"does not fit fields {where} of the equator"
        report.refuse("region.toml", "season_start", cause, f'Write season_start = "{start}"')


def _check_yards(region: Parts, report: Report) -> None:
    if region.fields.empty or region.crews.empty:
        return
    west, south, east, north = region.fields.total_bounds
    lon, lat = region.crews["yard_lon"], region.crews["yard_lat"]
    near = lon.between(west - FAR_YARD_DEG, east + FAR_YARD_DEG) & lat.between(
        south - FAR_YARD_DEG, north + FAR_YARD_DEG
    )
    for crew in region.crews.index[~near & lon.notna() & lat.notna()]:
        mend = "Check yard_lon and yard_lat; are they swapped?"
        report.refuse("crews", f"crew {crew!r}", "has its yard far from every field", mend)


def with_grass_codes(fields: gpd.GeoDataFrame, grasses: Mapping[str, Grass]) -> gpd.GeoDataFrame:
    """Return the fields with each grass under its rule file's name, also where its shown name was written."""
    names = {name: name for name in grasses} | {grass.name: name for name, grass in grasses.items()}
    known = dict(zip(code_of(pd.Series(list(names), dtype=object)), names.values(), strict=True))
    codes = code_of(fields["grass"]).map(known)
    return fields.assign(grass=fields["grass"].where(codes.isna(), codes).astype(object))


def _check_grasses(region: Parts, report: Report) -> None:
    for field_id, grass in region.fields["grass"].items():
        if grass and grass not in region.grasses:
            report.refuse(
                "fields",
                f"field {field_id!r}, grass = {grass!r}",
                "is not known",
                f"Use one of: {', '.join(region.grasses)}",
            )


def _check_threshold(region: Parts, layer: FreezeLayer, report: Report) -> None:
    for name in sorted(set(region.fields["grass"]) & set(region.grasses)):
        grass = region.grasses[name]
        if abs(layer.threshold_c - grass.killing_freeze_c) > SAME_THRESHOLD_C:
            has_f, needs_f = (
                farmer_units(c, "_c", "_f") for c in (layer.threshold_c, grass.killing_freeze_c)
            )
            cause = f"is {has_f:.1f} F, but {grass.name} needs {needs_f:.1f} F"
            mend = "Bring a layer of that threshold, or set the grass's killing freeze in a rule file of your own"
            report.refuse(layer.name, "threshold", cause, mend)


def _tell_strangers(
    part: str, word: str, names: pd.Series, known: pd.Index | pd.Series, report: Report
) -> None:
    strangers = sorted(set(names) - set(known) - {""})
    if strangers:
        place = listed(word, map(repr, strangers))
        report.tell(
            part, place, f"not among the {word}s, so its rows are not used", "Check how it is spelled"
        )
