"""The last-cut date against what the trade says, and growth against what was published of it."""

import numpy as np
import pandas as pd
import pytest

from spatial.agronomy.deadline import last_cuts
from spatial.climate.daylight import day_length_h
from tests.unit.stands import GRASSES, days_of, fields_of, growth_at, numbers_of

KG_HA_PER_CM = 250 * 1.12085 / 2.54  # 250 lb of dry matter an acre-inch: from memory
BERMUDA = GRASSES["hybrid_bermudagrass"]

# Burton et al. 1988, Agron. J. 80: Coastal, 24-day cuts, 2907 kg/ha in June and 295 kg/ha in October, near Tifton.
# UGA impact statement 1341: Coastal, 4778 kg/ha in 8 weeks from 26 August at Tifton.
JUNE, OCTOBER, EIGHT_WEEKS = ("06-03", "06-27", 2907), ("10-03", "10-27", 295), ("08-26", "10-21", 4778)


def last_cut(freeze, stubble_cm=10.16):
    fields = fields_of(stubble_cm=[stubble_cm])
    known = {"killing_freeze_date": pd.to_datetime(days_of(freeze)), "freeze_cover_share": 1.0}
    return last_cuts(pd.DataFrame(known, index=fields.index), numbers_of(fields), growth_at(fields)).iloc[0]


def test_35_days_before_a_10_november_freeze_is_6_october():
    # Common practice, no source: count back five weeks from the killing freeze.
    row = last_cut("11-10")
    assert (row["last_cut_date"], row["last_cut_limit"]) == (pd.Timestamp("2026-10-06"), "freeze")


def test_under_4_inches_of_stubble_the_regrowth_is_longer_and_the_date_earlier():
    # Common practice, no source: more stubble means faster regrowth.
    short, usual = last_cut("11-01", stubble_cm=7.62), last_cut("11-01")
    assert short["regrowth_days"] > usual["regrowth_days"] == 35
    assert short["last_cut_date"] < usual["last_cut_date"]


def grown_cm(first, last, latitude=31.5):
    fields = fields_of(grass=["hybrid_bermudagrass"])
    ends = (fields.assign(day=days_of(text))["day"] for text in (first, last))
    return growth_at(fields, latitude).between_cm(*ends).iloc[0]


def published_over_line(first, last, published_kg_ha):
    return published_kg_ha / (grown_cm(first, last) * KG_HA_PER_CM)


def test_june_growth_left_out_of_the_fit_comes_out_as_published():
    assert published_over_line(*JUNE) == pytest.approx(1.0, abs=0.05)


def test_the_range_told_is_that_of_the_two_published_fall_figures():
    assert published_over_line(*OCTOBER) == pytest.approx(BERMUDA.growth_low_share, abs=0.02)
    assert published_over_line(*EIGHT_WEEKS) == pytest.approx(BERMUDA.growth_high_share, abs=0.05)


def misfit(limit_h):
    """Return the squared log error over the two fall figures, with the rule of thumb held at 33 N."""

    def light_h(latitude, first, last):
        days = pd.date_range(f"2026-{first}", f"2026-{last}")[1:]
        return np.clip(day_length_h(latitude, days, -83.5) - limit_h, 0, None).sum()

    rate = 10.16 / light_h(33.0, "10-06", "11-10")
    made = [(rate * light_h(31.5, *span[:2]) * KG_HA_PER_CM, span[2]) for span in (OCTOBER, EIGHT_WEEKS)]
    return sum(np.log(published / line) ** 2 for line, published in made)


def test_the_day_length_limit_is_that_of_the_fit_to_the_fall_figures():
    limits = np.arange(8.5, 11.0, 0.1)
    least = min(misfit(limit) for limit in limits)
    assert misfit(BERMUDA.growth_day_length_h) < 1.03 * least


def test_late_fall_growth_may_be_as_little_as_an_inch_and_a_half():
    # By the October figure, 35 days of late fall make about 1.5 in (computed from Burton et al. 1988).
    low_cm = grown_cm("10-06", "11-10", 33.0) * BERMUDA.growth_low_share
    assert 1.0 < low_cm / 2.54 < 2.0
