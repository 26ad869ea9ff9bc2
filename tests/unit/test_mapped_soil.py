"""What soil layers say of a field, where to sample it first, and what its ground asks for."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from maps.labels import sentence
from spatial.agronomy.soil.ground import ground_reasons
from spatial.agronomy.soil.mapped import mapped_soil
from spatial.agronomy.soil.worst_parts import worst_parts
from spatial.inputs.soil.ground_rules import read_ground_rules
from spatial.raster.cover import cells_under
from spatial.raster.patches import NO_PATCH, patch_outlines, patches_under
from spatial.soil import SoilRaster
from spatial.values import Grid

UTM, EAST, NORTH = 32617, 400_000.0, 3_650_000.0
CELL_M = 50.0
GROUND = read_ground_rules()
NOTHING = np.full((4, 4), np.nan)
# A line that is straight in UTM bows by a millimetre in the plane of the areas.
BOW = 2e-5


def at(west, south, width, height):
    return box(EAST + west, NORTH + south, EAST + west + width, NORTH + south + height)


def fields_of(*shapes):
    ids = pd.Index(list("abcdefgh"[: len(shapes)]), name="field_id")
    table = gpd.GeoDataFrame(index=ids, geometry=list(shapes), crs=UTM)
    return table.assign(area_ha=table.area / 1e4).to_crs(4326)


def survey_of(*units, **attrs):
    """Return map units of (shape, pH, drainage, slope)."""
    columns = {
        "map_unit": [f"m{place}" for place in range(len(units))],
        "ph": np.array([unit[1] for unit in units], dtype=float),
        "drainage": pd.Series([unit[2] if len(unit) > 2 else "" for unit in units], dtype=object),
        "slope_share": np.array([unit[3] if len(unit) > 3 else np.nan for unit in units], dtype=float),
    }
    survey = gpd.GeoDataFrame(columns, geometry=[unit[0] for unit in units], crs=UTM).to_crs(4326)
    survey.attrs.update(attrs)
    return survey


def raster_of(values, value="ph", name="grid.tif", extractant="", west=0.0):
    """Return a raster whose south-west corner is that of the fields, rows from north to south."""
    cells = np.array(values, dtype=np.float32)
    grid = Grid(f"EPSG:{UTM}", EAST + west, NORTH + CELL_M * len(cells), CELL_M, CELL_M, *cells.shape)

    def read(window):
        rows = slice(window.row, window.row + window.rows)
        return cells[np.newaxis, rows, window.column : window.column + window.columns]

    return SoilRaster(value, grid, read, extractant, "", pd.Timestamp("2024-05-01"), name)


def mapped(fields, survey=None, rasters=(), limit=6.0):
    return mapped_soil(fields, survey, tuple(rasters), pd.Series(limit, index=fields.index), GROUND)


def worst(fields, survey=None, rasters=(), limit=6.0, wanted=True):
    chosen = pd.Series(wanted, index=fields.index)
    return worst_parts(fields, survey, tuple(rasters), pd.Series(limit, index=fields.index), chosen)


def test_a_field_over_two_map_units_by_hand():
    # 400 m by 200 m: 100 m on pH 5.0, 200 m on pH 6.5, 100 m unmapped. (100 * 5.0 + 200 * 6.5) / 300 = 6.0.
    units = survey_of((at(-500, -500, 600, 1000), 5.0), (at(100, -500, 200, 1000), 6.5))
    row = mapped(fields_of(at(0, 0, 400, 200)), units).loc["a"]
    assert row["mapped_ph"] == pytest.approx(6.0, abs=BOW)
    assert (row["mapped_ph_least"], row["mapped_ph_greatest"]) == (5.0, 6.5)
    assert row["mapped_cover_share"] == pytest.approx(0.75, abs=BOW)
    assert row["mapped_low_share"] == pytest.approx(1 / 3, abs=BOW)
    assert row["mapped_ph_origin"] == "survey"


def test_a_map_unit_without_a_value_is_land_that_is_not_covered():
    units = survey_of((at(-500, -500, 600, 1000), 5.0), (at(100, -500, 900, 1000), np.nan))
    row = mapped(fields_of(at(0, 0, 400, 200)), units).loc["a"]
    assert row["mapped_ph"] == 5.0
    assert row["mapped_cover_share"] == pytest.approx(0.25, abs=BOW)
    assert row["mapped_low_share"] == 1.0


def test_map_units_over_each_other_do_not_cover_a_field_twice():
    whole = at(-100, -100, 1000, 1000)
    units = survey_of((whole, 5.0), (whole, 5.0), (at(2000, 0, 40, 100), 5.0), (at(2000, 0, 40, 100), 7.0))
    table = mapped(fields_of(at(0, 0, 100, 100), at(2000, 0, 100, 100)), units)
    np.testing.assert_allclose(table["mapped_cover_share"], [1.0, 0.4], atol=BOW)
    np.testing.assert_allclose(table["mapped_ph"], [5.0, 6.0], atol=BOW)


@given(
    st.floats(4.5, 7.5).map(lambda ph: round(ph, 1)),
    st.floats(1, 99),
    st.floats(-40, 40),
)
def test_a_survey_of_one_ph_says_just_that_and_never_less_than_its_own_limit(ph, width, tilt):
    slanting = shapely.affinity.rotate(at(0, 0, 200, 130), tilt)
    units = survey_of((at(-300, -300, 300 + width, 900), ph), (at(width, -300, 900, 900), ph))
    row = mapped(fields_of(slanting), units, limit=ph).loc["a"]
    assert row["mapped_ph"] == ph
    assert row["mapped_low_share"] == 0


@pytest.mark.parametrize("ph", [5.3, 5.5, 6.1, 6.3])
def test_a_raster_of_one_ph_says_just_that_though_it_comes_in_single_precision(ph):
    row = mapped(fields_of(at(13, 17, 111, 93)), rasters=[raster_of(np.full((4, 4), ph))], limit=ph).loc["a"]
    assert (row["mapped_ph"], row["mapped_ph_least"], row["mapped_ph_greatest"]) == (ph, ph, ph)
    assert row["mapped_low_share"] == 0
    assert not row["mapped_ph"] < ph


def test_a_raster_is_weighted_by_the_land_on_its_cells():
    # 100 m by 50 m from 25 m on: half a cell of 5.0, a cell of 6.0, half a cell of 7.0.
    row = mapped(fields_of(at(25, 0, 100, 50)), rasters=[raster_of([[5.0, 6.0, 7.0, 8.0]])], limit=5.9).loc[
        "a"
    ]
    assert row["mapped_ph"] == pytest.approx(6.0, abs=1e-6)
    assert (row["mapped_ph_least"], row["mapped_ph_greatest"]) == (5.0, 7.0)
    assert row["mapped_low_share"] == pytest.approx(0.25, abs=1e-6)
    assert (row["mapped_ph_origin"], row["mapped_ph_name"]) == ("raster", "grid.tif")
    assert row["mapped_ph_date"] == pd.Timestamp("2024-05-01")


def test_a_raster_goes_before_the_survey_where_it_covers_half_the_field():
    units = survey_of((at(-500, -500, 2000, 2000), 5.0), date=pd.Timestamp("2025-09-01"), name="soil.gpkg")
    half, less = at(100, 0, 200, 50), at(110, 100, 200, 50)  # the grid ends 200 m east
    table = mapped(fields_of(half, less), units, [raster_of(np.full((4, 4), 6.4))])
    assert table["mapped_ph_origin"].tolist() == ["raster", "survey"]
    assert table["mapped_ph"].tolist() == [6.4, 5.0]
    assert table["mapped_ph_date"].tolist() == [pd.Timestamp("2024-05-01"), pd.Timestamp("2025-09-01")]
    assert table["mapped_ph_name"].tolist() == ["grid.tif", "soil.gpkg"]


def test_a_thin_raster_counts_where_the_survey_covers_still_less():
    units = survey_of((at(0, 0, 20, 200), 5.0))
    row = mapped(fields_of(at(0, 0, 500, 50)), units, [raster_of(np.full((4, 4), 6.4))]).loc["a"]
    assert (row["mapped_ph_origin"], row["mapped_ph"]) == ("raster", 6.4)


def test_where_nothing_is_mapped_nothing_is_said():
    for survey, rasters in ((None, ()), (survey_of((at(9000, 0, 9, 9), 5.0)), [raster_of(NOTHING)])):
        row = mapped(fields_of(at(0, 0, 100, 100)), survey, rasters).loc["a"]
        assert (
            np.isnan(row["mapped_ph"])
            and row["mapped_cover_share"] == 0
            and np.isnan(row["mapped_low_share"])
        )
        assert (row["mapped_ph_origin"], row["mapped_ph_name"], row["drainage"]) == ("", "", "")
        assert pd.isna(row["mapped_ph_date"]) and np.isnan(row["wet_share"]) and np.isnan(row["steep_share"])


def test_no_fields_give_the_same_columns():
    some, none = fields_of(at(0, 0, 100, 100)), fields_of(at(0, 0, 100, 100)).iloc[:0]
    units, rasters = survey_of((at(0, 0, 50, 50), 5.0)), [raster_of(NOTHING), raster_of(NOTHING, "k")]
    assert mapped(none, units, rasters).columns.tolist() == mapped(some, units, rasters).columns.tolist()
    assert worst(none, units, rasters).empty


def test_without_a_limit_no_land_is_said_to_be_low():
    row = mapped(fields_of(at(0, 0, 100, 100)), survey_of((at(0, 0, 50, 100), 5.0)), limit=np.nan).loc["a"]
    assert np.isnan(row["mapped_low_share"]) and row["mapped_ph"] == 5.0


def test_potassium_of_a_raster_keeps_its_extractant_and_other_nutrients_stay_away():
    cells = [[20.0, 40.0, np.nan, np.nan]]
    row = mapped(fields_of(at(0, 0, 200, 50)), rasters=[raster_of(cells, "k", extractant="Mehlich-3")]).loc[
        "a"
    ]
    assert (row["mapped_k_mg_kg"], row["mapped_k_least_mg_kg"]) == (30.0, 20.0)
    assert row["mapped_k_cover_share"] == pytest.approx(0.5, abs=1e-6)
    assert row["mapped_k_extractant"] == "Mehlich-3" and row["mapped_k_soil_group"] == ""
    assert row["mapped_k_date"] == pd.Timestamp("2024-05-01")
    assert "mapped_p_mg_kg" not in row.index and row["mapped_ph_origin"] == ""


def test_drainage_and_slope_of_a_field_by_hand():
    # A fifth on wet ground of 1 %, half on 8 %, the rest on 20 %: 0.2 * 1 + 0.5 * 8 + 0.3 * 20 = 10.2 %.
    units = survey_of(
        (at(0, 0, 40, 200), 5.0, "Poorly drained", 0.01),
        (at(40, 0, 100, 200), 5.0, "well drained ", 0.08),
        (at(140, 0, 60, 200), 5.0, "Somewhat excessively drained", 0.20),
    )
    row = mapped(fields_of(at(0, 50, 200, 100)), units).loc["a"]
    assert row["drainage"] == "well drained"
    assert row["wet_share"] == pytest.approx(0.2, abs=BOW)
    assert row["slope_share"] == pytest.approx(0.102, abs=BOW)
    assert row["steep_share"] == pytest.approx(0.3, abs=BOW)


def test_a_slope_at_the_limit_is_steep():
    units = survey_of((at(0, 0, 200, 200), 5.0, "", 15 * 0.01))
    row = mapped(fields_of(at(0, 0, 100, 100)), units).loc["a"]
    assert row["steep_share"] == pytest.approx(1.0, abs=BOW) and np.isnan(row["wet_share"])


# The part to sample first.


def area_m2(parts):
    return parts.to_crs(UTM).area.round(-1).tolist()


def test_the_map_unit_with_the_lowest_ph_is_sampled_first():
    units = survey_of((at(0, 0, 100, 200), 5.6), (at(100, 0, 60, 200), 5.1), (at(160, 0, 500, 200), 6.4))
    parts = worst(fields_of(at(0, 0, 400, 200)), units)
    assert parts["ph"].tolist() == [5.1]
    assert parts["share"].tolist() == [pytest.approx(0.15, abs=BOW)]
    assert area_m2(parts) == [12_000]
    assert parts.crs == 4326 and parts.index.name == "field_id"


@pytest.mark.parametrize(
    ("width", "height", "sliver"),
    [
        (400, 200, 19),  # under 5 % of the field
        (100, 100, 9),  # under 0.1 ha
    ],
)
def test_a_sliver_is_no_place_to_sample(width, height, sliver):
    units = survey_of((at(0, 0, sliver, 500), 4.8), (at(sliver, 0, 900, 500), 5.6))
    assert worst(fields_of(at(0, 0, width, height)), units)["ph"].tolist() == [5.6]


def test_a_field_of_less_than_a_tenth_of_a_hectare_has_its_place_too():
    assert worst(fields_of(at(0, 0, 30, 30)), survey_of((at(-9, -9, 99, 99), 5.0)))["ph"].tolist() == [5.0]


def test_land_at_the_limit_fields_unwanted_and_fields_unmapped_have_no_part():
    fields = fields_of(at(0, 0, 100, 100), at(200, 0, 100, 100), at(900, 0, 100, 100))
    units = survey_of((at(0, 0, 150, 100), 6.0), (at(150, 0, 300, 100), 5.0))
    assert worst(fields, units).index.tolist() == ["b"]
    assert worst(fields, units, wanted=[True, False, True]).empty
    assert worst(fields).empty


def test_joined_cells_with_the_lowest_mean_are_sampled_first():
    cells = [
        [5.0, 7.0, 5.4, 5.2],
        [7.0, 7.0, 5.2, 7.0],
        [5.9, 5.9, 7.0, 7.0],
        [5.9, 5.9, 7.0, 5.0],
    ]
    # The lone 5.0 in the north-west has 2,500 m2 of 40,000; so has the one in the south-east.
    parts = worst(fields_of(at(0, 0, 200, 200)), rasters=[raster_of(cells)])
    assert parts["ph"].tolist() == [5.0]
    assert area_m2(parts) == [2_500]
    rough = worst(
        fields_of(at(20, 20, 160, 160)), rasters=[raster_of(cells)]
    )  # both now slivers, but for 900 m2
    assert rough["ph"].tolist() == [pytest.approx((5.4 * 1500 + 5.2 * 900 + 5.2 * 2500) / 4900, abs=1e-4)]
    assert area_m2(rough) == [4_900]
    west, south, east, north = rough.to_crs(UTM).total_bounds - [EAST, NORTH] * 2
    np.testing.assert_allclose([west, south, east, north], [100, 100, 180, 180], atol=0.01)


def test_cells_that_meet_in_a_corner_are_two_places():
    cells = [[5.0, 7.0], [7.0, 5.5]]
    parts = worst(fields_of(at(0, 0, 100, 100)), rasters=[raster_of(cells)])
    assert area_m2(parts) == [2_500]


def test_the_layer_that_counts_in_a_field_says_where_to_sample():
    units = survey_of((at(-900, -900, 5000, 5000), 4.9))
    fields = fields_of(at(0, 0, 200, 200), at(1000, 0, 200, 200))
    table, parts = (
        mapped(fields, units, [raster_of(np.full((4, 4), 5.5))]),
        worst(fields, units, [raster_of(np.full((4, 4), 5.5))]),
    )
    assert table["mapped_ph_origin"].tolist() == ["raster", "survey"]
    assert parts["ph"].tolist() == [5.5, 4.9]


@given(
    st.lists(st.floats(4.6, 6.9).map(lambda ph: round(ph, 1)), min_size=16, max_size=16), st.floats(-30, 30)
)
def test_a_part_lies_in_its_field_and_is_lower_than_the_limit(cells, tilt):
    field = fields_of(shapely.affinity.rotate(at(20, 20, 150, 120), tilt))
    parts = worst(field, rasters=[raster_of(np.array(cells).reshape(4, 4))])
    for part in parts.itertuples():
        outside = part.geometry.difference(field.geometry.loc["a"]).area / part.geometry.area
        assert outside < 1e-9
        assert part.ph < 6.0 and 0.05 <= part.share <= 1 + 1e-6
        whole = field.geometry.loc["a"].area
        assert part.geometry.area / whole == pytest.approx(part.share, abs=1e-3)


def test_patches_of_two_fields_on_one_cell_stay_apart_and_rows_do_not_wrap():
    grid = Grid(f"EPSG:{UTM}", EAST, NORTH + 200, CELL_M, CELL_M, 4, 4)
    fields = fields_of(at(0, 0, 200, 200), at(10, 10, 30, 30))
    cover = cells_under(fields.geometry, grid)
    ends = (cover.column == 3) & (cover.row == 0) | (cover.column == 0) & (cover.row == 1)
    marked = ends | (cover.field == 1) | (cover.column == 0) & (cover.row == 3)
    patch = patches_under(cover, marked)
    assert sorted(patch[marked]) == [0, 1, 2, 3]
    assert (patch[~marked] == NO_PATCH).all()
    assert len(patch_outlines(cover, patch, grid)) == 4
    assert len(patch_outlines(cover, np.full(len(patch), NO_PATCH), grid)) == 0


# The ground.


def ground(**values):
    known = {"drainage": "", "wet_share": np.nan, "slope_share": np.nan, "steep_share": np.nan}
    return ground_reasons(pd.DataFrame([known | values], index=["a"]), GROUND).loc["a"]


def test_ground_without_a_survey_or_dry_and_level_asks_for_nothing():
    assert ground() == ()
    assert ground(wet_share=0.1, steep_share=0.05) == ()


def test_wet_ground_ruts_and_is_not_grazed_in_winter():
    (why,) = ground(wet_share=0.4)
    assert why.code == "ground_wet"
    text = sentence(why, "us")
    assert text.startswith("By the soil survey 40 % of the field is somewhat poorly drained or wetter")
    assert "slower" in text and "winter" in text


def test_steep_ground_carries_the_caution_about_rolling_over():
    (why,) = ground(steep_share=0.25)
    assert why.code == "ground_steep"
    text = sentence(why, "metric")
    assert text.startswith("By the soil survey 25 % of the field usually slopes 15 % or more")
    assert "roll over" in text


def test_every_limit_of_the_ground_says_where_it_is_from():
    assert set(GROUND.sources) == {"wet_from", "wet_share", "steep_slope_share", "steep_share"}
    assert all(GROUND.sources.values())
