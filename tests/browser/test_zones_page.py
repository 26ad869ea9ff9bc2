"""What the page of the zones promises to the person who opens it, tried in a real browser with no network."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from maps.zones.page import write_zone_page
from spatial.zones import Zones
from tests.browser.conftest import DESK, PHONE, Opened, watched
from tests.browser.make_believe import MADE_ON, NASTY_NAME
from tests.browser.make_believe_zones import make_believe_zones

TOUCH = {"size": PHONE, "has_touch": True, "is_mobile": True}
PRESSED = "button:visible, summary:visible, select:visible, label:has(input):visible"
FIRST, SECOND = "bahiagrass-0.2-0903", "bahiagrass-0.2-0910"
OpenZones = Callable[..., Opened]


@pytest.fixture
def open_zones(browser: Any, tmp_path: Path) -> Iterator[OpenZones]:
    contexts = []

    def open_it(zones: Zones | None = None, size: dict[str, int] = DESK, **more: Any) -> Opened:
        path = tmp_path / "zones.html"
        write_zone_page(make_believe_zones(4) if zones is None else zones, path, MADE_ON)
        contexts.append(browser.new_context(viewport=size, **more))
        contexts[-1].set_offline(True)
        opened = watched(contexts[-1].new_page())
        opened.page.goto(path.as_uri())
        return opened

    yield open_it
    for context in contexts:
        context.close()


def row_of(page: Any, zone_id: str) -> Any:
    return page.locator(f"#zones li[data-zone-id='{zone_id}'] > .row")


def sheet_of(page: Any, zone_id: str) -> Any:
    return page.locator(f"#zones li[data-zone-id='{zone_id}'] > .sheet")


def path_of(page: Any, zone_id: str) -> Any:
    return page.locator(f"path[data-zone-id='{zone_id}']")


def county_of(page: Any, county: str) -> Any:
    return page.locator(".county-row").filter(has_text=county)


def picked(page: Any) -> list[str]:
    paths = page.locator("path.zone[aria-pressed='true']")
    return list(paths.evaluate_all("all => all.map(path => path.getAttribute('data-zone-id'))"))


def test_it_asks_for_nothing_but_itself_and_complains_of_nothing(open_zones: OpenZones) -> None:
    opened = open_zones()
    page = opened.page
    row_of(page, FIRST).click()
    page.locator("#zones summary:visible").click()
    page.locator("#tab-counties").click()
    county_of(page, "County 1").click()
    page.locator("input[name=chance]").last.check()
    page.locator("#tab-notes").click()
    page.wait_for_timeout(300)
    assert [request.rsplit("/", 1)[1] for request in opened.requests] == ["zones.html"]
    assert (opened.complaints, opened.dialogs) == ([], [])


def test_hostile_text_stays_text(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.locator("#tab-counties").click()
    assert NASTY_NAME in page.locator(".county-row").all_text_contents()
    assert page.locator("h1").text_content() == "Last-cut zones: Make-Believe <b>Hills</b>"
    assert page.locator("img, h1 b").count() == 0


def test_every_zone_has_its_pattern_and_its_day_on_the_map(open_zones: OpenZones) -> None:
    page = open_zones().page
    fills = page.locator("path.zone").evaluate_all("all => all.map(path => path.getAttribute('fill'))")
    assert fills == [f"url(#look-zone-week-{week})" for week in range(4)]
    assert all(page.locator(fill[4:-1]).count() == 1 for fill in fills)
    assert sorted(page.locator(".tag.by").all_text_contents()) == [
        "cut by 10 Sep", "cut by 17 Sep", "cut by 24 Sep", "cut by 3 Sep",
    ]  # fmt: skip


def test_a_hole_stays_open(open_zones: OpenZones) -> None:
    outline = path_of(open_zones().page, SECOND)
    assert outline.get_attribute("fill-rule") == "evenodd"
    assert (outline.get_attribute("d") or "").count("M") == 2


def test_a_line_of_the_legend_picks_its_zone_on_the_map(open_zones: OpenZones) -> None:
    page = open_zones().page
    row_of(page, SECOND).click()
    assert picked(page) == [SECOND]
    assert sheet_of(page, SECOND).is_visible()
    row_of(page, SECOND).click()
    assert picked(page) == []
    assert not sheet_of(page, SECOND).is_visible()


def test_a_zone_on_the_map_opens_its_sheet(open_zones: OpenZones) -> None:
    page = open_zones().page
    box = path_of(page, FIRST).bounding_box()
    page.mouse.click(box["x"] + 12, box["y"] + 12)
    assert sheet_of(page, FIRST).is_visible()
    assert row_of(page, FIRST).get_attribute("aria-expanded") == "true"


def test_a_day_on_the_map_picks_its_zone(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.locator(".tag.by", has_text="10 Sep").click()
    assert picked(page) == [SECOND]


@pytest.mark.parametrize("key", ["Enter", " "])
def test_the_keyboard_picks_a_zone_on_the_map(open_zones: OpenZones, key: str) -> None:
    page = open_zones().page
    path_of(page, SECOND).focus()
    page.keyboard.press(key)
    assert sheet_of(page, SECOND).is_visible()


def test_the_keyboard_alone_reaches_a_sheet(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # the first stop skips the map
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('#zones li')?.dataset.zoneId") == FIRST:
            break
    page.keyboard.press("Enter")
    assert sheet_of(page, FIRST).is_visible()


def test_a_sheet_says_what_to_do_the_dates_the_land_and_the_risk(open_zones: OpenZones) -> None:
    page = open_zones().page
    row_of(page, FIRST).click()
    said = sheet_of(page, FIRST).inner_text()
    for words in (
        "Cut by 3 Sep at the latest",
        "8 Oct to 14 Oct",
        "9,880 acres",
        "4 in or more",
        "falls of 10",
    ):
        assert words in said


def test_the_curve_has_words_for_those_who_do_not_see_it_and_a_real_table(open_zones: OpenZones) -> None:
    page = open_zones().page
    row_of(page, FIRST).click()
    drawing = sheet_of(page, FIRST).get_by_role("img")
    assert "2 falls of 10 on 3 Sep" in (drawing.get_attribute("aria-label") or "")
    sheet_of(page, FIRST).locator("summary").click()
    table = sheet_of(page, FIRST).get_by_role("table")
    assert table.get_by_role("columnheader").all_text_contents() == ["Cut on", "Too soon in"]
    assert table.get_by_role("row", name="3 Sep 2 falls of 10", exact=True).count() == 1


def test_a_county_row_picks_the_zone_of_its_middle_date(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.locator("#tab-counties").click()
    county_of(page, "County 1").click()
    assert picked(page) == [SECOND]
    assert page.locator("#counties .sheet:visible").count() == 1
    assert "Cut by 10 Sep" in page.locator("#counties .sheet:visible").inner_text()
    assert page.locator("path.picked-line.of-county").count() == 1


def test_the_table_by_county_is_a_real_one(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.locator("#tab-counties").click()
    table = page.get_by_role("table")
    assert table.get_by_role("columnheader").all_text_contents() == ["County", "Earliest", "Middle", "Latest"]
    assert table.get_by_role("row", name="County 2 3 Sep 12 Sep 19 Sep", exact=True).count() == 1


def test_another_chance_shows_other_days_and_keeps_the_county(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.locator("#tab-counties").click()
    county_of(page, "County 1").click()
    page.get_by_label("1 fall in 2, the average: a coin toss").check()
    assert page.locator("#zones .name").all_text_contents()[0] == "Cut by 10 Sep"
    assert county_of(page, "County 1").get_attribute("aria-expanded") == "true"
    assert picked(page) == ["bahiagrass-0.5-0917"]


def test_another_grass_shows_its_zones(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.get_by_label("Grass").select_option("native")
    assert page.locator("path.zone").count() == 3
    assert page.locator("#zones .row").count() == 3


def test_a_grass_without_zones_says_so(open_zones: OpenZones) -> None:
    zones = make_believe_zones(2)
    opened = open_zones(replace(zones, bands=zones.bands[zones.bands["grass"] == "native"]))
    assert "there is no last-cut date" in opened.page.locator("#zones").inner_text()
    assert opened.complaints == []


def test_a_district_without_zones_counties_and_ground_opens(open_zones: OpenZones) -> None:
    zones = make_believe_zones(1, context={})
    opened = open_zones(replace(zones, bands=zones.bands.iloc[:0], areas=zones.areas.iloc[:0], notes=()))
    opened.page.locator("#tab-counties").click()
    assert "No counties are given" in opened.page.locator("#counties").inner_text()
    assert opened.complaints == []


def test_caution_and_sources_are_on_the_page(open_zones: OpenZones) -> None:
    page = open_zones().page
    assert "not a forecast" in page.locator("#caution").inner_text()
    page.locator("#tab-notes").click()
    notes = page.locator("#notes").inner_text()
    assert "the region's own layers" in notes
    assert "from 30 past seasons" in notes


def test_a_phone_scrolls_only_up_and_down(open_zones: OpenZones) -> None:
    page = open_zones(**TOUCH).page
    row_of(page, FIRST).tap()
    page.locator("#tab-counties").tap()
    widths = page.evaluate(
        "['html', '#book'].map(name => document.querySelector(name)).map(one => one.scrollWidth - one.clientWidth)"
    )
    assert widths == [0, 0]


@pytest.mark.parametrize("leaf", ["zones", "counties", "notes"])
def test_a_finger_finds_every_target_on_a_phone(open_zones: OpenZones, leaf: str) -> None:
    page = open_zones(**TOUCH).page
    row_of(page, FIRST).tap()
    page.locator(f"#tab-{leaf}").tap()
    boxes = [target.bounding_box() for target in page.locator(PRESSED).all()]
    assert len(boxes) > 8
    assert [box for box in boxes if box["height"] < 44 or box["width"] < 44] == []


def test_no_text_is_smaller_than_16_px_on_a_phone(open_zones: OpenZones) -> None:
    page = open_zones(**TOUCH).page
    row_of(page, FIRST).tap()
    small = page.evaluate(
        "[...document.querySelectorAll('body *')].filter(one => one.checkVisibility() && "
        "[...one.childNodes].some(node => node.nodeType === 3 && node.data.trim()) && "
        "parseFloat(getComputedStyle(one).fontSize) < 16).map(one => one.outerHTML)"
    )
    assert small == []


def test_every_zone_has_its_day_on_the_map_of_a_phone_too(open_zones: OpenZones) -> None:
    page = open_zones(make_believe_zones(6), **TOUCH).page
    days = {text.removeprefix("cut by ") for text in page.locator(".tag.by").all_text_contents()}
    assert days == {"3 Sep", "10 Sep", "17 Sep", "24 Sep", "1 Oct", "8 Oct"}


def test_no_day_lies_on_another_or_leaves_the_map(open_zones: OpenZones) -> None:
    page = open_zones(make_believe_zones(15), **TOUCH).page
    chips = [tag.bounding_box() for tag in page.locator(".tag").all()]
    frame = page.locator("#map").bounding_box()
    meets = [
        (one, other)
        for place, one in enumerate(chips)
        for other in chips[:place]
        if abs(one["x"] + one["width"] / 2 - other["x"] - other["width"] / 2)
        < (one["width"] + other["width"]) / 2
        and abs(one["y"] + one["height"] / 2 - other["y"] - other["height"] / 2)
        < (one["height"] + other["height"]) / 2
    ]
    assert len(chips) > 3
    assert meets == []
    assert all(
        frame["x"] <= chip["x"] and chip["x"] + chip["width"] <= frame["x"] + frame["width"] for chip in chips
    )


def test_paper_shows_every_leaf_and_which_grass_and_chance(open_zones: OpenZones) -> None:
    page = open_zones().page
    page.emulate_media(media="print")
    assert [page.locator(f"#{leaf}").is_visible() for leaf in ("zones", "counties", "notes")] == [True] * 3
    assert page.locator(".options label:visible").all_text_contents() == ["1 fall in 5"]
    assert page.get_by_label("Grass").is_visible()
    assert not page.locator(".zoom").is_visible()


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_the_buttons_stand_clear_of_the_zones(open_zones: OpenZones, size: dict[str, int]) -> None:
    page = open_zones(size=size).page
    buttons = page.locator(".zoom").bounding_box()
    top = min(path.bounding_box()["y"] for path in page.locator("path.zone").all())
    assert buttons["y"] + buttons["height"] <= top


def test_a_day_keeps_off_the_towns_where_it_can(open_zones: OpenZones) -> None:
    page = open_zones(make_believe_zones(2)).page
    days = [tag.bounding_box() for tag in page.locator(".tag.by").all()]
    towns = [dot.bounding_box() for dot in page.locator("path.town").all()]
    assert (len(days) >= 2, len(towns)) == (True, 5)
    hidden = [
        town
        for town in towns
        for day in days
        if day["x"] < town["x"] + town["width"]
        and town["x"] < day["x"] + day["width"]
        and day["y"] < town["y"] + town["height"]
        and town["y"] < day["y"] + day["height"]
    ]
    assert hidden == []


def test_areas_that_were_given_have_their_own_leaf_and_one_outside_says_so(open_zones: OpenZones) -> None:
    zones = make_believe_zones(2)
    bare = zones.areas.assign(
        cover_share=zones.areas["cover_share"].where(zones.areas["area"] != "County 1", 0.0)
    )
    page = open_zones(replace(zones, areas=bare, area_kind="areas")).page
    page.get_by_role("tab", name="Areas").click()
    assert page.get_by_role("columnheader").all_text_contents()[0] == "Area"
    assert page.get_by_role("row", name="County 1 outside the freeze data", exact=True).count() == 1


def test_land_without_freeze_data_is_hatched_and_named(open_zones: OpenZones) -> None:
    zones = make_believe_zones(3)
    opened = open_zones(replace(zones, bands=zones.bands[~zones.bands["zone_id"].str.endswith("0903")]))
    assert opened.page.locator("path.unknown").get_attribute("fill") == "url(#look-zone-unknown)"
    assert opened.page.locator("#zones .unknown-named").inner_text().strip() == "No freeze data"
    assert opened.complaints == []
