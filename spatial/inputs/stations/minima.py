"""Daily minima of weather stations, from every form in which the public services give them out."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from spatial.daily import DailyMinima, Station
from spatial.errors import InputError
from spatial.inputs.checks import Report, listed
from spatial.inputs.stations.csv_table import read_headed
from spatial.inputs.stations.places import placed, read_places
from spatial.inputs.stations.readings import UNITS, Readings, Unit, to_celsius
from spatial.inputs.stations.records import is_months, is_readings, read_months, read_readings
from spatial.inputs.stations.sanity import sane_columns, sane_days
from spatial.inputs.stations.slips import without_slips
from spatial.inputs.stations.text import read_text
from spatial.inputs.stations.units import unit_of
from spatial.inputs.stations.whole_degrees import in_whole_degrees_f
from spatial.inputs.stations.winter import tell_other_winter

ROUNDING_C = 1e-6


def read_stations(
    paths: Sequence[Path],
    report: Report,
    unit: str = "",
    columns: Mapping[str, str] = {},
    places: Path | None = None,
) -> list[DailyMinima]:
    """Return the daily minima of every station in the files, sorted by station; faults are in the report.

    Read are the archive's months in fixed columns (.dly), its files of one reading a line, and CSV tables with a
    heading, each plain, .gz or .zip. `unit` (F, C or tenthsC) is that of the tables' temperatures, "" to find it
    from the file; `columns` maps our names (date, year, month, day, tmin, tmin_f, tmin_c, tmax, station ...) to the
    tables'; `places` is a table or list of stations for what the files do not tell of their places. A station may
    go on from one file to the next. A station that cannot be used is left out, and the report says why.
    """
    stated = next((known for known in UNITS if known == unit), None)
    if unit and stated is None:
        report.refuse("--unit", "", f"is {str(unit)!r}", f"Use one of: {', '.join(UNITS)}")
        return []
    known = _known_places(places, report)
    found = [readings for path in paths for readings in _readings_of(path, columns, report)]
    _refuse_same_names(found, report)
    parts = [part for readings in found for part in _in_celsius(readings, stated, report)]
    if not parts:
        return []
    rows = pd.concat(parts, ignore_index=True)
    stations = {name: station for readings in found for name, station in readings.stations.items()}
    pairs = [
        pair
        for name, part in rows.groupby("station")
        for pair in _records(placed(stations[str(name)], known), part, report)
    ]
    _tell_mended([record for record, mended in pairs if mended], report)
    records = [record for record, _mended in pairs]
    if places is not None:
        _tell_unplaced(records, known, places.name, report)
    return records


def _known_places(places: Path | None, report: Report) -> dict[str, Station]:
    if places is None:
        return {}
    try:
        return read_places(places)
    except InputError as error:
        report.wrong.extend(error.problems)
        return {}


def _readings_of(path: Path, columns: Mapping[str, str], report: Report) -> Iterator[Readings]:
    try:
        text = read_text(path)
        if is_months(text):
            yield read_months(text, path.name, report)
        elif is_readings(text):
            yield read_readings(text, path.name, report)
        else:
            yield read_headed(text, path.name, path.name.partition(".")[0], columns, report)
    except InputError as error:
        report.wrong.extend(error.problems)


def _refuse_same_names(found: Sequence[Readings], report: Report) -> None:
    names = Counter(name for readings in found if readings.named_by_file for name in readings.stations)
    for name in sorted(name for name, count in names.items() if count > 1):
        cause = f"is the name of {names[name]} files without a column of stations"
        report.refuse(name, "", cause, "Name each file for its station")


def _in_celsius(readings: Readings, stated: Unit | None, report: Report) -> list[pd.DataFrame]:
    """Return the readings of a file with their temperatures in deg C, too; nothing where they cannot be read."""
    table = readings.table
    has_minima = table.groupby("station")["tmin"].transform("count") > 0
    if not has_minima.any():
        cause = "has no minimum: every one is missing"
        report.refuse(readings.file, f"column {readings.column!r}", cause, "Give another file or column")
        return []
    empty = sorted(set(table["station"][~has_minima]))
    if empty:
        report.tell(readings.file, listed("station", empty), "has no minimum at all", "It is left out")
    rows = _sane(readings, table[has_minima], report)
    unit = None if rows.empty else unit_of(replace(readings, table=rows), stated, report)
    if unit is None:
        return []
    tmax_c = to_celsius(rows["tmax"], readings.tmax_unit or unit)
    return [rows.assign(tmin_c=to_celsius(rows["tmin"], unit), tmax_c=tmax_c, unit=unit)]


def _sane(readings: Readings, table: pd.DataFrame, report: Report) -> pd.DataFrame:
    """Return the rows of those stations whose readings are daily minima in any unit."""
    rows = table.assign(file=readings.file, column=readings.column, tmax_column=readings.tmax_column)
    comparable = rows["tmax"] if readings.tmax_unit == readings.unit else np.nan
    unitless = rows.assign(tmin_c=rows["tmin"], tmax_c=comparable)
    sane = [name for name, part in unitless.groupby("station") if sane_columns(part, str(name), report)]
    return rows[rows["station"].isin(sane)]


def _records(station: Station, rows: pd.DataFrame, report: Report) -> Iterator[tuple[DailyMinima, bool]]:
    """Yield the record of a station, and whether readings in it were brought back to whole deg F."""
    days = sane_days(rows, station.station, report)
    if days is None:
        return
    days = without_slips(days, station.station, report)
    measured = days.set_index("date")["tmin_c"].dropna()
    if measured.empty:
        return
    every_day = pd.date_range(measured.index[0], measured.index[-1], freq="D", name="date")
    whole = in_whole_degrees_f(measured)
    record = DailyMinima(station, whole.reindex(every_day), days["unit"].iloc[0], str(days["file"].iloc[0]))
    tell_other_winter(record, report)
    yield record, bool((whole - measured).abs().gt(ROUNDING_C).any())


def _tell_mended(records: Sequence[DailyMinima], report: Report) -> None:
    for file in sorted({record.file for record in records}):
        names = [record.station.station for record in records if record.file == file]
        cause = f"was read in whole deg F, at {listed('station', names)}"
        report.tell(file, "", cause, "Those readings stand as whole deg F again, not as rounded deg C")


def _tell_unplaced(
    records: Sequence[DailyMinima], known: Mapping[str, Station], file: str, report: Report
) -> None:
    absent = [record.station.station for record in records if record.station.station not in known]
    if absent and known:
        report.tell(
            file, "", f"does not have {listed('station', absent)}", "Their place is not known from it"
        )
