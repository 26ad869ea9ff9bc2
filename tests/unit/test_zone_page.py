"""What the page of the last-cut zones promises before any browser opens it."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import lxml.html
import pandas as pd
import pytest
import shapely
from shapely.geometry import Point, box

from maps.style import INK, PAPER
from maps.zones import words as zone_words
from maps.zones.looks import HATCHES, RAMP, contrast, zone_looks
from maps.zones.page import write_zone_page, zone_data, zone_page
from maps.zones.spots import spots
from spatial.reasons import reason
from spatial.zones import Zones
from tests.browser.make_believe import MADE_ON, NASTY_NAME
from tests.browser.make_believe_zones import make_believe_zones


@pytest.fixture(scope="module")
def zones() -> Zones:
    return make_believe_zones(4)


@pytest.fixture(scope="module")
def page(zones: Zones) -> str:
    return zone_page(zones, MADE_ON)


@pytest.fixture(scope="module")
def tree(page: str) -> Any:
    return lxml.html.document_fromstring(page)


def layer_of(zones: Zones, grass: str, chance: str) -> dict[str, Any]:
    return next(
        layer for layer in zone_data(zones)["layers"] if (layer["grass"], layer["chance"]) == (grass, chance)
    )


# The page as a file


def test_equal_zones_give_equal_pages(zones: Zones, page: str) -> None:
    turned = replace(zones, bands=zones.bands.iloc[::-1], areas=zones.areas.iloc[::-1])
    assert zone_page(turned, MADE_ON) == page


def test_the_hour_of_making_changes_one_line(zones: Zones, page: str) -> None:
    later = zone_page(zones, MADE_ON + timedelta(days=1))
    changed = [line for line, other in zip(page.split("\n"), later.split("\n"), strict=True) if line != other]
    assert changed == ['<p id="made">Made on 22 Sep 2026, 07:05</p>']


def test_the_file_is_the_page(zones: Zones, page: str, tmp_path: Path) -> None:
    write_zone_page(zones, tmp_path / "zones.html", MADE_ON)
    assert (tmp_path / "zones.html").read_bytes() == page.encode()


def test_nothing_in_it_points_elsewhere(page: str, tree: Any) -> None:
    assert tree.xpath("//*[@src or @srcset or @background or @action]|//link|//iframe|//img|//base") == []
    assert tree.xpath("//@href") == ["#book"]
    assert [address for address in re.findall(r"url\(([^)]*)\)", page) if not address.startswith("#")] == []


# Content Security Policy Level 3 (W3C): a hash source is the base64 of the SHA-256 of the element's text.


@pytest.mark.parametrize("tag", ["script", "style"])
def test_the_policy_names_every_script_and_style_by_its_hash(tree: Any, tag: str) -> None:
    policy = tree.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    allowed = re.search(rf"{tag}-src ([^;]*);", policy)
    texts = [element.text for element in tree.xpath(f"//{tag}[not(@type)]")]
    hashes = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts]
    assert policy.startswith("default-src 'none'; ")
    assert allowed is not None
    assert allowed[1].split() == [f"'sha256-{one}'" for one in hashes]


def test_typed_text_reaches_the_page_unchanged_and_inert(page: str, tree: Any) -> None:
    data = json.loads(tree.xpath("string(//script[@id='page-data'])"))
    assert NASTY_NAME in [county["county"] for county in data["layers"][0]["counties"]]
    assert NASTY_NAME not in page


# What the page shows


def test_it_opens_on_the_chance_of_the_settings(zones: Zones) -> None:
    assert zone_data(zones)["first"] == {"grass": "bahiagrass", "chance": "0.2"}


def test_the_average_is_called_a_coin_toss(zones: Zones) -> None:
    names = [chance["name"] for chance in zone_data(zones)["chances"]]
    assert names == ["1 fall in 5", "1 fall in 2, the average: a coin toss"]


def test_zones_go_from_early_to_late_and_are_named_by_their_day(zones: Zones) -> None:
    names = [zone["title"] for zone in layer_of(zones, "bahiagrass", "0.2")["zones"]]
    assert names == ["Cut by 3 Sep", "Cut by 10 Sep", "Cut by 17 Sep", "Cut by 24 Sep"]


def test_a_sheet_says_what_to_do_and_by_when(zones: Zones) -> None:
    zone = layer_of(zones, "bahiagrass", "0.2")["zones"][0]
    to_do, dates = zone["sheet"]
    assert to_do["lines"][:2] == [
        "Cut by 3 Sep at the latest: this is the last cut before the freeze.", "Leave 4 in of stubble or more.",
    ]  # fmt: skip
    assert dict(dates["pairs"]) == {
        "Cut by: no place in it is earlier": "3 Sep",
        "Latest place of the zone": "9 Sep",
        "Killing freeze has come by (1 fall in 5)": "8 Oct to 14 Oct",
        "Leave standing at the cut": "4 in or more",
        "Size of the zone": "9,880 acres",  # 4,000 ha of 0.40468564224 ha an acre (NIST Handbook 44): 9,884.2
    }


def test_a_freeze_not_reached_in_places_is_told_from_one_reached_nowhere(zones: Zones) -> None:
    bare = zones.bands.assign(no_freeze=True, freeze_from_date=pd.NaT, freeze_to_date=pd.NaT)
    said = [
        dict(layer_of(made, "bahiagrass", "0.2")["zones"][1]["sheet"][1]["pairs"])[
            "Killing freeze has come by (1 fall in 5)"
        ]
        for made in (zones, replace(zones, bands=bare))
    ]
    assert said == ["15 Oct or later, in places never", "not reached"]


def test_the_risk_is_told_a_week_apart_around_the_day(zones: Zones) -> None:
    risk = layer_of(zones, "bahiagrass", "0.2")["zones"][0]["risk"]
    days = [day for day, _falls in risk["rows"]]
    assert days == ["13 Aug", "20 Aug", "27 Aug", "3 Sep", "10 Sep", "17 Sep", "24 Sep", "1 Oct"]
    assert dict(risk["rows"])["3 Sep"] == "2 falls of 10"
    assert len(risk["points"]) == 50
    assert risk["cut"][0] == 21


def test_a_zone_without_a_risk_has_no_curve(zones: Zones) -> None:
    bands = zones.bands.assign(risk=[()] * len(zones.bands))
    assert layer_of(replace(zones, bands=bands), "native", "0.5")["zones"][0]["risk"] is None


def test_a_county_leads_to_the_zone_of_its_middle_date(zones: Zones) -> None:
    county = layer_of(zones, "bahiagrass", "0.2")["counties"][-1]
    assert county["county"] == "County 3"
    assert county["dates"] == ["3 Sep", "12 Sep", "19 Sep"]
    assert county["zone"] == "bahiagrass-0.2-0910"


def test_a_county_without_a_date_leads_nowhere(zones: Zones) -> None:
    bare = zones.areas.assign(earliest_date=pd.NaT, middle_date=pd.NaT, latest_date=pd.NaT)
    county = layer_of(replace(zones, areas=bare), "bahiagrass", "0.2")["counties"][0]
    assert (county["dates"], county["zone"]) == (["", "", ""], "")


def test_areas_that_were_given_are_drawn_and_named_in_place_of_the_counties(zones: Zones) -> None:
    own = zones.areas.assign(area=zones.areas["area"].replace("County 1", "Far Field"))
    given = zone_data(replace(zones, areas=own, area_kind="areas"))
    assert "Far Field" in [one["name"] for one in given["ground"]["counties"]]
    assert "County 1" not in [one["name"] for one in given["ground"]["counties"]]
    assert (given["words"]["tab_counties"], given["words"]["county"]) == ("Areas", "Area")
    assert "ounty" not in given["words"]["counties"] + given["words"]["cover"]
    assert zone_data(zones)["words"]["tab_counties"] == "Counties"


def test_streams_and_towns_end_where_the_zones_can(zones: Zones) -> None:
    half = replace(zones, grid=replace(zones.grid, columns=zones.grid.columns // 2))
    shown = zone_data(half)["ground"]
    middle = -83.5  # of the make-believe district, where half of its grid ends
    assert max(place[0] for line in shown["streams"] for place in line) == pytest.approx(middle, abs=0.001)
    assert all(town["at"][0] <= middle for town in shown["towns"])
    assert len(shown["towns"]) < len(zone_data(zones)["ground"]["towns"])


def test_an_area_outside_the_freeze_data_says_so(zones: Zones) -> None:
    bare = zones.areas.assign(middle_date=pd.NaT, cover_share=0.0)
    data = zone_data(replace(zones, areas=bare))
    assert [one["outside"] for one in data["layers"][0]["counties"]] == [True] * 4
    assert data["words"]["outside"] == "outside the freeze data"


def test_land_of_the_areas_without_freeze_data_is_hatched(zones: Zones) -> None:
    first = zones.bands["zone_id"] != "bahiagrass-0.2-0903"
    data = zone_data(replace(zones, bands=zones.bands[first]))
    assert len(data["layers"][0]["unknown"]) == 2  # where the first zone was, and the hole of the second
    assert data["classes"]["zone"][-1]["code"] == "unknown"
    assert zone_data(make_believe_zones(1))["layers"][0]["unknown"] == []


def test_dates_that_are_past_are_called_so_at_the_top(zones: Zones) -> None:
    past = reason("zone_past", season_year=2026, next_year=2027, next_on="2027-04-01")
    said = zone_data(replace(zones, notes=(past,)))
    assert said["head"]["under"].endswith("All its dates are past: see Read me.")
    (note,) = said["notes"]
    assert note.startswith(
        "These are the dates of fall 2026, and all of them are past. For fall 2027, run it with"
    )
    assert note.endswith("--on 2027-04-01 or later.")


def test_units_are_those_of_the_region() -> None:
    sizes = [
        zone_data(make_believe_zones(1, units))["layers"][0]["zones"][0]["facts"][0]
        for units in ("us", "metric")
    ]
    assert sizes == ["9,880 acres", "4,000 ha"]


def test_a_district_without_zones_still_has_its_page(zones: Zones) -> None:
    data = zone_data(replace(zones, bands=zones.bands.iloc[:0], areas=zones.areas.iloc[:0]))
    assert (data["bounds"], data["classes"]) == (None, {"zone": []})
    assert [layer["zones"] for layer in data["layers"]] == [[]] * 4


@pytest.mark.parametrize(
    ("ha", "us", "metric"),
    [
        (4000, "9,880 acres", "4,000 ha"),
        (12.34, "30.5 acres", "12.3 ha"),
        (123_456, "305,000 acres", "123,000 ha"),
    ],
)
def test_land_has_three_figures(ha: float, us: str, metric: str) -> None:
    # 1 acre is 0.40468564224 ha (NIST Handbook 44, appendix C).
    assert (zone_words.land(ha, "us"), zone_words.land(ha, "metric")) == (us, metric)


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "0 falls of 10"),
        (0.02, "fewer than 1 fall of 10"),
        (0.1, "1 fall of 10"),
        (0.44, "4 falls of 10"),
    ],
)
def test_a_share_is_told_in_falls(share: float, said: str) -> None:
    assert zone_words.falls_of_ten(share) == said


# Where a day is written


def test_days_are_written_inside_every_part_the_roomiest_place_first() -> None:
    bend = shapely.union_all([box(0, 0, 0.3, 0.05), box(0.25, 0, 0.3, 0.3)])
    small = box(1, 1, 1.02, 1.02)
    found = spots(shapely.union_all([bend, small]))
    zone = shapely.union_all([bend, small])
    assert all(zone.contains(Point(spot["at"])) for spot in found)
    assert len({tuple(spot["at"]) for spot in found}) == len(found) > 2
    assert all(one["room_m"] >= other["room_m"] for one, other in pairwise(found))
    assert [small.contains(Point(spot["at"])) for spot in found] == [spot["part"] == 1 for spot in found]
    assert {spot["part"] for spot in found} == {0, 1}


def test_a_long_zone_reaches_farther_east_and_west_than_its_room() -> None:
    # 0.1 by 1 deg on the equator; 1 deg is 111.195 km on a sphere of 6371.0088 km (IUGG mean radius).
    spot = spots(box(0, -0.05, 1, 0.05))[0]
    assert spot["room_m"] == pytest.approx(5_560, rel=0.02)
    assert spot["reach_m"] >= spot["room_m"]
    assert abs(spot["at"][0] - 0.5) * 111_195 + spot["reach_m"] == pytest.approx(55_597, rel=0.01)


# Colours: luminance and contrast as WCAG 2.2 defines them, and its 3:1 for graphics (1.4.11), 7:1 for text (1.4.6).


START = date(2026, 8, 1)


def weekly(count: int, start: int = 0) -> list[date]:
    """The days of zones week by week, from 24 August on; the weeks of a season run from its first day."""
    return [date(2026, 8, 24) + timedelta(days=7 * week + start) for week in range(count)]


def brightness(colour: str) -> float:
    return contrast(colour, "#000000")


def test_contrast_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(
        4.48, abs=0.01
    )  # a grey just short of 4.5:1, from memory


@pytest.mark.parametrize("count", [2, 6, 15, 30])
def test_the_later_a_zone_the_lighter(count: int) -> None:
    days = weekly(count)
    fills = [brightness(zone_looks([days], START)[day].fill) for day in days]
    assert all(darker < lighter for darker, lighter in pairwise(fills))


def test_the_ramp_itself_rises() -> None:
    assert all(brightness(low) < brightness(high) for low, high in pairwise(RAMP))


@pytest.mark.parametrize("count", [2, 6, 15, 30])
def test_every_hatch_is_seen_on_its_colour(count: int) -> None:
    looks = zone_looks([weekly(count)], START).values()
    assert min(contrast(look.fill, look.mark) for look in looks) >= 3


def test_zones_that_may_touch_differ_in_their_stroke() -> None:
    looks = zone_looks([weekly(15)], START)
    strokes = [looks[day].hatch[:1] for day in weekly(15)]
    assert all(one != other for one, other in pairwise(strokes))
    assert len(set(HATCHES)) == len(HATCHES) == 11


def test_a_week_looks_the_same_for_every_grass_and_chance() -> None:
    # 22 and 28 August lie in the fourth week of a season that begins on 1 August, 29 August in the fifth.
    looks = zone_looks([[date(2026, 8, 22), date(2026, 8, 29)], [date(2026, 8, 28), date(2026, 9, 4)]], START)
    assert looks[date(2026, 8, 22)] == looks[date(2026, 8, 28)]
    assert looks[date(2026, 8, 29)] == looks[date(2026, 9, 4)] != looks[date(2026, 8, 28)]


def test_a_zone_alone_on_its_layer_is_neither_dark_nor_light_and_has_a_hatch_of_its_own() -> None:
    looks = zone_looks([[date(2026, 8, 2)], weekly(5)], START)
    alone, first, last = (looks[day] for day in (date(2026, 8, 2), weekly(5)[0], weekly(5)[-1]))
    assert brightness(first.fill) < brightness(alone.fill) < brightness(last.fill)
    assert alone.code not in {looks[day].code for day in weekly(5)}


def test_weeks_without_a_zone_take_nothing_from_the_ramp() -> None:
    days = [date(2026, 8, 31), date(2026, 10, 26), date(2026, 11, 2)]
    fills = [zone_looks([days], START)[day].fill for day in days]
    assert (fills[0], fills[2]) == (RAMP[0], RAMP[-1])
    assert contrast(fills[1], fills[2]) > 2


def test_ink_on_paper_is_read_in_the_sun() -> None:
    assert contrast(INK, PAPER) >= 7
