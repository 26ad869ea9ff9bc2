"""What the map page promises to the person who opens it, tried in a real browser with no network."""

from dataclasses import replace
from typing import Any

import pandas as pd
import pytest

from spatial.plan import Plan
from spatial.reasons import reason
from tests.browser.conftest import PHONE, OpenMap
from tests.browser.make_believe import (
    BRACES_NAME,
    NASTY_CLIENT,
    NASTY_NAME,
    bare_field,
    field,
    make_believe_plan,
    route_of,
    with_fields,
)

TOUCH = {"size": PHONE, "has_touch": True, "is_mobile": True}
# Buttons and boxes that a finger may press; a path on the map is as large as its field, and a tap near it counts.
PRESSED = "button:visible, input[type=search]:visible, label:has(input):visible"


def row_of(page: Any, field_id: str, leaf: str = "fields") -> Any:
    return page.locator(f"#{leaf} li[data-field-id='{field_id}'] > .row")


def sheet_of(page: Any, field_id: str) -> Any:
    return page.locator(f"#fields li[data-field-id='{field_id}'] > .sheet")


def path_of(page: Any, field_id: str) -> Any:
    return page.locator(f"path[data-field-id='{field_id}']")


def is_picked(locator: Any) -> bool:
    return "picked" in (locator.get_attribute("class") or "").split()


def test_it_asks_for_nothing_but_itself(open_map: OpenMap) -> None:
    opened = open_map()
    opened.page.wait_for_timeout(300)
    assert [request.rsplit("/", 1)[1] for request in opened.requests] == ["map.html"]


def test_it_opens_without_a_complaint(open_map: OpenMap) -> None:
    opened = open_map()
    opened.page.locator("#tab-rounds").click()
    opened.page.locator("[data-round]").first.click()
    row_of(opened.page, "F1", "rounds").click()
    opened.page.locator("input[value=stage]").check()
    assert opened.complaints == []


def test_every_field_is_one_path(open_map: OpenMap) -> None:
    paths = open_map().page.locator("path[data-field-id]")
    ids = paths.evaluate_all("all => all.map(path => path.getAttribute('data-field-id'))")
    assert sorted(ids) == ["F1", "F2", "F3", "F4", "F5", "F6"]


def test_fields_are_hatched_by_the_pattern_of_their_class(open_map: OpenMap) -> None:
    page = open_map().page
    fills = [path_of(page, name).get_attribute("fill") for name in ("F4", "F1", "F3", "F5", "F6")]
    assert fills == [f"url(#look-urgency-{name})" for name in ("past", "0-7", "8-14", "over_28", "none")]
    assert all(page.locator(fill[4:-1]).count() == 1 for fill in fills)


def test_a_hole_stays_open(open_map: OpenMap) -> None:
    page = open_map().page
    outline = path_of(page, "F3")
    assert outline.get_attribute("fill-rule") == "evenodd"
    assert (outline.get_attribute("d") or "").count("M") == 2


@pytest.mark.parametrize("name", [NASTY_NAME, BRACES_NAME, "حقل الشمال", "Élan"])
def test_a_name_is_shown_as_it_was_typed(open_map: OpenMap, name: str) -> None:
    opened = open_map()
    shown = opened.page.locator("#list .name").all_text_contents()
    assert name in shown


def test_hostile_text_stays_text(open_map: OpenMap) -> None:
    opened = open_map()
    page = opened.page
    row_of(page, "F2").click()
    assert NASTY_CLIENT in (row_of(page, "F2").text_content() or "")
    assert page.locator("h1").text_content() == "Last cuts: Make-Believe <b>Hills</b>"
    assert page.locator("img, h1 b").count() == 0
    page.wait_for_timeout(200)
    assert opened.dialogs == []


def test_a_script_put_into_the_page_is_not_run(open_map: OpenMap) -> None:
    page = open_map().page
    page.evaluate(
        "() => { const bad = document.createElement('script'); bad.textContent = 'window.bad = 1';"
        " document.body.append(bad); }"
    )
    assert page.evaluate("window.bad === undefined")


def test_days_left_stand_on_the_map(open_map: OpenMap) -> None:
    page = open_map().page
    assert sorted(page.locator(".tag.days b").all_text_contents()) == sorted(
        ["\u22124", "3", "5", "12", "40", "–"]
    )


def test_a_row_picks_its_field_on_the_map(open_map: OpenMap) -> None:
    page = open_map().page
    row_of(page, "F3").click()
    assert [is_picked(path_of(page, name)) for name in ("F1", "F3")] == [False, True]


def test_a_field_on_the_map_opens_its_sheet(open_map: OpenMap) -> None:
    page = open_map().page
    path_of(page, "F1").dispatch_event("click", {"bubbles": True})
    assert row_of(page, "F1").get_attribute("aria-expanded") == "true"
    assert sheet_of(page, "F1").is_visible()


def test_a_tap_beside_a_small_field_reaches_it(open_map: OpenMap) -> None:
    plan = with_fields(make_believe_plan(), field("near", 0.0, 3), field("far", 0.9, 3))
    page = open_map(plan).page
    middle = path_of(page, "near").bounding_box()
    page.mouse.click(middle["x"] + middle["width"] / 2 - 18, middle["y"] + middle["height"] / 2 + 4)
    assert is_picked(path_of(page, "near"))


def test_a_sheet_says_what_to_do_why_when_and_where(open_map: OpenMap) -> None:
    page = open_map().page
    row_of(page, "F1").click()
    said = sheet_of(page, "F1").inner_text()
    for words in ("Cut by 25 Sep", "30 Oct", "7 Nov", "pH 5.4", "lab", "North crew", "09:30", "12 seasons"):
        assert words in said


def test_a_field_off_the_route_says_why(open_map: OpenMap) -> None:
    passed = reason("past_last_cut", last_cut_date=pd.Timestamp(2026, 9, 18))
    page = open_map(with_fields(make_believe_plan(), field("late", 0.0, -4, why_not=passed))).page
    row_of(page, "late").click()
    assert "Its last-cut date, 18 Sep, has passed." in sheet_of(page, "late").inner_text()


def test_the_list_goes_by_urgency_then_days_left(open_map: OpenMap) -> None:
    page = open_map().page
    ids = page.locator("#list li").evaluate_all("all => all.map(item => item.getAttribute('data-field-id'))")
    assert ids == ["F1", "F2", "F3", "F5", "F4", "F6"]  # past its date, F4 can no longer be cut


def test_a_class_of_the_legend_narrows_map_and_list(open_map: OpenMap) -> None:
    page = open_map().page
    past = page.get_by_role("button", name="past the date: 1")
    past.click()
    assert past.get_attribute("aria-pressed") == "true"
    assert page.locator("#list li:visible").count() == 1
    assert page.locator("path[data-field-id]:not(.away)").count() == 1


@pytest.mark.parametrize(("typed", "found"), [("forty", ["F1"]), ("ELAN", ["F6"]), ("a. grow", ["F1"])])
def test_the_search_finds_field_or_client(open_map: OpenMap, typed: str, found: list[str]) -> None:
    page = open_map().page
    page.get_by_label("Find a field or client").fill(typed)
    shown = page.locator("#list li:visible")
    assert shown.evaluate_all("all => all.map(item => item.getAttribute('data-field-id'))") == found


def test_showing_by_stage_recolours_map_and_legend(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("input[value=stage]").check()
    assert path_of(page, "F4").get_attribute("fill") == "url(#look-stage-leave_standing)"
    assert page.get_by_role("button", name="leave standing: 1").is_visible()


@pytest.mark.parametrize(
    ("by", "looks", "tags"),
    [
        ("ph", ["very_low", "enough", "low", "high", "none"], ["5.4", "5.4", "6.3", "7.2", "~5.6", "–"]),
        ("k", ["low", "enough", "medium", "low", "none"], ["enough", "low", "low", "low", "~medium", "–"]),
        ("p", ["enough", "enough", "none", "enough", "none"], ["enough"] * 4 + ["–"] * 2),
    ],
)
def test_showing_by_soil_recolours_and_writes_its_values(
    open_map: OpenMap, by: str, looks: list[str], tags: list[str]
) -> None:
    page = open_map().page
    page.locator(f"input[value={by}]").check()
    fills = [path_of(page, name).get_attribute("fill") for name in ("F1", "F3", "F4", "F5", "F6")]
    assert fills == [f"url(#look-{by}-{look})" for look in looks]
    assert all(page.locator(fill[4:-1]).count() == 1 for fill in fills)
    assert sorted(page.locator(".tag.days b").all_text_contents()) == tags


def test_what_is_only_mapped_is_dashed_and_said_so_in_legend_list_and_sheet(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("input[value=ph]").check()
    dashed = [
        name
        for name in ("F1", "F3", "F4", "F5", "F6")
        if "dashed" in path_of(page, name).get_attribute("class")
    ]
    assert dashed == ["F4"]
    assert "mapped, sample first1" in (page.locator(".keys li").first.text_content() or "")
    assert "pH 5.6, mapped, sample first" in row_of(page, "F4").inner_text()
    row_of(page, "F4").click()
    assert "5.6, below target (mapped, sample first)" in sheet_of(page, "F4").inner_text()


def test_the_part_to_sample_first_is_drawn_by_ph_alone(open_map: OpenMap) -> None:
    page = open_map().page
    part = page.locator("path.part")
    assert (part.count(), part.is_visible()) == (1, False)
    page.locator("input[value=ph]").check()
    assert part.is_visible()
    assert part.get_attribute("fill") == "url(#sample-part)"
    page.get_by_role("button", name="pH at target: 1").click()
    assert not part.is_visible()


def test_a_click_on_the_part_to_sample_first_reaches_its_field(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("input[value=ph]").check()
    box = page.locator("path.part").bounding_box()
    page.mouse.click(box["x"] + 4, box["y"] + 4)
    assert is_picked(path_of(page, "F4"))


def test_the_list_by_soil_goes_from_poor_to_rich(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("input[value=ph]").check()
    assert page.locator(".group h2").all_text_contents() == [
        "pH far below target", "pH below target", "pH at target", "pH high", "pH not known",
    ]  # fmt: skip


def test_the_caution_is_that_of_what_is_shown(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("input[value=k]").check()
    assert "Only a lab sample sets a rate" in page.locator("#caution").inner_text()
    page.locator("input[value=urgency]").check()
    assert "not a forecast" in page.locator("#caution").inner_text()


def test_what_to_buy_has_a_table_a_client_with_reasons(open_map: OpenMap) -> None:
    opened = open_map()
    page = opened.page
    page.locator("#tab-buy").click()
    assert page.locator("#buy h2").all_text_contents() == [NASTY_CLIENT, "A. Grower"]
    cells = page.locator("#buy section").nth(1).locator("tbody").first.locator("th, td").all_text_contents()
    assert cells[:4] == ["North Forty", "Lime", "1.8 tons an acre", "17.6 tons"]
    assert cells[4].startswith("pH 5.4 (lab sample, 3 Nov 2025)")
    assert opened.complaints == []


def test_nothing_to_buy_says_so(open_map: OpenMap) -> None:
    page = open_map(with_fields(make_believe_plan(), field("F1", 0.0, 3))).page
    page.locator("#tab-buy").click()
    assert page.locator("#buy").inner_text() == "Nothing can be bought by a lab sample."


@pytest.mark.parametrize("by", ["ph", "k"])
def test_the_soil_fits_a_phone(open_map: OpenMap, by: str) -> None:
    page = open_map(**TOUCH).page
    page.locator(f"label:has(input[value={by}])").tap()
    choices = page.locator(".show-by label").all()
    assert len(choices) == 5
    assert len({round(choice.bounding_box()["y"]) for choice in choices}) == 1
    page.locator("#tab-buy").tap()
    assert page.locator("#book").evaluate("one => one.scrollWidth - one.clientWidth") == 0


def test_a_round_shows_numbered_stops_from_its_yard(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("#tab-rounds").click()
    page.get_by_role("button", name="Wed 23 Sep, North crew, 2 stops").click()
    assert page.locator(".tag.stop").all_text_contents() == ["1", "2"]
    assert page.locator(".tag.yard").count() == 1
    assert page.locator("path.way").count() == 1
    assert page.locator("#stops .name").all_text_contents() == ["North Forty", NASTY_NAME]


def test_the_table_of_rounds_has_a_row_a_day_and_a_column_a_crew(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("#tab-rounds").click()
    assert page.locator(".days-by-crew thead th").all_text_contents() == ["Day", "North crew", "South crew"]
    assert page.locator(".days-by-crew tbody th").all_text_contents() == ["Wed 23 Sep", "Thu 24 Sep"]


def test_the_caution_and_the_notes_are_on_the_page(open_map: OpenMap) -> None:
    page = open_map().page
    assert "not a forecast" in page.locator("#caution").inner_text()
    page.locator("#tab-notes").click()
    assert "from 30 past seasons" in page.locator("#notes").inner_text()


@pytest.mark.parametrize(("units", "written"), [("us", "mi"), ("metric", "km")])
def test_the_scale_is_in_the_units_of_the_region(open_map: OpenMap, units: str, written: str) -> None:
    page = open_map(make_believe_plan(units)).page
    scales = page.locator(".leaflet-control-scale-line").all_text_contents()
    assert [scale.split()[1] for scale in scales] == [written]


def test_the_keyboard_alone_reaches_a_sheet(open_map: OpenMap) -> None:
    page = open_map().page
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # the first stop skips the map
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('#list li')?.dataset.fieldId") == "F1":
            break
    page.keyboard.press("Enter")
    assert sheet_of(page, "F1").is_visible()


def test_arrow_keys_turn_the_leaves(open_map: OpenMap) -> None:
    page = open_map().page
    page.locator("#tab-fields").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#tab-rounds").get_attribute("aria-selected") == "true"
    assert page.locator("#rounds").is_visible()
    assert not page.locator("#fields").is_visible()


def test_a_phone_scrolls_only_up_and_down(open_map: OpenMap) -> None:
    page = open_map(**TOUCH).page
    row_of(page, "F2").tap()
    widths = page.evaluate(
        "['html', '#book'].map(name => document.querySelector(name)).map(one => one.scrollWidth - one.clientWidth)"
    )
    assert widths == [0, 0]


@pytest.mark.parametrize("leaf", ["fields", "rounds", "buy", "notes"])
def test_a_finger_finds_every_target_on_a_phone(open_map: OpenMap, leaf: str) -> None:
    page = open_map(**TOUCH).page
    row_of(page, "F1").tap()
    page.locator(f"#tab-{leaf}").tap()
    boxes = [target.bounding_box() for target in page.locator(PRESSED).all()]
    assert len(boxes) > 10
    assert [box for box in boxes if box["height"] < 44 or box["width"] < 44] == []


def test_no_text_is_smaller_than_16_px_on_a_phone(open_map: OpenMap) -> None:
    page = open_map(**TOUCH).page
    row_of(page, "F1").tap()
    small = page.evaluate(
        "[...document.querySelectorAll('body *')].filter(one => one.checkVisibility() && "
        "[...one.childNodes].some(node => node.nodeType === 3 && node.data.trim()) && "
        "parseFloat(getComputedStyle(one).fontSize) < 16).map(one => one.outerHTML)"
    )
    assert small == []


def test_a_phone_has_the_map_on_top_and_the_list_below(open_map: OpenMap) -> None:
    page = open_map(**TOUCH).page
    wall, book = page.locator("#wall").bounding_box(), page.locator("#book").bounding_box()
    assert wall["y"] + wall["height"] <= book["y"] + 1
    assert wall["width"] == book["width"] == 390


@pytest.mark.parametrize(("asked", "moves"), [("reduce", False), ("no-preference", True)])
def test_nothing_moves_for_those_who_ask_for_calm(open_map: OpenMap, asked: str, moves: bool) -> None:
    page = open_map(reduced_motion=asked).page
    moved = page.evaluate(
        "() => new Promise(tell => { document.querySelector('.zoom button:last-child').click();"
        " requestAnimationFrame(() => requestAnimationFrame("
        "() => tell(document.querySelector('.leaflet-zoom-anim') !== null))); })"
    )
    assert moved is moves


def test_a_plan_of_one_bare_field_without_route_opens(open_map: OpenMap) -> None:
    plan = with_fields(make_believe_plan(), bare_field("only"))
    plan.region.context.clear()
    opened = open_map(replace(plan, notes=()))
    row_of(opened.page, "only").click()
    opened.page.locator("#tab-rounds").click()
    assert opened.page.locator("#rounds").inner_text() == "There is no route in this plan."
    assert opened.complaints == []


def test_five_hundred_fields_open(open_map: OpenMap) -> None:
    rows = [field(f"F{number}", (number % 25) * 0.02, number % 40) for number in range(500)]
    opened = open_map(with_fields(make_believe_plan(), *rows))
    assert opened.page.locator("path[data-field-id]").count() == 500
    assert opened.page.locator("#list li").count() == 500


def test_a_route_to_a_field_that_is_not_in_the_plan_opens(open_map: OpenMap, make_believe: Plan) -> None:
    plan = replace(make_believe, route=route_of(("North crew", "2026-09-23", 1, "gone", 1, 1)))
    opened = open_map(plan)
    opened.page.locator("#tab-rounds").click()
    opened.page.locator("[data-round]").click()
    assert opened.complaints == []


def test_paper_shows_every_leaf_and_no_button_of_the_map(open_map: OpenMap) -> None:
    page = open_map().page
    page.emulate_media(media="print")
    assert [page.locator(f"#{leaf}").is_visible() for leaf in ("fields", "rounds", "buy", "notes")] == [
        True
    ] * 4
    assert not page.locator(".zoom").is_visible()


def test_a_phone_held_sideways_has_the_list_beside_the_map(open_map: OpenMap) -> None:
    page = open_map(size={"width": 844, "height": 390}, has_touch=True, is_mobile=True).page
    wall, book = page.locator("#wall").bounding_box(), page.locator("#book").bounding_box()
    assert wall["x"] + wall["width"] <= book["x"] + 1
    assert page.evaluate("document.documentElement.scrollWidth") == 844
