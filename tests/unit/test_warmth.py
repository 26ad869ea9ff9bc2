import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from spatial.agronomy.deadline import last_cuts
from spatial.agronomy.warmth import warmth_shares
from spatial.climate.seasons import growing_year
from tests.unit.stands import GROWTH_RULES, SEASON, days_of, fields_of, growth_at, numbers_of

DAYS = growing_year(SEASON)


def normals(shift_c=0.0):
    means = [mean + shift_c for mean in GROWTH_RULES.rule_place_c]
    return pd.DataFrame({"month": range(1, 13), "mean_temperature_c": means})


def test_without_normals_growth_is_by_day_length_alone():
    assert (warmth_shares(normals().iloc[:0], GROWTH_RULES, DAYS) == 1).all()


def test_at_the_place_of_the_rule_of_thumb_temperature_changes_nothing():
    np.testing.assert_allclose(warmth_shares(normals(), GROWTH_RULES, DAYS), 1)


def test_a_warm_place_is_not_trusted_beyond_the_most():
    shares = warmth_shares(normals(15.0), GROWTH_RULES, DAYS)
    assert shares.max() == GROWTH_RULES.most_warmth_share


def last_cut(shift_c):
    fields = fields_of(stubble_cm=[10.16])
    known = pd.DataFrame(
        {"killing_freeze_date": days_of("11-20"), "freeze_cover_share": 1.0}, index=fields.index
    )
    return last_cuts(known, numbers_of(fields), growth_at(fields, 33.0, normals(shift_c)))[
        "last_cut_date"
    ].iloc[0]


@given(st.floats(-6, 6), st.floats(-6, 6))
def test_a_colder_place_never_has_a_later_last_cut(one, other):
    colder, warmer = sorted([one, other])
    assert last_cut(colder) <= last_cut(warmer)
