"""What a freeze layer rests on, as it is told: a document for programs, and lines for people."""

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from maps import labels
from maps.freeze import words
from maps.labels import chance_words, sentence
from spatial.freeze_layers import GridLayers
from spatial.freeze_surface import SurfaceLayer
from spatial.units import farmer_units
from spatial.values import COMMON_YEAR

CHANCES_TOLD = (0.1, 0.2, 0.5)


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


def surface_document(made: SurfaceLayer, picture: Path) -> dict[str, Any]:
    """Return what was made of stations for programs, as values JSON can hold."""
    checked = made.surface.leave_one_out.round(2)
    return {
        "chances": str(made.path),
        "picture": str(picture),
        "threshold_c": round(made.threshold_c, 4),
        "threshold_f": round(farmer_units(made.threshold_c, "_c", "_f"), 2),
        "season_start": made.season_start,
        "stations": len(made.stations),
        "known_share": round(known_share(made), 4),
        "leave_one_out": {f"{chance:g}": _known(row) for chance, row in checked.iterrows()},
        "coefficients": {f"{chance:g}": _known(row) for chance, row in made.surface.coefficients.iterrows()},
        "told": [sentence(why, "us") for why in made.surface.told],
    }


def surface_lines(made: SurfaceLayer, picture: Path, units: str) -> list[str]:
    """Return what was made of stations in plain lines, in `units` ("us" or "metric")."""
    checked = made.surface.leave_one_out.dropna(subset=["rmse_days"])
    return [
        words.SURFACE.format(threshold=words.degrees(made.threshold_c, units), count=len(made.stations)),
        *(_left_out(chance, checked) for chance in CHANCES_TOLD if chance in checked.index),
        words.SURFACE_KNOWN.format(share=f"{100 * known_share(made):.0f}"),
        *(words.NOTE.format(note=sentence(why, units)) for why in made.surface.told),
        words.CAUTION,
        words.CHANCES_FILE.format(path=made.path),
        words.PICTURE_FILE.format(path=picture),
    ]


def _left_out(chance: float, checked: pd.DataFrame) -> str:
    days, alone = (f"{checked[name][chance]:.1f}" for name in ("rmse_days", "regression_rmse_days"))
    more = "" if days == alone else words.SURFACE_REGRESSION.format(days=alone)
    return words.SURFACE_ERROR.format(chance=chance_words(chance), days=days, regression=more)


def known_share(made: SurfaceLayer) -> float:
    """Return the share of the cells whose average date, or that they have none, is known."""
    return float((~np.isnan(made.surface.days)).any(axis=0).mean())


def _known(row: pd.Series) -> dict[str, float | None]:
    return {str(name): None if pd.isna(value) else float(value) for name, value in row.items()}
