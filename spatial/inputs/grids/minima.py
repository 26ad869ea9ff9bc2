"""Daily minima on a grid, from NetCDF files or GeoTIFF stacks, to be streamed in the order they are kept in."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np

from spatial.daily import DailyGrid
from spatial.inputs.checks import Report
from spatial.inputs.grids.blocks import checked_blocks
from spatial.inputs.grids.days import in_order
from spatial.inputs.grids.geotiff import geotiff_part
from spatial.inputs.grids.netcdf import netcdf_part
from spatial.inputs.grids.part import GridPart, refusal
from spatial.inputs.grids.place import FULL_CIRCLE
from spatial.inputs.grids.unpacked import packed_alike
from spatial.values import Grid

NETCDF_STARTS = (b"CDF", b"\x89HDF")
TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
SAME_PLACE_SHARE = 0.01  # of a cell, by which grids of one record may differ


def read_daily_grid(
    paths: Sequence[Path],
    report: Report,
    variable: str = "",
    unit: str = "",
    first_day: date | None = None,
) -> DailyGrid:
    """Return the daily minima of one or several files as one record, none of its values read yet.

    `variable` names one of several in a NetCDF file; `unit` (F, C, K, tenthsC) is for files that do not say it;
    `first_day` is that of the first band of a GeoTIFF that does not say its days. Raises InputError, one line a
    fault, where a file is no grid of daily minima; what was assumed is told in the report. Blocks raise it where
    a file is damaged further on, or holds what no daily minimum is.
    """
    if not paths:
        raise refusal("grid", "", "no file is given", "Name the files of daily minima")
    if first_day is not None and len(paths) > 1:
        raise refusal("--first-day", "", f"is given for {len(paths)} files", "Give it with one file")
    parts = in_order([_part(path, report, variable, unit, first_day) for path in paths])
    _refuse_other_grids(parts)
    parts = packed_alike(parts)
    _refuse_other_first_day(parts[0], first_day)
    one = parts[0]
    if _goes_over_180(one.grid):
        cause = "lies across 180 degrees, so its longitudes stay in one piece"
        report.tell(one.name, "longitude", cause, "Cut it at 180 where fields lie beyond")
    return DailyGrid(
        grid=one.grid,
        days=np.concatenate([part.axis.days for part in parts]),
        calendar=one.axis.calendar,
        scale=one.packing.scale,
        offset=one.packing.offset,
        missing=one.packing.missing,
        blocks=lambda: checked_blocks(parts),
        name=one.name if len(parts) == 1 else f"{one.name} and {len(parts) - 1} more",
    )


def _part(path: Path, report: Report, variable: str, unit: str, first_day: date | None) -> GridPart:
    try:
        with path.open("rb") as file:
            start = file.read(4)
    except OSError as error:
        raise refusal(path.name, "", f"cannot be opened ({error.strerror})", "Check its name") from error
    if start.startswith(NETCDF_STARTS):
        return netcdf_part(path, variable, unit)
    if start in TIFF_STARTS:
        return geotiff_part(path, unit, first_day, report)
    if not start:
        raise refusal(path.name, "", "is empty", "Get the file again")
    raise refusal(path.name, "", "is neither NetCDF nor GeoTIFF", "Unpack it, or save it as one of them")


def _refuse_other_grids(parts: Sequence[GridPart]) -> None:
    one = parts[0]
    for part in parts[1:]:
        if not _same_place(one.grid, part.grid) or part.layout != one.layout:
            raise refusal(part.name, "", f"is on another grid than {one.name}", "Give files of one grid")


def _same_place(one: Grid, other: Grid) -> bool:
    edges = np.array([[grid.left, grid.top, grid.cell_width, grid.cell_height] for grid in (one, other)])
    limit = SAME_PLACE_SHARE * np.array([one.cell_width, one.cell_height] * 2)
    limit[2:] /= max(one.rows, one.columns)
    same_size = (one.rows, one.columns) == (other.rows, other.columns)
    return same_size and bool((np.abs(edges[0] - edges[1]) <= limit).all()) and bool(one.crs == other.crs)


def _refuse_other_first_day(part: GridPart, first_day: date | None) -> None:
    if first_day is not None and part.axis.days[0] != np.datetime64(first_day, "D"):
        cause = f"is not the file's own, which begins on {part.axis.days[0]}"
        raise refusal(part.name, f"first day {first_day}", cause, "Leave it out")


def _goes_over_180(grid: Grid) -> bool:
    right = grid.left + grid.columns * grid.cell_width
    return bool(grid.crs.is_geographic) and right > FULL_CIRCLE / 2 + grid.cell_width / 2
