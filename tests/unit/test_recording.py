"""How the words typed to `record` become facts of the log, and which of them it takes."""

from datetime import date, datetime

import pytest

from maps.recording import facts_of
from spatial.errors import InputError
from spatial.inputs.checks import Report
from spatial.inputs.region import read_region
from spatial.inputs.region_file import read_region_file
from spatial.record import Fact, record
from tests.unit.making import lines_of, shapes, write_region

TODAY, DAY = date(2026, 9, 8), date(2026, 9, 1)
AT = datetime(2026, 9, 1)  # noqa: DTZ001 - as the command line parses a day


def typed(*kinds, note="", **measures):
    return facts_of(dict.fromkeys(kinds, AT), measures, note, TODAY, "a", "")


def written(folder, *facts):
    write_region(folder, "", shapes(area=["Bibb", "Twiggs"]))
    record(read_region(folder), read_region_file(folder, Report()), *facts)
    return read_region(folder).season_log


@pytest.mark.parametrize("kind", ["grazed", "green_up", "fall_armyworm", "stem_maggot", "freeze_cut"])
def test_what_was_done_or_seen_is_dated_by_its_day(kind):
    assert typed(kind) == [Fact(DAY, kind, "a")]


@pytest.mark.parametrize("given", [{"stubble_in": 4}, {"stubble_cm": 10.16}])
def test_a_cut_carries_its_stubble_in_cm_whichever_unit_was_typed(given):
    assert typed("cut", **given) == [Fact(DAY, "cut", "a", value="10.16")]


def test_a_height_goes_with_a_freeze_cut_and_alone_it_is_a_height_of_today():
    assert typed("freeze_cut", height_in=6) == [Fact(DAY, "freeze_cut", "a", value="15.24")]
    assert typed("cut", height_cm=30) == [Fact(DAY, "cut", "a"), Fact(TODAY, "height", "a", value="30")]


def test_a_cut_and_a_freeze_cut_keep_their_own_heights():
    facts = typed("cut", "freeze_cut", stubble_cm=8, height_cm=20)
    assert {fact.fact: fact.value for fact in facts} == {"cut": "8", "freeze_cut": "20"}


def test_canopy_eaten_goes_with_the_pest_that_ate_it():
    assert typed("stem_maggot", eaten_in=2) == [Fact(DAY, "stem_maggot", "a", value="5.08")]


@pytest.mark.parametrize("given", [{"hay_tons": 12.5}, {"hay_t": 11.34}])
def test_hay_is_kept_in_metric_tons_whichever_tons_were_typed(given):
    # NIST Special Publication 811 (2008), appendix B.8: 12.5 short tons of 907.18474 kg are 11.34 t.
    assert typed(**given) == [Fact(TODAY, "hay", "a", value="11.34")]


@pytest.mark.parametrize("kind", ["cut", "freeze_cut"])
def test_hay_said_with_a_cut_is_of_the_day_of_the_cut(kind):
    assert Fact(DAY, "hay", "a", value="11.34") in typed(kind, hay_tons=12.5)


def test_stand_cover_is_of_the_day_of_green_up_else_of_today():
    cover, alone = typed("green_up", stand_cover_pct=85.0)[1], typed(stand_cover_pct=85.0)[0]
    assert (cover.date, cover.value, alone.date) == (DAY, "85", TODAY)


@pytest.mark.parametrize(
    ("kinds", "measures", "cause"),
    [
        ([], {"stubble_in": 4}, "a stubble is given without a cut"),
        (["freeze_cut"], {"stubble_in": 4}, "a stubble is given without a cut"),
        ([], {"eaten_cm": 4}, "canopy eaten is given without the one pest that ate it"),
        (["fall_armyworm", "stem_maggot"], {"eaten_cm": 4}, "without the one pest that ate it"),
        (["cut"], {"stubble_in": 4, "stubble_cm": 10}, "the stubble is given in inches and in cm"),
        ([], {"hay_tons": 4, "hay_t": 4}, "the hay is given in tons of 2,000 lb and in metric tons"),
    ],
)
def test_a_measure_that_belongs_to_nothing_or_is_said_twice_is_one_line(kinds, measures, cause):
    with pytest.raises(InputError, match=cause):
        typed(*kinds, **measures)


def test_every_kind_of_fact_is_read_back_as_it_was_written(tmp_path):
    facts = [
        Fact(DAY, "cut", "a", value="10.16"),
        Fact(DAY, "hay", "a", value="11.34"),
        Fact(DAY, "freeze_cut", "a", value="15.24"),
        Fact(DAY, "fall_armyworm", "a", value="5.08"),
        Fact(DAY, "stem_maggot", area="Bibb"),
        Fact(DAY, "stand_cover", "a", value="85"),
        Fact(DAY, "green_up", "a"),
        Fact(DAY, "grazed", "a"),
    ]
    log = written(tmp_path, *facts)
    assert log["fact"].tolist() == [fact.fact for fact in facts]
    assert log["value"].tolist() == [fact.value for fact in facts]


@pytest.mark.parametrize(
    ("fact", "cause"),
    [
        (Fact(DAY, "stand_cover", "a"), "row 2: has no value"),
        (Fact(DAY, "hay", "a"), "row 2: has no value"),
        (Fact(DAY, "hay", "a", value="-1"), "row 2, value = '-1': is not a possible number"),
        (Fact(DAY, "hay", "a", value="25000"), "row 2, value = '25000': is not a possible number"),
        (Fact(DAY, "hay", area="Bibb", value="11"), "row 2: names no field"),
        (Fact(DAY, "stand_cover", "a", value="120"), "row 2, value = '120': is not a possible number"),
        (Fact(DAY, "freeze_cut", "a", value="tall"), "row 2, value = 'tall': is not a possible number"),
        (Fact(DAY, "fall_armyworm", "a", value="-1"), "row 2, value = '-1': is not a possible number"),
        (Fact(DAY, "stem_maggot", "a", value="301"), "row 2, value = '301': is not a possible number"),
        (Fact(DAY, "green_up", area="Bibb"), "row 2: names no field"),
        (Fact(DAY, "grazed", area="Bibb"), "row 2: names no field"),
        (Fact(DAY, "stand_cover", area="Bibb", value="80"), "row 2: names no field"),
        (Fact(DAY, "freeze_cut", area="Bibb"), "row 2: names no field"),
    ],
)
def test_of_facts_said_together_none_is_written_where_one_is_wrong(tmp_path, fact, cause):
    with pytest.raises(InputError) as refused:
        written(tmp_path, Fact(DAY, "cut", "a"), fact)
    (line,) = lines_of(refused.value.problems)
    assert line.startswith(f"record: {cause}")
    assert not (tmp_path / "season_log.csv").exists()
