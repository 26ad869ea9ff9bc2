"""A region folder, read whole: fields, freeze layer, soil, roads, crews and what is said about them."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.columns import CLIENTS, CONTEXT, OUTLOOK, ROADS, TEMPERATURE, Column
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.crews import no_crews, read_crews
from spatial.inputs.fields import read_fields, with_areas
from spatial.inputs.freeze import read_freeze
from spatial.inputs.layers import mend, read_layer
from spatial.inputs.region_file import read_region_file, settings_said
from spatial.inputs.rules import (
    read_calendar,
    read_drying_days,
    read_grasses,
    read_growth_rules,
    read_hay_rules,
    read_road_speeds,
)
from spatial.inputs.season_log import read_season_log
from spatial.inputs.soil.ground_rules import read_ground_rules
from spatial.inputs.soil.lab_tests import read_soil_tests
from spatial.inputs.soil.lime import read_lime_rules
from spatial.inputs.soil.rasters import read_soil_rasters
from spatial.inputs.soil.removal_rules import read_removal_rules
from spatial.inputs.soil.schemes import read_schemes
from spatial.inputs.soil.survey import read_survey
from spatial.inputs.tables import empty_table, read_table
from spatial.inputs.together import check_together, with_grass_codes
from spatial.soil import Soil
from spatial.values import NORTHERN_START, FreezeLayer, Grass, GrowthRules, HayRules

CONTEXT_KINDS = {"counties": "polygon", "towns": "point", "streams": "line"}
UNKNOWN_ROAD_KM_H = 40.0  # about 25 mph; common practice, no source


@dataclass(frozen=True)
class Region:
    """Everything a plan needs, in inside units; what is absent is None or an empty table.

    `fields` GeoDataFrame (EPSG:4326) on `field_id`; `crews` on `crew`; `roads` lines with speed_km_h; `settings` what
    region.toml sets; `told` what was mended, left out or absent.
    """

    folder: Path
    name: str
    time_zone: str
    units: str
    season_start: tuple[int, int]
    settings: Mapping[str, Any]
    fields: gpd.GeoDataFrame
    grasses: Mapping[str, Grass]
    drying_days: Mapping[int, int]
    calendar: Mapping[str, tuple[int, int]]
    hay_rules: HayRules
    growth_rules: GrowthRules
    freeze: FreezeLayer | None
    soil: Soil
    roads: gpd.GeoDataFrame | None
    crews: pd.DataFrame
    outlook: pd.DataFrame
    temperature: pd.DataFrame
    clients: pd.DataFrame
    season_log: pd.DataFrame
    context: Mapping[str, gpd.GeoDataFrame]
    told: tuple[Problem, ...] = field(default_factory=tuple)


def read_region(folder: Path, tell: Tell = quiet) -> Region:
    """Return the region in `folder`; raises InputError with every problem found, not only the first.

    A file that region.toml names and that cannot be read is such a problem, whatever part it is of. Nothing is
    written, neither to the user's files nor beside them.
    """
    report = Report()
    said = read_region_file(folder, report)
    tell("read", 0.1)
    parts = _Reader(folder, said, report)
    fields = parts.fields()
    tell("read", 0.6)
    region = _region(parts, fields)
    tell("read", 0.9)
    if fields is not None:
        check_together(region, report)
    if report.wrong:
        raise InputError(sorted(set(report.wrong)))
    tell("read", 1.0)
    return replace(region, told=tuple(dict.fromkeys(report.told)))


@dataclass(frozen=True)
class _Reader:
    """Reads the parts of one region file; an unreadable part becomes lines in the report."""

    folder: Path
    said: Mapping[str, Any]
    report: Report

    def section(self, name: str) -> dict[str, Any]:
        found: dict[str, Any] = self.said.get(name, {})
        return found

    def path(self, section: str) -> Path | None:
        file = self.section(section).get("file")
        return None if file is None else self.folder / str(file)

    def fields(self) -> gpd.GeoDataFrame | None:
        path = self.path("fields")
        try:
            return None if path is None else read_fields(path, self.section("fields"), self.report)
        except InputError as error:
            self.report.wrong.extend(error.problems)
            return None

    def season_start(self) -> tuple[int, int]:
        month, day = (int(part) for part in self.said.get("season_start", "08-01").split("-"))
        return month, day

    def freeze(self) -> FreezeLayer | None:
        path = self.path("freeze")
        if path is None:
            return None
        return read_freeze(path, self.section("freeze"), self.report, self.season_start())

    def table(self, section: str, columns: tuple[Column, ...], key: str = "") -> pd.DataFrame:
        path = self.path(section)
        if path is None:
            return empty_table(columns)
        return read_table(path, columns, self.section(section), self.report, key)

    def crews(self) -> pd.DataFrame:
        path = self.path("crews")
        return no_crews() if path is None else read_crews(path, self.section("crews"), self.report)

    def soil(self, fields: gpd.GeoDataFrame | None, own: Mapping[str, Path]) -> Soil:
        section, survey, report = self.section("soil_tests"), self.path("survey"), self.report
        lime = read_lime_rules(self.section("lime"), self.section("labs"), report, own.get("lime"))
        paths = [self.folder / name for name in section.get("files", [])]
        return Soil(
            tests=read_soil_tests(paths, section, fields, report, lime),
            survey=None if survey is None else read_survey(self.folder, self.section("survey"), report),
            rasters=read_soil_rasters(self.section("soil_rasters"), self.folder, fields, report),
            schemes=read_schemes(report, own.get("soil")),
            lime=lime,
            ground=read_ground_rules(),
            removal=read_removal_rules(),
        )

    def layer(self, section: str, kind: str, columns: tuple[Column, ...]) -> gpd.GeoDataFrame | None:
        path = self.path(section)
        return None if path is None else self._layer(path, kind, columns, self.section(section))

    def context(self) -> dict[str, gpd.GeoDataFrame]:
        found = {
            name: self._layer(self.folder / file, CONTEXT_KINDS[name], CONTEXT, {})
            for name, file in sorted(self.section("context").items())
        }
        return {name: shapes for name, shapes in found.items() if shapes is not None}

    def _layer(
        self, path: Path, kind: str, columns: tuple[Column, ...], keys: Mapping[str, Any]
    ) -> gpd.GeoDataFrame | None:
        try:
            shapes = read_layer(path, kind, self.report, keys.get("layer", ""), keys.get("crs", ""))
        except InputError as error:
            self.report.wrong.extend(error.problems)
            return None
        table = pd.DataFrame(shapes.drop(columns=shapes.geometry.name))
        named = checked(table, columns, Source(path.name, keys.get("columns", {})), self.report)
        found = gpd.GeoDataFrame(named, geometry=shapes.geometry, crs=shapes.crs)
        rows = {index: f"shape {index + 1}" for index in found.index}
        return mend(found, path.name, rows, self.report) if kind == "polygon" else found


def _region(parts: _Reader, fields: gpd.GeoDataFrame | None) -> Region:
    folder, said, report = parts.folder, parts.said, parts.report
    own = {kind: folder / name for kind, name in parts.section("rules").items()}
    grasses, context = read_grasses(report, own.get("grass")), parts.context()
    return Region(
        folder=folder,
        name=said.get("name", folder.name),
        time_zone=said.get("time_zone", "UTC"),
        units=said.get("units", "us"),
        season_start=parts.season_start(),
        settings=settings_said(dict(said)),
        fields=_with_names(fields, context.get("counties"), grasses),
        grasses=grasses,
        drying_days=read_drying_days(parts.season_start()[0] - NORTHERN_START),
        calendar=read_calendar(),
        hay_rules=read_hay_rules(),
        growth_rules=read_growth_rules(),
        freeze=parts.freeze(),
        soil=parts.soil(fields, own),
        roads=_with_speeds(parts.layer("roads", "line", ROADS), report),
        crews=parts.crews(),
        outlook=parts.table("outlook", OUTLOOK),
        temperature=parts.table("temperature", TEMPERATURE),
        clients=parts.table("clients", CLIENTS, "client"),
        season_log=read_season_log(folder, parts.section("season_log"), report),
        context=context,
    )


def _with_names(
    fields: gpd.GeoDataFrame | None, counties: gpd.GeoDataFrame | None, grasses: Mapping[str, Grass]
) -> gpd.GeoDataFrame:
    if fields is None:
        return gpd.GeoDataFrame()
    return with_grass_codes(with_areas(fields, counties), grasses)


def _with_speeds(roads: gpd.GeoDataFrame | None, report: Report) -> gpd.GeoDataFrame | None:
    if roads is None:
        return None
    classes = roads["road_class"].str.lower()
    by_class = classes.map(read_road_speeds()).astype(float)
    unknown = sorted(set(classes[roads["speed_km_h"].isna() & by_class.isna()]))
    if unknown:
        report.tell(
            "roads",
            f"class {', '.join(map(repr, unknown))}",
            f"has no known speed; {UNKNOWN_ROAD_KM_H:g} km/h (25 mph) is used",
            "Give the roads a speed_mph or speed_km_h column",
        )
    return roads.assign(speed_km_h=roads["speed_km_h"].fillna(by_class).fillna(UNKNOWN_ROAD_KM_H))
