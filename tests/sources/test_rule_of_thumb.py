"""The last-cut date against what the trade says and what was published of fall growth."""

import pandas as pd

from spatial.agronomy.deadline import last_cuts
from tests.unit.stands import days_of, fields_of, growth_at, numbers_of

KG_HA_PER_CM = 250 * 1.12085 / 2.54  # 250 lb of dry matter an acre-inch: from memory


def test_35_days_before_a_10_november_freeze_is_6_october():
    # Common practice, no source: count back five weeks from the killing freeze.
    fields = fields_of(stubble_cm=[10.16])
    known = pd.DataFrame({"killing_freeze_date": pd.to_datetime(days_of("11-10")), "freeze_cover_share": 1.0},
                         index=fields.index)  # fmt: skip
    row = last_cuts(known, numbers_of(fields), growth_at(fields)).iloc[0]
    assert (row["last_cut_date"], row["last_cut_limit"]) == (pd.Timestamp("2026-10-06"), "freeze")


def grown_cm(first, last, latitude=31.5):
    fields = fields_of(grass=["hybrid_bermudagrass"])
    ends = (fields.assign(day=days_of(text))["day"] for text in (first, last))
    return growth_at(fields, latitude).between_cm(*ends).iloc[0]


def test_june_growth_is_that_of_burton():
    # Burton et al. 1988, Agron. J. 80: Coastal bermudagrass, 24-day cuts, 2907 kg/ha in June, near 31.5 N.
    assert abs(grown_cm("06-03", "06-27") * KG_HA_PER_CM - 2907) < 0.15 * 2907


def test_fall_growth_lies_between_the_two_published_figures():
    # They disagree with each other: 24-day cuts gave 295 kg/ha in October (Burton et al. 1988, Agron. J. 80),
    # while 8 weeks from 26 August gave 4778 kg/ha (UGA impact statement 1341). The line is above the one and below
    # the other.
    assert grown_cm("10-03", "10-27") * KG_HA_PER_CM > 295
    assert grown_cm("08-26", "10-21") * KG_HA_PER_CM < 4778
