from datetime import date

import numpy as np
import pandas as pd

from spatial.climate.forecast import dry_ahead, forecast_freezes
from tests.unit.stands import days_of, fields_of, numbers_of

ON = date(2026, 10, 30)


def forecast(fields, *nights, on=ON):
    outlook = pd.DataFrame(nights, columns=["date", "area", "least_temperature_c"])
    outlook = outlook.assign(date=pd.to_datetime(outlook["date"]))
    fall = {"season_start_date": pd.Timestamp("2026-08-01"), "ask_date": pd.Timestamp("2026-12-05")}
    return forecast_freezes(fields.assign(**fall), outlook, numbers_of(fields)["killing_freeze_c"], on)


def days(found):
    return found["forecast_freeze_date"].tolist()


def test_a_killing_freeze_tomorrow_is_seen_and_one_in_three_days_is_not():
    fields = fields_of(area=[""])
    assert days(forecast(fields, ("2026-10-31", "", -3.0))) == days_of("10-31")
    assert days(forecast(fields, ("2026-11-02", "", -3.0))) == [pd.NaT]


def test_the_first_of_two_killing_nights_is_told_with_its_temperature():
    found = forecast(fields_of(area=[""]), ("2026-10-30", "", -2.5), ("2026-10-31", "", -6.0))
    assert days(found) == days_of("10-30")
    assert found["forecast_least_c"].tolist() == [-2.5]


def test_an_areas_own_night_goes_before_the_night_everywhere():
    fields = fields_of(area=["Hill", "Plain"])
    nights = (("2026-10-31", "", 1.0), ("2026-10-31", "Hill", -4.0))
    assert days(forecast(fields, *nights)) == days_of("10-31", None)


def test_a_cold_spot_freezes_in_a_milder_night():
    fields = fields_of(area=["", ""], cold_offset_c=[3.0, 0.0])
    assert days(forecast(fields, ("2026-10-30", "", 0.0))) == days_of("10-30", None)


def test_no_outlook_is_no_forecast():
    found = forecast(fields_of(area=[""]))
    assert days(found) == [pd.NaT]
    assert np.isnan(found["forecast_least_c"]).all()


def test_a_late_frost_in_spring_and_a_night_in_midwinter_are_no_killing_freeze_of_the_fall():
    fields = fields_of(area=[""])
    assert days(forecast(fields, ("2026-07-20", "", -3.0), on=date(2026, 7, 20))) == [pd.NaT]
    assert days(forecast(fields, ("2026-12-28", "", -3.0), on=date(2026, 12, 28))) == [pd.NaT]


def dry(*rows, drying_days=2, area="Hill"):
    outlook = pd.DataFrame(rows, columns=["date", "area", "rain_chance_share"])
    outlook = outlook.assign(date=pd.to_datetime(outlook["date"]))
    return dry_ahead(fields_of(area=[area]), outlook, drying_days, 0.4, ON).tolist()


def test_drying_days_ahead_are_dry_wet_or_not_told():
    days = [("2026-10-30", "", 0.1), ("2026-10-31", "", 0.2), ("2026-11-01", "", 0.3)]
    assert dry(*days) == [True]
    assert dry(*days[:2]) == [None]
    assert dry(days[0], ("2026-10-31", "", 0.4)) == [False]
    assert dry(*days, ("2026-10-31", "Hill", 0.9)) == [False]
