"""Our date at 1 fall in 5 with 35 days, against UGA's six weeks before the average killing frost."""

import pandas as pd

# Hancock, Univ. of Georgia: hybrid bermudagrass, last cut no later than 6 weeks before the average killing frost.
SIX_WEEKS = pd.Timedelta(days=42)


def days_apart(plan):
    fields = plan.fields[
        (plan.fields["grass"] == "hybrid_bermudagrass") & plan.fields["average_freeze_date"].notna()
    ]
    return fields, (fields["last_cut_date"] - (fields["average_freeze_date"] - SIX_WEEKS)).dt.days


def test_at_the_usual_stubble_the_two_rules_agree_within_a_week(plan):
    fields, apart = days_apart(plan)
    usual = fields["regrowth_days"] == 35
    assert usual.sum() > 15
    # 7 days more of regrowth against a date about 8 days later: ours is the same day or earlier, by a week at most.
    assert apart[usual].between(-9, 0).all()


def test_every_field_whose_date_is_later_says_so(plan):
    fields, apart = days_apart(plan)
    told = fields["mind"].map(
        lambda reasons: [r.values["days"] for r in reasons if r.code == "later_than_published"]
    )
    assert told.map(sum).tolist() == apart.clip(lower=0).tolist()
