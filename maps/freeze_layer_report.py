"""What a freeze layer rests on, as it is told: a document for programs, and lines for people."""

from datetime import date
from pathlib import Path
from typing import Any

from maps import freeze_words as words
from maps import labels
from spatial.freeze_layers import GridLayers
from spatial.units import farmer_units

COMMON_YEAR = 2001  # any year of 365 days


def grid_document(made: GridLayers, picture: Path) -> dict[str, Any]:
    """Return what was made of a grid for programs, as values JSON can hold."""
    first, last = (f"{month:02d}-{day:02d}" for month, day in made.part)
    return {
        "chances": str(made.chances_path),
        "seasons_file": str(made.seasons_path),
        "picture": str(picture),
        "threshold_c": round(made.threshold_c, 4),
        "threshold_f": round(farmer_units(made.threshold_c, "_c", "_f"), 2),
        "season_start": "{:02d}-{:02d}".format(*made.season_start),
        "seasons": list(made.seasons),
        "part_of_year": [first, last],
        "calendar": made.calendar,
        "cells": made.cells,
        "known_cells": made.known_cells,
    }


def grid_lines(made: GridLayers, picture: Path, units: str) -> list[str]:
    """Return what was made of a grid in plain lines, in `units` ("us" or "metric")."""
    first, last = (labels.day(date(COMMON_YEAR, month, day)) for month, day in made.part)
    return [
        words.GRID.format(
            threshold=words.degrees(made.threshold_c, units),
            count=len(made.seasons),
            first=made.seasons[0],
            last=made.seasons[-1],
        ),
        words.GRID_PART.format(first=first, last=last),
        words.GRID_CELLS.format(known=made.known_cells, cells=made.cells),
        words.CAUTION,
        words.CHANCES_FILE.format(path=made.chances_path),
        words.SEASONS_FILE.format(path=made.seasons_path),
        words.PICTURE_FILE.format(path=picture),
    ]
