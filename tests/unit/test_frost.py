"""What the killing-freeze dates of fields promise."""

from dataclasses import replace
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst

from spatial.climate.chances import freeze_chances
from spatial.climate.frost import cell_days_at, field_medians, freeze_cells, killing_freezes
from spatial.climate.seasons import Season
from spatial.errors import InputError
from spatial.settings import Settings
from spatial.values import FreezeLayer, Grid, MoreBands

ON = date(2026, 9, 8)
FALL_2026 = Season(2026, date(2026, 8, 1))
SETTINGS = Settings(on=ON)  # 1 season in 5
COLUMNS = [
    "killing_freeze_date",
    "average_freeze_date",
    "earliest_freeze_date",
    "late_freeze_date",
    "freeze_seasons",
    "no_freeze_share",
    "freeze_cover_share",
]
DATES = COLUMNS[:4]
NO, NEVER = np.nan, np.inf


def layer(bands, chances=(), day_count="season_start"):
    """A layer of one row of cells of 100 m, from bands of values by column."""
    values = np.array(bands, dtype=np.float32)[:, np.newaxis, :]
    grid = Grid("EPSG:5070", 1_000_000.0, 900_000.0, 100.0, 100.0, rows=1, columns=values.shape[2])

    def read(window):
        rows = slice(window.row, window.row + window.rows)
        return values[:, rows, window.column : window.column + window.columns]

    seasons = () if chances else tuple(range(1991, 1991 + len(bands)))
    kind = "chances" if chances else "seasons"
    return FreezeLayer(kind, -2.2, grid, tuple(chances), seasons, day_count, read, "freeze.tif")


def fields_over(*spans):
    """Fields from column to column, named a, b, c ..."""
    shapes = [
        shapely.box(1_000_000 + 100 * left, 899_900, 1_000_000 + 100 * right, 900_000)
        for left, right in spans
    ]
    names = pd.Index([chr(ord("a") + place) for place in range(len(spans))], name="field_id")
    return gpd.GeoDataFrame({"name": "x"}, geometry=shapes, crs="EPSG:5070", index=names)


def freezes(fields, freeze, season=FALL_2026, **chosen):
    return killing_freezes(fields, freeze_cells(fields, freeze, season), Settings(on=ON, **chosen))


def days_at(fields, freeze, *chances):
    """The day of the freeze on every field, a row for each chance."""
    cells = freeze_cells(fields, freeze, FALL_2026)
    return field_medians(cell_days_at(cells.values, freeze, chances), cells.cover)


def with_more(freeze, **bands):
    """The layer with more bands, each of values by column; `error_01` stands for error_days 0.1."""
    names = tuple(name.replace("error_0", "error_days 0.") for name in bands)
    more = np.array(list(bands.values()), dtype=np.float32)[:, np.newaxis, :]

    def read(window):
        return more[:, window.row : window.row + window.rows, window.column : window.column + window.columns]

    return replace(freeze, more=MoreBands(names, read))


def test_the_columns_stand_on_the_index_of_the_fields():
    fields = fields_over((0, 1), (1, 2))
    for freeze in (None, layer([[92, 93]]), layer([[92, 93]], chances=[0.2])):
        found = freezes(fields, freeze)
        assert list(found.columns) == COLUMNS
        assert found.index.equals(fields.index)
        assert found.index.name == "field_id"
        assert all(found[name].dtype == "datetime64[s]" for name in DATES)
        assert found["freeze_seasons"].dtype == "Int64"


def test_the_dates_of_29_seasons_are_those_of_their_ranks():
    # Rank (29 + 1/3) p + 1/3: 6.2 at 1 in 5, 15 at 1 in 2, 26.7 at 9 in 10; days 71 to 99 since 1 August.
    found = freezes(fields_over((0, 1)), layer([[day] for day in range(71, 100)])).loc["a"]
    assert found["killing_freeze_date"] == pd.Timestamp(2026, 10, 16)
    assert found["average_freeze_date"] == pd.Timestamp(2026, 10, 25)
    assert found["late_freeze_date"] == pd.Timestamp(2026, 11, 5)
    assert found["freeze_seasons"] == 29
    assert found["no_freeze_share"] == 0.0
    assert found["freeze_cover_share"] == 1.0


def test_no_layer_is_no_data():
    found = freezes(fields_over((0, 1), (1, 2)), None)
    assert found[[*DATES, "freeze_seasons", "no_freeze_share"]].isna().all(axis=None)
    assert found["freeze_cover_share"].tolist() == [0.0, 0.0]


@pytest.mark.parametrize("chances", [(), (0.1, 0.5)])
def test_no_data_and_not_reached_are_told_apart(chances):
    freeze = layer([[NO, NEVER], [NO, NEVER]], chances)
    found = freezes(fields_over((0, 1), (1, 2), (5, 6)), freeze)
    assert found[DATES].isna().all(axis=None)
    assert found["freeze_cover_share"].tolist() == [0.0, 1.0, 0.0]
    days = days_at(fields_over((0, 1), (1, 2), (5, 6)), freeze, 0.2)
    np.testing.assert_array_equal(days[0], [NO, NEVER, NO])


def test_a_field_takes_the_median_of_its_cells_and_the_earliest_of_them():
    found = freezes(fields_over((0, 3)), layer([[92, 122, 100]])).loc["a"]
    assert found["killing_freeze_date"] == pd.Timestamp(2026, 11, 9)
    assert found["earliest_freeze_date"] == pd.Timestamp(2026, 11, 1)


def test_cells_without_freeze_count_in_the_date_of_a_field():
    found = freezes(fields_over((0, 3), (3, 6)), layer([[92, NEVER, NEVER, 92, 100, NEVER]]))
    assert found["killing_freeze_date"].isna().tolist() == [True, False]
    assert found.loc["b", "killing_freeze_date"] == pd.Timestamp(2026, 11, 9)
    assert found["earliest_freeze_date"].tolist() == [pd.Timestamp(2026, 11, 1)] * 2


def test_half_a_field_without_data_is_half_covered():
    found = freezes(fields_over((0, 2), (1, 2)), layer([[NO, 92], [NO, 92]]))
    assert found["freeze_cover_share"].tolist() == [0.5, 1.0]
    assert found["killing_freeze_date"].tolist() == [pd.Timestamp(2026, 11, 1)] * 2


def test_seasons_without_freeze_are_a_share_of_the_known_ones():
    bands = [[92, NEVER], [NEVER, NEVER], [100, NO], [NO, NO], [101, 120]]
    found = freezes(fields_over((0, 1), (1, 2), (0, 2)), layer(bands))
    assert found["freeze_seasons"].tolist() == [4, 3, 3]
    assert found["no_freeze_share"].tolist() == pytest.approx([1 / 4, 2 / 3, (1 / 4 + 2 / 3) / 2])


def test_a_layer_of_chances_knows_no_seasons():
    found = freezes(fields_over((0, 1)), layer([[92], [100]], chances=[0.1, 0.5]))
    assert found["freeze_seasons"].isna().all()
    assert found["no_freeze_share"].isna().all()


def test_a_layer_of_chances_that_has_bands_for_them_knows_seasons():
    freeze = layer([[92, NO], [100, NO]], chances=[0.1, 0.5])
    found = freezes(
        fields_over((0, 1), (1, 2)), with_more(freeze, valid_seasons=[29.6, 0], no_freeze_share=[0.1, NO])
    )
    # A part of a season is left out; where there is no date nothing is known.
    assert found["freeze_seasons"].tolist() == [29, pd.NA]
    assert found.loc["a", "no_freeze_share"] == pytest.approx(0.1)
    assert np.isnan(found.loc["b", "no_freeze_share"])


def errors_at(freeze, *chances, fields=((0, 1),)):
    fields = fields_over(*fields)
    found = freeze_chances(fields, freeze_cells(fields, freeze, FALL_2026), chances)
    return found.error_days.loc["a"].tolist()


def test_the_error_that_a_layer_tells_lies_between_those_of_its_chances():
    freeze = with_more(layer([[92], [96], [100]], chances=[0.1, 0.3, 0.5]), error_01=[4.0], error_05=[2.0])
    assert errors_at(freeze, 0.1, 0.2, 0.3, 0.5) == pytest.approx([4.0, 3.5, 3.0, 2.0])
    assert np.isnan(errors_at(freeze, 0.05, 0.6)).all()


def test_the_error_of_a_field_is_the_mean_over_its_area():
    freeze = with_more(layer([[92, 92, NO]], chances=[0.1]), error_01=[2.0, 5.0, NO])
    assert errors_at(freeze, 0.1, fields=[(0, 3)]) == [3.5]


def test_a_date_that_is_not_reached_has_no_error():
    freeze = with_more(layer([[92], [NEVER]], chances=[0.1, 0.5]), error_01=[4.0], error_05=[2.0])
    assert errors_at(freeze, 0.1) == [4.0]
    assert np.isnan(errors_at(freeze, 0.5)).all()


def test_a_layer_of_chances_without_errors_tells_none():
    assert np.isnan(errors_at(layer([[92], [100]], chances=[0.1, 0.5]), 0.1, 0.2)).all()


def test_a_layer_is_read_once_for_all():
    windows, plain = [], layer([[92], [100]])

    def read(window):
        windows.append(window)
        return plain.read(window)

    fields = fields_over((0, 1))
    cells = freeze_cells(fields, replace(plain, read=read), FALL_2026)
    killing_freezes(fields, cells, SETTINGS)
    freeze_chances(fields, cells, [0.1, 0.2])
    assert len(windows) == 1


def test_a_chance_that_the_layer_has_is_read_as_it_is():
    freeze = layer([[92], [100], [NEVER]], chances=[0.1, 0.3, 0.5])
    days = days_at(fields_over((0, 1)), freeze, 0.1, 0.1 + 0.2, 0.3, 0.5)
    assert days[:, 0].tolist() == [92.0, 100.0, 100.0, NEVER]


def test_a_chance_between_two_of_the_layer_lies_between_their_days():
    days = days_at(fields_over((0, 1)), layer([[90], [100]], chances=[0.1, 0.5]), 0.2, 0.3)
    assert days[:, 0].tolist() == pytest.approx([92.5, 95.0])


@pytest.mark.parametrize("lower", [90.0, NEVER])
def test_a_chance_under_one_that_is_not_reached_is_not_reached(lower):
    days = days_at(fields_over((0, 1)), layer([[lower], [NEVER]], chances=[0.1, 0.5]), 0.3)
    assert days[:, 0].tolist() == [NEVER]


@pytest.mark.parametrize("chance", [0.05, 0.6])
def test_a_chance_beyond_the_layer_is_refused_with_its_range(chance):
    freeze = layer([[92], [100]], chances=[0.1, 0.5])
    told = rf"freeze\.tif.*{chance}.*0\.1 to 0\.5"
    with pytest.raises(InputError, match=told):
        freezes(fields_over((0, 1)), freeze, chance=chance)
    assert np.isnan(days_at(fields_over((0, 1)), freeze, chance)).all()


def test_an_average_and_a_late_date_beyond_the_layer_are_missing():
    found = freezes(fields_over((0, 1)), layer([[92], [100]], chances=[0.1, 0.3])).loc["a"]
    assert found["killing_freeze_date"] == pd.Timestamp(2026, 11, 5)
    assert pd.isna(found["average_freeze_date"])
    assert pd.isna(found["late_freeze_date"])
    assert found["freeze_cover_share"] == 1.0


def test_days_of_the_year_are_put_in_order_across_new_year():
    # 21 December, 5 and 10 January: read as numbers, the median would be 10 January.
    found = freezes(fields_over((0, 1)), layer([[355], [5], [10]], day_count="year")).loc["a"]
    assert found["average_freeze_date"] == pd.Timestamp(2027, 1, 5)


def test_days_of_the_year_hold_in_a_leap_year():
    leap = Season(2027, date(2027, 8, 1))
    found = freezes(fields_over((0, 1)), layer([[60]], day_count="year"), leap).loc["a"]
    assert found["killing_freeze_date"] == pd.Timestamp(2028, 3, 1)


def test_a_value_that_no_year_has_is_refused_with_the_file():
    with pytest.raises(InputError, match=r"freeze\.tif: values: .*-9999"):
        freezes(fields_over((0, 1)), layer([[-9999]], day_count="year"))


def test_a_southern_season_has_its_dates_in_the_same_year():
    south = Season(2027, date(2027, 2, 1))
    found = freezes(fields_over((0, 1), (1, 2)), layer([[150, 0]]), south)
    assert found["killing_freeze_date"].tolist() == [pd.Timestamp(2027, 7, 1), pd.Timestamp(2027, 2, 1)]


def test_fields_in_another_crs_get_the_same_dates():
    fields, freeze = fields_over((0.1, 0.9), (1.2, 1.4)), layer([[92, 100]])
    pd.testing.assert_frame_equal(freezes(fields.to_crs("EPSG:4326"), freeze), freezes(fields, freeze))


def test_a_field_without_a_place_has_no_date():
    fields = gpd.GeoDataFrame(geometry=[None, shapely.Polygon()], crs="EPSG:5070")
    found = freezes(fields, layer([[92]]))
    assert found[DATES].isna().all(axis=None)
    assert found["freeze_cover_share"].tolist() == [0.0, 0.0]


def test_no_fields_have_no_dates():
    found = freezes(fields_over((0, 1)).iloc[:0], layer([[92]]))
    assert list(found.columns) == COLUMNS
    assert found.empty


some_days = st.one_of(st.integers(0, 300).map(float), st.just(NEVER), st.just(NO))
spans = st.lists(st.tuples(st.floats(0, 5), st.floats(0.05, 3)), min_size=1, max_size=4)


def seasons_of(cells=6):
    return npst.arrays(np.float64, st.tuples(st.integers(1, 12), st.just(cells)), elements=some_days)


@given(seasons_of(), spans, st.floats(0.02, 0.9), st.floats(0.02, 0.9))
def test_a_higher_chance_is_never_earlier(bands, places, one, other):
    fields = fields_over(*((left, left + width) for left, width in places))
    lower, higher = sorted([one, other])
    low_days, high_days = days_at(fields, layer(bands), lower, higher)
    assert ((high_days >= low_days) | (np.isnan(low_days) & np.isnan(high_days))).all()


@given(seasons_of(), spans)
def test_the_earliest_date_is_not_after_the_killing_freeze(bands, places):
    found = freezes(fields_over(*((left, left + width) for left, width in places)), layer(bands))
    dated = found.dropna(subset="killing_freeze_date")
    assert (dated["earliest_freeze_date"] <= dated["killing_freeze_date"]).all()


@given(seasons_of(), spans)
def test_a_date_comes_only_with_data(bands, places):
    found = freezes(fields_over(*((left, left + width) for left, width in places)), layer(bands))
    assert found.loc[found["freeze_cover_share"] == 0, DATES].isna().all(axis=None)
    assert found["freeze_cover_share"].between(0, 1).all()
    assert (found["freeze_seasons"].isna() == (found["freeze_cover_share"] == 0)).all()


@given(seasons_of(), spans, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(bands, places, random):
    fields = fields_over(*((left, left + width) for left, width in places))
    shuffled = list(fields.index)
    random.shuffle(shuffled)
    straight, other = freezes(fields, layer(bands)), freezes(fields.loc[shuffled], layer(bands))
    pd.testing.assert_frame_equal(other.loc[fields.index], straight)


@given(seasons_of(), spans)
def test_what_came_in_is_not_changed(bands, places):
    fields = fields_over(*((left, left + width) for left, width in places))
    before = fields.copy(deep=True)
    freezes(fields, layer(bands))
    pd.testing.assert_frame_equal(fields, before)
