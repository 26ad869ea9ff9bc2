"""What the printed soil promises: no text on another or cut, true words, no map taken for a test, equal files."""

import itertools
from dataclasses import replace
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pytest
from matplotlib.patches import PathPatch

from maps.exporters import BUILT_IN, export
from maps.paper.places import is_wide
from maps.paper.sheet import Sheet
from maps.printed.soil_map import print_soil, soil_sheets
from spatial.errors import InputError
from spatial.plan import Plan
from spatial.reasons import reason
from tests.browser.make_believe import (
    ENOUGH,
    MADE_ON,
    MAPPED,
    NASTY_CLIENT,
    NASTY_NAME,
    NO_SOIL,
    SQUARE,
    field,
    make_believe_plan,
    parts_of,
    purchases_of,
    with_fields,
)
from tests.unit.on_paper import outside, overlaps, words

PAPERS = ("letter", "a4", "a3")
ROWS = 12  # of fields in a raster
WHY = reason("ph_low", ph=5.4, target_ph=6.0, origin="lab", sample_date=pd.Timestamp(2025, 11, 3))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_believe_plan()


@pytest.fixture(scope="module")
def sheets(plan: Plan) -> list[Sheet]:
    return soil_sheets(plan, MADE_ON, "letter")


def faults(sheets: list[Sheet]) -> list[Any]:
    return [fault for sheet in sheets for fault in (*overlaps(sheet), *outside(sheet))]


def said(sheet: Sheet) -> str:
    return " ".join(words(sheet))


def many(plan: Plan, count: int, *, tall: bool = False, size: float = 1.0) -> Plan:
    """Return the plan with so many fields in a raster, of every kind of soil, and lime to buy for a quarter of them."""
    soils: list[dict[str, Any]] = [{}, MAPPED, ENOUGH, NO_SOIL]
    small = gpd.GeoSeries([SQUARE]).scale(size, size, origin=(0, 0))[0]
    rows = []
    for number in range(count):
        across, up = divmod(number, ROWS) if tall else divmod(number, ROWS)[::-1]
        shape = gpd.GeoSeries([small]).translate(0, 0.015 * up)[0]
        who = {"name": f"Field {number}", "client": f"Client {number % 9}"}
        rows.append(field(f"F{number}", 0.015 * across, 3, shape=shape, **who, **soils[number % 4]))
    bought = [
        (f"Client {number % 9}", f"F{number}", "lime", 16.0, 16.0, 4.0, 4.0, WHY)
        for number in range(0, count, 4)
    ]
    return replace(with_fields(plan, *rows), purchases=purchases_of(*bought))


# Nothing lies on anything


@pytest.mark.parametrize("paper", PAPERS)
def test_no_text_meets_another_or_leaves_the_paper(plan: Plan, paper: str) -> None:
    assert faults(soil_sheets(plan, MADE_ON, paper)) == []


@pytest.mark.parametrize(("tall", "size"), [(False, 0.9), (True, 0.9), (False, 0.01)])
def test_the_same_with_many_fields_large_and_tiny(plan: Plan, *, tall: bool, size: float) -> None:
    made = soil_sheets(many(plan, 48, tall=tall, size=size), MADE_ON, "letter")
    assert (made[0].height > made[0].width) is tall
    assert faults(made) == []


def test_long_names_and_reasons_stay_on_the_paper(plan: Plan) -> None:
    long = "Upper " * 40
    reasons = reason("no_rating_scheme", extractant="an extractant with a long name " * 12, soil_group="x")
    rows = (field("F1", 0.0, 3, name=long, client=long, **MAPPED), field("F2", 0.3, 3, client="B " * 60))
    bought = purchases_of(
        (long, "F1", "lime", 16.0, 16.0, 4.0, 4.0, reasons), (long, "F2", "k2o", 0.1, 0.2, 0.1, 0.2, reasons)
    )
    plan = replace(with_fields(plan, *rows), purchases=bought)
    made = soil_sheets(plan, MADE_ON, "letter")
    assert faults(made) == []
    assert said(made[-1]).count("an extractant with a long name") == 24  # no word of a reason is cut


# The maps


def test_a_map_by_ph_then_k_then_p_then_what_to_buy(sheets: list[Sheet]) -> None:
    assert [words(sheet)[0] for sheet in sheets] == [
        "Soil pH of the fields",
        "Potassium (K) in the soil of the fields",
        "Phosphorus (P) in the soil of the fields",
        "What to buy for the fields",
    ]
    assert [f"Sheet {number} of 4" in words(sheet) for number, sheet in enumerate(sheets, 1)] == [True] * 4


def test_the_legend_counts_the_fields_and_the_land_of_every_class(sheets: list[Sheet]) -> None:
    found = words(sheets[0])
    # 4 ha are 9.884 acres of 0.40468564224 ha (NIST Handbook 44, appendix C).
    for name, size in (
        ("Far below target", "2 fields, 19.8 acres"), ("Below target", "1 field, 9.9 acres"),
        ("At target", "1 field, 9.9 acres"), ("High", "1 field, 9.9 acres"), ("Not known", "1 field, 9.9 acres"),
    ):  # fmt: skip
        assert found[found.index(name) + 1] == size


def test_metric_regions_read_hectares() -> None:
    assert "2 fields, 8.0 ha" in words(soil_sheets(make_believe_plan("metric"), MADE_ON, "a4")[0])


def test_a_map_is_never_taken_for_a_test(sheets: list[Sheet]) -> None:
    found = said(sheets[0])
    assert "Low Meadow: ~5.6" in words(sheets[0])
    assert "Mapped, sample first: 1 field" in found
    assert "a map says so, not a lab sample" in found
    assert "Only a lab sample sets a rate" in found
    assert "~" not in said(sheets[2])  # P is known by the laboratory alone


def test_a_mapped_field_alone_is_dashed(plan: Plan) -> None:
    lines = [
        soil_sheets(with_fields(plan, field("F1", 0.0, 3, **soil)), MADE_ON, "letter")[0]
        for soil in (MAPPED, ENOUGH)
    ]
    dashed = [
        [patch for patch in sheet.figure.findobj(PathPatch) if patch.get_linestyle() == (0, (3.0, 1.8))]
        for sheet in lines
    ]
    assert [len(patches) for patches in dashed] == [1, 0]


def test_the_part_to_sample_first_is_in_map_and_legend_by_ph_alone(plan: Plan, sheets: list[Sheet]) -> None:
    assert ["Sample this part first: 1 field" in words(sheet) for sheet in sheets[:3]] == [True, False, False]
    none = soil_sheets(replace(plan, sample_parts=parts_of()), MADE_ON, "letter")[0]
    assert "Sample this part first" not in said(none)


def test_the_sheet_says_target_source_date_scale_and_north(sheets: list[Sheet]) -> None:
    found = said(sheets[0])
    for phrase in (
        "Make-Believe <b>Hills</b>, 22 Sep 2026", "Target pH: Bahiagrass 6.0.", "lab sample of 3 Nov 2025 (4 fields)",
        "soil survey (1 field)", "Made on 22 Sep 2026", " mi", " km", "true north", "33° N", NASTY_NAME,
    ):  # fmt: skip
        assert phrase in found
    assert "Rated by the state table." in said(sheets[1])


def test_names_go_on_no_field(plan: Plan) -> None:
    made = soil_sheets(many(plan, 48, size=0.9), MADE_ON, "letter")[0]
    patches = [
        patch for patch in made.figure.findobj(PathPatch) if patch.get_hatch() or patch.get_facecolor()[3]
    ]
    names = [text for text in made.figure.texts if text.get_text().startswith("Field ")]
    boxes = [text.get_window_extent(made.canvas.get_renderer()).padded(-1) for text in names]
    fields = [patch.get_window_extent(made.canvas.get_renderer()) for patch in patches]
    assert len(fields) >= 48
    assert [pair for pair in itertools.product(boxes, fields) if pair[0].overlaps(pair[1])] == []


def test_ways_of_which_nothing_is_known_have_no_sheet_but_ph_has(plan: Plan) -> None:
    made = soil_sheets(with_fields(plan, field("F1", 0.0, 3, **NO_SOIL)), MADE_ON, "letter")
    assert [words(sheet)[0] for sheet in made] == ["Soil pH of the fields", "What to buy for the fields"]
    assert "Nothing can be bought by a lab sample." in words(made[1])


def test_fields_without_a_shape_still_print(plan: Plan) -> None:
    bare = with_fields(plan, field("F1", 0.0, 3) | {"geometry": None})
    assert "No field has a shape to draw." in words(soil_sheets(bare, MADE_ON, "letter")[0])
    assert is_wide(bare.fields.geometry.total_bounds)


# What to buy


def test_each_client_has_sums_rows_and_reasons(sheets: list[Sheet]) -> None:
    found = words(sheets[-1])
    start = found.index("A. Grower")
    assert found[start + 1 : start + 3] == ["Lime: 17.6 tons in all", "K2O: 420 to 550 lb in all"]
    row = found.index("North Forty")
    assert found[row : row + 4] == ["North Forty", "Lime", "1.8 tons an acre", "17.6 tons"]
    assert "pH 5.4 (lab sample, 3 Nov 2025) is below its target, 6.0." in found
    assert NASTY_CLIENT in found
    assert any("B. Grower (2 fields)" in line for line in found)


def test_long_tables_go_on_under_the_name_of_their_client(plan: Plan) -> None:
    fields = [field(f"F{number:02d}", 0.0, 3, name=f"Field {number}") for number in range(40)]
    rows = [("Ann", f"F{number:02d}", "lime", 16.0, 16.0, 4.0, 4.0, WHY) for number in range(40)]
    made = soil_sheets(replace(with_fields(plan, *fields), purchases=purchases_of(*rows)), MADE_ON, "letter")
    tables = [sheet for sheet in made if words(sheet)[0] == "What to buy for the fields"]
    assert len(tables) > 2
    assert [words(sheet).count("Ann, continued") for sheet in tables] == [0] + [1] * (len(tables) - 1)
    listed = [text for sheet in tables for text in words(sheet) if text.startswith("Field ")]
    assert listed == [f"Field {number}" for number in range(40)]
    assert faults(tables) == []


def test_no_table_begins_at_the_foot_of_a_sheet(plan: Plan) -> None:
    for sheet in soil_sheets(many(plan, 48), MADE_ON, "letter"):
        found = words(sheet)
        heads = [place for place, text in enumerate(found) if text == "In all"]
        assert all(found[place + 1].startswith("Field ") for place in heads)


# The files


def test_equal_plans_give_equal_files_without_a_date_inside(plan: Plan, tmp_path: Path) -> None:
    few = with_fields(
        plan, field("F1", 0.0, 3, **NO_SOIL), field("F2", 0.1, 3, **MAPPED | {"soil_k_class": ""})
    )
    turned = replace(few, fields=few.fields.iloc[::-1])
    for made, name in ((few, "one"), (turned, "other")):
        for ending in ("pdf", "png"):
            print_soil(made, tmp_path / f"{name}.{ending}", MADE_ON, "letter")
    pdf, png = ((tmp_path / f"one.{ending}").read_bytes() for ending in ("pdf", "png"))
    assert pdf == (tmp_path / "other.pdf").read_bytes()
    assert png == (tmp_path / "other.png").read_bytes()
    assert b"CreationDate" not in pdf
    assert pdf.count(b"/MediaBox") == 2  # the map by pH and what to buy


def test_a_png_is_the_map_by_ph(plan: Plan, tmp_path: Path) -> None:
    print_soil(plan, tmp_path / "soil.png", MADE_ON, "letter")
    content = (tmp_path / "soil.png").read_bytes()
    # W3C PNG, 11.2.2: width and height stand in bytes 16 to 24; 11 by 8.5 in at 150 dots an inch.
    assert [int.from_bytes(content[at : at + 4]) for at in (16, 20)] == [1650, 1275]


def test_another_paper_is_refused(plan: Plan, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"'legal' is no paper that is known\. Use one of: letter, a4, a3"):
        print_soil(plan, tmp_path / "soil.pdf", MADE_ON, "legal")


@pytest.mark.parametrize(("paper", "more"), [(None, []), ("a4", ["soil_a4.pdf", "soil_a4.png"])])
def test_paper_is_printed_where_it_is_asked_for(
    plan: Plan, paper: str | None, more: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in BUILT_IN:
        monkeypatch.setitem(BUILT_IN, name, lambda _plan, path, _made_on: path.write_text("x"))
    written = export(plan, tmp_path / "out", MADE_ON, paper=paper)
    assert [path.name for path in written] == [*BUILT_IN, *more]
    assert all(path.is_file() for path in written)
