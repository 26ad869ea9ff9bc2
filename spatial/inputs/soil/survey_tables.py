"""The values of map units from the survey's tables: pH of the top 15 cm, drainage class and slope."""

from collections.abc import Collection, Iterable

import numpy as np
import pandas as pd

from spatial.columns import Column
from spatial.inputs.cells import code_of, text_of
from spatial.inputs.checks import Report, Source, listed
from spatial.inputs.soil.possible import possible
from spatial.inputs.soil.survey_cells import drainage_classes, keys_of
from spatial.inputs.soil.survey_files import SurveyTable, SurveyTables
from spatial.soil import TOP_CM

WHOLE_PCT = 100.0
PH_DIGITS = 9
MISCELLANEOUS = "miscellaneous_area"  # rock, water, towns: land without a soil
COMPONENT = (
    Column("mukey", "text", "map unit"),
    Column("cokey", "text", "component"),
    Column("comppct_r", "number", "share of the map unit, percent", least=0, most=100),
    Column("compkind", "text", "kind of component"),
    Column("drainagecl", "text", "drainage class"),
    Column("slope_r", "number", "slope, percent", least=0, most=300),
)
HORIZON = (
    Column("cokey", "text", "component"),
    Column("hzdept_r", "number", "depth of the horizon's top, cm", least=-300, most=3_000),
    Column("hzdepb_r", "number", "depth of the horizon's bottom, cm", least=-300, most=3_000),
    Column("ph1to1h2o_r", "number", "pH in water", least=2.5, most=10.5),
)


def map_unit_values(tables: SurveyTables, keys: Collection[str], report: Report) -> pd.DataFrame:
    """Return map_unit (its symbol, else the key), ph, drainage and slope_share on `mukey`, and ph_share, soil_share.

    One row for each of `keys` that has a component; the others have none. pH is the mean of the horizons clipped to
    0-15 cm, by thickness, where they have a pH; then of the components that have one, by comppct_r, without
    miscellaneous areas (the weighted average of the public soilDB library for USDA-NRCS SSURGO; pH averaged as
    it stands). A layer of litter counts where its depths lie below the surface, as the survey states them.
    Drainage and slope are those of the component with the most land. `ph_share` is the part of the map unit that
    stands behind its pH, `soil_share` the part that is soil.
    """
    components = _components(tables.component, keys, report)
    soils = components[~components["miscellaneous"]]
    soils = soils.assign(ph=soils["cokey"].map(_topsoil_ph(tables.chorizon, soils["cokey"], report)))
    _tell_unweighted(soils, tables.component.file, report)
    units = pd.Index(sorted(components["mukey"].unique()), name="mukey")
    known = soils[soils["ph"].notna() & (soils["comppct_r"] > 0)]
    found = _largest(soils).reindex(units)
    weight_pct = _sum_of(known["comppct_r"], known["mukey"]).reindex(units)
    weighted = _sum_of(known["comppct_r"] * known["ph"], known["mukey"]).reindex(units)
    soil_pct = _sum_of(soils["comppct_r"].fillna(0.0), soils["mukey"]).reindex(units)
    symbols = symbols_of(tables.mapunit).reindex(units)
    columns = {
        "map_unit": symbols.where(symbols.notna(), units.to_series()).astype(object),
        # Without the dust of the division, so that land of pH 6.0 is not below 6.0.
        "ph": (weighted / weight_pct).round(PH_DIGITS),
        "drainage": drainage_classes(found["drainagecl"], tables.component.file, report),
        "slope_share": found["slope_r"] / WHOLE_PCT,
        "ph_share": weight_pct.fillna(0.0) / WHOLE_PCT,
        "soil_share": soil_pct.fillna(0.0) / WHOLE_PCT,
    }
    return pd.DataFrame(columns, index=units)


def symbols_of(mapunit: SurveyTable) -> pd.Series:
    """Return the symbols of map units on `mukey`; those without one are absent."""
    symbols = text_of(mapunit.rows["musym"]).set_axis(keys_of(mapunit.rows["mukey"]))
    return symbols[(symbols != "") & ~symbols.index.duplicated()]


def _components(table: SurveyTable, keys: Collection[str], report: Report) -> pd.DataFrame:
    """Return the components of some map units, each once, with whether it is a miscellaneous area."""
    _tell_absent(table, report)
    rows = table.rows.assign(mukey=keys_of(table.rows["mukey"]), cokey=keys_of(table.rows["cokey"]))
    rows = rows[rows["mukey"].isin(set(keys))].drop_duplicates()
    found = possible(rows, COMPONENT, Source(table.file), report, "cokey").drop_duplicates()
    found = found.sort_values(["mukey", "cokey", "comppct_r"], ascending=[True, True, False], kind="stable")
    again = found.duplicated(["mukey", "cokey"]) & (found["cokey"] != "")
    if again.any():
        cause = "in rows that differ; the one with most land counts"
        report.tell(table.file, _named("component", found["cokey"][again]), cause, "Keep one of them")
    found = found[~again]
    kind = found["compkind"].map(
        {said: code_of(pd.Series([said])).iloc[0] for said in found["compkind"].unique()}
    )
    found = found.assign(miscellaneous=kind.astype(object).str.startswith(MISCELLANEOUS).astype(bool))
    _tell_sums(found, table.file, report)
    return found


def _tell_sums(components: pd.DataFrame, file: str, report: Report) -> None:
    """Tell of map units whose components add up to more than the whole, or to nothing."""
    share_pct = components["comppct_r"]
    total_pct = share_pct.groupby(components["mukey"]).sum()
    if (over := total_pct > WHOLE_PCT).any():
        cause = "components that add up to over 100 %; each counts by its share"
        mend = "Name each survey area's tables once"
        report.tell(file, _named("map unit", total_pct.index[over]), cause, mend)
    nothing = (share_pct == 0).groupby(components["mukey"]).all()
    if nothing.any():
        cause = "components that are all 0 %, so nothing is known of the soil"
        report.tell(file, _named("map unit", nothing.index[nothing]), cause, "Mend comppct_r")


def _tell_absent(table: SurveyTable, report: Report) -> None:
    lost = {
        "compkind": "so rock, water and towns are known only by having no pH",
        "drainagecl": "so no drainage is known",
        "slope_r": "so no slope is known",
    }
    absent = [name for name in lost if name not in table.rows.columns]
    if absent:
        cause = f"not there, {', and '.join(lost[name] for name in absent)}"
        report.tell(table.file, listed("column", absent), cause, "Export the table with all columns")


def _topsoil_ph(table: SurveyTable, components: pd.Series, report: Report) -> pd.Series:
    """Return the pH of the top 15 cm of components, on `cokey`; those without any are absent."""
    rows = table.rows.assign(cokey=keys_of(table.rows["cokey"]))
    rows = rows[rows["cokey"].isin(set(components) - {""})].drop_duplicates()
    found = possible(rows, HORIZON, Source(table.file), report, "cokey")
    begun = set(found["cokey"][(found["hzdept_r"] == 0) & (found["hzdepb_r"] > 0)])
    found = found[found["ph1to1h2o_r"].notna()].drop_duplicates()
    found = _with_depths(found, begun, table.file, report)
    top_cm, bottom_cm = (found[name].clip(0.0, TOP_CM) for name in ("hzdept_r", "hzdepb_r"))
    found = found.assign(top_cm=top_cm, bottom_cm=bottom_cm, thickness_cm=bottom_cm - top_cm)
    found = found[found["thickness_cm"] > 0]
    _tell_overlaps(found, table.file, report)
    weighted = _sum_of(found["thickness_cm"] * found["ph1to1h2o_r"], found["cokey"])
    return weighted / _sum_of(found["thickness_cm"], found["cokey"])


def _with_depths(horizons: pd.DataFrame, begun: Collection[str], file: str, report: Report) -> pd.DataFrame:
    """Return the horizons with two depths; one that lacks a depth or has its bottom over its top is told.

    Litter over the mineral soil, which older surveys write from 5 up to 0 cm, lies above the top 15 cm. So is read
    only what stands over a soil that begins at 0 cm, as those of `begun` (components) do.
    """
    top_cm, bottom_cm = horizons["hzdept_r"], horizons["hzdepb_r"]
    upside = bottom_cm < top_cm
    litter = (bottom_cm <= 0) & (~upside | horizons["cokey"].isin(begun))
    deep = (top_cm >= TOP_CM) & ~(bottom_cm < TOP_CM)
    upside &= ~litter & ~deep
    lacking = ~litter & ~deep & (top_cm.isna() | bottom_cm.isna())
    if upside.any():
        cause, mend = "horizons upside down, their bottom over their top, so left out", "Swap their depths"
        report.tell(file, _named("component", horizons["cokey"][upside]), cause, mend)
    if lacking.any():
        cause = "horizons whose depths are missing or cannot be, so left out"
        report.tell(file, _named("component", horizons["cokey"][lacking]), cause, "Mend their depths")
    return horizons[~litter & ~deep & ~upside & ~lacking]


def _tell_overlaps(horizons: pd.DataFrame, file: str, report: Report) -> None:
    order = horizons.sort_values(["cokey", "top_cm", "bottom_cm"], kind="stable")
    above_cm = order["bottom_cm"].groupby(order["cokey"]).shift()
    over = order["top_cm"] < above_cm
    if over.any():
        cause = "horizons that lie over each other; each counts by its thickness"
        report.tell(file, _named("component", order["cokey"][over]), cause, "Mend their depths")


def _tell_unweighted(soils: pd.DataFrame, file: str, report: Report) -> None:
    lacking = soils["ph"].notna() & soils["comppct_r"].isna()
    if lacking.any():
        cause = "no comppct_r, so left out of their map units"
        report.tell(file, _named("component", soils["cokey"][lacking]), cause, "Fill it in")


def _largest(soils: pd.DataFrame) -> pd.DataFrame:
    """Return the component with the most land of each map unit, on `mukey`; of two alike the first by its key."""
    some = soils[soils["comppct_r"] > 0]
    order = some.sort_values(["mukey", "comppct_r", "cokey"], ascending=[True, False, True], kind="stable")
    return order.drop_duplicates("mukey").set_index("mukey")


def _sum_of(values: pd.Series, by: pd.Series) -> pd.Series:
    return values.astype(np.float64).groupby(by).sum()


def _named(word: str, names: Iterable[str]) -> str:
    return listed(word, sorted(set(names)))
