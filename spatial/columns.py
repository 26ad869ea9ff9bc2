"""The tables of a region: every column with its kind, its unit and what it means."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "date", "yes_no"]


@dataclass(frozen=True)
class Column:
    """One column of a table the user brings; `least` and `most` are what can be true of it, in its own unit."""

    name: str
    kind: Kind
    help: str
    required: bool = False
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    also: tuple[str, ...] = ()  # other names it is found under


INTENTS = ("hay", "stockpile", "overseeded", "grazed")

FIELDS = (
    Column("field_id", "text", "name of the field that nothing else in the file has", required=True),
    Column("client", "text", "whose field it is"),
    Column("name", "text", "what people call it"),
    Column("grass", "text", "one of the grasses in the rules"),
    Column("cultivar", "text", "variety, shown only"),
    Column("area", "text", "county or place that outlook and recorded freezes go by", also=("county",)),
    Column("previous_cut_date", "date", "last time it was cut"),
    Column("height_cm", "number", "canopy height from the ground", least=0, most=300),
    Column("height_date", "date", "day the height was measured"),
    Column("stubble_cm", "number", "what the mower leaves here", least=2, most=60),
    Column("intent", "text", "what the field is for after the last cut", choices=INTENTS),
    Column("water", "yes_no", "stock water at hand"),
    Column("weedy", "yes_no", "weedy: cut last, clean the machine"),
    Column("promised_by_date", "date", "day it was promised by", also=("promised_by",)),
    Column(
        "cold_offset_c", "number", "how much colder than its surroundings on frost nights", least=0, most=10
    ),
    Column("gate_lon", "number", "longitude of the gate", least=-180, most=180),
    Column("gate_lat", "number", "latitude of the gate", least=-90, most=90),
)

CREWS = (
    Column("crew", "text", "name of the crew", required=True),
    Column("yard_lon", "number", "longitude of its yard", required=True, least=-180, most=180),
    Column("yard_lat", "number", "latitude of its yard", required=True, least=-90, most=90),
    Column(
        "work_rate_ha_h",
        "number",
        "area cut in an hour; else width, speed and field efficiency",
        least=0.01,
        most=60,
    ),
    Column("width_m", "number", "cutting width", least=0.5, most=30),
    Column("speed_km_h", "number", "speed in the field", least=1, most=40),
    Column(
        "field_efficiency_share", "number", "share of the time that the full width cuts", least=0.1, most=1
    ),
    Column("shift_start", "text", "hour the crew leaves the yard, as 09:30"),
    Column("shift_end", "text", "hour it is back at the yard, as 18:00"),
    Column("days_off", "text", "weekdays or dates off, by spaces, as: sun 2026-09-12"),
)

OUTLOOK = (
    Column("date", "date", "day", required=True),
    Column("area", "text", "county or place; empty for everywhere", also=("place", "county")),
    Column("rain_chance_share", "number", "chance of rain", required=True, least=0, most=1),
    Column("least_temperature_c", "number", "lowest temperature of the night", least=-60, most=50),
)

TEMPERATURE = (
    Column("month", "number", "month, 1 to 12", required=True, least=1, most=12),
    Column(
        "mean_temperature_c", "number", "mean temperature of the month", required=True, least=-60, most=50
    ),
)

CLIENTS = (
    Column("client", "text", "name, as in the fields", required=True),
    Column("hay_is_short", "yes_no", "the owner says that hay is short"),
    Column("call_first", "yes_no", "call before coming"),
    Column("contact_day", "text", "good day to call"),
    Column("herd", "number", "head to feed", least=0, most=1_000_000),
    Column("body_weight_kg", "number", "weight of one head", least=1, most=2_000),
    Column("feeding_days", "number", "days this winter that hay is fed", least=0, most=366),
    Column("stored_hay_t", "number", "hay stored, as it lies (tons are short tons)", least=0, most=1_000_000),
)

SOIL_TESTS = (
    Column("field_id", "text", "field it was taken in; else lon and lat"),
    Column("lon", "number", "longitude of the sample", least=-180, most=180),
    Column("lat", "number", "latitude of the sample", least=-90, most=90),
    Column("sample_date", "date", "day it was taken", required=True, also=("date",)),
    Column("sample_id", "text", "the laboratory's number of the sample"),
    Column("zone", "text", "part of the field that the sample stands for; empty for the whole field"),
    Column("zone_area_ha", "number", "land that the sample stands for", least=0, most=10_000),
    Column("lab", "text", "laboratory"),
    Column("depth_cm", "number", "depth of the sample", least=1, most=100),
    Column("ph", "number", "soil pH", least=2.5, most=10.5),
    Column("ph_method", "text", "water, CaCl2, or CaCl2 brought to water"),
    Column("buffer", "text", "buffer method: Adams-Evans, Mehlich, or one of your own files"),
    Column("buffer_ph", "number", "pH of the sample in the buffer", least=3, most=9),
    Column("extractant", "text", "extractant of P, K and Mg, as Mehlich-1"),
    Column(
        "soil_group",
        "text",
        "soil group of the rating scheme: coastal plain, piedmont, mountain, limestone valley",
    ),
    Column(
        "unit",
        "text",
        "unit of columns `p`, `k` and `mg`, which may stand for the six below: ppm, mg/kg, lb/ac or index",
    ),
    Column("p_mg_kg", "number", "phosphorus", least=0, most=5_000),
    Column("k_mg_kg", "number", "potassium", least=0, most=10_000),
    Column("mg_mg_kg", "number", "magnesium", least=0, most=20_000),
    Column("p_index", "number", "phosphorus, the laboratory's index", least=0, most=5_000),
    Column("k_index", "number", "potassium, the laboratory's index", least=0, most=5_000),
    Column("mg_index", "number", "magnesium, the laboratory's index", least=0, most=5_000),
    Column(
        "cec_meq",
        "number",
        "cation exchange capacity, meq in 100 g (cmol/kg)",
        least=0,
        most=200,
        also=("cec",),
    ),
    Column("organic_matter_share", "number", "organic matter", least=0, most=1),
    Column("lime_t_ha", "number", "lime that the laboratory recommends, in its own lime", least=0, most=40),
    Column("k2o_kg_ha", "number", "K2O that the laboratory recommends", least=0, most=1_000),
)

SURVEY = (
    Column("map_unit", "text", "symbol of the map unit", also=("musym", "mukey")),
    Column("ph", "number", "pH of the top 15 cm", least=2.5, most=10.5),
    Column("drainage", "text", "drainage class, as poorly drained", also=("drainagecl",)),
    Column("slope_share", "number", "slope, rise over run", least=0, most=3),
)


ROADS = (
    Column("speed_km_h", "number", "speed that the road allows", least=1, most=130),
    Column("road_class", "text", "class of road; see the rules for their speeds", also=("class", "highway")),
)

CONTEXT = (Column("name", "text", "name that the map shows"),)

LOG_FACTS = (
    "cut",
    "hay",
    "height",
    "killing_freeze",
    "freeze_cut",
    "green_up",
    "stand_cover",
    "grazed",
    "fall_armyworm",
    "stem_maggot",
    "sprayed_until",
    "note",
)

SEASON_LOG = (
    Column("date", "date", "day it happened", required=True),
    Column(
        "fact",
        "text",
        "what was seen or done",
        required=True,
        choices=LOG_FACTS,
    ),
    Column("field_id", "text", "the field; empty where an area is meant"),
    Column("area", "text", "the county or place; empty where a field is meant"),
    Column(
        "value",
        "text",
        "cm: stubble of a cut, height, canopy before a freeze cut, canopy eaten; t: hay taken off the whole field, as "
        "it lies, all of a day; percent: stand cover at green-up; date sprayed until",
    ),
    Column("note", "text", "anything worth keeping"),
)

TABLES: dict[str, tuple[Column, ...]] = {
    "fields": FIELDS,
    "crews": CREWS,
    "outlook": OUTLOOK,
    "temperature": TEMPERATURE,
    "clients": CLIENTS,
    "soil_tests": SOIL_TESTS,
    "survey": SURVEY,
    "roads": ROADS,
    "season_log": SEASON_LOG,
}
