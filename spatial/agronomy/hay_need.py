"""The winter hay that each client needs, against what is stored and what the fields may still give."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.units import KG_PER_T
from spatial.values import HayRules


def hay_need(clients: pd.DataFrame, fields: pd.DataFrame, rules: HayRules) -> pd.DataFrame:
    """Return for each client how its hay stands: need, store, what may still come, and whether it is short.

    On client, hay as it lies [t]: need_t (NaN where herd, weight or days are not given), stored_hay_t, give_low_t,
    give_high_t; short_by_count: True where even store and high do not meet the need, False where store and low do,
    else missing; short: the same, and True by the owner's word.

    `clients` is the table of clients. `fields` has client, area_ha, may_be_cut (a cut may still come this season)
    and hay_low_t_ha, hay_high_t_ha of that cut, dry matter [t/ha]; a field of unknown yield adds nothing to the
    low sum and makes the high one NaN.
    """
    known = clients.set_index("client").sort_index()
    table = pd.DataFrame({"need_t": _need_t(known, rules), "stored_hay_t": known["stored_hay_t"]})
    table = table.join(_still_to_come(fields, known.index, rules))
    by_count = _short_by_count(table)
    return table.assign(short_by_count=by_count, short=by_count.mask(known["hay_is_short"], True))


def need_reasons(needs: pd.DataFrame) -> pd.Series:
    """Return for each client a tuple of reasons that tell how its hay stands, from what `hay_need` returns.

    Empty where neither a need nor the owner's word is known.
    """
    rows = [tuple(_reasons(row)) for row in needs.itertuples()]
    return pd.Series(rows, index=needs.index, dtype=object, name="hay")


def _need_t(clients: pd.DataFrame, rules: HayRules) -> pd.Series:
    # Waste is a share of the hay laid up, not of the hay eaten, so the need is divided by what is left of it.
    a_day_kg = clients["herd"] * clients["body_weight_kg"] * rules.intake_share
    eaten_t = a_day_kg * clients["feeding_days"] / KG_PER_T
    return eaten_t / rules.dry_matter_share / (1 - rules.waste_share)


def _still_to_come(fields: pd.DataFrame, clients: pd.Index, rules: HayRules) -> pd.DataFrame:
    """Return give_low_t and give_high_t over the fields of each client that may still be cut."""
    open_fields = fields[fields["may_be_cut"]]
    as_it_lies_ha = open_fields["area_ha"] / rules.dry_matter_share
    low_t, high_t = (open_fields[name] * as_it_lies_ha for name in ("hay_low_t_ha", "hay_high_t_ha"))
    owner = open_fields["client"]
    unknown = high_t.isna().groupby(owner).any()
    sums = pd.DataFrame(
        {
            "give_low_t": low_t.groupby(owner).sum(),
            "give_high_t": high_t.groupby(owner).sum().mask(unknown),
        }
    )
    return sums.reindex(clients, fill_value=0.0)


def _short_by_count(table: pd.DataFrame) -> pd.Series:
    least_t = table["stored_hay_t"].fillna(0) + table["give_low_t"]
    most_t = table["stored_hay_t"] + table["give_high_t"]
    short = pd.Series(pd.NA, index=table.index, dtype="boolean")
    short[least_t >= table["need_t"]] = False
    short[most_t < table["need_t"]] = True
    return short


def _reasons(row: Any) -> Iterable[Reason]:
    counted = pd.notna(row.short_by_count)
    if pd.notna(row.short) and row.short and not (counted and row.short_by_count):
        yield reason("client_short_by_word", client=row.Index)
    if pd.isna(row.need_t):
        return
    code = "client_may_be_short"
    if counted:
        code = "client_short" if row.short_by_count else "client_hay_enough"
    yield reason(
        code,
        client=row.Index,
        need_t=row.need_t,
        stored_hay_t=row.stored_hay_t,
        give_low_t=row.give_low_t,
        give_high_t=row.give_high_t,
    )
