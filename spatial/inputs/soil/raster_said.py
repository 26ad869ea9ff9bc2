"""What region.toml says of a soil raster, checked: its value, files, unit, depths, day and coordinate system."""

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, cast, get_args

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS
from pyproj.exceptions import ProjError

from spatial.inputs.checks import Report
from spatial.inputs.region_file import FILE
from spatial.inputs.soil.raster_values import NAMES
from spatial.inputs.soil.schemes import MG_KG_PER
from spatial.soil import TOP_CM, SoilValue
from spatial.units import CM_PER_INCH
from spatial.values import Grid


def said_value(place: str, name: str, section: Mapping[str, Any], report: Report) -> SoilValue | None:
    """Return what a layer is, by its section or its name; None with the reason in the report."""
    said = section.get("value", name.strip().lower())
    for known in get_args(SoilValue):
        if said == known:
            return cast(SoilValue, known)
    cause = f"is not said, and {name!r} is not one of them"
    report.refuse(FILE, f"{place} value", cause, f"Say it: {', '.join(get_args(SoilValue))}")
    return None


def check_scale(place: str, section: Mapping[str, Any], report: Report) -> None:
    """Refuse a scale that is none."""
    scale = section.get("scale", 1.0)
    if not (math.isfinite(scale) and scale > 0):
        report.refuse(FILE, f"{place} scale", f"is {scale:g}", "Write a number above 0, as 0.1")


def paths_of(place: str, section: Mapping[str, Any], folder: Path, report: Report) -> list[Path]:
    """Return the files of a layer; none at all, and one that is named twice, are refused."""
    paths = [folder / file for file in section.get("files", [])]
    if not paths:
        report.refuse(FILE, f"{place} files", "names no file", "Name the raster's files")
    whole = [path.resolve() for path in paths]
    twice = dict.fromkeys(path.name for path, one in zip(paths, whole, strict=True) if whole.count(one) > 1)
    if twice:
        cause = f"names {', '.join(twice)} more than once"
        report.refuse(FILE, f"{place} files", cause, "Name the own file of each depth")
    return paths


def tell_unused(place: str, value: SoilValue | None, section: Mapping[str, Any], report: Report) -> None:
    """Tell of what is said of a pH that has no such thing."""
    keys = [key for key in ("unit", "extractant", "soil_group") if key in section]
    if value == "ph" and keys:
        report.tell(FILE, f"{place} {', '.join(keys)}", "says nothing of a pH, so not used", "Take it out")


def has_unit(place: str, value: SoilValue, section: Mapping[str, Any], report: Report) -> bool:
    """Return whether the unit is said, which pH has none of, and tell that a layer without one is left out."""
    if value == "ph" or "unit" in section:
        return True
    cause = "is not said, so the layer was left out"
    report.tell(FILE, f"{place} unit", cause, f"Say it: {', '.join(MG_KG_PER)}")
    return False


def tell_unrated(place: str, value: SoilValue, section: Mapping[str, Any], report: Report) -> None:
    """Tell that a nutrient whose extractant is not said is never rated."""
    if value != "ph" and not section.get("extractant"):
        cause = f"is not said, so its {NAMES[value]} is never rated"
        report.tell(FILE, f"{place} extractant", cause, 'Give its extractant, as extractant = "Mehlich-1"')


def check_crs(place: str, section: Mapping[str, Any], grid: Grid | None, report: Report) -> None:
    """Tell of a coordinate system that is said beside the one that the files state; theirs was used."""
    if grid is None or "crs" not in section:
        return
    said, where = section["crs"], f"{place} crs = {section['crs']!r}"
    try:
        same = CRS.from_user_input(said).equals(grid.crs, ignore_axis_order=True)
    except ProjError:
        report.refuse(FILE, where, "is not known", "Use EPSG:number")
        return
    if not same:
        cause = f"is not used, because the file states its own, {grid.crs.name}"
        report.tell(FILE, where, cause, "Take it out; if the file is wrong, mend the file")


def thickness_of_bands_cm(
    place: str, section: Mapping[str, Any], bands: int, report: Report
) -> NDArray[np.float64] | None:
    """Return how much of the top 15 cm each band stands for; None with the reason in the report."""
    said = [(key, cm) for key, cm in (("depths_in", CM_PER_INCH), ("depths_cm", 1.0)) if key in section]
    if len(said) > 1:
        report.refuse(FILE, f"{place} depths_in and depths_cm", "say the same", "Keep one of them")
        return None
    if not said:
        if bands == 1:
            return np.array([TOP_CM])
        cause = f"are not said, and there are {bands} bands, so the layer was left out"
        report.tell(FILE, f"{place} depths_cm", cause, "Say the limits from the top, as [0, 5, 15]")
        return None
    key, cm = said[0]
    limits_cm = np.array(section[key], dtype=np.float64) * cm
    thickness_cm = np.diff(np.clip(limits_cm, 0.0, TOP_CM))
    if cause := _depth_fault(limits_cm, thickness_cm, bands):
        report.refuse(FILE, f"{place} {key}", cause, "Write the limits from the top, as [0, 5, 15] cm")
        return None
    if thickness_cm.sum() < TOP_CM:
        cause = f"give {thickness_cm.sum():g} of the top {TOP_CM:g} cm; that stands for the whole"
        report.tell(FILE, f"{place} {key}", cause, "Name the missing depth too, if there is one")
    return thickness_cm


def _depth_fault(limits_cm: NDArray[np.float64], thickness_cm: NDArray[np.float64], bands: int) -> str:
    if len(limits_cm) != bands + 1:
        return f"has {len(limits_cm)} limits for {bands} bands, which need {bands + 1}"
    if not (np.isfinite(limits_cm).all() and limits_cm[0] >= 0 and (np.diff(limits_cm) > 0).all()):
        return "does not rise from the surface (0) downwards"
    return "" if thickness_cm.any() else f"lies below the top {TOP_CM:g} cm"
