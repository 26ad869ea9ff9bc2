"""What sightings of fall armyworm and stem maggot mean for a field."""

from datetime import date

import pandas as pd
import pytest

from maps.labels import sentence
from spatial.agronomy.pests import eaten_cm, pest_reasons
from tests.unit.stands import days_of, fields_of
from tests.unit.test_season_facts import log_of

ON, NORTH = date(2026, 8, 20), (8, 1)


def fields_with(**columns):
    count = len(next(iter(columns.values())))
    plain = {"area": ["Hill"] * count, "last_cut_date": days_of(*["10-01"] * count)}
    table = fields_of(**(plain | columns))
    for name in ("closed_until_date", "killing_freeze_recorded_date"):
        table[name] = pd.to_datetime(table[name]) if name in table else pd.NaT
    return table


def found(*facts, fields=None, on=ON, season_start=NORTH):
    fields = fields_with(intent=["hay"]) if fields is None else fields
    return pest_reasons(log_of(*facts), fields, on, season_start)


def codes(*facts, **how):
    return [[why.code for why in reasons] for reasons in found(*facts, **how)]


SEEN = ("2026-08-15", "fall_armyworm", "a", "", "")


def test_a_field_of_which_nothing_is_said_has_no_reasons():
    assert found().tolist() == [()]


def test_a_sighting_means_scouting_and_a_case_for_cutting_early_while_the_date_allows():
    assert codes(SEEN) == [["armyworm_seen", "pest_peak", "eaten_cut_early"]]
    assert found(SEEN)["a"][0].values["seen_date"] == pd.Timestamp("2026-08-15")


def test_stem_maggot_and_armyworm_are_told_apart():
    log = (SEEN, ("2026-08-16", "stem_maggot", "a", "", ""))
    assert codes(*log)[0][:2] == ["armyworm_seen", "stem_maggot_seen"]


def test_on_the_last_cut_date_itself_it_may_still_be_cut_and_a_day_later_not():
    fields = fields_with(last_cut_date=days_of("08-20", "08-19"))
    log = (SEEN, ("2026-08-15", "fall_armyworm", "b", "", ""))
    assert [each[-1] for each in codes(*log, fields=fields)] == ["eaten_cut_early", "eaten_after_last_cut"]


def test_without_a_last_cut_date_no_cut_is_spoken_of():
    assert codes(SEEN, fields=fields_with(last_cut_date=[pd.NaT])) == [["armyworm_seen", "pest_peak"]]


def test_a_field_that_a_label_closes_or_that_is_kept_for_grazing_is_no_case_for_cutting():
    fields = fields_with(
        intent=["hay", "grazed", "stockpile"], closed_until_date=days_of("08-20", None, None)
    )
    log = [("2026-08-15", "stem_maggot", name, "", "") for name in "abc"]
    assert codes(*log, fields=fields) == [["stem_maggot_seen", "pest_peak"]] * 3


def test_a_cut_or_a_killing_freeze_after_a_sighting_ends_it():
    fields = fields_with(
        previous_cut_date=days_of("08-16", "08-10", "08-10", "08-10"),
        killing_freeze_recorded_date=days_of(None, None, None, "08-18"),
    )
    log = [("2026-08-15", "fall_armyworm", name, "", "") for name in "abcd"]
    log.append(("2026-08-16", "cut", "b", "", ""))
    assert [bool(each) for each in codes(*log, fields=fields)] == [False, False, True, False]


def test_an_old_sighting_says_nothing_any_more():
    assert codes(SEEN, on=date(2026, 9, 5)) == [["armyworm_seen", "pest_peak", "eaten_cut_early"]]
    assert codes(SEEN, on=date(2026, 9, 6)) == [[]]


def test_a_sighting_after_the_day_of_the_plan_is_not_known_yet():
    assert codes(("2026-08-21", "fall_armyworm", "a", "", "")) == [[]]


def test_a_sighting_in_the_area_only_means_scouting():
    fields = fields_with(area=["Hill", "Plain"])
    near = ("2026-08-15", "stem_maggot", "", "Hill", "5")
    assert codes(near, fields=fields) == [["stem_maggot_near", "pest_peak"], []]


def test_a_fields_own_sighting_goes_before_one_in_its_area():
    near = ("2026-08-16", "fall_armyworm", "", "Hill", "")
    assert codes(SEEN, near)[0].count("armyworm_seen") == 1
    assert "armyworm_near" not in codes(SEEN, near)[0]


def test_canopy_eaten_is_regrowth_lost():
    log = (("2026-08-12", "fall_armyworm", "a", "", "5"), ("2026-08-15", "fall_armyworm", "a", "", "2.5"))
    lost = [why for why in found(*log)["a"] if why.code == "regrowth_lost"]
    assert [why.values["eaten_cm"] for why in lost] == [7.5]


def test_the_peak_is_july_to_september_and_said_only_in_the_north():
    early = ("2026-06-25", "fall_armyworm", "a", "", "")
    assert "pest_peak" not in codes(early, on=date(2026, 6, 30))[0]
    assert "pest_peak" in codes(early, on=date(2026, 7, 1))[0]
    assert "pest_peak" not in codes(SEEN, season_start=(2, 1))[0]


def test_a_sighting_of_last_fall_is_over_when_the_new_growing_year_begins():
    late = ("2026-03-25", "fall_armyworm", "a", "", "")
    assert codes(late, on=date(2026, 3, 31))[0] and not codes(late, on=date(2026, 4, 1))[0]


def test_eaten_canopy_counts_after_the_day_the_height_was_known():
    fields = fields_with(
        height_date=days_of("08-10", "08-15", None, None),
        previous_cut_date=days_of(None, None, "08-10", None),
    )
    log = [("2026-08-15", "fall_armyworm", name, "", "6") for name in "abcd"]
    log.append(("2026-08-16", "fall_armyworm", "", "Hill", "9"))
    assert eaten_cm(log_of(*log), fields, ON).tolist() == [6.0, 0.0, 6.0, 0.0]


@pytest.mark.parametrize("kind", ["fall_armyworm", "stem_maggot"])
def test_what_is_said_of_treating_is_the_label_and_local_advice(kind):
    said = " ".join(sentence(why, "us") for why in found(("2026-08-15", kind, "a", "", "5"))["a"])
    assert "Treat only by the label and local extension advice." in said
    assert "About 2 in of canopy was eaten" in said
    assert "by 1 Oct at the latest" in said
