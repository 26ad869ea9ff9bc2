"""Laws of one season: the same region planned on later and later days."""

from datetime import date
from itertools import pairwise

import pytest

from spatial.plan import make_plan
from spatial.settings import settings_with

DAYS = [
    date(2026, 8, 5), date(2026, 8, 20), date(2026, 9, 8), date(2026, 10, 1), date(2026, 10, 20), date(2026, 11, 8),
    date(2026, 11, 25), date(2027, 1, 15), date(2027, 3, 10),
]  # fmt: skip


@pytest.fixture(scope="module")
def plans(region):
    return [make_plan(region, settings_with(on, region.settings)) for on in DAYS]


def test_a_later_day_never_moves_a_last_cut_date(plans):
    first = plans[0].fields["last_cut_date"]
    for plan in plans[1:]:
        assert plan.fields["last_cut_date"].equals(first)


def test_a_closed_window_never_opens_again(plans):
    closed = set()
    for plan in plans:
        open_now = set(plan.fields.index[plan.fields["stage"].isin(["growing", "ready"])])
        assert not open_now & closed
        closed |= set(plan.fields.index) - open_now
    assert len(closed) == len(plans[0].fields)


def test_days_left_shrink_by_the_days_gone_by(plans):
    gone = (DAYS[-1] - DAYS[0]).days
    assert (plans[0].fields["days_left"] - plans[-1].fields["days_left"]).eq(gone).all()


def test_a_more_cautious_chance_never_gives_a_later_last_cut(plans):
    fields = plans[2].fields
    dates = [fields[f"last_cut_{percent}_date"] for percent in (10, 20, 30, 50)]
    for cautious, bolder in pairwise(dates):
        assert (cautious <= bolder).all()


def test_the_risk_of_a_cut_only_grows_with_its_day(plans):
    for risk in plans[2].fields["risk"]:
        shares = [share for _day, share in risk]
        assert shares == sorted(shares)


def test_no_season_has_an_early_cut_planned_after_its_date(plans):
    for plan in plans:
        last = plan.fields["last_cut_date"].reindex(plan.route["field_id"])
        assert (plan.route["date"].to_numpy() <= last.to_numpy()).all()
