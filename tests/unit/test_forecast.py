from datetime import date

import pandas as pd

from spatial.climate.forecast import forecast_freezes
from tests.unit.stands import days_of, fields_of, numbers_of

ON = date(2026, 10, 30)


def forecast(fields, *nights):
    outlook = pd.DataFrame(nights, columns=["date", "area", "least_temperature_c"])
    outlook = outlook.assign(date=pd.to_datetime(outlook["date"]))
    return forecast_freezes(fields, outlook, numbers_of(fields)["killing_freeze_c"], ON).tolist()


def test_a_killing_freeze_tomorrow_is_seen_and_one_in_three_days_is_not():
    fields = fields_of(area=[""])
    assert forecast(fields, ("2026-10-31", "", -3.0)) == days_of("10-31")
    assert forecast(fields, ("2026-11-02", "", -3.0)) == [pd.NaT]


def test_an_areas_own_night_goes_before_the_night_everywhere():
    fields = fields_of(area=["Hill", "Plain"])
    nights = (("2026-10-31", "", 1.0), ("2026-10-31", "Hill", -4.0))
    assert forecast(fields, *nights) == days_of("10-31", None)


def test_a_cold_spot_freezes_in_a_milder_night():
    fields = fields_of(area=["", ""], cold_offset_c=[3.0, 0.0])
    assert forecast(fields, ("2026-10-30", "", 0.0)) == days_of("10-30", None)


def test_no_outlook_is_no_forecast():
    assert forecast(fields_of(area=[""])) == [pd.NaT]
