"""The clients, the two crews, and the weather that is expected."""

from datetime import timedelta

import numpy as np
import pandas as pd

from sample.farms import FARMS
from sample.land import at_km, dice, lon_lat
from sample.season import THIS_DAY

YARDS_KM = ((14.2, 39.4), (30.0, 12.2))
RAIN_CHANCE_PCT = (10, 10, 20, 20, 35, 60, 50, 20, 10, 15)
LEAST_F = (68, 69, 69, 70, 70, 68, 66, 62, 60, 61)
SOUTH = "Gadwall"
SOUTH_RAIN_CHANCE_PCT = (10, 15, 20, 20, 30, 55, 65, 45, 15, 15)
HAY_IS_SHORT = ("GB", "DA", "CG")
CALL_FIRST = {"OF": "Monday", "VC": "", "OY": "Friday", "MS": "Saturday", "LS": "Thursday"}


def clients() -> pd.DataFrame:
    """Return the clients: what they feed, what hay they have stored, and when to call."""
    chance = dice("clients")
    herds = np.round(chance.lognormal(4.1, 0.6, len(FARMS))).astype(int)
    stored_t = np.round(herds * chance.uniform(0.5, 2.4, len(FARMS)) / 5).astype(int) * 5
    return pd.DataFrame(
        {
            "client": [farm.client for farm in FARMS],
            "hay_is_short": [_yes_no(farm.code in HAY_IS_SHORT) for farm in FARMS],
            "call_first": [_yes_no(farm.code in CALL_FIRST) for farm in FARMS],
            "contact_day": [CALL_FIRST.get(farm.code, "") for farm in FARMS],
            "herd": herds,
            "stored_hay_t": stored_t,
            "body_weight_lb": np.round(chance.uniform(1100, 1350, len(FARMS)) / 50).astype(int) * 50,
            "feeding_days": np.round(chance.uniform(90, 150, len(FARMS)) / 5).astype(int) * 5,
        }
    )


def crews() -> pd.DataFrame:
    """Return the crews as their owner writes them: one knows its work rate, one its machine."""
    yards = [lon_lat(*at_km(east, north)) for east, north in YARDS_KM]
    return pd.DataFrame(
        {
            "crew": ["North crew", "South crew"],
            "yard_lon": [float(lon) for lon, _ in yards],
            "yard_lat": [float(lat) for _, lat in yards],
            "work_rate_ac_h": ["8.5", ""],
            "width_ft": ["", "13"],
            "speed_mph": ["", "7"],
            "field_efficiency_pct": ["", "80"],
            "shift_start": ["09:30", "10:00"],
            "shift_end": ["18:30", "19:00"],
            "days_off": ["sun", "sun"],
        }
    )


def outlook() -> pd.DataFrame:
    """Return ten days of chance of rain and least temperature, for everywhere and for one southern county."""
    days = [(THIS_DAY + timedelta(days=ahead)).isoformat() for ahead in range(len(RAIN_CHANCE_PCT))]
    columns = ["date", "area", "rain_chance_pct", "least_temperature_f"]
    everywhere = zip(days, [""] * len(days), RAIN_CHANCE_PCT, LEAST_F, strict=True)
    south = zip(days, [SOUTH] * len(days), SOUTH_RAIN_CHANCE_PCT, [f + 2 for f in LEAST_F], strict=True)
    return pd.DataFrame([*everywhere, *south], columns=columns)


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"
