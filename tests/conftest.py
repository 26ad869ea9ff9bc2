"""What every test may ask for: the sample region, and a plan of it that the independent checker has passed."""

from datetime import date
from pathlib import Path

import hypothesis
import pytest

from spatial.inputs.region import Region, read_region
from spatial.plan import Plan, make_plan
from spatial.settings import settings_with

# A busy machine is slow, not wrong; and the same examples on every run, so that a red run can be repeated.
hypothesis.settings.register_profile("steady", deadline=None, derandomize=True)
hypothesis.settings.load_profile("steady")

SAMPLE = Path(__file__).parents[1] / "sample_region"
ON = date(2026, 9, 8)


@pytest.fixture(scope="session")
def sample_folder() -> Path:
    return SAMPLE


@pytest.fixture(scope="session")
def region() -> Region:
    return read_region(SAMPLE)


@pytest.fixture(scope="session")
def plan(region: Region) -> Plan:
    return make_plan(region, settings_with(ON, region.settings))
