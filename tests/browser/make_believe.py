"""Makes a small invented plan, with names that try to break the page, for the tests of the map."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from types import SimpleNamespace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from spatial.plan import Plan
from spatial.reasons import Reason, reason
from spatial.settings import Settings

ON = date(2026, 9, 22)
MADE_ON = datetime(2026, 9, 22, 7, 5)  # noqa: DTZ001 - the page shows local time as it is given
NASTY_NAME = "<img src=x onerror=alert(1)>"
NASTY_CLIENT = '"></script><script>alert(1)</script>'
BRACES_NAME = "{{ 7 * 7 }} {% raw %} \u2028 <!-- <script>"
ROUTE_COLUMNS = (
    "crew", "date", "stop", "field_id", "part", "parts", "cut_kind", "start", "end", "travel_min", "area_ha",
)  # fmt: skip
FIELD_COLUMNS = (
    "client", "name", "grass", "cultivar", "area", "intent", "weedy", "area_ha", "gate_lon", "gate_lat",
    "previous_cut_date", "height_cm", "stubble_cm", "promised_by_date", "killing_freeze_date",
    "average_freeze_date", "freeze_seasons", "freeze_cover_share", "last_cut_date", "last_cut_limit",
    "regrowth_days", "ready_date", "days_left", "stage", "urgency", "crew",
    "cut_date", "cut_kind", "why_not", "advice", "why", "mind",
    "soil_ph", "soil_ph_class", "soil_ph_origin", "soil_ph_date", "soil_ph_least", "soil_ph_greatest",
    "soil_ph_cover_share", "soil_ph_low_share", "soil_p_class", "soil_p_rating", "soil_p_scheme", "soil_p_origin",
    "soil_k_class", "soil_k_rating", "soil_k_scheme", "soil_k_origin", "soil_mg_class", "soil_mg_rating",
    "soil_mg_scheme", "soil_mg_origin", "drainage", "slope_share", "lime_t_ha", "lime_t", "lime_applications",
    "flags", "lime", "nutrients", "ground",
)  # fmt: skip
LOW_PH: dict[str, Any] = {
    "soil_ph": 5.4, "soil_ph_class": "very_low", "soil_ph_origin": "lab", "soil_ph_date": pd.Timestamp(2025, 11, 3),
    "soil_k_class": "low", "soil_k_rating": "low", "soil_k_scheme": "the state table", "soil_k_origin": "lab",
    "soil_p_class": "enough", "soil_p_rating": "high", "soil_p_scheme": "the state table", "soil_p_origin": "lab",
    "drainage": "poorly drained", "slope_share": 0.08, "lime_t_ha": 4.0, "lime_t": 16.0, "lime_applications": 2,
}  # fmt: skip
MAPPED: dict[str, Any] = dict.fromkeys(LOW_PH) | {
    "soil_ph": 5.6, "soil_ph_class": "low", "soil_ph_origin": "survey", "soil_ph_least": 4.9,
    "soil_ph_greatest": 6.2, "soil_ph_cover_share": 0.82, "soil_ph_low_share": 0.4, "soil_k_class": "medium",
    "soil_k_rating": "medium", "soil_k_scheme": "the state table", "soil_k_origin": "raster",
    "drainage": "somewhat poorly drained",
}  # fmt: skip
ENOUGH: dict[str, Any] = {
    "soil_ph": 6.3, "soil_ph_class": "enough", "soil_k_class": "enough", "soil_k_rating": "very high",
    "lime_t_ha": 0.0, "lime_t": 0.0, "lime_applications": 0, "flags": (),
}  # fmt: skip
NO_SOIL: dict[str, Any] = dict.fromkeys(LOW_PH)
PURCHASE_COLUMNS = (
    "client", "field_id", "item", "low_t", "high_t", "rate_low_t_ha", "rate_high_t_ha", "reason",
)  # fmt: skip
SQUARE = box(0.000, 0.000, 0.010, 0.010)
PART = box(0.0, 0.0, 0.003, 0.010)
WITH_HOLE = Polygon(SQUARE.exterior.coords, [box(0.004, 0.004, 0.006, 0.006).exterior.coords[::-1]])


def make_believe_plan(units: str = "us") -> Plan:
    """Return a plan of six fields (late, three with days left, one far off, one without a date) and two crews."""
    return Plan(
        region=region_of(units),
        settings=Settings(on=ON),
        season=SimpleNamespace(year=2026, start=date(2026, 8, 1)),
        fields=fields_of(
            field("F1", 0.00, 3, name="North Forty", client="A. Grower"),
            field("F2", 0.03, 5, name=NASTY_NAME, client=NASTY_CLIENT),
            field("F3", 0.06, 12, name="حقل الشمال", shape=WITH_HOLE, **ENOUGH),
            field(
                "F4", 0.09, -4, name="Low Meadow", stage="leave_standing", **MAPPED, flags=(_mapped_low(),)
            ),
            field(
                "F5",
                0.12,
                40,
                name=BRACES_NAME,
                shape=MultiPolygon([SQUARE, box(0.015, 0, 0.02, 0.01)]),
                soil_ph=7.2,
                soil_ph_class="high",
                flags=(_high_ph(),),
                lime_t_ha=0.0,
                lime_t=0.0,
                lime=(),
            ),
            field("F6", 0.15, None, name="Élan", **NO_SOIL, flags=(reason("sample_soil"),)),
        ),
        route=route_of(
            ("North crew", "2026-09-23", 1, "F1", 1, 1),
            ("North crew", "2026-09-23", 2, "F2", 1, 2),
            ("North crew", "2026-09-24", 1, "F2", 2, 2),
            ("South crew", "2026-09-24", 1, "F3", 1, 1),
        ),
        chances=None,
        clients=pd.DataFrame(),
        notes=(reason("note_statistics", chance=0.2, seasons=30),),
        purchases=purchases_of(
            ("A. Grower", "F1", "lime", 16.0, 16.0, 4.0, 4.0, _low_ph()),
            ("A. Grower", "F1", "k2o", 0.19, 0.25, 0.0475, 0.0625, _low_k()),
            (NASTY_CLIENT, "F2", "lime", 8.0, 8.0, 2.0, 2.0, _low_ph()),
        ),
        sample_parts=parts_of(("F4", 4.9, 0.3, gpd.GeoSeries([PART]).translate(-83.41, 33.0)[0])),
    )


def with_fields(plan: Plan, *rows: dict[str, Any]) -> Plan:
    """Return the plan with other fields, no route and nothing to buy or to sample first."""
    return replace(
        plan, fields=fields_of(*rows), route=route_of(), purchases=purchases_of(), sample_parts=parts_of()
    )


def purchases_of(*rows: Sequence[Any]) -> pd.DataFrame:
    """Return rows as what a plan says is to be bought."""
    return pd.DataFrame(list(rows), columns=list(PURCHASE_COLUMNS))


def parts_of(*rows: tuple[str, float, float, Any]) -> gpd.GeoDataFrame:
    """Return rows (field_id, ph, share, shape) as the parts of fields that a plan says to sample first."""
    table = pd.DataFrame(list(rows), columns=["field_id", "ph", "share", "geometry"]).set_index("field_id")
    return gpd.GeoDataFrame(table, geometry="geometry", crs=4326)


def bare_field(field_id: str) -> dict[str, Any]:
    """Return a field of which nothing is known but its shape."""
    return {"field_id": field_id, "geometry": SQUARE} | dict.fromkeys(FIELD_COLUMNS)


def field(
    field_id: str, east: float, days_left: int | None, *, shape: Polygon | MultiPolygon = SQUARE, **more: Any
) -> dict[str, Any]:
    """Return one field, `east` [deg] of the first, with all that a plan knows."""
    last_cut = pd.NaT if days_left is None else pd.Timestamp(ON) + pd.Timedelta(days=days_left)
    known: dict[str, Any] = {
        "client": "B. Grower", "grass": "bahiagrass", "cultivar": "Argentine", "area": "Hill", "intent": "hay",
        "weedy": False, "area_ha": 4.0, "height_cm": 30.0, "stubble_cm": 10.0, "freeze_seasons": 30.0,
        "freeze_cover_share": 1.0, "last_cut_limit": "freeze", "regrowth_days": 35.0, **LOW_PH,
        "flags": (_low_ph(), _low_k()), "stage": "ready", "urgency": _urgency(days_left),
        "days_left": days_left, "last_cut_date": last_cut,
        "killing_freeze_date": last_cut + pd.Timedelta(days=35), "ready_date": pd.Timestamp(ON),
        "average_freeze_date": last_cut + pd.Timedelta(days=43), **_words(last_cut),
        "geometry": gpd.GeoSeries([shape]).translate(-83.5 + east, 33.0)[0],
        "gate_lon": -83.5 + east, "gate_lat": 33.0,
    }  # fmt: skip
    return {"field_id": field_id} | dict.fromkeys(FIELD_COLUMNS) | known | more


def fields_of(*rows: dict[str, Any]) -> gpd.GeoDataFrame:
    """Return rows as the fields of a plan, with the column types that a plan has."""
    table = gpd.GeoDataFrame(list(rows), geometry="geometry", crs=4326).set_index("field_id")
    table = table.assign(to_sample=table["soil_ph_origin"] != "lab")
    dates = {name: pd.to_datetime(table[name]) for name in table if name.endswith("_date")}
    return table.assign(days_left=table["days_left"].astype("Int64"), **dates)


def route_of(*stops: Sequence[Any]) -> pd.DataFrame:
    """Return stops (crew, day, stop, field_id, part, parts) as a route: one hour each, from half past nine."""
    rows = [_stop(*stop) for stop in stops]
    return pd.DataFrame(rows, columns=list(ROUTE_COLUMNS))


def region_of(units: str) -> SimpleNamespace:
    """Return what the map reads of a region: two crews, one town, county and stream."""
    yards = pd.DataFrame(
        {"yard_lon": [-83.45, -83.40], "yard_lat": [32.98, 33.03]},
        index=pd.Index(["North crew", "South crew"], name="crew"),
    )
    return SimpleNamespace(
        name="Make-Believe <b>Hills</b>", units=units,
        grasses={"bahiagrass": SimpleNamespace(name="Bahiagrass", target_ph=6.0, sources={})},
        fields=pd.DataFrame({"grass": ["bahiagrass"]}), crews=yards, roads=_ground(LineString, ""),
        context={
            "towns": _ground(lambda _: Point(-83.46, 33.03), NASTY_NAME),
            "counties": _ground(lambda _: box(-84, 32.5, -83, 33.5), "Hill"),
            "streams": _ground(LineString, "Brook"),
        },
    )  # fmt: skip


def _ground(shape: Any, name: str) -> gpd.GeoDataFrame:
    shapes = [shape([(-83.6, 33.02), (-83.3, 33.02)])]
    return gpd.GeoDataFrame({"name": [name]}, geometry=shapes, crs=4326)


def _stop(crew: str, day: str, stop: int, field_id: str, part: int, parts: int) -> dict[str, Any]:
    start = pd.Timestamp(day) + pd.Timedelta(hours=8.5 + stop)
    end = start + pd.Timedelta(hours=1)
    values = (crew, pd.Timestamp(day), stop, field_id, part, parts, "early", start, end, 12, 4.0)
    return dict(zip(ROUTE_COLUMNS, values, strict=True))


def _urgency(days_left: int | None) -> str:
    if days_left is None:
        return ""
    classes = ["past", "0-7", "8-14", "15-28", "over_28"]
    return classes[int(np.searchsorted([0, 8, 15, 29], days_left, side="right"))]


def _words(last_cut: pd.Timestamp) -> dict[str, tuple[Reason, ...]]:
    if pd.isna(last_cut):
        return {"advice": (reason("no_date_no_freeze_data"),)}
    freeze = last_cut + pd.Timedelta(days=35)
    return {
        "advice": (reason("this_is_the_last", last_cut_date=last_cut),),
        "why": (reason("freeze_by", killing_freeze_date=freeze, chance=0.2),),
        "mind": (reason("few_seasons", seasons=12),),
    }


def _low_k() -> Reason:
    return reason("k_low", rating="low", scheme="the state table", sample_date=pd.Timestamp(2025, 11, 3))


def _high_ph() -> Reason:
    return reason("ph_high", ph=7.2, origin="lab", sample_date=pd.Timestamp(2025, 11, 3))


def _mapped_low() -> Reason:
    return reason(
        "sample_ph",
        origin="survey",
        mapped_ph=(5.6, 5.2, 6.1),
        target_ph=6.0,
        low_share=0.4,
        cover_share=0.82,
    )


def _low_ph() -> Reason:
    return reason("ph_low", ph=5.4, target_ph=6.0, origin="lab", sample_date=pd.Timestamp(2025, 11, 3))
