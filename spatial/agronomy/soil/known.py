"""What is known of each field's soil, from the laboratory, a raster or the survey, and what it asks for."""

import itertools
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import geopandas as gpd
import pandas as pd

from spatial.agronomy.soil.ground import ground_reasons
from spatial.agronomy.soil.lime import lime_needs
from spatial.agronomy.soil.mapped import mapped_soil
from spatial.agronomy.soil.ratings import rate_mapped, rate_tests
from spatial.agronomy.soil.standing import standing_tests
from spatial.agronomy.soil.worst_parts import worst_parts
from spatial.reasons import Reason, once, reason
from spatial.soil import OLD_SAMPLE_DAYS, Soil
from spatial.values import NUTRIENTS

OLD = "soil_test_old"
MEAN_DECIMALS = 9  # or the mean of many zones of pH 6.0 would fall below it
SAMPLE_FLAGS = {"sample_soil", "sample_ph", "sample_nutrient", "no_lab_sample", "no_pk_test", OLD}
Standing = Mapping[str, pd.DataFrame]


def known_soil(fields: gpd.GeoDataFrame, numbers: pd.DataFrame, soil: Soil, on: date) -> pd.DataFrame:
    """Return what is known of the soil of each field by day `on`, on the fields' index; columns in DEVELOPERS.md.

    Laboratory before raster before survey: soil_ph_origin is "lab", "raster", "survey" or empty, and each value has
    its date. `flags`, `lime` and `ground` are tuples of reasons; a layer never says more than "sample here". Raises
    InputError where an add-on of ratings or lime fails.
    """
    standing = {kind: standing_tests(soil.tests, on, kind) for kind in ("ph", "lime", *NUTRIENTS)}
    mapped = mapped_soil(fields, soil.survey, soil.rasters, numbers["target_ph"], soil.ground)
    facts = _ph(fields, numbers, standing["ph"], mapped)
    nutrients = _nutrients(fields, standing, mapped, soil, on)
    some = not soil.tests.empty or soil.survey is not None or bool(soil.rasters)
    rows = facts.join(numbers[["target_ph"]]).join(nutrients["soil_k_origin"])
    lime = lime_needs(fields, numbers["target_ph"], standing["lime"], soil.lime, on)
    rows = rows.assign(lime_known=lime["lime_t_ha"].notna())
    by_ph = [tuple(_ph_flags(row, on)) if some else () for row in rows.itertuples()]
    mg_kg_ha = {
        one.name: one.mg_without_lime_kg_ha for one in soil.schemes if pd.notna(one.mg_without_lime_kg_ha)
    }
    flag_columns = [f"soil_{nutrient}_flags" for nutrient in NUTRIENTS]
    flags = [
        _old_together(once((*ph, *(_mg_flag(flag, t_ha, mg_kg_ha) for flag in itertools.chain(*more)))))
        for ph, more, t_ha in zip(
            by_ph, nutrients[flag_columns].itertuples(index=False), lime["lime_t_ha"], strict=True
        )
    ]
    return facts.join(nutrients.drop(columns=flag_columns)).assign(
        flags=pd.Series(flags, index=fields.index, dtype=object),
        **lime,
        to_sample=[bool(SAMPLE_FLAGS & {flag.code for flag in said}) for said in flags],
        ground=ground_reasons(mapped, soil.ground),
        drainage=mapped["drainage"],
        slope_share=mapped["slope_share"],
    )


def parts_to_sample(fields: gpd.GeoDataFrame, numbers: pd.DataFrame, soil: Soil) -> gpd.GeoDataFrame:
    """Return the part of each field to sample first where only a layer says that its pH is low: `worst_parts`."""
    wanted = fields["flags"].map(lambda flags: any(flag.code == "sample_ph" for flag in flags)).astype(bool)
    return worst_parts(fields, soil.survey, soil.rasters, numbers["target_ph"], wanted)


def _mg_flag(flag: Reason, lime_t_ha: float, mg_kg_ha: Mapping[str, float]) -> Reason:
    """Return the flag of low Mg as what it asks for: dolomite where lime is due, else the Mg that its source gives."""
    if flag.code != "mg_low":
        return flag
    if lime_t_ha > 0:
        return reason("mg_low_dolomite", **flag.values)
    scheme = str(flag.values["scheme"])
    if lime_t_ha == 0 and scheme in mg_kg_ha:
        return reason("mg_low_no_lime", mg_kg_ha=mg_kg_ha[scheme], **flag.values)
    return flag


def _old_together(flags: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Return the flags with those of one old sample as one, after the others."""
    old: dict[Any, tuple[str, ...]] = {}
    for flag in flags:
        if flag.code == OLD:
            day, names = flag.values["sample_date"], flag.values["nutrients"]
            old[day] = (*old.get(day, ()), *names)  # type: ignore[misc]  # a reason's values are of any kind
    merged = (reason(OLD, sample_date=day, nutrients=names) for day, names in sorted(old.items()))
    return (*(flag for flag in flags if flag.code != OLD), *merged)


def _ph(
    fields: gpd.GeoDataFrame, numbers: pd.DataFrame, standing: pd.DataFrame, mapped: pd.DataFrame
) -> pd.DataFrame:
    """Return soil_ph with its origin, date, least, greatest, shares and class."""
    lab = _lab_ph(standing).reindex(fields.index)
    by_lab, by_map = lab["ph"].notna(), mapped["mapped_ph"].notna()
    facts = pd.DataFrame(
        {
            "soil_ph": lab["ph"].fillna(mapped["mapped_ph"]),
            "soil_ph_origin": mapped["mapped_ph_origin"].where(by_map, "").where(~by_lab, "lab"),
            "soil_ph_date": lab["date"].where(by_lab, mapped["mapped_ph_date"]),
            "soil_ph_least": lab["least"].where(by_lab, mapped["mapped_ph_least"]),
            "soil_ph_greatest": lab["greatest"].where(by_lab, mapped["mapped_ph_greatest"]),
            "soil_ph_cover_share": mapped["mapped_cover_share"].where(by_map & ~by_lab),
            "soil_ph_low_share": mapped["mapped_low_share"].where(by_map & ~by_lab),
        }
    )
    return facts.assign(soil_ph_class=_ph_class(facts["soil_ph"], numbers))


def _lab_ph(standing: pd.DataFrame) -> pd.DataFrame:
    """Return each sampled field's pH weighted by zone, its least and greatest, and the day of its oldest zone."""
    by = standing.assign(part=standing["ph"] * standing["weight_share"]).groupby("field_id")
    return pd.DataFrame(
        {
            "ph": by["part"].sum(min_count=1).round(MEAN_DECIMALS),
            "date": by["sample_date"].min(),
            "least": by["ph"].min(),
            "greatest": by["ph"].max(),
        }
    )


def _nutrients(
    fields: gpd.GeoDataFrame, standing: Standing, mapped: pd.DataFrame, soil: Soil, on: date
) -> pd.DataFrame:
    """Return rating, class, scheme, date, flags and origin of each nutrient, by the lab where it has it."""
    by_lab, by_map = rate_tests(fields, standing, soil.schemes, on), rate_mapped(fields, mapped, soil.schemes)
    found = by_lab.copy()
    for nutrient in NUTRIENTS:
        unsampled = ~fields.index.isin(standing[nutrient]["field_id"])
        columns = [name for name in found.columns if name.startswith(f"soil_{nutrient}_")]
        found.loc[unsampled, columns] = by_map.loc[unsampled, columns]
        rated = by_map[f"soil_{nutrient}_rating"] != ""
        by_raster = pd.Series("", index=fields.index, dtype=object).mask(rated, "raster")
        found[f"soil_{nutrient}_origin"] = by_raster.where(unsampled, "lab")
    return found.assign(lab_k2o_kg_ha=_lab_k2o(fields, standing["k"]))


def _lab_k2o(fields: gpd.GeoDataFrame, standing: pd.DataFrame) -> pd.Series:
    """Return the K2O that the laboratory asks for over the field [kg/ha]; NaN where a sample does not say."""
    part = standing["k2o_kg_ha"] * standing["weight_share"]
    return part.groupby(standing["field_id"]).sum(min_count=1).reindex(fields.index)


def _ph_class(ph: pd.Series, numbers: pd.DataFrame) -> pd.Series:
    classes = pd.Series("", index=ph.index, dtype=object).mask(ph.notna(), "enough")
    classes = classes.mask(ph > numbers["high_ph"], "high").mask(ph < numbers["target_ph"], "low")
    return classes.mask(ph < numbers["very_low_ph"], "very_low")


def _ph_flags(row: Any, on: date) -> Iterator[Reason]:
    lab = row.soil_ph_origin == "lab"
    if lab:
        yield from _lab_ph_flags(row)
    if lab or row.lime_known:  # the laboratory's own rate may come without a pH
        if row.soil_k_origin != "lab":
            yield reason("no_pk_test")
    else:
        yield from _unsampled_flags(row)
    if lab and (pd.Timestamp(on) - row.soil_ph_date).days > OLD_SAMPLE_DAYS["ph"]:
        yield reason(OLD, sample_date=row.soil_ph_date, nutrients=("ph",))


def _unsampled_flags(row: Any) -> Iterator[Reason]:
    if not row.soil_ph_origin:
        yield reason("sample_soil")
    elif row.soil_ph_low_share > 0:
        yield reason(
            "sample_ph",
            origin=row.soil_ph_origin,
            mapped_ph=(row.soil_ph, row.soil_ph_least, row.soil_ph_greatest),
            target_ph=row.target_ph,
            low_share=row.soil_ph_low_share,
            cover_share=row.soil_ph_cover_share,
        )
    elif row.soil_k_origin != "lab":
        mapped = (row.soil_ph, row.soil_ph_least, row.soil_ph_greatest)
        yield reason("no_lab_sample", origin=row.soil_ph_origin, mapped_ph=mapped)


def _lab_ph_flags(row: Any) -> Iterator[Reason]:
    values = {"ph": row.soil_ph, "origin": "lab", "sample_date": row.soil_ph_date}
    if row.soil_ph_class in ("very_low", "low"):
        yield reason(f"ph_{row.soil_ph_class}", target_ph=row.target_ph, **values)
    elif row.soil_ph_class == "high":
        yield reason("ph_high", **values)
