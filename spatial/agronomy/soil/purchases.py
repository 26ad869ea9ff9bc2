"""What to buy for each client's fields: lime and K2O, only where a laboratory's sample stands behind it."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.units import KG_PER_T

COLUMNS = ("client", "field_id", "item", "low_t", "high_t", "rate_low_t_ha", "rate_high_t_ha", "reason")


def purchases(fields: pd.DataFrame) -> pd.DataFrame:
    """Return what to buy, a row for each field and item: COLUMNS, by client, item ("k2o", "lime") and field.

    Amounts are of the whole field [t] and by area [t/ha]: lime as the field's `lime_t_ha` is, K2O as K2O. Each
    `reason` is a Reason. Lime where a laboratory's sample set a rate above zero, of several applications the first;
    K2O at the laboratory's own rate, else, where it rates K low or medium, what the hay takes. From an old sample
    nothing is bought. `fields` is on field_id with client, area_ha, flags, lime_t, lime_t_ha,
    lime_applications, lime (reasons), lime_product ("" unsaid), lime_sample_date, taken_basis, k2o_taken_low_kg_ha,
    k2o_taken_high_kg_ha, k2o_wanted, soil_k_class, soil_k_scheme, soil_k_date and lab_k2o_kg_ha.
    """
    rows = [row for field in fields.itertuples() for row in (*_lime(field), *_k2o(field))]
    table = pd.DataFrame(rows, columns=list(COLUMNS)).astype(dict.fromkeys(COLUMNS[3:7], float))
    return table.sort_values(["client", "item", "field_id"], ignore_index=True)


def _lime(field: Any) -> Iterator[tuple[Any, ...]]:
    if pd.notna(field.lime_sample_date) and field.lime_t > 0:  # an old sample sets no rate
        # Of several applications, one a fall, only the first is bought now: by the next the sample may be another.
        share = 1 / field.lime_applications
        rate, amount = share * field.lime_t_ha, share * field.lime_t
        yield field.client, field.Index, "lime", amount, amount, rate, rate, _lime_reason(field)


def _lime_reason(field: Any) -> Reason:
    codes = {why.code for why in field.lime}
    said = {
        "product": field.lime_product or "lime",
        "lime_t_ha": field.lime_t_ha,
        "sample_date": field.lime_sample_date,
        "rate_from": "method" if "lime_method" in codes else "lab",
        "only_dolomitic": any(flag.code == "mg_low_dolomite" for flag in field.flags),
    }
    if "lime_zones_mean" in codes:
        return reason("buy_lime_zones", **said)
    if field.lime_applications > 1:
        return reason("buy_lime_split", lime_applications=field.lime_applications, **said)
    return reason("buy_lime", **said)


def _k2o(field: Any) -> Iterator[tuple[Any, ...]]:
    if field.k2o_wanted == "rate":
        t_ha = field.lab_k2o_kg_ha / KG_PER_T
        why = reason("buy_k2o_rate", k2o_kg_ha=field.lab_k2o_kg_ha, sample_date=field.soil_k_date)
        yield _row(field, "k2o", t_ha, t_ha, why)
    elif field.k2o_wanted == "replace" and field.k2o_taken_high_kg_ha > 0:
        low, high = field.k2o_taken_low_kg_ha, field.k2o_taken_high_kg_ha
        yield _row(field, "k2o", low / KG_PER_T, high / KG_PER_T, _replace_reason(field, (low, high)))


def _replace_reason(field: Any, k2o_range_kg_ha: tuple[float, float]) -> Reason:
    return reason(
        "buy_k2o_for_next" if field.taken_basis == "expected" else "buy_k2o_replace",
        k_class=field.soil_k_class,
        scheme=field.soil_k_scheme,
        sample_date=field.soil_k_date,
        k2o_range_kg_ha=k2o_range_kg_ha,
    )


def _row(field: Any, item: str, low_t_ha: float, high_t_ha: float, why: Reason) -> tuple[Any, ...]:
    low_t, high_t = low_t_ha * field.area_ha, high_t_ha * field.area_ha
    return field.client, field.Index, item, low_t, high_t, low_t_ha, high_t_ha, why
