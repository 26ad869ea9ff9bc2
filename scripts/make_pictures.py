"""Makes the pictures of the README from the sample region: its plan in a Chromium without network, dates and zones."""

import html
import shutil
import sys
import tempfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pandas as pd
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from maps.exporters import export  # noqa: E402 - the project is found by the line above
from maps.freeze.station_picture import draw_station  # noqa: E402
from maps.zones.printed import print_zones  # noqa: E402
from spatial.inputs.checks import Report  # noqa: E402
from spatial.inputs.region import read_region  # noqa: E402
from spatial.plan import make_plan  # noqa: E402
from spatial.settings import settings_with  # noqa: E402
from spatial.station_freezes import StationFiles, station_freezes  # noqa: E402
from spatial.zones import make_zones  # noqa: E402

PICTURES = ROOT / "scripts" / "pictures"
ON = date(2026, 9, 8)
COLOURS = 96  # are enough for a map of few fills
DESKTOP, PHONE = (1280, 800), (390, 844)
CHROMIUM = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
SHEET_STYLE = """body { font: 14px sans-serif; margin: 12px; background: #fff; color: #222 }
table { border-collapse: collapse; margin-bottom: 14px } td, th { border: 1px solid #bbb; padding: 2px 6px;
max-width: 230px; overflow: hidden; white-space: nowrap; text-overflow: ellipsis; text-align: left }
h2 { font-size: 15px; margin: 4px 0 }"""


def main() -> int:
    """Plan the sample region, photograph what came out, and say where the pictures are."""
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if chromium is None:
        print("No Chromium found; install one to make the pictures.")
        return 2
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tools:
        out = _plan(Path(folder) / "out")
        browser = tools.chromium.launch(executable_path=chromium, args=list(CHROMIUM))
        _shoot(browser, out / "map.html", "map_desktop.png", DESKTOP, lambda _page: None)
        _shoot(browser, out / "map.html", "map_phone.png", PHONE, _first_field)
        _shoot(browser, out / "map.html", "map_route.png", DESKTOP, _first_round)
        _shoot(browser, out / "map.html", "map_soil.png", DESKTOP, _soil_to_buy)
        _shoot(browser, _tables(out), "tables.png", (1280, 560), lambda _page: None)
        browser.close()
        _few_colours(out / "soil_letter.png", "soil.png")
    _draw_dates()
    print(f"Pictures: {PICTURES}")
    return 0


def _plan(out: Path) -> Path:
    region = read_region(ROOT / "sample_region")
    plan = make_plan(region, settings_with(ON, region.settings))
    export(plan, out, datetime(2026, 9, 8, 6, 30), paper="letter")  # noqa: DTZ001 - printed as a local clock time
    return out


def _draw_dates() -> None:
    """Draw the dates of one station, and the zones as they are printed."""
    sample, report = ROOT / "sample_region", Report()
    files = StationFiles((sample / "daily_minima.csv.gz",), places=sample / "station_places.csv")
    stations = station_freezes(files, (28 - 32) / 1.8, report)
    draw_station(stations[0], PICTURES / "station.png", "us")
    region = read_region(sample)
    zones = make_zones(region, settings_with(ON, region.settings))
    print_zones(zones, PICTURES / "zones.png", datetime(2026, 9, 8, 6, 30), "letter")  # noqa: DTZ001 - as above
    _few_colours(PICTURES / "zones.png", "zones.png")


def _few_colours(drawn: Path, name: str) -> None:
    with Image.open(drawn) as picture:
        picture.quantize(COLOURS).save(PICTURES / name, optimize=True)


def _shoot(
    browser: Browser, file: Path, name: str, size: tuple[int, int], arrange: Callable[[Page], None]
) -> None:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]})
    context.set_offline(True)
    page = context.new_page()
    page.goto(file.as_uri())
    page.wait_for_timeout(500)
    arrange(page)
    page.wait_for_timeout(300)
    page.screenshot(path=PICTURES / name)
    context.close()


def _tables(out: Path) -> Path:
    parts = [f"<!doctype html><meta charset=utf-8><style>{SHEET_STYLE}</style>"]
    for name in ("fields.csv", "route.csv"):
        rows = pd.read_csv(out / name, encoding="utf-8-sig", dtype=str).fillna("").head(9)
        parts.append(f"<h2>{html.escape(name)}</h2>{rows.to_html(index=False, border=0)}")
    page = out / "tables.html"
    page.write_text("".join(parts), encoding="utf-8")
    return page


def _first_field(page: Page) -> None:
    page.locator("#fields li[data-field-id] button").nth(8).click()


def _soil_to_buy(page: Page) -> None:
    page.locator("input[name=show-by][value=ph]").check(force=True)
    page.get_by_role("tab", name="To buy").click()


def _first_round(page: Page) -> None:
    page.get_by_role("tab", name="Crews").click()
    page.locator(".days-by-crew td button").nth(2).click()


if __name__ == "__main__":
    sys.exit(main())
