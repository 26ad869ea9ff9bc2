"""Works out the freeze dates of stations: from their daily minima, or from their official normals."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from spatial.climate.station_dates import station_dates
from spatial.daily import StationDates
from spatial.errors import InputError, Tell, quiet
from spatial.inputs.checks import Report
from spatial.inputs.stations.minima import read_stations
from spatial.inputs.stations.normals import is_normals, read_normals


@dataclass(frozen=True)
class StationFiles:
    """Files of daily minima or normals, and what their owner says of them.

    `unit` F, C or tenthsC, "" to find it from the file; `columns` our name -> theirs; `places` a table of where the
    stations stand.
    """

    paths: tuple[Path, ...]
    unit: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    places: Path | None = None


def station_freezes(  # noqa: PLR0913 - each is an option of the command
    files: StationFiles,
    threshold_c: float,
    report: Report,
    *,
    seasons: tuple[int, int] | None = None,
    season_start: tuple[int, int] | None = None,
    plotting_position: float = 1 / 3,
    seed: int = 1,
    tell: Tell = quiet,
) -> list[StationDates]:
    """Return the freeze dates of every station that can be used, sorted by station.

    A station that cannot be used is left out, and `report.wrong` says why. `seasons` are the first and the last by
    the year they begin in, all of the record where None; `season_start` (month, day) by the station's hemisphere
    where None. Official normals come with the dates and seasons they were made with. Raises InputError where no
    station can be used.
    """
    official = [path for path in files.paths if is_normals(path)]
    daily = [path for path in files.paths if path not in official]
    found = [dates for path in official for dates in read_normals(path, threshold_c, report)]
    if seasons is not None:
        for path in official:
            report.tell(
                path.name, "", "are normals of their own seasons, so --seasons was not used", "Leave it out"
            )
    records = read_stations(daily, report, files.unit, files.columns, files.places) if daily else []
    for number, record in enumerate(records):
        tell("stations", number / len(records))
        try:
            dates = station_dates(record, threshold_c, season_start, seasons, a=plotting_position, seed=seed)
        except InputError as error:
            report.wrong.extend(error.problems)
        else:
            found.append(dates)
    tell("stations", 1.0)
    if not found:
        raise InputError(sorted(set(report.wrong)))
    return sorted(found, key=lambda dates: dates.station.station)
