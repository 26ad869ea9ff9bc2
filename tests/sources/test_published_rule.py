"""Our date at 1 fall in 5 with 35 days, against UGA's six weeks before the average killing frost."""

import pandas as pd

# Hancock, Univ. of Georgia: hybrid bermudagrass, last cut no later than 6 weeks before the average killing frost.
SIX_WEEKS = pd.Timedelta(days=42)


def days_apart(plan):
    fields = plan.fields[
        (plan.fields["grass"] == "hybrid_bermudagrass") & plan.fields["average_freeze_date"].notna()
    ]
    return fields, (fields["last_cut_date"] - (fields["average_freeze_date"] - SIX_WEEKS)).dt.days


def test_at_the_usual_stubble_our_date_is_never_later_and_at_most_nine_days_earlier(plan):
    fields, apart = days_apart(plan)
    usual = fields["regrowth_days"] == 35
    assert usual.sum() > 15
    # On the sample region, whose freeze dates are invented: seven days less of regrowth, from an earlier date.
    assert apart[usual].between(-9, 0).all()


def days_told(plan, field_id):
    reasons = plan.fields.loc[field_id, "mind"]
    return [one.values["days"] for one in reasons if one.code == "later_than_published"]


def test_a_date_later_than_six_weeks_before_the_average_says_by_how_many_days(plan):
    # By hand: CG-03, average 23 November, six weeks before it 12 October, last cut 13 October.
    assert f"{plan.fields.loc['CG-03', 'average_freeze_date']:%m-%d}" == "11-23"
    assert f"{plan.fields.loc['CG-03', 'last_cut_date']:%m-%d}" == "10-13"
    assert days_told(plan, "CG-03") == [1]


def test_a_date_before_six_weeks_before_the_average_says_nothing(plan):
    # By hand: BH-01, average 16 November, six weeks before it 5 October, last cut 4 October.
    assert f"{plan.fields.loc['BH-01', 'average_freeze_date']:%m-%d}" == "11-16"
    assert f"{plan.fields.loc['BH-01', 'last_cut_date']:%m-%d}" == "10-04"
    assert days_told(plan, "BH-01") == []


def test_every_sample_field_later_than_the_published_rule_says_so_and_no_other(plan):
    fields, apart = days_apart(plan)
    for field_id in fields.index:
        assert bool(days_told(plan, field_id)) == (apart[field_id] > 0), field_id
