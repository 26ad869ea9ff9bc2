"""The files of freeze dates: the table of stations, and a picture beside each."""

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from maps.freeze import words
from maps.freeze.layer_picture import draw_layer
from maps.freeze.station_picture import draw_station
from maps.freeze.station_report import write_station_rows
from spatial.daily import StationDates
from spatial.errors import InputError, Problem, Tell, quiet
from spatial.freeze_layers import GridLayers
from spatial.freeze_surface import SurfaceLayer
from spatial.store import written_whole


def check_table(out: Path, read: Sequence[Path]) -> None:
    """Raise InputError where the table would be no CSV by its name, or one of the files read."""
    if out.suffix.lower() != ".csv":
        mend = "Give it a name that ends in .csv"
        raise InputError([Problem(str(out), "", "would be a CSV table by another name", mend)])
    if out.resolve() in {path.resolve() for path in read}:
        raise InputError([Problem(str(out), "", "is one of the files read", "Write to another name")])


def write_stations(
    stations: Sequence[StationDates], out: Path, units: str, plotting_position: float, tell: Tell = quiet
) -> list[Path]:
    """Write the table of the dates to `out` and a picture of each station beside it, whole or not at all.

    Returns their paths, the table's first; a picture is named `out`'s stem, then the station.
    """
    names = [out.name, *(f"{out.stem}_{name}.png" for name in _own_names(stations))]
    with written_whole(out) as path:
        write_station_rows(stations, path)
        for number, (name, dates) in enumerate(zip(names[1:], stations, strict=True)):
            tell("pictures", number / len(stations))
            draw_station(dates, path.with_name(name), units, plotting_position)
    return [out.with_name(name) for name in names]


def draw_grid(made: GridLayers, units: str) -> Path:
    """Draw the layer of chances beside it and return the picture's path."""
    picture = made.chances_path.with_suffix(".png")
    with written_whole(picture) as path:
        draw_layer(made.chances_path, path, words.LAYER_TITLE.format(name=made.chances_path.stem), units)
    return picture


def draw_surface(made: SurfaceLayer, units: str, chance: float = 0.2) -> Path:
    """Draw the layer with its stations beside it and return the picture's path."""
    picture, table = made.path.with_suffix(".png"), made.stations
    shown = pd.DataFrame(
        {
            "longitude_deg": table["longitude"],
            "latitude_deg": table["latitude"],
            "day": table[f"day_{round(100 * chance)}"],
        }
    )
    with written_whole(picture) as path:
        draw_layer(made.path, path, words.LAYER_TITLE.format(name=made.path.stem), units, shown, chance)
    return picture


def _own_names(stations: Sequence[StationDates]) -> list[str]:
    """Return a name for each station's picture; where a station stands twice, with its seasons."""
    counts = Counter(dates.station.station for dates in stations)
    names = []
    for dates in stations:
        name = re.sub(r"[^\w-]+", "_", dates.station.station)
        names.append(
            name if counts[dates.station.station] == 1 else f"{name}_{dates.period[0]}-{dates.period[1]}"
        )
    return names
