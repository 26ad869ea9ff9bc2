"""The hay that a cut of a field gives: how much, as a range, and how good."""

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from spatial.reasons import Reason, reason
from spatial.units import KG_PER_T
from spatial.values import HayRules

SLACK_CM = 1e-6  # or 7 in less 4 in, both brought to cm, would fall short of 3 in


def expected_hay(heights_cm: pd.Series, stubble_cm: pd.Series, rules: HayRules) -> pd.DataFrame:
    """Return hay_low_t_ha and hay_high_t_ha, the dry matter that a cut at these heights gives [t/ha].

    `heights_cm` is the canopy at the cut and `stubble_cm` what the mower leaves [cm], on one index. Growth above
    the stubble under the least measurable gives 0; where height or stubble is unknown both are NaN.
    """
    growth_cm = heights_cm.astype(float) - stubble_cm.astype(float)
    too_little = growth_cm < rules.least_growth_cm - SLACK_CM
    cut_cm = growth_cm.mask(too_little, 0.0)
    return pd.DataFrame(
        {
            "hay_low_t_ha": cut_cm * rules.dry_matter_low_kg_ha_cm / KG_PER_T,
            "hay_high_t_ha": cut_cm * rules.dry_matter_high_kg_ha_cm / KG_PER_T,
        }
    )


def hay_quality(interval_days: pd.Series, grasses: pd.Series, rules: HayRules) -> pd.DataFrame:
    """Return crude_protein_low_share, .._high_share and digestibility_low_share, .._high_share, of dry matter.

    `interval_days` are the days from the previous cut to this one, `grasses` the codes of the fields' grasses.
    Straight lines between the published intervals, with the error below and above; NaN outside of them, for a
    grass that nothing was published of, and where the interval is unknown. It is for hay cut green: a stand loses
    digestibility after the freeze, so that a freeze cut has no quality here.
    """
    known = interval_days.astype(float).where(grasses.isin(rules.quality_grasses))
    protein = _between(known, rules.quality_days, rules.crude_protein_share)
    digestible = _between(known, rules.quality_days, rules.digestibility_share)
    below, above = rules.crude_protein_error_share
    less, more = rules.digestibility_error_share
    return pd.DataFrame(
        {
            "crude_protein_low_share": protein - below,
            "crude_protein_high_share": protein + above,
            "digestibility_low_share": digestible - less,
            "digestibility_high_share": digestible + more,
        }
    )


def hay_reasons(hay: pd.DataFrame) -> pd.Series:
    """Return for each field a tuple of reasons that tell its hay: how much, then how good.

    `hay` has the columns of `expected_hay` and of `hay_quality`, and interval_days; what is unknown is not told.
    """
    rows = [tuple(_reasons(row)) for row in hay.itertuples()]
    return pd.Series(rows, index=hay.index, dtype=object, name="hay")


def _between(days: pd.Series, known_days: tuple[float, ...], shares: tuple[float, ...]) -> pd.Series:
    found = np.interp(days.to_numpy(), known_days, shares, left=np.nan, right=np.nan)
    return pd.Series(found, index=days.index)


def _reasons(row: Any) -> Iterable[Reason]:
    if row.hay_high_t_ha > 0:
        yield reason("hay_expected", low_t_ha=row.hay_low_t_ha, high_t_ha=row.hay_high_t_ha)
    elif row.hay_high_t_ha == 0:
        yield reason("hay_too_little")
    if pd.notna(row.crude_protein_low_share):
        yield reason(
            "hay_quality",
            interval_days=round(row.interval_days),
            crude_protein_low_share=row.crude_protein_low_share,
            crude_protein_high_share=row.crude_protein_high_share,
            digestibility_low_share=row.digestibility_low_share,
            digestibility_high_share=row.digestibility_high_share,
        )
