"""Daily minima from a NetCDF file: which variable, when, where and in which numbers, and a way to read them."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import xarray as xr
from numpy.typing import NDArray

from spatial.inputs.checks import first_line
from spatial.inputs.grids.classic import is_cut_short
from spatial.inputs.grids.days import cf_days
from spatial.inputs.grids.kind import plain_number, refuse_other_kinds, to_deg_c, unit_of
from spatial.inputs.grids.part import GridPart, Packing, ReadRaw, refusal
from spatial.inputs.grids.place import axis_of, place_of, refuse_without_place
from spatial.values import Window

NOT_OPENED = (OSError, RuntimeError, ValueError, IndexError, KeyError)
TIME_NAMES = ("time", "day", "date", "t")
DIMS = 3  # days, rows, columns


def netcdf_part(path: Path, variable: str, unit: str) -> GridPart:
    """Return the daily minima of a NetCDF file; `variable` is needed where it has several, `unit` where it has none.

    Raises InputError with one line where the file is none, is damaged, or holds no daily minima on a regular grid.
    """
    if is_cut_short(path):
        raise refusal(path.name, "", "is cut short", "Get the file again")
    with _opened(path) as dataset:
        time = _time(dataset, path.name)
        name = _variable(dataset, time, variable, path.name)
        x, y = _space(dataset, name, time, path.name)
        attrs = dataset[name].attrs
        titles = [str(attrs.get(key, "")) for key in ("standard_name", "long_name")]
        refuse_other_kinds(path.name, name, titles, str(attrs.get("cell_methods", "")))
        packing, raw_type = _packing(dataset[name], unit, path.name)
        grid, layout = place_of(dataset, name, x, y, path.name)
        dims = (time, y, x)
        chunk = _chunk(dataset[name], dims)
        axis = cf_days(dataset, time, path.name)
    opened = _reading(path, name, dims, raw_type)
    return GridPart(path.name, grid, axis, packing, layout, chunk, raw_type.itemsize, opened)


@contextmanager
def _opened(path: Path) -> Iterator[xr.Dataset]:
    """Give the open file; raises InputError where it cannot be opened, or is found damaged while it is read."""
    try:
        dataset = xr.open_dataset(path, engine="netcdf4", decode_cf=False, cache=False)
    except NOT_OPENED as error:
        cause = f"cannot be read as NetCDF, or is cut short ({first_line(error)})"
        raise refusal(path.name, "", cause, "Get the file again") from error
    try:
        with dataset:
            yield dataset
    except (OSError, RuntimeError) as error:
        cause = f"is damaged: it opens but cannot be read ({first_line(error)})"
        raise refusal(path.name, "", cause, "Get the file again") from error


def _time(dataset: xr.Dataset, file: str) -> str:
    """Return the dimension that is time."""
    dims = [str(name) for name in dataset.dims]
    for name in dims:
        attrs = dataset[name].attrs if name in dataset.variables else {}
        cf = " since " in str(attrs.get("units", "")) or attrs.get("standard_name") == "time"
        if cf or str(attrs.get("axis", "")) == "T":
            return name
    bare = next((name for name in dims if name.lower() in TIME_NAMES), "")
    cause = "has no CF time (as days since 1990-01-01)" if bare else "has no dimension of time"
    raise refusal(file, bare, cause, "Give a file of daily minima with their days")


def _variable(dataset: xr.Dataset, time: str, wanted: str, file: str) -> str:
    """Return the variable wanted, or the only one with days on a grid."""
    offered = [
        str(name)
        for name, values in dataset.data_vars.items()
        if time in values.dims and values.ndim >= DIMS and values.dtype.kind in "iuf"
    ]
    names = ", ".join(offered)
    if not offered:
        raise refusal(file, "", "has no variable with days on a grid", "Give daily minima as (time, y, x)")
    if wanted and wanted not in offered:
        raise refusal(file, f"variable {wanted!r}", "is not there as days on a grid", f"Use one of: {names}")
    if not wanted and len(offered) > 1:
        raise refusal(file, "", f"has several variables: {names}", "Say --variable NAME")
    return wanted or offered[0]


def _space(dataset: xr.Dataset, name: str, time: str, file: str) -> tuple[str, str]:
    """Return the dimensions to the east and to the north; any other may have one value only."""
    dims = [str(dim) for dim in dataset[name].dims if dim != time]
    along = {axis_of(dataset, dim): dim for dim in dims}
    if not {"x", "y"} <= set(along):
        along["y"], along["x"] = [dim for dim in dims if dataset.sizes[dim] > 1 or len(dims) == DIMS - 1][-2:]
    x, y = along["x"], along["y"]
    for dim in dims:
        if dim not in {x, y} and dataset.sizes[dim] > 1:
            cause = f"has {dataset.sizes[dim]} values of {dim}"
            raise refusal(file, name, cause, "Keep the one near the ground, 2 m")
    refuse_without_place(dataset, (y, x), file)
    return x, y


def _packing(values: xr.DataArray, unit: str, file: str) -> tuple[Packing, np.dtype[Any]]:
    attrs = values.attrs
    written = unit_of(file, str(attrs.get("units", "")), unit)
    own, offset = (
        plain_number(attrs.get(key, plain)) for key, plain in (("scale_factor", 1.0), ("add_offset", 0.0))
    )
    if own == 0 or not np.isfinite([own, offset]).all():
        cause = f"is {attrs.get('scale_factor', 1)} with add_offset {attrs.get('add_offset', 0)}"
        raise refusal(file, "scale_factor", cause, "Mend the file")
    raw_type = values.dtype.newbyteorder("=")
    if str(attrs.get("_Unsigned", "")).lower() == "true" and raw_type.kind == "i":
        raw_type = np.dtype(f"u{raw_type.itemsize}")
    return Packing(*to_deg_c(written, own, offset), _missing(attrs, values.dtype, raw_type)), raw_type


def _missing(attrs: Mapping[str, Any], kept: np.dtype[Any], raw_type: np.dtype[Any]) -> tuple[float, ...]:
    """Return the raw values that mean missing, that of parts never written among them."""
    default = netCDF4.default_fillvals.get(kept.str[1:])
    codes = [] if default is None or "_FillValue" in attrs or kept.itemsize == 1 else [default]
    for key in ("_FillValue", "missing_value"):
        codes += [] if key not in attrs else np.atleast_1d(attrs[key]).tolist()
    found = set()
    for code in (code for code in codes if isinstance(code, int | float) and np.isfinite(code)):
        if kept.kind == "f":
            found.add(float(kept.type(code)))
        elif np.iinfo(kept).min <= code <= np.iinfo(kept).max:
            found.add(float(np.array([code]).astype(kept).view(raw_type)[0]))
        elif np.iinfo(raw_type).min <= code <= np.iinfo(raw_type).max:
            found.add(float(code))
    return tuple(sorted(found))


def _chunk(values: xr.DataArray, dims: Sequence[str]) -> tuple[int, int, int]:
    """Return the days, rows and columns that are kept together; where nothing is said, rows of what comes last."""
    sizes = tuple(values.sizes[dim] for dim in dims)
    chunks = values.encoding.get("chunksizes")
    if not chunks:
        return 1 if values.dims[0] == dims[0] else sizes[0], 1, sizes[2]
    own = dict(zip(values.dims, chunks, strict=True))
    days, rows, columns = (min(int(own[dim]), size) for dim, size in zip(dims, sizes, strict=True))
    return days, rows, columns


def _reading(
    path: Path, name: str, dims: tuple[str, str, str], raw_type: np.dtype[Any]
) -> Callable[[], AbstractContextManager[ReadRaw]]:
    time, y, x = dims

    @contextmanager
    def opened() -> Iterator[ReadRaw]:
        with _opened(path) as dataset:
            values = dataset[name].variable
            rest = {dim: 0 for dim in values.dims if dim not in dims}

            def read(days: slice, window: Window) -> NDArray[Any]:
                rows = slice(window.row, window.row + window.rows)
                columns = slice(window.column, window.column + window.columns)
                block = values.isel({time: days, y: rows, x: columns, **rest}).transpose(*dims)
                raw = np.asarray(block.values)
                return raw.view(raw_type) if raw.dtype.isnative else raw.astype(raw_type)

            yield read

    return opened
