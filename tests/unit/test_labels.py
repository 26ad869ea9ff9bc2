import string
from datetime import date

import pandas as pd
import pytest

from maps import labels
from spatial.reasons import CODES, reason


def test_every_reason_has_its_sentence_and_no_sentence_is_orphaned():
    assert set(labels.SENTENCES) == set(CODES)


@pytest.mark.parametrize("code", sorted(CODES))
def test_a_sentence_uses_only_the_values_its_reason_carries(code):
    wanted = {name for _text, name, _spec, _kind in string.Formatter().parse(labels.SENTENCES[code]) if name}
    assert wanted <= set(CODES[code])


def test_a_sentence_speaks_in_the_regions_units():
    leave = reason("leave_stubble", stubble_cm=10.16)
    assert labels.sentence(leave, "us") == "Leave 4 in of stubble or more."
    assert labels.sentence(leave, "metric") == "Leave 10 cm of stubble or more."


def test_a_name_with_braces_stays_a_name():
    planned = reason("planned_cut", cut_date=date(2026, 9, 9), crew="{crew} {0}")
    assert "{crew} {0}" in labels.sentence(planned, "us")


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.5, "1 fall in 2"),
        (0.2, "1 fall in 5"),
        (0.1, "1 fall in 10"),
        (0.3, "3 falls in 10"),
        (0.05, "1 fall in 20"),
    ],
)
def test_a_chance_is_said_in_falls(chance, words):
    assert labels.chance_words(chance) == words


def test_a_missing_day_is_empty():
    assert labels.day(pd.NaT) == labels.day(None) == ""
