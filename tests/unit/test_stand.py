from datetime import date

import pandas as pd

from spatial.agronomy.stand import stands_on
from tests.unit.stands import days_of, fields_of

ON, SEASON, YEAR = date(2026, 9, 8), date(2026, 8, 1), date(2026, 4, 1)


def log_of(*facts):
    table = pd.DataFrame(facts, columns=["date", "fact", "field_id", "area", "value"])
    return table.assign(date=pd.to_datetime(table["date"]))


def test_the_log_goes_before_an_older_date_in_the_fields():
    fields = fields_of(previous_cut_date=days_of("07-01", "07-01"))
    stands = stands_on(fields, log_of(("2026-08-10", "cut", "a", "", "")), ON, SEASON, YEAR)
    assert stands["previous_cut_date"].tolist() == days_of("08-10", "07-01")


def test_facts_after_the_day_of_the_plan_are_not_known_yet():
    fields = fields_of(previous_cut_date=days_of("09-20"))
    stands = stands_on(fields, log_of(("2026-09-10", "cut", "a", "", "")), ON, SEASON, YEAR)
    assert stands["previous_cut_date"].isna().all()


def test_a_cut_makes_an_older_height_void():
    fields = fields_of(height_cm=[30.0, 30.0], height_date=days_of("08-05", "08-20"))
    log = log_of(("2026-08-10", "cut", "a", "", ""), ("2026-08-10", "cut", "b", "", ""))
    assert stands_on(fields, log, ON, SEASON, YEAR)["height_cm"].isna().tolist() == [True, False]


def test_the_newest_height_counts():
    fields = fields_of(height_cm=[20.0, 20.0], height_date=days_of("08-20", "09-05"))
    log = log_of(("2026-09-01", "height", "a", "", "27.5"), ("2026-09-01", "height", "b", "", "27.5"))
    assert stands_on(fields, log, ON, SEASON, YEAR)["height_cm"].tolist() == [27.5, 20.0]


def test_a_killing_freeze_counts_for_its_area_or_its_field_and_only_this_season():
    fields = fields_of(area=["Hill", "Plain", "Plain", "Marsh"])
    log = log_of(
        ("2026-08-02", "killing_freeze", "", "Hill", ""),
        ("2026-08-03", "killing_freeze", "c", "", ""),
        ("2026-01-15", "killing_freeze", "", "Marsh", ""),
    )
    assert stands_on(fields, log, ON, SEASON, YEAR)["killing_freeze_recorded_date"].tolist() == days_of(
        "08-02", None, "08-03", None
    )


def test_a_sprayed_field_is_closed_until_the_labels_date():
    log = log_of(("2026-09-01", "sprayed_until", "a", "", "2026-09-15"))
    assert stands_on(fields_of(area=["", ""]), log, ON, SEASON, YEAR)[
        "closed_until_date"
    ].tolist() == days_of("09-15", None)


def test_a_new_growing_year_starts_without_last_years_cut_and_height():
    fields = fields_of(previous_cut_date=days_of("09-11"), height_cm=[30.0], height_date=days_of("09-20"))
    stands = stands_on(fields, log_of(), date(2027, 4, 5), date(2027, 8, 1), date(2027, 4, 1))
    assert stands[["previous_cut_date", "height_cm", "height_date"]].isna().all(axis=None)


def test_a_height_counts_as_seen_for_two_weeks():
    fields = fields_of(height_cm=[30.0, 30.0], height_date=days_of("08-26", "08-24"))
    assert stands_on(fields, log_of(), ON, SEASON, YEAR)["height_seen"].tolist() == [True, False]


def test_a_label_that_has_run_out_closes_nothing():
    log = log_of(("2026-08-20", "sprayed_until", "a", "", "2026-09-07"))
    assert stands_on(fields_of(area=[""]), log, ON, SEASON, YEAR)["closed_until_date"].isna().all()


def test_grazing_brings_a_stand_down_as_a_cut_does():
    fields = fields_of(previous_cut_date=days_of("07-01"), height_cm=[30.0], height_date=days_of("08-20"))
    stands = stands_on(fields, log_of(("2026-09-07", "grazed", "a", "", "")), ON, SEASON, YEAR)
    assert stands["previous_cut_date"].tolist() == days_of("09-07")
    assert stands["height_cm"].isna().all()


def test_a_height_without_a_date_gives_way_to_what_the_log_knows():
    fields = fields_of(height_cm=[30.0, 30.0], area=["", ""])
    stands = stands_on(fields, log_of(("2026-09-07", "cut", "a", "", "12.5")), ON, SEASON, YEAR)
    assert stands["height_cm"].isna().tolist() == [True, False]
    assert stands["cut_stubble_cm"].tolist()[0] == 12.5
