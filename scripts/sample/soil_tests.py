"""Soil tests by two laboratories that report in different units, as two tables."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from sample.land import Floats, dice, lon_lat, northness
from sample.season import THIS_DAY

OLDEST = date(2021, 10, 4)
OWN_RATES_FROM = "2025-09-01"


@dataclass(frozen=True)
class Lab:
    """A laboratory: how it works, the suffix of its units, and what it usually finds."""

    lab: str
    clients: str  # codes of the clients who send their samples to it
    tests: int
    by_point: int  # of these, tests that give a point and no field
    ph_method: str
    buffer: str
    extractant: str
    unit: str
    usual: tuple[float, float, float]  # P, K, Mg
    buffer_ph: Callable[[Floats], Floats]


LABS = {
    "mill_creek": Lab(
        "Mill Creek Soil Laboratory", "TD OF NQ GB VC BH SW", 27, 2, "CaCl2 brought to water", "Adams-Evans",
        "Mehlich-1", "lb_ac", (44, 118, 82), lambda ph: 7.93 - 0.22 * np.maximum(6.6 - ph, 0),
    ),
    "two_rivers": Lab(
        "Two Rivers Agricultural Testing", "OY DA MS TH HT CG LS", 18, 2, "water", "Mehlich",
        "Mehlich-3", "ppm", (30, 74, 58), lambda ph: 6.55 - 0.33 * np.maximum(6.6 - ph, 0),
    ),
}  # fmt: skip


def soil_tests(lab: Lab, fields: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return the laboratory's tests in order of days: most name the field, a few only say where they were taken."""
    chance = dice(lab.lab)
    codes = fields.field_id.str[:2]
    theirs = fields[codes.isin(lab.clients.split())]
    # Two fields were sampled a second time.
    order = chance.permutation(len(theirs))[: lab.tests - 2]
    taken = theirs.iloc[np.concatenate([order, order[:2]])].reset_index(drop=True)
    columns = _where(taken, lab) | _when(lab, chance) | _found(taken, lab, chance)
    tests = pd.DataFrame(columns).sort_values(["sample_date", "field_id"], kind="stable")
    return _with_rates(tests) if lab.unit == "lb_ac" else _with_zones(tests)


def _with_rates(tests: pd.DataFrame) -> pd.DataFrame:
    """Return the tests with the laboratory's own rates of lime and K2O on the newest of them."""
    newest = tests["sample_date"] >= OWN_RATES_FROM
    lime = (2 * np.ceil(np.maximum(6.0 - tests["ph"], 0) / 0.4)).clip(upper=4) / 2
    k2o = np.select([tests["k_lb_ac"] <= 60, tests["k_lb_ac"] <= 150], [300, 200], 0)
    return tests.assign(lime_tons_ac=lime.where(newest), k2o_lb_ac=pd.Series(k2o, tests.index).where(newest))


def _with_zones(tests: pd.DataFrame) -> pd.DataFrame:
    """Return the tests with one field sampled in two zones on one day: its newest, and a sourer one of the low end."""
    place = tests["field_id"].ne("") & tests["ph"].lt(6)
    upper = tests[place].tail(1).assign(zone="upper end", zone_area_ac=38.0)
    lower = upper.assign(
        zone="low end",
        zone_area_ac=17.0,
        ph=upper["ph"] - 0.5,
        buffer_ph=(upper["buffer_ph"] - 0.15).round(2),
    )
    rest = tests.drop(upper.index).assign(zone="", zone_area_ac=np.nan)
    return pd.concat([rest, upper, lower]).sort_values(["sample_date", "field_id"], kind="stable")


def _where(taken: gpd.GeoDataFrame, lab: Lab) -> dict[str, Any]:
    inner = taken.geometry.representative_point()
    lon, lat = lon_lat(inner.x.to_numpy(), inner.y.to_numpy())
    by_point = np.arange(lab.tests) >= lab.tests - 2 - lab.by_point
    by_point &= np.arange(lab.tests) < lab.tests - 2
    return {
        "field_id": np.where(by_point, "", taken.field_id),
        "lon": np.where(by_point, np.round(lon, 5), np.nan),
        "lat": np.where(by_point, np.round(lat, 5), np.nan),
    }


def _when(lab: Lab, chance: np.random.Generator) -> dict[str, Any]:
    """Return the days: a fifth are old, most of the last two years; the second samples are this summer's."""
    age_days = np.where(
        chance.random(lab.tests) < 0.22,
        chance.integers(1_000, (THIS_DAY - OLDEST).days, lab.tests),
        chance.integers(20, 880, lab.tests),
    )
    age_days[:2] = chance.integers(1_100, 1_500, 2)
    age_days[-2:] = chance.integers(25, 60, 2)
    days = [(THIS_DAY - timedelta(days=int(age))).isoformat() for age in age_days]
    return {"sample_date": days, "lab": lab.lab, "depth_in": chance.choice([4, 6, 6, 6], lab.tests)}


def _found(taken: gpd.GeoDataFrame, lab: Lab, chance: np.random.Generator) -> dict[str, Any]:
    """Return what the laboratory found, in its units."""
    north = northness(taken.geometry.representative_point().y.to_numpy())
    ph = np.round(np.clip(chance.normal(5.85 - 0.15 * (north > 0.5), 0.42, lab.tests), 4.7, 7.1), 1)
    amounts = np.array(lab.usual)[:, None] * chance.lognormal(0, 0.55, (3, lab.tests))
    return {
        "ph": ph,
        "ph_method": lab.ph_method,
        "buffer": lab.buffer,
        "buffer_ph": np.round(lab.buffer_ph(ph) + chance.normal(0, 0.03, lab.tests), 2),
        "extractant": lab.extractant,
        "soil_group": np.where(north > 0.5, "piedmont", "coastal_plain"),
        **{
            f"{nutrient}_{lab.unit}": np.round(amount).astype(int)
            for nutrient, amount in zip(("p", "k", "mg"), amounts, strict=True)
        },
    }
