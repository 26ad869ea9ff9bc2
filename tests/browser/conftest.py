"""Opens the map page in Chromium, offline, and keeps what the browser complains of."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from maps.interactive import write_map
from spatial.plan import Plan
from tests.browser.make_believe import MADE_ON, make_believe_plan

NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


@dataclass
class Opened:
    """A page that is open, the addresses it asked for, and what went wrong in it."""

    page: Any
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)


OpenMap = Callable[..., Opened]


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip(f"no Chromium here: none of {', '.join(NAMES)} is on the path")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture
def make_believe() -> Plan:
    return make_believe_plan()


@pytest.fixture
def open_map(browser: Any, tmp_path: Path, make_believe: Plan) -> Iterator[OpenMap]:
    contexts = []

    def open_it(plan: Plan = make_believe, size: dict[str, int] = DESK, **more: Any) -> Opened:
        path = tmp_path / "map.html"
        write_map(plan, path, MADE_ON)
        contexts.append(browser.new_context(viewport=size, **more))
        contexts[-1].set_offline(True)
        opened = watched(contexts[-1].new_page())
        opened.page.goto(path.as_uri())
        return opened

    yield open_it
    for context in contexts:
        context.close()


def watched(page: Any) -> Opened:
    opened = Opened(page)
    page.on("request", lambda request: opened.requests.append(request.url))
    page.on("console", lambda message: opened.complaints.append(message.text))
    page.on("pageerror", lambda error: opened.complaints.append(str(error)))
    page.on("dialog", lambda dialog: (opened.dialogs.append(dialog.message), dialog.dismiss()))
    return opened
