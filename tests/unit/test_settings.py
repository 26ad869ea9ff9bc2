"""What the settings promise."""

from datetime import date

import pytest

from spatial.errors import InputError
from spatial.settings import Settings, about_settings, settings_with

ON = date(2026, 9, 8)


def test_every_setting_says_what_it_is_and_how_far_it_goes():
    for name, about in about_settings().items():
        assert about.help, name
        assert about.choices or about.least < about.most, name


def test_every_default_is_within_its_range():
    assert Settings(on=ON).on == ON


def test_a_later_layer_wins_and_what_is_not_said_keeps_its_place():
    settings = settings_with(ON, {"chance": 0.1, "seed": 7}, {"chance": 0.5, "seed": None})
    assert (settings.chance, settings.seed, settings.horizon_days) == (0.5, 7, 10)


def test_all_that_is_out_of_range_is_said_at_once():
    with pytest.raises(InputError) as refused:
        Settings(on=ON, chance=1.5, horizon_days=0, effort="hard")
    assert [problem.place for problem in refused.value.problems] == ["chance", "horizon_days", "effort"]


@pytest.mark.parametrize(
    ("name", "value", "cause"),
    [
        ("chance", float("nan"), "nan is out of range"),
        ("chance", "often", "'often' is not a number"),
        ("chance", True, "True is not a number"),
        ("horizon_days", 7.5, "7.5 is not a whole number"),
        ("seed", 1.0, "1 is not a whole number"),
        ("effort", 3, "3 is not known"),
    ],
)
def test_a_value_of_the_wrong_sort_is_refused(name, value, cause):
    with pytest.raises(InputError) as refused:
        settings_with(ON, {name: value})
    assert [problem.cause for problem in refused.value.problems] == [cause]


@pytest.mark.parametrize("chance", [0.02, 0.9])
def test_the_ends_of_a_range_belong_to_it(chance):
    assert settings_with(ON, {"chance": chance}).chance == chance
