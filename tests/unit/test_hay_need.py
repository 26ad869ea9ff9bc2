"""What the count of winter hay promises."""

import numpy as np
import pandas as pd
import pytest

from maps import labels
from spatial.agronomy.hay_need import hay_need, need_reasons
from spatial.columns import CLIENTS
from spatial.inputs.checks import Report
from spatial.inputs.rules import read_hay_rules
from spatial.inputs.tables import empty_table, read_table
from tests.unit.making import lines_of, write_text

RULES = read_hay_rules()


def client(**own):
    """Return a client of 100 head of 500 kg, fed for 100 days at 2.5 %."""
    usual = {
        "client": "Smith", "herd": 100.0, "body_weight_kg": 500.0, "feeding_days": 100.0, "stored_hay_t": 0.0,
        "hay_is_short": False,
    }  # fmt: skip
    return pd.DataFrame([usual | own])


def field(low_t=0.0, high_t=0.0, owner="Smith", may_be_cut=True):
    """Return a field of 10 ha that gives so much hay as it lies."""
    row = {"client": owner, "area_ha": 10.0, "may_be_cut": may_be_cut}
    return pd.DataFrame([row | {"hay_low_t_ha": low_t * 0.09, "hay_high_t_ha": high_t * 0.09}])


def needs(clients, *some_fields):
    return hay_need(clients, pd.concat(some_fields or [field()], ignore_index=True), RULES)


def short(clients, *some_fields):
    return needs(clients, *some_fields)["short"].iloc[0]


def test_the_need_is_what_the_herd_eats_over_dry_matter_and_what_waste_leaves():
    assert needs(client())["need_t"].iloc[0] == pytest.approx(163.4, abs=0.05)


@pytest.mark.parametrize(
    ("stored_t", "low_t", "high_t", "expected"),
    [
        (0, 0, 0, True),
        (63, 80, 100, True),  # 163 at most for 163.4
        (63, 80, 101, None),  # between
        (63, 101, 150, False),
        (164, 0, 0, False),
    ],
)
def test_a_client_is_short_only_when_even_the_high_estimate_does_not_do(stored_t, low_t, high_t, expected):
    found = short(client(stored_hay_t=float(stored_t)), field(low_t, high_t))
    assert found is pd.NA if expected is None else bool(found) is expected


def test_a_store_that_just_does_is_enough():
    assert not short(client(stored_hay_t=needs(client())["need_t"].iloc[0]))


def test_a_field_that_may_not_be_cut_any_more_gives_nothing():
    assert short(client(), field(500, 600, may_be_cut=False))
    assert needs(client(), field(500, np.nan, may_be_cut=False))["give_high_t"].iloc[0] == 0


def test_the_fields_of_others_give_nothing():
    assert short(client(), field(500, 600, owner="Jones"))


def test_fields_of_one_client_add_up():
    row = needs(client(), field(10, 20), field(30, 50)).iloc[0]
    assert (row["give_low_t"], row["give_high_t"]) == (pytest.approx(40), pytest.approx(70))


def test_a_field_of_unknown_yield_keeps_a_client_from_being_called_short():
    found = needs(client(), field(10, 20), field(np.nan, np.nan)).iloc[0]
    assert found["short"] is pd.NA
    assert found["give_low_t"] == pytest.approx(10) and np.isnan(found["give_high_t"])


def test_a_store_that_is_not_known_is_not_taken_as_empty():
    assert short(client(stored_hay_t=np.nan), field(10, 20)) is pd.NA
    assert not short(client(stored_hay_t=np.nan), field(200, 300))


@pytest.mark.parametrize("missing", ["herd", "body_weight_kg", "feeding_days"])
def test_without_herd_weight_or_days_nothing_is_counted(missing):
    found = needs(client(**{missing: np.nan})).iloc[0]
    assert np.isnan(found["need_t"]) and found["short"] is pd.NA


def test_the_owners_word_goes_before_the_count():
    found = needs(client(stored_hay_t=1000.0, hay_is_short=True)).iloc[0]
    assert (bool(found["short_by_count"]), bool(found["short"])) == (False, True)
    assert short(client(herd=np.nan, hay_is_short=True))


def test_a_client_without_a_herd_is_not_short():
    assert not short(client(herd=0.0, stored_hay_t=np.nan))


def test_the_order_of_rows_changes_nothing():
    two = pd.concat([client(), client(client="Jones", herd=10.0)], ignore_index=True)
    rows = pd.concat([field(10, 20), field(30, 40, owner="Jones")], ignore_index=True)
    pd.testing.assert_frame_equal(hay_need(two, rows, RULES), hay_need(two[::-1], rows[::-1], RULES))


def test_a_region_without_clients_or_fields_gives_an_empty_table():
    assert hay_need(empty_table(CLIENTS), field(), RULES).empty
    assert short(client(), field()[:0])


def told(table, units="us"):
    return labels.sentences(need_reasons(table).iloc[0], units)


def test_a_count_is_told_in_the_units_of_the_region():
    table = needs(client(stored_hay_t=50.0), field(10, 20))
    assert told(table) == (
        "Smith: hay is short. About 180 tons are needed this winter, 55 tons are stored, and the fields may still give "
        "11 tons to 22 tons."
    )
    assert "About 163 t are needed this winter, 50 t are stored" in told(table, "metric")


@pytest.mark.parametrize(
    ("clients", "some_field", "words"),
    [
        (client(), field(10, 900), "Smith: hay may be short."),
        (client(), field(900, 990), "Smith: there is hay enough."),
        (client(stored_hay_t=np.nan), field(10, 20), "an unknown amount are stored"),
        (client(herd=np.nan, hay_is_short=True), field(), "Smith: hay is short, the owner says."),
    ],
)
def test_each_outcome_has_its_words(clients, some_field, words):
    assert words in told(needs(clients, some_field))


def test_the_owners_word_does_not_hide_what_was_counted():
    words = told(needs(client(hay_is_short=True), field(900, 990)))
    assert "the owner says. Smith: there is hay enough." in words


def test_of_a_client_of_whom_nothing_is_known_nothing_is_told():
    assert told(needs(client(herd=np.nan))) == ""


def test_clients_may_be_written_in_pounds_and_short_tons(tmp_path):
    # 1 lb = 0.45359237 kg and 1 short ton = 907.18474 kg: NIST Special Publication 811 (2008), appendix B.8.
    text = "client,herd,body_weight_lb,feeding_days,stored_hay_tons\nSmith,150,1200,180,100\n"
    report = Report()
    row = read_table(write_text(tmp_path / "c.csv", text), CLIENTS, {}, report, "client").iloc[0]
    assert lines_of(report.wrong) == []
    assert row["body_weight_kg"] == pytest.approx(544.310844)
    assert row["stored_hay_t"] == pytest.approx(90.718474)
    assert row["feeding_days"] == 180
