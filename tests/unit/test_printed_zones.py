"""What the printed zones promise: nothing overlaps on any paper, words are true, and equal zones give equal files."""

import itertools
import math
import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from matplotlib.text import Text
from pyproj import Transformer

from maps.paper.map_frame import View, bar, north_turn, tick_name, view_of
from maps.paper.picture import drawable
from maps.paper.places import SIDE_SHARE
from maps.paper.sheet import Box, Sheet, Type
from maps.zones.printed import print_zones, zone_sheets
from maps.zones.printed_legend import advice_lines
from spatial.errors import InputError
from spatial.zones import Zones
from tests.browser.make_believe import MADE_ON, NASTY_NAME
from tests.browser.make_believe_zones import make_believe_zones
from tests.unit.on_paper import extents, outside, overlaps, words

PAPERS = ("letter", "a4", "a3")
COUNTS = (1, 6, 15)
ONE = ("bahiagrass",)
TALL = 0.4  # of the width, which leaves a district higher than wide
PT_PER_MM = 72 / 25.4
DISTRICT = shapely.box(-83.9, 32.5, -83.1, 33.1)
FRAME = Box(60, 80, 400, 300)


@pytest.fixture(scope="module")
def zones() -> Zones:
    return make_believe_zones(6)


@pytest.fixture(scope="module")
def sheets(zones: Zones) -> list[Sheet]:
    return zone_sheets(zones, MADE_ON, "letter")


def days_in_legend(sheet: Sheet) -> int:
    return len({text.partition(",")[0] for text in words(sheet) if re.match(r"Cut by \d+ \w+($|,)", text)})


# Nothing lies on anything


@pytest.mark.parametrize(("paper", "count"), list(itertools.product(PAPERS, COUNTS)))
def test_no_text_meets_another_or_leaves_the_paper(paper: str, count: int) -> None:
    made = zone_sheets(make_believe_zones(count, grasses=ONE), MADE_ON, paper)
    assert days_in_legend(made[0]) == count
    assert [overlaps(sheet) for sheet in made] == [[] for _ in made]
    assert [outside(sheet) for sheet in made] == [[] for _ in made]


@pytest.mark.parametrize("count", COUNTS)
def test_the_same_on_a_sheet_held_upright_with_many_counties(count: int) -> None:
    made = zone_sheets(make_believe_zones(count, reach=TALL, counties=60, grasses=ONE), MADE_ON, "letter")
    assert made[0].height > made[0].width
    assert days_in_legend(made[0]) == count
    assert [overlaps(sheet) + outside(sheet) for sheet in made] == [[] for _ in made]


def test_zones_without_room_in_the_legend_are_counted_and_come_after() -> None:
    made = zone_sheets(make_believe_zones(50, grasses=ONE), MADE_ON, "letter")
    shown = days_in_legend(made[0])
    assert f"{50 - shown} more zones have no room here" in " ".join(words(made[0]))
    assert sum(days_in_legend(sheet) for sheet in made[1:]) == 50


def test_long_names_stay_on_the_paper() -> None:
    made = zone_sheets(make_believe_zones(3, name="Upper " * 60, grasses=ONE), MADE_ON, "letter")
    assert [overlaps(sheet) + outside(sheet) for sheet in made] == [[] for _ in made]


def test_a_text_too_wide_is_cut_to_what_fits() -> None:
    sheet, how = Sheet(792, 612), Type(9)
    short = sheet.shortened("Upper Ossamee Ferry", how, 60)
    assert short.endswith("…")
    assert sheet.width_of(short, how) <= 60
    assert sheet.width_of("Upper Ossamee Ferry"[: len(short)] + "…", how) > 60


def test_a_text_takes_no_place_that_another_has() -> None:
    sheet, whole = Sheet(792, 612), Box(0, 0, 792, 612)
    first = sheet.try_to_write(50, 100, "cut by 24 Sep", Type(12), within=whole)
    again = sheet.try_to_write(60, 104, "cut by 1 Oct", Type(12), within=whole)
    below = sheet.try_to_write(50, 60, "cut by 1 Oct", Type(12), within=whole)
    assert [first, again, below] == [True, False, True]


def test_a_text_that_would_leave_its_box_is_not_set() -> None:
    sheet = Sheet(792, 612)
    assert not sheet.try_to_write(10, 100, "cut by 24 Sep", Type(12), within=Box(0, 0, 60, 612))
    assert sheet.figure.findobj(Text) == []


def test_wrapped_lines_keep_every_word_and_the_width() -> None:
    sheet, text = Sheet(792, 612), "Cut by 24 Sep at the latest: this is the last cut before the freeze."
    lines = sheet.wrapped(text, Type(9), 110)
    assert " ".join(lines) == text
    assert len(lines) > 2
    assert max(sheet.width_of(line, Type(9)) for line in lines) <= 110


# What is said


def test_every_zone_is_in_the_legend_with_its_day_and_land(sheets: list[Sheet]) -> None:
    said = words(sheets[0])
    days = ("3 Sep", "10 Sep", "17 Sep", "24 Sep", "1 Oct", "8 Oct")
    assert [f"Cut by {day}" in said for day in days] == [True] * 6
    # 4,000 ha are 9,884.2 acres of 0.40468564224 ha (NIST Handbook 44, appendix C): 9,880 to three figures.
    assert "9,880 acres" in said


def test_the_days_are_written_in_the_zones_large_enough_for_a_room(sheets: list[Sheet]) -> None:
    large = [text for text in sheets[0].figure.findobj(Text) if text.get_fontsize() >= 18]
    days = {text.get_text().removeprefix("cut by ") for text in large}
    assert {"3 Sep", "10 Sep", "17 Sep", "24 Sep", "1 Oct", "8 Oct"} <= days


def test_metric_regions_read_hectares() -> None:
    assert "4,000 ha" in words(
        zone_sheets(make_believe_zones(2, units="metric", grasses=ONE), MADE_ON, "a4")[0]
    )


def test_the_sheet_says_chance_season_caution_scale_north_and_when(sheets: list[Sheet]) -> None:
    said = " ".join(words(sheets[0]))
    for phrase in (
        "1 fall in 5", "fall 2026", "statistics of past seasons, not a forecast", " mi", " km", "true north",
        "Made on 22 Sep 2026", "Sheet 1 of 4", "83° 30\u2032 W", "33° N",
    ):  # fmt: skip
        assert phrase in said


def test_each_grass_has_a_map_and_then_its_table_by_county(sheets: list[Sheet]) -> None:
    titles = [words(sheet)[0] for sheet in sheets]
    assert titles == [
        "Bahiagrass: when to take the last cut", "Bahiagrass: last cut by county",
        "Native: when to take the last cut", "Native: last cut by county",
    ]  # fmt: skip
    said = words(sheets[1])
    row = said.index("County 1")
    assert said[row : row + 6] == ["County 1", "3 Sep", "12 Sep", "19 Sep", "19 Sep", "93 %"]


def test_a_long_table_goes_on_under_its_head() -> None:
    made = zone_sheets(make_believe_zones(1, counties=60, grasses=ONE), MADE_ON, "letter")
    tables = [sheet for sheet in made if "Middle, average freeze" in words(sheet)]
    named = [text for sheet in tables for text in words(sheet) if text.startswith("County ")]
    assert len(tables) > 2
    assert len(set(named)) == 59


def test_advice_without_room_by_the_map_is_on_the_next_sheet() -> None:
    made = zone_sheets(make_believe_zones(15, grasses=ONE), MADE_ON, "letter")
    advice = "Cut by 3 Sep at the latest"
    assert [any(text.startswith(advice) for text in words(sheet)) for sheet in made[:2]] == [False, True]


def test_advice_is_whole_sentences_in_four_lines_at_most() -> None:
    sheet, how = Sheet(792, 612), Type(9)
    said = [
        "Cut by 24 Sep.",
        "Leave 4 in of stubble or more.",
        "Then leave it standing until the freeze. " * 5,
    ]
    assert " ".join(advice_lines(sheet, said, how, 120, 4)) == "Cut by 24 Sep. Leave 4 in of stubble or more."
    assert len(advice_lines(sheet, said[2:], how, 120, 4)) == 4  # a sentence too long by itself is cut
    assert advice_lines(sheet, said[2:], how, 120, 4)[-1].endswith(" …")


def test_a_grass_without_zones_says_so(zones: Zones) -> None:
    bare = replace(zones, bands=zones.bands[zones.bands["grass"] == "native"])
    assert "No last-cut date for this grass at this chance." in words(zone_sheets(bare, MADE_ON, "letter")[0])


def test_no_zones_at_all_still_print(zones: Zones, tmp_path: Path) -> None:
    bare = replace(zones, bands=zones.bands.iloc[:0], areas=zones.areas.iloc[:0])
    print_zones(bare, tmp_path / "zones.pdf", MADE_ON, "letter")
    assert (tmp_path / "zones.pdf").read_bytes().startswith(b"%PDF")


def test_typed_text_is_set_as_it_is_typed(sheets: list[Sheet]) -> None:
    assert NASTY_NAME in words(sheets[1])
    assert drawable("$x_1$  at\nthe {brook}") == "$x_1$ at the {brook}"
    assert drawable("Oak \u4e2d") == "Oak ?"  # a sign that the typeface lacks


def test_the_table_of_areas_that_were_given_is_not_called_one_of_counties(zones: Zones) -> None:
    made = zone_sheets(replace(zones, area_kind="areas"), MADE_ON, "letter")
    said = words(made[1])
    assert (said[0], "Area" in said, "County" in said) == ("Bahiagrass: last cut by area", True, False)


@pytest.mark.parametrize("reach", [1.0, TALL])
def test_the_note_over_the_table_is_whole(reach: float) -> None:
    made = zone_sheets(make_believe_zones(2, grasses=ONE, reach=reach), MADE_ON, "letter")
    assert "leave out a hundredth of the land" in " ".join(words(made[1]))
    assert "a coin toss." in " ".join(words(made[1]))


def test_land_without_freeze_data_has_its_hatch_in_the_legend(zones: Zones) -> None:
    hole = zones.bands[~zones.bands["zone_id"].str.endswith("0910")]
    sheet = zone_sheets(replace(zones, bands=hole), MADE_ON, "letter")[0]
    assert "No freeze data" in words(sheet)
    assert overlaps(sheet) == []
    assert "No freeze data" not in words(zone_sheets(make_believe_zones(1), MADE_ON, "letter")[0])


def test_an_area_outside_the_freeze_data_says_so_in_the_table(zones: Zones) -> None:
    bare = zones.areas.assign(earliest_date=pd.NaT, middle_date=pd.NaT, latest_date=pd.NaT, cover_share=0.0)
    said = words(zone_sheets(replace(zones, areas=bare), MADE_ON, "letter")[1])
    row = said.index("County 1")
    assert said[row : row + 6] == ["County 1", "none", "none", "none", "19 Sep", "outside the freeze data"]


@pytest.mark.parametrize("paper", PAPERS)
def test_no_day_takes_more_than_a_third_of_the_map(paper: str) -> None:
    sheet = zone_sheets(make_believe_zones(1, grasses=ONE), MADE_ON, paper)[0]
    size = max(
        text.get_fontsize() for text in sheet.figure.findobj(Text) if text.get_text().endswith("3 Sep")
    )
    plates = [box for text, box in extents(sheet).values() if text in {"3 Sep", "cut by 3 Sep"}]
    frame = (1 - SIDE_SHARE) * sheet.figure.bbox.width
    assert max(right - left for left, _bottom, right, _top in plates) < frame / 3
    assert size / sheet.scale >= 26  # as large as the day alone has room


# The map


def test_a_map_is_to_scale() -> None:
    # Karney 2013, by the independent library geographiclib; an equal-area plane is true to 0.1 % over a district.
    view = view_of([DISTRICT], FRAME)
    lons, lats = view.degrees(np.array([200.0, 300.0]), np.array([200.0, 200.0]))
    metres = Geodesic.WGS84.Inverse(lats[0], lons[0], lats[1], lons[1])["s12"]
    assert metres / 100 == pytest.approx(view.m_per_pt, rel=1e-3)


@pytest.mark.parametrize(("unit", "metres"), [("miles", 1609.344), ("kilometres", 1000.0)])
def test_a_scale_bar_is_as_long_as_it_says(unit: str, metres: float) -> None:
    view = view_of([DISTRICT], FRAME)
    length, width = bar(view, unit)
    lons, lats = view.degrees(np.array([200.0, 200.0 + width]), np.array([200.0, 200.0]))
    assert Geodesic.WGS84.Inverse(lats[0], lons[0], lats[1], lons[1])["s12"] == pytest.approx(
        length * metres, rel=1e-3
    )


def test_true_north_allows_for_the_grid() -> None:
    # Snyder 1987, Map Projections, transverse Mercator: the meridians converge by about (lon - lon_0) sin(lat),
    # from memory. West of the middle of zone 17, 81 W, true north lies clockwise of the grid's.
    to_plane = Transformer.from_crs("EPSG:4326", "EPSG:32617", always_xy=True)
    middle = to_plane.transform(-84.0, 33.0)
    turned = north_turn(View(FRAME, to_plane, middle, 100.0))
    assert math.degrees(turned) == pytest.approx(3.0 * math.sin(math.radians(33.0)), abs=0.01)


def test_a_district_fills_its_frame_and_stays_inside() -> None:
    placed = view_of([DISTRICT], FRAME).placed(DISTRICT)
    left, bottom, right, top = placed.bounds
    assert FRAME.left < left < right < FRAME.right
    assert FRAME.bottom < bottom < top < FRAME.top
    assert max((right - left) / FRAME.width, (top - bottom) / FRAME.height) > 0.9


@pytest.mark.parametrize(
    ("degrees", "signs", "name"),
    [
        (-83.5, "EW", "83° 30\u2032 W"), (33.0, "NS", "33° N"), (-12.25, "NS", "12° 15\u2032 S"),
        (0.0, "EW", "0°"), (-0.05, "EW", "0° 03\u2032 W"),
    ],
)  # fmt: skip
def test_degrees_are_named(degrees: float, signs: str, name: str) -> None:
    assert tick_name(degrees, signs) == name


# The files

# ISO 216: A4 is 210 x 297 mm, A3 297 x 420 mm; ANSI/ASME Y14.1: letter is 8.5 x 11 in.
SIZES = {
    "letter": (792, 612),
    "a4": (297 * PT_PER_MM, 210 * PT_PER_MM),
    "a3": (420 * PT_PER_MM, 297 * PT_PER_MM),
}


@pytest.mark.parametrize("paper", PAPERS)
def test_a_pdf_has_the_size_of_its_paper(paper: str, tmp_path: Path) -> None:
    print_zones(make_believe_zones(1, grasses=ONE), tmp_path / "zones.pdf", MADE_ON, paper)
    found = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", (tmp_path / "zones.pdf").read_bytes())
    assert len(found) == 2
    assert [float(side) for side in found[0]] == pytest.approx(SIZES[paper], abs=0.01)


def test_equal_zones_give_equal_files_without_a_date_inside(tmp_path: Path) -> None:
    zones = make_believe_zones(3, grasses=ONE)
    turned = replace(zones, bands=zones.bands.iloc[::-1], areas=zones.areas.iloc[::-1])
    for made, name in ((zones, "one"), (turned, "other")):
        for ending in ("pdf", "png"):
            print_zones(made, tmp_path / f"{name}.{ending}", MADE_ON, "letter")
    pdf, png = ((tmp_path / f"one.{ending}").read_bytes() for ending in ("pdf", "png"))
    assert pdf == (tmp_path / "other.pdf").read_bytes()
    assert png == (tmp_path / "other.png").read_bytes()
    assert b"CreationDate" not in pdf


def test_the_type_is_inside_the_pdf_as_outlines_that_can_be_copied(tmp_path: Path) -> None:
    # ISO 32000-1, 9.9: FontFile2 is an embedded TrueType face; a Type3 font would be drawings of letters.
    print_zones(make_believe_zones(1, grasses=ONE), tmp_path / "zones.pdf", MADE_ON, "letter")
    content = (tmp_path / "zones.pdf").read_bytes()
    assert b"/FontFile2" in content
    assert b"/Type3" not in content


def test_a_png_is_the_first_map(tmp_path: Path) -> None:
    print_zones(make_believe_zones(1, grasses=ONE), tmp_path / "zones.png", MADE_ON, "letter")
    content = (tmp_path / "zones.png").read_bytes()
    # W3C PNG, 11.2.2: width and height stand in bytes 16 to 24; 11 by 8.5 in at 150 dots an inch.
    assert [int.from_bytes(content[at : at + 4]) for at in (16, 20)] == [1650, 1275]


def test_other_papers_and_endings_are_refused_at_once(zones: Zones, tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        print_zones(zones, tmp_path / "zones.svg", datetime(2026, 9, 22), "legal")  # noqa: DTZ001 - local time
    assert [str(problem) for problem in refused.value.problems] == [
        "print: 'legal' is no paper that is known. Use one of: letter, a4, a3",
        "zones.svg: ends in neither .pdf nor .png. Give it one of these endings",
    ]


def test_the_settings_of_the_drawing_library_stay_as_they_were(tmp_path: Path) -> None:
    zones = make_believe_zones(1, grasses=ONE)
    with mpl.rc_context({"font.size": 31, "hatch.linewidth": 9.0, "font.family": "serif"}):
        before = dict(mpl.rcParams)
        print_zones(zones, tmp_path / "own.png", MADE_ON, "letter")
        assert dict(mpl.rcParams) == before
    print_zones(zones, tmp_path / "plain.png", MADE_ON, "letter")
    assert (tmp_path / "own.png").read_bytes() == (tmp_path / "plain.png").read_bytes()
