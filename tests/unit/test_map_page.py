"""What the map page promises before any browser opens it."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import geopandas as gpd
import lxml.html
import pandas as pd
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from maps import offline_page
from maps.ground import label_points, rings
from maps.interactive import map_page, write_map
from maps.layers import page_data
from maps.style import INK, K_LOOKS, P_LOOKS, PAPER, PH_LOOKS, STAGE_LOOKS, URGENCY_LOOKS, Look
from spatial.errors import InputError
from spatial.plan import Plan
from spatial.reasons import reason
from tests.browser.make_believe import (
    BRACES_NAME,
    LOW_PH,
    MADE_ON,
    MAPPED,
    NASTY_CLIENT,
    NASTY_NAME,
    NO_SOIL,
    bare_field,
    field,
    make_believe_plan,
    with_fields,
)

SOIL_LOOKS = [PH_LOOKS, K_LOOKS, P_LOOKS]
LOOKS = [URGENCY_LOOKS, STAGE_LOOKS, *SOIL_LOOKS]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_believe_plan()


@pytest.fixture(scope="module")
def page(plan: Plan) -> str:
    return map_page(plan, MADE_ON)


@pytest.fixture(scope="module")
def tree(page: str) -> Any:
    return lxml.html.document_fromstring(page)


def fields_in(plan: Plan) -> dict[str, dict[str, Any]]:
    return {entry["id"]: entry for entry in page_data(plan)["fields"]}


def pairs_of(entry: dict[str, Any], title: str) -> dict[str, str]:
    return {
        label: value for part in entry["sheet"] if part["title"] == title for label, value in part["pairs"]
    }


def lines_of(entry: dict[str, Any], title: str) -> list[str]:
    return [line for part in entry["sheet"] if part["title"] == title for line in part["lines"]]


# The page as a file


def test_the_same_plan_gives_the_same_page(plan: Plan, page: str) -> None:
    assert map_page(plan, MADE_ON) == page


def test_the_hour_of_making_changes_one_line(plan: Plan, page: str) -> None:
    later = map_page(plan, MADE_ON + timedelta(days=1))
    changed = [line for line, other in zip(page.split("\n"), later.split("\n"), strict=True) if line != other]
    assert changed == ['<p id="made">Made on 22 Sep 2026, 07:05</p>']


def test_the_order_of_the_rows_changes_nothing(plan: Plan, page: str) -> None:
    turned = replace(plan, fields=plan.fields.iloc[::-1], route=plan.route.iloc[::-1])
    assert map_page(turned, MADE_ON) == page


def test_the_file_is_the_page(plan: Plan, page: str, tmp_path: Path) -> None:
    write_map(plan, tmp_path / "map.html", MADE_ON)
    assert (tmp_path / "map.html").read_bytes() == page.encode()


def test_nothing_in_it_points_elsewhere(page: str, tree: Any) -> None:
    assert tree.xpath("//*[@src or @srcset or @background or @action]|//link|//iframe|//img|//base") == []
    assert tree.xpath("//@href") == ["#book"]
    assert [address for address in re.findall(r"url\(([^)]*)\)", page) if not address.startswith("#")] == []
    assert "sourceMappingURL" not in page
    assert "@import" not in page


def test_it_carries_the_licence_of_leaflet(tree: Any) -> None:
    script = tree.xpath("string(//script[contains(., 'Leaflet 1.9.4')])")
    assert "BSD 2-Clause License" in script
    assert "Redistributions in binary form must reproduce the above copyright" in script


def test_another_leaflet_is_refused(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(offline_page.LEAFLET_SHA256, "leaflet.js", "0" * 64)
    with pytest.raises(InputError, match=r"leaflet\.js: django-js-lib-leaflet: is not the file"):
        map_page(plan, MADE_ON)


# Content Security Policy Level 3 (W3C): a hash source is the base64 of the SHA-256 of the element's text.


@pytest.mark.parametrize("tag", ["script", "style"])
def test_the_policy_names_every_script_and_style_by_its_hash(tree: Any, tag: str) -> None:
    policy = tree.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    allowed = re.search(rf"{tag}-src ([^;]*);", policy)
    texts = [element.text for element in tree.xpath(f"//{tag}[not(@type)]")]
    hashes = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts]
    assert allowed is not None
    assert allowed[1].split() == [f"'sha256-{one}'" for one in hashes]


def test_the_policy_forbids_all_else(tree: Any) -> None:
    policy = tree.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert tree.xpath("//@style|//@onload|//@onclick|//@onerror") == []


# What people typed


@pytest.mark.parametrize("text", [NASTY_NAME, NASTY_CLIENT, BRACES_NAME])
def test_typed_text_reaches_the_page_unchanged_and_inert(page: str, tree: Any, text: str) -> None:
    data = json.loads(tree.xpath("string(//script[@id='page-data'])"))
    assert text in {entry[part] for entry in data["fields"] for part in ("name", "client")}
    assert text not in page


def test_the_data_cannot_end_its_script(tree: Any) -> None:
    data = tree.xpath("string(//script[@id='page-data'])")
    assert set("<>&\u2028\u2029") & set(data) == set()


# What the map shows


def test_fields_come_by_urgency_then_days_left_then_name_of_field(plan: Plan) -> None:
    assert list(fields_in(plan)) == ["F1", "F2", "F3", "F5", "F4", "F6"]


def test_the_legend_counts_every_field_once(plan: Plan) -> None:
    classes = page_data(plan)["classes"]
    counts = {by: {look["code"]: look["count"] for look in looks} for by, looks in classes.items()}
    assert counts["urgency"] == {"past": 1, "0-7": 2, "8-14": 1, "15-28": 0, "over_28": 1, "": 1}
    assert counts["stage"]["ready"] == 5
    assert counts["stage"]["leave_standing"] == 1


def test_the_head_names_region_day_and_chance(plan: Plan) -> None:
    head = page_data(plan)["head"]
    assert head["title"] == "Last cuts: Make-Believe <b>Hills</b>"
    assert head["under"] == "Tue 22 Sep 2026. Freeze chance: 1 fall in 5."


def test_a_sheet_shows_the_chosen_chance_and_the_average_side_by_side(plan: Plan) -> None:
    dates = pairs_of(fields_in(plan)["F1"], "Dates")
    assert dates["Last cut"] == "25 Sep"
    assert dates["Killing freeze has come by (1 fall in 5)"] == "30 Oct"
    assert dates["Killing freeze has come by (average, 1 fall in 2)"] == "7 Nov"


def test_a_freeze_that_does_not_come_is_told_from_one_that_is_not_known(plan: Plan) -> None:
    never = field("never", 0.0, 3, average_freeze_date=pd.NaT)
    unknown = field("unknown", 0.1, None, freeze_cover_share=0.0)
    entries = fields_in(with_fields(plan, never, unknown))
    average = "Killing freeze has come by (average, 1 fall in 2)"
    assert pairs_of(entries["never"], "Dates")[average] == "not reached"
    assert pairs_of(entries["unknown"], "Dates")[average] == "not known"


def test_a_date_that_has_passed_is_not_called_a_day_to_cut_by(plan: Plan) -> None:
    entries = fields_in(plan)
    assert [entries[name]["by"] for name in ("F4", "F1", "F6")] == [
        "passed 18 Sep", "last cut by 25 Sep", "no last-cut date",
    ]  # fmt: skip


def test_advice_is_sorted_into_what_to_do_why_and_what_to_mind(plan: Plan) -> None:
    entry = fields_in(plan)["F1"]
    assert lines_of(entry, "What to do")[0].startswith("Cut by 25 Sep")
    assert lines_of(entry, "Why")[0].startswith("In 1 fall in 5 the killing freeze")
    assert lines_of(entry, "Mind")[0].startswith("Only 12 seasons")


def test_soil_says_ph_with_class_target_origin_and_date_then_the_flags(plan: Plan) -> None:
    entry = fields_in(plan)["F1"]
    pairs = pairs_of(entry, "Soil")
    assert (pairs["pH"], pairs["Target pH"]) == ("5.4, far below target", "6.0")
    assert pairs["pH from"] == "lab sample, 3 Nov 2025"
    assert (pairs["K"], pairs["P"]) == ("low, lab sample", "high, lab sample")
    # 4 t/ha and 16 t, by NIST Handbook 44, appendix C: 1.78 short tons an acre, 17.6 short tons.
    assert pairs["Lime"] == "1.8 tons an acre, 17.6 tons in all"
    assert (pairs["Drainage"], pairs["Slope"]) == ("poorly drained", "8 %")
    lines = lines_of(entry, "Soil")
    assert lines[0].startswith("pH 5.4 (lab sample, 3 Nov 2025) is below its target, 6.0")
    assert lines[-1] == "Rated by the state table."


def test_a_mapped_ph_is_never_taken_for_a_test(plan: Plan) -> None:
    entry = fields_in(plan)["F4"]
    pairs = pairs_of(entry, "Soil")
    assert pairs["pH"] == "5.6, below target (mapped, sample first)"
    assert pairs["pH from"] == "soil survey"
    assert (pairs["Least and greatest pH"], pairs["Mapped"], pairs["Below target"]) == (
        "4.9 to 6.2", "82 % of the field", "40 % of that",
    )  # fmt: skip
    assert pairs["Sample first"].startswith("pH 4.9 by the map on 30 % of the field")
    assert pairs["K"] == "medium (mapped, sample first)"
    assert "Lime" not in pairs
    assert (entry["tags"]["ph"], entry["said"]["ph"]) == ("~5.6", "pH 5.6, mapped, sample first")
    assert entry["mapped"] == ["ph", "k"]


def test_soil_sentences_go_from_flags_by_lime_and_nutrients_to_the_ground(plan: Plan) -> None:
    whys = {name: (reason("no_crews"),) for name in ("ground", "lime")}
    told = field("F1", 0.0, 3, **whys, nutrients=(reason("sample_soil"),), flags=())
    lines = lines_of(fields_in(with_fields(plan, told))["F1"], "Soil")
    assert lines == [
        "No crews are given.", "No soil test and no soil layer here: sample this field.", "Rated by the state table.",
    ]  # fmt: skip


def test_no_lime_needed_is_told_from_lime_not_known(plan: Plan) -> None:
    entries = fields_in(plan)
    assert pairs_of(entries["F3"], "Soil")["Lime"] == "none needed"
    assert "Lime" not in pairs_of(entries["F6"], "Soil")
    assert pairs_of(entries["F6"], "Soil")["pH"] == "not known"


def test_the_soil_legend_counts_every_field_once_and_those_only_mapped(plan: Plan) -> None:
    data = page_data(plan)
    counts = {by: {look["code"]: look["count"] for look in data["classes"][by]} for by in ("ph", "k", "p")}
    assert counts["ph"] == {"very_low": 2, "low": 1, "enough": 1, "high": 1, "": 1}
    assert counts["k"] == {"low": 3, "medium": 1, "enough": 1, "": 1}
    assert counts["p"] == {"low": 0, "medium": 0, "enough": 4, "": 2}
    keys = {by: [(key["sign"], key["count"]) for key in keys] for by, keys in data["keys"].items()}
    assert keys == {"ph": [("mapped", 1), ("part", 1)], "k": [("mapped", 1)], "p": []}
    assert "mapped, sample first" in data["keys"]["k"][0]["words"]


def test_soil_of_which_nothing_is_known_is_not_offered(plan: Plan) -> None:
    only_k = LOW_PH | {"soil_ph": None, "soil_ph_class": "", "soil_p_class": None}
    by = [
        list(page_data(with_fields(plan, field("F1", 0.0, 3, **soil)))["classes"])
        for soil in (NO_SOIL, only_k)
    ]
    assert by == [["urgency", "stage"], ["urgency", "stage", "k"]]


def test_the_part_to_sample_first_lies_with_its_field(plan: Plan) -> None:
    entries = fields_in(plan)
    assert [name for name, entry in entries.items() if entry["part"]] == ["F4"]
    assert min(entries["F4"]["part"][0][0]) == [-83.41, 33.0]


def test_a_map_without_the_class_of_its_value_marks_nothing(plan: Plan) -> None:
    unrated = field("F1", 0.0, 3, **(MAPPED | {"soil_k_class": None}))
    assert fields_in(with_fields(plan, unrated))["F1"]["mapped"] == ["ph"]


def test_a_mapped_ph_without_a_target_is_still_called_mapped(plan: Plan) -> None:
    entry = fields_in(with_fields(plan, field("F1", 0.0, 3, grass="", **(MAPPED | {"soil_ph_class": ""}))))[
        "F1"
    ]
    assert (entry["ph"], entry["tags"]["ph"], entry["said"]["ph"]) == (
        "",
        "~5.6",
        "pH 5.6, mapped, sample first",
    )
    assert pairs_of(entry, "Soil")["pH"] == "5.6 (mapped, sample first)"
    assert "Target pH" not in pairs_of(entry, "Soil")


def test_what_to_buy_is_on_the_page(plan: Plan) -> None:
    buy = page_data(plan)["buy"]
    assert buy["lines"][0].startswith("Only what a lab sample")
    assert [table["client"] for table in buy["clients"]] == [NASTY_CLIENT, "A. Grower"]
    assert buy["clients"][1]["needs"][0]["amount"] == "17.6 tons"


def test_a_split_field_has_a_line_for_each_part(plan: Plan) -> None:
    first, second = lines_of(fields_in(plan)["F2"], "On the route")
    assert first.startswith("Wed 23 Sep, North crew, stop 2, 10:30 to 11:30")
    assert "part 1 of 2" in first
    assert "part 2 of 2" in second


def test_a_field_off_the_route_says_why(plan: Plan) -> None:
    entry = fields_in(with_fields(plan, field("F1", 0.0, 3, why_not=reason("no_crews"))))["F1"]
    assert lines_of(entry, "Why it is not on the route") == ["No crews are given."]


def test_a_round_starts_at_its_yard_and_goes_by_stops(plan: Plan) -> None:
    rounds = page_data(plan)["rounds"]
    assert [one["id"] for one in rounds] == [
        "2026-09-23 North crew", "2026-09-24 North crew", "2026-09-24 South crew",
    ]  # fmt: skip
    assert rounds[0]["yard"] == [-83.45, 32.98]
    assert [stop["field"] for stop in rounds[0]["stops"]] == ["F1", "F2"]
    assert rounds[0]["sum"] == "2 stops, 19.8 acres, from 09:30 to 11:30."


def test_units_are_those_of_the_region() -> None:
    facts = [fields_in(make_believe_plan(units))["F1"]["facts"][0] for units in ("us", "metric")]
    assert facts == ["9.9 acres", "4.0 ha"]


def test_a_field_of_which_nothing_is_known_still_has_its_place(plan: Plan) -> None:
    entry = fields_in(with_fields(plan, bare_field("bare")))["bare"]
    assert (entry["name"], entry["days"], entry["urgency"], entry["stage"]) == ("bare", None, "", "")
    assert entry["days_words"] == "no date"


def test_a_region_without_context_has_an_empty_ground(plan: Plan) -> None:
    region = make_believe_plan().region
    region.context.clear()
    region.roads = None
    assert page_data(replace(plan, region=region))["ground"] == {
        "counties": [], "towns": [], "streams": [], "roads": [],
    }  # fmt: skip


# Shapes


def test_parts_and_holes_are_kept_apart() -> None:
    holed = Polygon(box(0, 0, 3, 3).exterior.coords, [box(1, 1, 2, 2).exterior.coords])
    parts = rings(MultiPolygon([holed, box(5, 5, 6, 6)]))
    assert [[len(ring) for ring in part] for part in parts] == [[4, 4], [4]]


def test_places_have_six_decimals() -> None:
    assert rings(Polygon([(0.12345678, 1), (1, 1), (1, 2)]))[0][0][0] == [0.123457, 1.0]


def test_days_left_are_written_inside_a_field_that_bends() -> None:
    bend = Polygon(
        [(0, 0), (0.03, 0), (0.03, 0.03), (0.02, 0.03), (0.02, 0.01), (0.01, 0.01), (0.01, 0.03), (0, 0.03)]
    )
    (lon, lat, room_m) = label_points(gpd.GeoSeries([bend]).to_frame("geometry"))[0]
    assert bend.contains(Point(lon, lat))
    assert room_m < 1200  # half of 0.02 deg at the equator, 2.2 km wide at the very most


def test_the_room_of_a_square_is_half_its_side() -> None:
    # 0.01 deg of a meridian is 1,111.95 m on a sphere of 6371.0088 km (IUGG mean radius): 2 pi R / 36,000.
    square = gpd.GeoDataFrame(geometry=[box(0, -0.005, 0.01, 0.005)], crs=4326)
    assert label_points(square)[0] == pytest.approx([0.005, 0.0, 555.97], abs=1.0)


def test_a_field_without_a_shape_has_no_place(plan: Plan) -> None:
    entry = fields_in(with_fields(plan, field("F1", 0.0, 3), bare_field("F2") | {"geometry": None}))["F2"]
    assert (entry["rings"], entry["at"]) == ([], None)


# Colours: relative luminance and contrast as WCAG 2.2 defines them, and its 3:1 for graphics (1.4.11), 7:1 for text
# at the strictest level (1.4.6).


def luminance(colour: str) -> float:
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted([luminance(one), luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def test_the_fewer_days_are_left_the_darker() -> None:
    shades = [luminance(look.fill) for look in URGENCY_LOOKS if look.code]
    assert all(darker < lighter for darker, lighter in pairwise(shades))


@pytest.mark.parametrize("looks", SOIL_LOOKS)
def test_the_poorer_the_soil_the_darker(looks: tuple[Look, ...]) -> None:
    shades = [luminance(look.fill) for look in looks if look.code]
    assert all(darker < lighter for darker, lighter in pairwise(shades))


def test_each_way_to_show_the_fields_has_colours_of_its_own() -> None:
    fills = [look.fill for looks in LOOKS for look in looks if look.code]
    assert len(set(fills)) == len(fills)


@pytest.mark.parametrize("looks", LOOKS)
def test_no_two_classes_share_a_hatch(looks: tuple[Look, ...]) -> None:
    assert len({look.hatch for look in looks}) == len(looks)


@pytest.mark.parametrize("looks", LOOKS)
def test_every_hatch_is_seen_on_its_colour(looks: tuple[Look, ...]) -> None:
    assert min(contrast(look.fill, look.mark) for look in looks if look.hatch) >= 3


def test_ink_on_paper_is_read_in_the_sun() -> None:
    assert contrast(INK, PAPER) >= 7
