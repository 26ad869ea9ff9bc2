"""The core in another host: thirty lines that read, plan, watch and stop, with no command line and no page."""

import threading
from datetime import date

import pytest

from spatial.errors import Stopped
from spatial.inputs.region import read_region
from spatial.plan import make_plan
from spatial.settings import about_settings, settings_with


class Host:
    """A window of somebody else's: it shows steps, may press Stop, and works in a thread of its own."""

    def __init__(self, stop_at: str = "") -> None:
        self.steps, self.stop_at, self.plan, self.stopped = [], stop_at, None, False

    def tell(self, step: str, share: float) -> None:
        self.steps.append((step, share))
        if step == self.stop_at:
            raise Stopped

    def work(self, folder, chance: float) -> None:
        try:
            region = read_region(folder, self.tell)
            settings = settings_with(date(2026, 9, 8), region.settings, {"chance": chance})
            self.plan = make_plan(region, settings, self.tell)
        except Stopped:
            self.stopped = True


def run(host: Host, folder, chance: float = 0.3) -> Host:
    thread = threading.Thread(target=host.work, args=(folder, chance))
    thread.start()
    thread.join()
    return host


def test_a_host_plans_in_a_thread_and_gets_tables(sample_folder):
    host = run(Host(), sample_folder)
    assert host.plan.settings.chance == 0.3
    assert len(host.plan.fields) == 70 and host.plan.fields.crs == 4326 and len(host.plan.route)
    assert {step for step, _ in host.steps} >= {"read", "freeze dates", "route", "plan"}
    assert all(0 <= share <= 1 for _, share in host.steps)


@pytest.mark.parametrize("step", ["read", "freeze dates", "soil", "route"])
def test_a_host_can_stop_at_every_step(sample_folder, step):
    host = run(Host(stop_at=step), sample_folder)
    assert host.stopped and host.plan is None


def test_a_host_can_build_its_form_from_the_settings_alone():
    for name, about in about_settings().items():
        assert about.help and (about.choices or about.least < about.most), name
