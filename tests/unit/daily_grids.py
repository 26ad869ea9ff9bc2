"""Grids of daily minima as people send them, made on the spot."""

from datetime import date, timedelta

import netCDF4
import numpy as np
import rasterio
from rasterio.transform import from_origin

from spatial.inputs.checks import Report
from spatial.inputs.grids.minima import read_daily_grid
from tests.unit.making import lines_of

LAT = (33.0, 32.5)
LON = (-84.0, -83.5, -83.0)
SINCE = "days since 1990-01-01"
NO_ATTRIBUTE = object()  # for one that is left out


def days_from(first, count):
    """Return dates that follow one another."""
    return [first + timedelta(days=step) for step in range(count)]


def fall_days(seasons, first_year=2001, count=150):
    """Return the days from 1 September on of each of a number of seasons."""
    return [
        day for year in range(first_year, first_year + seasons) for day in days_from(date(year, 9, 1), count)
    ]


def steps_since(days, origin=date(1990, 1, 1)):
    """Return dates as days since 1990."""
    return [(day - origin).days for day in days]


def some_minima(days=8, rows=2, columns=3):
    """Return minima [deg C], whole tenths, each one different."""
    return np.arange(days * rows * columns).reshape(days, rows, columns) / 10 - 2


def write_netcdf(
    path,
    values=None,
    time=None,
    *,
    variables=("tmin",),
    dtype="f4",
    dims=("time", "lat", "lon"),
    places=(LAT, LON),
    units=("degrees_north", "degrees_east"),
    chunks=None,
    attributes=(),
    time_attributes=(),
    more=None,
    form="NETCDF4",
    unlimited=False,
):
    """Write raw values (days, y, x) with coordinates; attributes go over {"units": "degC"}."""
    values = some_minima() if values is None else np.asarray(values)
    time = range(len(values)) if time is None else time
    said = {"units": "degC"} | dict(attributes)
    with netCDF4.Dataset(path, "w", format=form) as file:
        sizes = {"time": len(time), dims[1]: len(places[0]), dims[2]: len(places[1])}
        for name in dims:
            file.createDimension(name, None if name == "time" and unlimited else sizes[name])
        coordinates = (("time", time, {"units": SINCE} | dict(time_attributes)),)
        coordinates += tuple((dims[k + 1], places[k], {"units": units[k]}) for k in (0, 1))
        for name, numbers, attrs in coordinates:
            one = file.createVariable(name, "f8", (name,))
            one.setncatts({key: value for key, value in attrs.items() if value is not NO_ATTRIBUTE})
            one[:] = np.asarray(numbers, dtype="f8")
        for name in variables:
            fill = said.get("_FillValue")
            one = file.createVariable(
                name, dtype, dims, zlib=form == "NETCDF4", chunksizes=chunks, fill_value=fill
            )
            one.set_auto_maskandscale(False)
            kept = {k: v for k, v in said.items() if v is not NO_ATTRIBUTE and k != "_FillValue"}
            one.setncatts(kept)
            one[:] = values.astype(dtype)
        if more is not None:
            more(file)
    return path


def write_stack(
    path, values=None, *, days=(), unit="degC", dtype="f4", scale=None, offset=None, tags=(), **how
):
    """Write a GeoTIFF with a band a day, described by its day where `days` are given."""
    values = some_minima() if values is None else np.asarray(values)
    profile = {
        "driver": "GTiff",
        "height": values.shape[1],
        "width": values.shape[2],
        "count": len(values),
        "dtype": np.dtype(dtype).name,
        "crs": "EPSG:4326",
        "transform": from_origin(-84.25, 33.25, 0.5, 0.5),
    }
    with rasterio.open(path, "w", **(profile | how)) as raster:
        raster.write(values.astype(dtype))
        raster.update_tags(**dict(tags))
        if unit:
            raster.units = (unit,) * raster.count
        if scale is not None:
            raster.scales, raster.offsets = (scale,) * raster.count, (offset or 0.0,) * raster.count
        for band, day in enumerate(days, start=1):
            raster.set_band_description(band, str(day))
    return path


def read(*paths, **how):
    """Return the record of some files."""
    return read_daily_grid(list(paths), Report(), **how)


def read_and_told(*paths, **how):
    """Return the record of some files, and the lines told of it."""
    report = Report()
    return read_daily_grid(list(paths), report, **how), lines_of(report.told)


def minima_c(grid):
    """Return the whole of a record as deg C, NaN missing, put together from its blocks; each value comes once."""
    whole = np.full((len(grid.days), grid.grid.rows, grid.grid.columns), np.inf)
    for block in grid.blocks():
        raw = block.raw.astype("f8")
        missing = np.isnan(raw) | np.isin(raw, grid.missing)
        rows = slice(block.window.row, block.window.row + block.window.rows)
        columns = slice(block.window.column, block.window.column + block.window.columns)
        place = (slice(block.first, block.first + len(raw)), rows, columns)
        assert np.isposinf(whole[place]).all()
        whole[place] = np.where(missing, np.nan, grid.scale * raw + grid.offset)
    assert not np.isposinf(whole).any()
    return whole
