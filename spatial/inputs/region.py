"""A region folder, read whole: fields, freeze layer, soil, roads, crews and what is said about them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.columns import CLIENTS, OUTLOOK, ROADS, SEASON_LOG, SOIL_TESTS, SURVEY, Column
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.inputs.checks import Report, Source, checked
from spatial.inputs.crews import read_crews
from spatial.inputs.fields import read_fields, with_areas
from spatial.inputs.freeze import read_freeze
from spatial.inputs.layers import mend, read_layer
from spatial.inputs.region_file import FILE, read_region_file, settings_said
from spatial.inputs.rules import read_drying_days, read_grasses, read_road_speeds, read_schemes
from spatial.inputs.tables import empty_table, read_table
from spatial.units import farmer_units
from spatial.values import SAME_THRESHOLD_C, FreezeLayer, Grass, RatingScheme


@dataclass(frozen=True)
class Region:
    """Everything a plan needs, in inside units; what is absent is None or an empty table.

    `fields` GeoDataFrame (EPSG:4326) on `field_id`; `crews` on `crew`; `roads` lines with speed_km_h; `soil_tests`
    with a `field_id` in every row that lies in a field; `settings` what region.toml sets; `told` what was mended,
    left out or absent.
    """

    folder: Path
    name: str
    time_zone: str
    units: str
    season_start: tuple[int, int]
    settings: Mapping[str, Any]
    fields: gpd.GeoDataFrame
    grasses: Mapping[str, Grass]
    schemes: tuple[RatingScheme, ...]
    drying_days: Mapping[int, int]
    freeze: FreezeLayer | None
    soil_tests: pd.DataFrame
    survey: gpd.GeoDataFrame | None
    roads: gpd.GeoDataFrame | None
    crews: pd.DataFrame
    outlook: pd.DataFrame
    clients: pd.DataFrame
    season_log: pd.DataFrame
    context: Mapping[str, gpd.GeoDataFrame]
    told: tuple[Problem, ...] = field(default_factory=tuple)


def read_region(folder: Path, tell: Tell = quiet) -> Region:
    """Return the region in `folder`; raises InputError with every problem found, not only the first."""
    report = Report()
    said = read_region_file(folder, report)
    tell("read", 0.1)
    parts = _Reader(folder, said, report)
    fields = parts.fields()
    tell("read", 0.6)
    region = _region(folder, said, report, parts, fields)
    _check_together(region, report)
    if report.wrong:
        raise InputError(sorted(set(report.wrong)))
    tell("read", 1.0)
    return region


@dataclass(frozen=True)
class _Reader:
    """Reads the parts of one region file; an unreadable part becomes a line in the report."""

    folder: Path
    said: Mapping[str, Any]
    report: Report

    def path(self, section: str) -> Path:
        return self.folder / str(self.said[section].get("file", ""))

    def has(self, section: str) -> bool:
        return isinstance(self.said.get(section), dict) and isinstance(self.said[section].get("file"), str)

    def fields(self) -> gpd.GeoDataFrame | None:
        if not self.has("fields"):
            return None
        try:
            return read_fields(self.path("fields"), self.said["fields"], self.report)
        except InputError as error:
            self.report.wrong.extend(error.problems)
            return None

    def freeze(self) -> FreezeLayer | None:
        return (
            read_freeze(self.path("freeze"), self.said["freeze"], self.report) if self.has("freeze") else None
        )

    def table(self, section: str, columns: tuple[Column, ...], key: str = "") -> pd.DataFrame:
        if not self.has(section):
            return empty_table(columns)
        return read_table(self.path(section), columns, self.said[section], self.report, key)

    def crews(self) -> pd.DataFrame:
        if not self.has("crews"):
            return pd.DataFrame(columns=["yard_lon", "yard_lat", "work_rate_ha_h"], dtype=float)
        return read_crews(self.path("crews"), self.said["crews"], self.report)

    def soil_tests(self, fields: gpd.GeoDataFrame | None) -> pd.DataFrame:
        section = self.said.get("soil_tests", {})
        paths = [self.folder / str(name) for name in section.get("files", [])]
        tables = [read_table(path, SOIL_TESTS, section, self.report) for path in paths]
        if not tables:
            return empty_table(SOIL_TESTS)
        return _placed_tests(pd.concat(tables, ignore_index=True), fields)

    def layer(self, section: str, kind: str, columns: tuple[Column, ...]) -> gpd.GeoDataFrame | None:
        if not self.has(section):
            return None
        path, keys = self.path(section), self.said[section]
        try:
            shapes = read_layer(path, kind, self.report, keys.get("layer", ""), keys.get("crs", ""))
        except InputError as error:
            self.report.wrong.extend(error.problems)
            return None
        table = pd.DataFrame(shapes.drop(columns=shapes.geometry.name))
        named = checked(table, columns, Source(path.name, keys.get("columns", {})), self.report)
        found = gpd.GeoDataFrame(named, geometry=shapes.geometry, crs=shapes.crs)
        rows = {index: f"shape {n}" for n, index in enumerate(found.index, start=1)}
        return mend(found, path.name, rows, self.report) if kind == "polygon" else found

    def context(self) -> dict[str, gpd.GeoDataFrame]:
        kinds = {"counties": "polygon", "towns": "point", "streams": "line"}
        found = {}
        for name, file in sorted(self.said.get("context", {}).items()):
            if name not in kinds:
                continue
            try:
                shapes = read_layer(self.folder / str(file), kinds[name], self.report)
            except InputError as error:
                self.report.told.extend(error.problems)
                continue
            names = (
                shapes["name"].fillna("") if "name" in shapes.columns else pd.Series("", index=shapes.index)
            )
            found[name] = gpd.GeoDataFrame(
                {"name": names.astype(object)}, geometry=shapes.geometry, crs=shapes.crs
            )
        return found


def _region(
    folder: Path, said: dict[str, Any], report: Report, parts: _Reader, fields: gpd.GeoDataFrame | None
) -> Region:
    rules = said.get("rules", {})
    own = {kind: folder / str(rules[kind]) for kind in ("grass", "soil") if kind in rules}
    context = parts.context()
    month, first = (int(part) for part in str(said.get("season_start", "08-01")).split("-"))
    return Region(
        folder=folder,
        name=str(said.get("name", folder.name)),
        time_zone=str(said.get("time_zone", "UTC")),
        units=str(said.get("units", "us")),
        season_start=(month, first),
        settings=settings_said(said),
        fields=gpd.GeoDataFrame() if fields is None else with_areas(fields, context.get("counties")),
        grasses=read_grasses(report, own.get("grass")),
        schemes=read_schemes(report, own.get("soil")),
        drying_days=read_drying_days(),
        freeze=parts.freeze(),
        soil_tests=parts.soil_tests(fields),
        survey=parts.layer("survey", "polygon", SURVEY),
        roads=_with_speeds(parts.layer("roads", "line", ROADS), report),
        crews=parts.crews(),
        outlook=parts.table("outlook", OUTLOOK),
        clients=parts.table("clients", CLIENTS, "client"),
        season_log=parts.table("season_log", SEASON_LOG),
        context=context,
        told=tuple(report.told),
    )


def _placed_tests(tests: pd.DataFrame, fields: gpd.GeoDataFrame | None) -> pd.DataFrame:
    """Return the tests with the field each point lies in; a `field_id` that is written wins."""
    by_point = (tests["field_id"] == "") & tests["lon"].notna() & tests["lat"].notna()
    if fields is None or not by_point.any():
        return tests
    points = gpd.GeoDataFrame(
        geometry=gpd.points_from_xy(tests["lon"][by_point], tests["lat"][by_point]),
        index=tests.index[by_point],
        crs=fields.crs,
    )
    joined = gpd.sjoin(points, fields[["geometry"]], predicate="within")
    found = joined.groupby(level=0)["field_id"].first().reindex(tests.index).fillna("")
    return tests.assign(field_id=tests["field_id"].where(~by_point, found.astype(object)))


def _with_speeds(roads: gpd.GeoDataFrame | None, report: Report) -> gpd.GeoDataFrame | None:
    if roads is None:
        return None
    speeds = read_road_speeds()
    classes = roads["road_class"].str.lower()
    by_class = classes.map(speeds).astype(float)
    unknown = sorted(set(classes[roads["speed_km_h"].isna() & by_class.isna()]))
    if unknown:
        report.tell(
            "roads",
            f"class {', '.join(map(repr, unknown))}",
            "has no known speed; 40 km/h (25 mph) is used",
            "Give the roads a speed_mph or speed_km_h column",
        )
    return roads.assign(speed_km_h=roads["speed_km_h"].fillna(by_class).fillna(40.0))


def _check_together(region: Region, report: Report) -> None:
    _check_grasses(region, report)
    _check_ids(region, report)
    used = set(region.fields.get("grass", pd.Series(dtype=object)))
    for grass in (grass for name, grass in region.grasses.items() if name in used):
        _check_threshold(grass, region.freeze, report)


def _check_threshold(grass: Grass, layer: FreezeLayer | None, report: Report) -> None:
    if layer is None or abs(layer.threshold_c - grass.killing_freeze_c) <= SAME_THRESHOLD_C:
        return
    has_f, needs_f = (farmer_units(c, "_c", "_f") for c in (layer.threshold_c, grass.killing_freeze_c))
    report.refuse(
        layer.name,
        "threshold",
        f"is {has_f:.1f} F, but {grass.name} needs {needs_f:.1f} F",
        "Bring a layer of that threshold, or set the grass's killing freeze in a rule file of your own",
    )


def _check_grasses(region: Region, report: Report) -> None:
    for field_id, grass in region.fields.get("grass", pd.Series(dtype=object)).items():
        if grass and grass not in region.grasses:
            report.refuse(
                "fields",
                f"field {field_id!r}, grass = {grass!r}",
                "is not known",
                f"Use one of: {', '.join(region.grasses)}",
            )


def _check_ids(region: Region, report: Report) -> None:
    known = set(region.fields.index)
    for part, table in (("soil_tests", region.soil_tests), ("season_log", region.season_log)):
        for stranger in sorted(set(table["field_id"]) - known - {""}):
            report.refuse(
                part, f"field {stranger!r}", "is not among the fields", f"Check its field_id; see {FILE}"
            )
