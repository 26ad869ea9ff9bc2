"""What reading grids of daily minima promises."""

from datetime import date

import netCDF4
import numpy as np
import pytest
from pyproj import CRS
from rasterio.transform import Affine

from spatial.errors import InputError
from tests.unit.daily_grids import (
    NO_ATTRIBUTE,
    days_from,
    fall_days,
    minima_c,
    read,
    read_and_told,
    some_minima,
    steps_since,
    write_netcdf,
    write_stack,
)
from tests.unit.making import lines_of, write_text

C = some_minima()
SEPTEMBER = days_from(date(2001, 9, 1), 8)
ALBERS = CRS.from_epsg(5070)


def read_all(*paths, **how):
    return minima_c(read(*paths, **how))


def refused(*paths, streamed=False, **how):
    """Return the one line that reading files ends in, at once or while their days stream."""
    with pytest.raises(InputError) as error:
        (read_all if streamed else read)(*paths, **how)
    assert len(error.value.problems) == 1
    (line,) = lines_of(error.value.problems)
    assert "\n" not in line
    return line


def in_file(tmp_path, **how):
    return write_netcdf(tmp_path / "a.nc", **how)


def bare(tmp_path, **how):
    return in_file(tmp_path, attributes={"units": NO_ATTRIBUTE} | how)


# NetCDF: what it holds


def test_a_netcdf_gives_its_days_its_place_and_its_values(tmp_path):
    grid = read(in_file(tmp_path, time=steps_since(SEPTEMBER)))
    assert grid.days.astype(str).tolist()[:2] == ["2001-09-01", "2001-09-02"]
    place = grid.grid
    assert (place.left, place.top, place.cell_width, place.cell_height) == (-84.25, 33.25, 0.5, 0.5)
    assert (place.rows, place.columns, place.crs.to_epsg(), grid.calendar, grid.name) == (
        2,
        3,
        4326,
        "standard",
        "a.nc",
    )
    assert minima_c(grid) == pytest.approx(C, abs=1e-6)


@pytest.mark.parametrize(
    ("units", "values"),
    [
        ("K", C + 273.15),
        ("kelvin", C + 273.15),
        ("degrees C", C),
        ("Celsius", C),
        ("°C", C),
        ("degree_Fahrenheit", C * 1.8 + 32),
        ("degF", C * 1.8 + 32),
        ("0.1 degC", C * 10),
        ("tenths of degrees C", C * 10),
        ("deg_C/10", C * 10),
    ],
)
def test_units_of_temperature_come_to_deg_c(tmp_path, units, values):
    grid = read(in_file(tmp_path, values=values, dtype="f8", attributes={"units": units}))
    assert minima_c(grid) == pytest.approx(C, abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "values"), [("F", C * 1.8 + 32), ("K", C + 273.15), ("tenthsC", C * 10), ("C", C)]
)
def test_a_given_unit_serves_where_the_file_says_none(tmp_path, unit, values):
    path = in_file(tmp_path, values=values, dtype="f8", attributes={"units": NO_ATTRIBUTE})
    assert minima_c(read(path, unit=unit)) == pytest.approx(C, abs=1e-9)


def test_packed_numbers_stay_packed_and_mean_the_same(tmp_path):
    raw = np.round((C + 273.15 - 220) / 0.1).astype("i2")
    raw[0, 0, 0] = -32767
    said = {"units": "K", "scale_factor": 0.1, "add_offset": 220.0, "_FillValue": np.int16(-32767)}
    grid = read(in_file(tmp_path, values=raw, dtype="i2", attributes=said))
    assert next(grid.blocks()).raw.dtype == np.int16
    found = minima_c(grid)
    assert np.isnan(found[0, 0, 0])
    assert found[1:] == pytest.approx(C[1:], abs=0.051)


def test_a_scale_in_single_precision_is_the_decimal_it_was_meant_to_be(tmp_path):
    said = {"scale_factor": np.float32(0.1), "add_offset": np.float32(-7.3)}
    grid = read(in_file(tmp_path, values=C * 10 + 73, dtype="i2", attributes=said))
    assert (grid.scale, grid.offset) == (0.1, -7.3)


def test_unsigned_packed_numbers_and_their_fill_are_read_as_meant(tmp_path):
    raw = np.full((8, 2, 3), 40_000, dtype="u2")
    raw[0, 0, 0] = 65_535
    said = {"_Unsigned": "true", "scale_factor": 0.01, "add_offset": -400.0, "_FillValue": np.int16(-1)}
    grid = read(in_file(tmp_path, values=raw.view("i2"), dtype="i2", attributes=said))
    found = minima_c(grid)
    assert np.isnan(found[0, 0, 0])
    assert found[1, 1, 1] == pytest.approx(0.0)


def test_cells_never_written_are_missing_though_no_fill_is_named(tmp_path):
    values = C.copy()
    values[:, 0, 0] = 9.969209968386869e36  # the library's own fill of floats, netCDF4.default_fillvals
    assert np.isnan(minima_c(read(in_file(tmp_path, values=values)))[:, 0, 0]).all()


def test_the_latitudes_may_run_either_way(tmp_path):
    south_first = in_file(tmp_path, values=C[:, ::-1], places=((32.5, 33.0), (-84.0, -83.5, -83.0)))
    grid = read(south_first)
    assert grid.grid.top == 33.25
    assert minima_c(grid) == pytest.approx(C, abs=1e-6)


def test_longitudes_to_360_come_to_those_to_180(tmp_path):
    grid = read(in_file(tmp_path, places=((33.0, 32.5), (276.0, 276.5, 277.0))))
    assert grid.grid.left == -84.25
    assert minima_c(grid) == pytest.approx(C, abs=1e-6)


@pytest.mark.parametrize(
    ("chunks", "block_bytes"), [(None, 10_000), ((8, 1, 1), 32), ((8, 1, 2), 64), ((1, 2, 9), 32)]
)
def test_a_grid_round_the_globe_is_turned_so_that_it_begins_in_the_west(
    tmp_path, monkeypatch, chunks, block_bytes
):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", block_bytes)
    values = np.tile(np.arange(9.0), (8, 2, 1))
    grid = read(in_file(tmp_path, values=values, places=((1.0, 0.0), np.arange(9) * 40.0), chunks=chunks))
    assert grid.grid.left == -180
    assert minima_c(grid)[3, 1].tolist() == [5, 6, 7, 8, 0, 1, 2, 3, 4]


def test_a_cell_round_180_comes_first(tmp_path):
    values = np.zeros((8, 2, 8))
    grid = read(in_file(tmp_path, values=values, places=((1.0, 0.0), np.arange(8) * 45.0)))
    assert grid.grid.left == -202.5


@pytest.mark.parametrize(
    ("longitudes", "left"), [((359.5, 0.0, 0.5), -0.75), ((179.5, 180.0, -179.5), 179.25)]
)
def test_longitudes_that_begin_anew_are_one_row(tmp_path, longitudes, left):
    grid = read(in_file(tmp_path, places=((33.0, 32.5), longitudes)))
    assert grid.grid.left == left
    assert minima_c(grid)[0, 0].tolist() == pytest.approx([-2.0, -1.9, -1.8])


def test_a_grid_across_180_stays_in_one_piece_and_that_is_told(tmp_path):
    grid, told = read_and_told(in_file(tmp_path, places=((33.0, 32.5), (179.5, 180.0, 180.5))))
    assert grid.grid.left == 179.25
    assert "across 180" in told[0]


def with_mapping(attributes):
    def write(file):
        file.createVariable("crs", "i4").setncatts(attributes)
        file["tmin"].grid_mapping = "crs"

    return write


@pytest.mark.parametrize("form", ["cf", "wkt"])
@pytest.mark.parametrize(("unit", "factor"), [("m", 1.0), ("km", 0.001), ("", 1.0)])
def test_projected_coordinates_lie_where_the_grid_mapping_says(tmp_path, form, unit, factor):
    said = ALBERS.to_cf() if form == "cf" else {"crs_wkt": ALBERS.to_wkt()}
    said = {key: value for key, value in said.items() if form == "wkt" or key != "crs_wkt"}
    places = (
        np.array([1_200_000, 1_196_000.0]) * factor,
        np.array([1_000_000, 1_004_000, 1_008_000.0]) * factor,
    )
    dims = ("time", "y", "x")
    grid = read(in_file(tmp_path, places=places, dims=dims, units=(unit, unit), more=with_mapping(said))).grid
    assert (grid.left, grid.top) == pytest.approx((998_000, 1_202_000))
    assert (grid.cell_width, grid.cell_height) == pytest.approx((4000, 4000))
    assert grid.crs.coordinate_operation.method_name == "Albers Equal Area"


def test_a_mapping_of_latitude_and_longitude_without_an_ellipsoid_is_the_usual_one(tmp_path):
    mapping = with_mapping({"grid_mapping_name": "latitude_longitude"})
    assert read(in_file(tmp_path, more=mapping)).grid.crs.to_epsg() == 4326


@pytest.mark.parametrize("dims", [("lat", "lon", "time"), ("time", "lon", "lat")])
def test_the_dimensions_may_stand_in_any_order(tmp_path, dims):
    order = [("time", "lat", "lon").index(name) for name in dims]

    def write(file):
        file.createVariable("low", "f4", dims)[:] = C.transpose(order)
        file["low"].units = "degC"

    assert minima_c(read(in_file(tmp_path, variables=(), more=write))) == pytest.approx(C, abs=1e-6)


def height_of(levels):
    def write(file):
        file.createDimension("height", levels)
        low = file.createVariable("low", "f4", ("time", "height", "lat", "lon"))
        low[:] = np.repeat(C[:, None], levels, axis=1)
        low.units = "degC"

    return write


def test_a_single_height_is_no_matter(tmp_path):
    assert minima_c(read(in_file(tmp_path, variables=(), more=height_of(1)))) == pytest.approx(C, abs=1e-6)


def test_of_several_variables_the_one_named_is_read(tmp_path):
    path = in_file(tmp_path, variables=("tmin", "other"))
    assert minima_c(read(path, variable="other")) == pytest.approx(C, abs=1e-6)


def test_a_minimum_over_time_of_a_mean_over_space_is_a_minimum(tmp_path):
    path = in_file(tmp_path, variables=("tas",), attributes={"cell_methods": "area: mean time: minimum"})
    assert minima_c(read(path)) == pytest.approx(C, abs=1e-6)


def test_the_classic_form_of_the_newer_format_is_read_too(tmp_path):
    assert minima_c(read(in_file(tmp_path, form="NETCDF4_CLASSIC"))) == pytest.approx(C, abs=1e-6)


# days


@pytest.mark.parametrize(
    ("calendar", "step", "day"),
    [
        ("standard", 59, "2004-02-29"),
        ("proleptic_gregorian", 60, "2004-03-01"),
        ("noleap", 59, "2004-03-01"),
        ("365_day", 364, "2004-12-31"),
        ("all_leap", 59, "2004-02-29"),
        ("360_day", 0, "2004-01-01"),
        ("360_day", 359, "2004-12-30"),  # 359 of 360 days past is 363.99 of 365: the 364th day
        ("360_day", 180, "2004-07-02"),  # half of 365 is 182.5: the 183rd day
    ],
)
def test_days_come_from_their_own_calendar(tmp_path, calendar, step, day):
    time = step + np.arange(8)
    said = {"units": "days since 2004-01-01 12:00", "calendar": calendar}
    assert str(read(in_file(tmp_path, time=time, time_attributes=said)).days[0]) == day


def test_a_calendar_of_366_days_never_gives_a_day_that_is_none(tmp_path):
    said = {"units": "days since 2001-02-28", "calendar": "all_leap"}
    days = read(in_file(tmp_path, time_attributes=said)).days.astype(str).tolist()
    assert days[:3] == ["2001-02-28", "2001-02-28", "2001-03-01"]


def test_a_day_stamped_with_its_end_is_the_day_of_its_bounds(tmp_path):
    def write(file):
        file.createDimension("nv", 2)
        file.createVariable("edges", "f8", ("time", "nv"))[:] = np.stack(
            [np.arange(8), np.arange(1, 9)], axis=1
        )

    said = {"units": "days since 2001-09-01", "bounds": "edges"}
    days = read(in_file(tmp_path, time=range(1, 9), time_attributes=said, more=write)).days
    assert str(days[0]) == "2001-09-01"


def two_years(tmp_path, **second):
    one = write_netcdf(tmp_path / "y1.nc", C, steps_since(SEPTEMBER))
    time = second.pop("time", steps_since(days_from(date(2002, 9, 1), 8)))
    values = second.pop("values", C + 1)
    return one, write_netcdf(tmp_path / "y2.nc", values, time, **second)


def test_files_are_joined_in_the_order_of_their_days(tmp_path):
    one, two = two_years(tmp_path)
    grid = read(two, one)
    assert grid.days.astype(str)[[0, 8]].tolist() == ["2001-09-01", "2002-09-01"]
    assert minima_c(grid) == pytest.approx(np.concatenate([C, C + 1]), abs=1e-6)


def test_files_packed_each_in_its_own_way_are_one_record(tmp_path):
    said = {"units": "K", "scale_factor": 0.05, "add_offset": 273.15, "_FillValue": np.int16(-999)}
    raw = np.round((C + 1) / 0.05)
    raw[2, 1, 1] = -999
    grid = read(*two_years(tmp_path, values=raw, dtype="i2", attributes=said))
    expected = np.concatenate([C, C + 1])
    expected[10, 1, 1] = np.nan
    assert minima_c(grid) == pytest.approx(expected, abs=1e-5, nan_ok=True)


# blocks


@pytest.mark.parametrize("chunks", [None, (1, 4, 6), (150, 2, 2), (300, 4, 6), (40, 3, 4)])
def test_blocks_are_whole_chunks_each_read_once_and_in_order(tmp_path, monkeypatch, chunks):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 4 * 40 * 24)
    values = np.random.default_rng(1).normal(5, 3, (300, 4, 6)).astype("f4")
    places = (33 - 0.5 * np.arange(4), -84 + 0.5 * np.arange(6))
    grid = read(in_file(tmp_path, values=values, places=places, chunks=chunks))
    assert (minima_c(grid) == values).all()
    blocks = [(block.window, block.first, len(block.raw)) for block in grid.blocks()]
    windows = list(dict.fromkeys(window for window, _, _ in blocks))
    for window in windows:
        own = [(first, count) for one, first, count in blocks if one == window]
        ends = [first + count for first, count in own]
        assert [first for first, _ in own] == [0, *ends[:-1]] and ends[-1] == 300
        if chunks is not None:
            assert all(first % chunks[0] == 0 for first, _ in own)
            assert window.row % chunks[1] == 0 and window.column % chunks[2] == 0
    together = [window for window, _, _ in blocks]
    assert together == sorted(together, key=windows.index)


def test_a_block_is_bounded_however_long_the_file_is(tmp_path, monkeypatch):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 1000)
    path = in_file(tmp_path, values=np.zeros((500, 2, 3)), chunks=(1, 2, 3))
    assert max(block.raw.nbytes for block in read(path).blocks()) <= 1000


# What is refused of a NetCDF


def set_text(name, **attributes):
    return lambda file: file[name].setncatts(attributes)


def curved(file):
    for name in ("lat", "lon"):
        one = file.createVariable(name, "f8", ("j", "i"))
        one.units = "degrees"
        one[:] = 33.0
    low = file.createVariable("low", "f4", ("time", "j", "i"))
    low[:] = C
    low.units = "degC"


def write_curved(path):
    with write_bare(path) as file:
        for name, size in (("j", 2), ("i", 3)):
            file.createDimension(name, size)
        curved(file)
    return path


def write_bare(path):
    file = netCDF4.Dataset(path, "w")
    file.createDimension("time", 8)
    time = file.createVariable("time", "f8", ("time",))
    time.units = "days since 2001-09-01"
    time[:] = np.arange(8)
    return file


REFUSALS = {
    "several variables": (
        {"variables": ("tmin", "tmax")},
        "has several variables: tmin, tmax. Say --variable NAME",
    ),
    "a maximum by name": ({"variables": ("tmax",)}, "is a daily maximum"),
    "a maximum by title": ({"attributes": {"long_name": "Daily Maximum Temperature"}}, "is a daily maximum"),
    "a maximum by cell methods": ({"attributes": {"cell_methods": "time: maximum"}}, "is a daily maximum"),
    "a maximum by the short name": ({"variables": ("tx",)}, "is a daily maximum"),
    "a mean": ({"variables": ("tas",), "attributes": {"cell_methods": "time: mean"}}, "is a daily mean"),
    "no unit": ({"attributes": {"units": NO_ATTRIBUTE}}, "Say --unit C, F, K or tenthsC"),
    "an unclear unit": ({"attributes": {"units": "degrees"}}, "Say --unit C, F, K or tenthsC"),
    "rain": ({"attributes": {"units": "mm"}}, "'mm', which is no unit of temperature"),
    "a scale of nothing": ({"attributes": {"scale_factor": 0.0}}, "scale_factor: is 0"),
    "monthly": ({"time": np.arange(8) * 30.4}, "holds monthly values"),
    "weekly": ({"time": np.arange(8) * 7}, "holds a value every 7 days"),
    "hourly": ({"time": np.arange(8) / 24}, "holds several values a day"),
    "in months": ({"time_attributes": {"units": "months since 2001-01-01"}}, "lead to no days"),
    "no CF time": ({"time_attributes": {"units": NO_ATTRIBUTE}}, "has no CF time"),
    "backwards": ({"time": [0, 1, 2, 3, 2.5, 5, 6, 7]}, "runs backwards at its value number 5"),
    "a day twice": ({"time": [0, 1, 2, 3, 3.2, 5, 6, 7]}, "1990-01-04: stands in it twice"),
    "time that lacks": ({"time": [0, 1, np.nan, 3, 4, 5, 6, 7]}, "is missing for 1 of 8 values"),
    "a Julian calendar": ({"time_attributes": {"calendar": "julian"}}, "is in the calendar 'julian'"),
    "one day": ({"values": C[:1]}, "holds a single day"),
    "a latitude beyond the pole": (
        {"places": ((134.0, 133.5), (-84.0, -83.5, -83.0))},
        "lat: comes to 134 degrees",
    ),
    "no day at all": ({"values": C[:0]}, "time: holds no day"),
    "unequal steps": (
        {"places": ((33.0, 32.5), (-84.0, -83.5, -82.0))},
        "has unequal steps. Warp it to a regular grid",
    ),
    "one cell": ({"values": C[:, :1, :1], "places": ((33.0,), (-84.0,))}, "is a single cell"),
    "east to west": ({"places": ((33.0, 32.5), (-83.0, -83.5, -84.0))}, "runs from east to west"),
    "more than round": ({"places": ((33.0, 32.5), (0.0, 180.0, 360.0))}, "goes round 540 degrees"),
    "metres of nowhere": (
        {"dims": ("time", "y", "x"), "units": ("m", "m")},
        "does not say its coordinate system",
    ),
    "a rotated pole": (
        {
            "more": with_mapping(
                {"grid_mapping_name": "rotated_latitude_longitude", "grid_north_pole_latitude": 39.0}
            )
        },
        "is on a grid with a rotated pole. Warp it to a regular grid",
    ),
    "a mapping of no sense": (
        {"more": with_mapping({"grid_mapping_name": "flat"})},
        "grid mapping that is not understood",
    ),
    "several heights": ({"variables": (), "more": height_of(2)}, "has 2 values of height"),
    "nothing": ({"variables": ()}, "has no variable with days on a grid"),
}


@pytest.mark.parametrize("case", REFUSALS)
def test_a_netcdf_that_cannot_serve_is_refused_in_one_line(tmp_path, case):
    how, phrase = REFUSALS[case]
    line = refused(in_file(tmp_path, **how))
    assert line.startswith("a.nc")
    assert phrase in line


@pytest.mark.parametrize(
    ("how", "phrase"),
    [
        ({"unit": "F"}, "unit F: is not the file's own, which says 'degC'"),
        ({"unit": "tenthsC"}, "unit tenthsC: is not the file's own"),
        ({"unit": "R"}, "unit R: is not known. Use one of: F, C, K, tenthsC"),
        ({"variable": "low"}, "variable 'low': is not there as days on a grid. Use one of: tmin"),
        ({"first_day": date(2001, 9, 1)}, "is not the file's own, which begins on 1990-01-01"),
    ],
)
def test_what_is_given_with_a_file_must_fit_it(tmp_path, how, phrase):
    assert phrase in refused(in_file(tmp_path), **how)


def test_a_minimum_beside_a_maximum_is_still_asked_for(tmp_path):
    path = in_file(tmp_path, variables=("tmin", "tmax"))
    assert "--variable" in refused(path)
    assert "is a daily maximum" in refused(path, variable="tmax")


def test_a_curved_grid_is_refused(tmp_path):
    assert "a latitude for every cell. Warp it to a regular grid" in refused(write_curved(tmp_path / "a.nc"))


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        (b"", "is empty"),
        (b"date,tmin\n", "is neither NetCDF nor GeoTIFF"),
        (b"\x89HDF\r\n\x1a\n", "cannot be read as NetCDF, or is cut short"),
        (b"CDF\x01\x00\x00", "is cut short"),
        (b"II*\x00\x08\x00", "cannot be read as a raster"),
    ],
)
def test_a_file_that_is_no_grid_is_refused(tmp_path, text, phrase):
    (tmp_path / "a.nc").write_bytes(text)
    assert phrase in refused(tmp_path / "a.nc")


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert "a.nc: cannot be opened" in refused(tmp_path / "a.nc")


def test_no_file_at_all_is_refused():
    assert "no file is given" in refused()


def test_a_netcdf_cut_short_is_refused(tmp_path):
    path = in_file(tmp_path, values=np.random.default_rng(1).normal(0, 5, (300, 2, 3)))
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    assert "cut short" in refused(path)


def test_a_netcdf_with_a_hole_in_its_data_is_refused_while_it_streams(tmp_path):
    path = in_file(tmp_path, values=np.random.default_rng(1).normal(0, 5, (3000, 2, 3)), chunks=(3000, 2, 3))
    whole = bytearray(path.read_bytes())
    middle = len(whole) - 20_000
    whole[middle : middle + 4000] = b"\xff" * 4000
    path.write_bytes(whole)
    assert "it opens but cannot be read" in refused(path, streamed=True)


@pytest.mark.parametrize(
    ("second", "phrase"),
    [
        ({"time": steps_since(SEPTEMBER)}, "2001-09-01: lies within the days of y1.nc"),
        ({"places": ((33.0, 32.5), (-84.0, -83.0, -82.0))}, "is on another grid than y1.nc"),
        ({"places": ((33.0, 32.0), (-84.0, -83.5, -83.0))}, "is on another grid than y1.nc"),
        ({"time_attributes": {"calendar": "noleap"}}, "is in the calendar noleap, and y1.nc in standard"),
    ],
)
def test_files_that_are_not_of_one_record_are_refused(tmp_path, second, phrase):
    assert phrase in refused(*two_years(tmp_path, **second))


# values


@pytest.mark.parametrize(
    ("values", "phrase"),
    [
        (C + 273.15, "come to 271.15 deg C, which no night has been"),
        (C + 32, "is over 85 F in 100% of the cells on one day, as a daily maximum is"),
        (C - 9999, "come to -10001 deg C, which no night has been"),
    ],
)
def test_a_wrong_unit_a_maximum_or_a_fill_that_is_not_named_is_found_while_it_streams(
    tmp_path, values, phrase
):
    assert phrase in refused(in_file(tmp_path, values=values), streamed=True)


@pytest.mark.parametrize("chunks", [(1, 10, 10), (8, 1, 1)])
def test_a_hot_night_in_a_desert_is_let_pass(tmp_path, monkeypatch, chunks):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 100)
    values = np.full((8, 10, 10), 20.0)
    values[:, 0, :4] = 32.0
    places = (33 - 0.5 * np.arange(10), -84 + 0.5 * np.arange(10))
    assert minima_c(read(in_file(tmp_path, values=values, places=places, chunks=chunks))).max() == 32


def test_hot_cells_are_a_share_of_those_that_have_a_value(tmp_path):
    values = np.full((8, 10, 10), np.nan)
    values[:, 0, :], values[:, 0, :4] = 20.0, 32.0
    places = (33 - 0.5 * np.arange(10), -84 + 0.5 * np.arange(10))
    path = in_file(tmp_path, values=values, places=places)
    assert "is over 85 F in 40% of the cells" in refused(path, streamed=True)


@pytest.mark.parametrize("chunks", [(1, 10, 10), (8, 1, 1)])
def test_hot_cells_are_counted_over_the_whole_day_though_it_comes_in_tiles(tmp_path, chunks, monkeypatch):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 100)
    values = np.full((8, 10, 10), 20.0)
    values[:, 9, 4:] = 32.0
    places = (33 - 0.5 * np.arange(10), -84 + 0.5 * np.arange(10))
    path = in_file(tmp_path, values=values, places=places, chunks=chunks)
    assert "over 85 F in" in refused(path, streamed=True)


# GeoTIFF


def test_a_stack_with_its_days_in_its_bands_is_read(tmp_path):
    grid = read(write_stack(tmp_path / "a.tif", days=SEPTEMBER))
    assert (str(grid.days[0]), str(grid.days[-1])) == ("2001-09-01", "2001-09-08")
    assert (grid.grid.left, grid.grid.top, grid.grid.rows, grid.grid.columns) == (-84.25, 33.25, 2, 3)
    assert minima_c(grid) == pytest.approx(C, abs=1e-6)


def test_days_may_be_written_without_dashes_and_among_words(tmp_path):
    path = write_stack(tmp_path / "a.tif", days=[f"tmin {day:%Y%m%d}" for day in SEPTEMBER])
    assert str(read(path).days[0]) == "2001-09-01"


def test_a_first_day_dates_a_stack_that_does_not_say_its_days(tmp_path):
    grid = read(write_stack(tmp_path / "a.tif"), first_day=date(2001, 9, 1))
    assert (grid.days == np.array(SEPTEMBER, dtype="M8[D]")).all()


def test_a_file_a_day_is_dated_by_its_name(tmp_path):
    paths = [
        write_stack(tmp_path / f"min_{day:%Y%m%d}.tif", C[place : place + 1])
        for place, day in enumerate(SEPTEMBER)
    ]
    grid = read(*reversed(paths))
    assert str(grid.days[0]) == "2001-09-01"
    assert minima_c(grid) == pytest.approx(C, abs=1e-6)


@pytest.mark.parametrize(
    ("year", "bands", "last", "lines"),
    [(2001, 365, "2001-12-31", 0), (2004, 366, "2004-12-31", 0), (2004, 365, "2004-12-30", 1)],
)
def test_a_file_a_year_is_dated_by_the_year_in_its_name(tmp_path, year, bands, last, lines):
    path = write_stack(tmp_path / f"min_{year}.tif", np.zeros((bands, 1, 2)))
    grid, told = read_and_told(path)
    assert (str(grid.days[0]), str(grid.days[-1])) == (f"{year}-01-01", last)
    assert len(told) == lines


@pytest.mark.parametrize("interleave", ["pixel", "band"])
def test_a_stack_is_read_in_the_order_it_is_kept_in(tmp_path, monkeypatch, interleave):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 4 * 8 * 16 * 16)
    values = np.random.default_rng(2).normal(5, 3, (8, 40, 40)).astype("f4")
    tiled = {"tiled": True, "blockxsize": 16, "blockysize": 16, "interleave": interleave}
    grid = read(write_stack(tmp_path / "a.tif", values, days=SEPTEMBER, **tiled))
    assert (minima_c(grid) == values).all()
    shapes = {block.raw.shape for block in grid.blocks()}
    assert ((8, 16, 16) in shapes) == (interleave == "pixel")


def test_scale_offset_and_nodata_of_a_stack_are_its_packing(tmp_path):
    raw = np.round(C * 10 + 50)
    raw[0, 0, 0] = -99
    path = write_stack(
        tmp_path / "a.tif", raw, days=SEPTEMBER, dtype="i2", scale=0.1, offset=-5.0, nodata=-99
    )
    grid = read(path)
    expected = C.copy()
    expected[0, 0, 0] = np.nan
    assert minima_c(grid) == pytest.approx(expected, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("how", [{"unit": "K"}, {"unit": "", "tags": {"UNITS": "kelvin"}}])
def test_the_unit_of_a_stack_stands_in_its_bands_or_tags(tmp_path, how):
    path = write_stack(tmp_path / "a.tif", C + 273.15, days=SEPTEMBER, dtype="f8", **how)
    assert minima_c(read(path)) == pytest.approx(C, abs=1e-9)


def test_a_stack_to_360_degrees_comes_to_those_to_180(tmp_path):
    place = rasterio_place(275.75)
    assert read(write_stack(tmp_path / "a.tif", days=SEPTEMBER, transform=place)).grid.left == -84.25


def rasterio_place(left, south_first=False):
    return Affine(0.5, 0, left, 0, 0.5 if south_first else -0.5, 32.25 if south_first else 33.25)


STACK_REFUSALS = {
    "no days": ({}, "does not say which days its bands are, of which there are 8"),
    "no unit": ({"days": SEPTEMBER, "unit": ""}, "Say --unit"),
    "a maximum": ({"days": SEPTEMBER, "tags": {"long_name": "maximum temperature"}}, "is a daily maximum"),
    "monthly": ({"days": [date(2001, month, 1) for month in range(1, 9)]}, "holds monthly values"),
    "a day twice": ({"days": [*SEPTEMBER[:7], SEPTEMBER[6]]}, "2001-09-07: stands in it twice"),
    "no place": ({"days": SEPTEMBER, "crs": None}, "does not say its coordinate system"),
    "north down": (
        {"days": SEPTEMBER, "transform": rasterio_place(-84.25, True)},
        "is rotated or has north down",
    ),
}


@pytest.mark.parametrize("case", STACK_REFUSALS)
def test_a_stack_that_cannot_serve_is_refused_in_one_line(tmp_path, case):
    how, phrase = STACK_REFUSALS[case]
    line = refused(write_stack(tmp_path / "a.tif", **how))
    assert line.startswith("a.tif")
    assert phrase in line


def test_a_stack_of_maxima_is_known_by_the_files_name(tmp_path):
    assert "is a daily maximum" in refused(write_stack(tmp_path / "tmax.tif", days=SEPTEMBER))


def test_texas_in_a_files_name_is_no_maximum(tmp_path):
    assert len(read(write_stack(tmp_path / "TX_low.tif", days=SEPTEMBER)).days) == 8


def test_a_first_day_for_several_files_is_refused(tmp_path):
    paths = [write_stack(tmp_path / f"{name}.tif") for name in "ab"]
    assert "--first-day: is given for 2 files" in refused(*paths, first_day=date(2001, 9, 1))


def test_a_damaged_stack_is_refused_while_it_streams(tmp_path):
    values = np.random.default_rng(1).normal(0, 5, (40, 30, 30))
    path = write_stack(tmp_path / "a.tif", values, days=fall_days(1, count=40), compress="deflate")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    assert "a.tif" in refused(path, streamed=True)


def test_a_text_named_like_a_raster_is_refused(tmp_path):
    assert "is neither NetCDF nor GeoTIFF" in refused(write_text(tmp_path / "a.tif", "hello"))


CLASSIC = ["NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET", "NETCDF3_64BIT_DATA"]


@pytest.mark.parametrize("form", CLASSIC)
@pytest.mark.parametrize("days", [8, None])  # None: days that may grow in number, kept record by record
def test_a_classic_netcdf_that_lacks_its_last_value_is_refused(tmp_path, form, days):
    path = in_file(tmp_path, form=form, unlimited=days is None)
    assert minima_c(read(path)) == pytest.approx(C, abs=1e-6)
    path.write_bytes(path.read_bytes()[:-4])
    assert "a.nc: is cut short" in refused(path)


def test_packed_coordinates_lie_where_they_mean(tmp_path):
    def pack(file):
        file["lat"].scale_factor = 0.5

    grid = read(in_file(tmp_path, places=((66, 65), (-84.0, -83.5, -83.0)), more=pack))
    assert grid.grid.top == 33.25


def test_a_scale_that_is_no_number_is_refused(tmp_path):
    assert "scale_factor: is a tenth" in refused(in_file(tmp_path, attributes={"scale_factor": "a tenth"}))
