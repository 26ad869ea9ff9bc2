from hypothesis import given
from hypothesis import strategies as st

from spatial.agronomy.regrowth import canopy_cm, ready_dates, regrowth_days
from tests.unit.stands import days_of, fields_of, growth_at, numbers_of


def test_at_the_usual_stubble_the_grass_needs_its_usual_days():
    assert regrowth_days(numbers_of(fields_of(stubble_cm=[10.16]))).tolist() == [35]


def test_a_shorter_stubble_needs_more_days_in_proportion():
    # 8 in wanted: from 3 in there are 5 in to grow instead of 4, so 35 x 5 / 4 = 43.75 days.
    assert regrowth_days(numbers_of(fields_of(stubble_cm=[7.62]))).tolist() == [44]


def test_a_tall_stubble_never_needs_less_than_the_least_days():
    assert regrowth_days(numbers_of(fields_of(stubble_cm=[18.0]))).tolist() == [28]


@given(st.floats(2, 40), st.floats(2, 40))
def test_more_stubble_never_needs_more_days(one, other):
    days = regrowth_days(numbers_of(fields_of(stubble_cm=sorted([one, other]))))
    assert days.iloc[0] >= days.iloc[1]


def test_a_stand_is_ready_an_interval_after_the_previous_cut():
    fields = fields_of(previous_cut_date=days_of("08-11"))
    assert ready_dates(fields, numbers_of(fields), growth_at(fields)).tolist() == days_of("09-08")


def test_a_measured_height_counts_before_the_days_since_the_cut():
    fields = fields_of(
        previous_cut_date=days_of("07-01", "07-01"),
        height_cm=[12.0, 31.0],
        height_date=days_of("09-01", "09-01"),
    )
    short, tall = ready_dates(fields, numbers_of(fields), growth_at(fields))
    assert short > tall == days_of("09-01")[0]


def test_a_stand_measured_too_late_and_too_short_is_not_ready_this_season():
    fields = fields_of(height_cm=[5.0], height_date=days_of("11-20"))
    assert ready_dates(fields, numbers_of(fields), growth_at(fields)).isna().all()


def test_the_canopy_grows_on_from_the_stubble_of_the_previous_cut():
    fields = fields_of(previous_cut_date=days_of("09-01", "09-01"), stubble_cm=[10.0, 15.0])
    until = fields["previous_cut_date"]
    assert canopy_cm(fields, numbers_of(fields), growth_at(fields), until).tolist() == [10.0, 15.0]


def test_growth_slows_as_days_shorten():
    fields = fields_of(grass=["hybrid_bermudagrass"])
    grown = growth_at(fields)
    june, october = (
        grown.between_cm(*(fields.assign(day=days)["day"] for days in (days_of(first), days_of(last))))
        for first, last in (("06-10", "06-20"), ("10-10", "10-20"))
    )
    assert june.iloc[0] > 2 * october.iloc[0] > 0


def test_nothing_grows_after_the_shortest_day():
    fields = fields_of(grass=["hybrid_bermudagrass"])
    grown = growth_at(fields, latitude=20.0)  # where days never fall short of the limit
    first, last = (fields.assign(day=days_of(text))["day"] for text in ("12-23", "12-31"))
    assert grown.between_cm(first, last).tolist() == [0.0]
