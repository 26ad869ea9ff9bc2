import string
from datetime import date

import pandas as pd
import pytest

from maps import labels
from spatial.climate.surface.covariates import LEAST_SPREAD
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


@pytest.mark.parametrize(
    ("units", "words"),
    [
        # By hand: 25.75 km are 16 miles of 1.609344 km; -30.48 m and 380.09 m are -100 and 1,247 feet of 0.3048 m.
        ("us", ("16 miles", "-100 feet", "1,247 feet")),
        ("metric", ("26 km", "-30 m", "380 m")),
    ],
)
def test_how_far_and_how_high_stations_serve_is_said_in_the_units_of_the_reader(units, words):
    far = labels.sentence(reason("surface_too_far", far_km=25.75), units)
    assert far == f"Places more than {words[0]} from every station are left unknown."
    heights = reason("surface_beyond_heights", lowest_elevation_m=-30.48, highest_elevation_m=380.09)
    assert f"lower than {words[1]} or higher than {words[2]} are" in labels.sentence(heights, units)


def test_what_stations_are_too_few_for_is_said_in_plain_words():
    too_many = reason(
        "surface_covariate_too_many",
        covariate="latitude_deg",
        covariates=("elevation_m", "latitude_deg", "above_floor_m"),
        stations=18,
        most_covariates=1,
    )
    assert labels.sentence(too_many, "us") == (
        "Latitude was not used: 18 stations are too few for more than one of height, latitude and height above "
        "the valley floor."
    )


def test_every_covariate_has_its_word():
    assert set(labels.COVARIATES) == set(LEAST_SPREAD)


def test_several_chances_are_said_in_falls():
    no_date = reason("station_no_official_date", chances=(0.1, 0.2, 0.3))
    words = "The official normals give no date for 1 fall in 10, 1 fall in 5 and 3 falls in 10."
    assert labels.sentence(no_date, "us") == words


@pytest.mark.parametrize(
    ("years", "words"),
    [
        ((2018,), "the season begun in 2018"),
        ((1989, 1990, 2018), "the seasons begun in 1989 to 1990 and 2018"),
        (range(1991, 2031, 2), "the seasons begun in 1991, 1993, 1995, 1997, 1999, 2001 and 14 more"),
    ],
)
def test_many_seasons_are_still_a_short_line(years, words):
    assert labels.season_years(years) == words


def test_many_stations_are_still_a_short_line():
    taken = reason("surface_off_terrain", station_names=tuple(f"s{number}" for number in range(40)))
    assert labels.sentence(taken, "us").endswith(
        ": s0, s1, s2, s3, s4, s5, s6, s7, s8, s9, s10, s11 and 28 more."
    )


@pytest.mark.parametrize(
    ("ha", "us", "metric"),
    # By hand: an acre is 0.40468564224 ha (NIST Handbook 44), so 400 ha are 988 acres and 100 ha 247.
    [
        (400.0, "1,000 acres", "400 ha"),
        (100.0, "250 acres", "100 ha"),
        (40_000.0, "100,000 acres", "40,000 ha"),
    ],
)
def test_land_that_is_roughly_known_is_told_roughly(ha, us, metric):
    assert (labels.rough_area(ha, "us"), labels.rough_area(ha, "metric")) == (us, metric)


def test_a_coarse_cell_is_told_in_square_miles():
    # By hand: a mile is 1.609344 km, so 102 square kilometers are 39.4 square miles.
    coarse = reason("zone_coarse", cell_km2=102.0)
    assert "about 40 square miles," in labels.sentence(coarse, "us")
    assert "about 100 square kilometers," in labels.sentence(coarse, "metric")
