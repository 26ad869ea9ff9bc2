"""The rating schemes of P, K and Mg from their files: a table of limits for each soil group, or an add-on's formula."""

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from spatial.inputs.cells import is_number
from spatial.inputs.checks import Report
from spatial.inputs.rules import rule_files
from spatial.inputs.soil.formulas import refuse_unknown
from spatial.names import plain
from spatial.soil import RATING_CLASSES
from spatial.units import HA_PER_ACRE, KG_PER_LB
from spatial.values import NUTRIENTS, RatingScheme

KG_HA_PER_LB_AC = KG_PER_LB / HA_PER_ACRE
MG_KG_PER = {"lb/ac": 0.5, "ppm": 1.0, "mg/kg": 1.0}
INDEX, ANY = "index", "any"
TEXTS = ("name", "extractant", "unit", "source")
MG = "mg_without_lime_lb_ac"  # that the source gives where Mg is low and no lime is due
OTHERS = ("ratings", "limits", "formula", "grasses", MG)
UNITS = (*MG_KG_PER, INDEX)
CLASS_OF = {
    **dict.fromkeys(("very low", "low"), "low"),
    "medium": "medium",
    **dict.fromkeys(("sufficient", "adequate", "optimum", "above optimum", "high", "very high"), "enough"),
}


def read_schemes(report: Report, own_folder: Path | None = None) -> tuple[RatingScheme, ...]:
    """Return the soil rating schemes, one for each soil group of each file; a region's own come first."""
    found = [
        scheme
        for path, said in rule_files("soil", own_folder, report)
        for scheme in _schemes(path, said, report)
    ]
    return tuple(reversed(found))


def _schemes(path: Path, said: Mapping[str, Any], report: Report) -> Iterator[RatingScheme]:
    if fault := _fault(said):
        report.refuse(path.name, "", *fault)
        return
    if "formula" in said:
        refuse_unknown(path.name, ("spatial.soil_ratings", said["formula"]), (), report)
    factor = MG_KG_PER.get(said["unit"], 1.0)
    unit: Literal["mg/kg", "index"] = "index" if said["unit"] == INDEX else "mg/kg"
    ratings = tuple(_word(word) for word in said["ratings"])
    # The last read goes first, and a group of its own goes before any.
    by_group = {group.strip(): limits for group, limits in said.get("limits", {ANY: {}}).items()}
    for group, limits in sorted(by_group.items(), key=lambda one: one[0] != ANY):
        yield RatingScheme(
            scheme=path.stem,
            name=said["name"],
            extractant=said["extractant"],
            soil_group="" if group == ANY else group,
            ratings=ratings,
            classes=tuple(CLASS_OF[word] for word in ratings),
            limits_mg_kg={
                nutrient: tuple(limit * factor for limit in row) for nutrient, row in limits.items()
            },
            source=said["source"],
            grasses=tuple(said.get("grasses", ())),
            unit=unit,
            formula=said.get("formula", ""),
            mg_without_lime_kg_ha=said.get(MG, math.nan) * KG_HA_PER_LB_AC,
        )


def _fault(said: Mapping[str, Any]) -> tuple[str, str] | None:
    if unknown := sorted(set(said) - {*TEXTS, *OTHERS}):
        return f"has {', '.join(unknown)}, which is not known", f"Use: {', '.join((*TEXTS, *OTHERS))}"
    if texts := [key for key in TEXTS if not _is_text(said.get(key))]:
        return f"lacks {', '.join(texts)}", "Give each as a text"
    if said["unit"] not in UNITS:
        return f"has unit {said['unit']!r}", f"Units known: {', '.join(UNITS)}"
    if not is_number(said.get(MG, 0.0)):
        return f"has {MG} = {said[MG]!r}", "Give it as a number"
    return _ratings_fault(said.get("ratings")) or _rating_fault(said)


def _rating_fault(said: Mapping[str, Any]) -> tuple[str, str] | None:
    """Return what is wrong with how a scheme rates: grasses, limits or formula."""
    if not _are_texts(said.get("grasses", [])):
        return f"has grasses {said['grasses']!r}", 'List the grasses it is for, as grasses = ["bahiagrass"]'
    if "formula" in said:
        return _formula_fault(said)
    return _limits_fault(said.get("limits"), len(said["ratings"]))


def _ratings_fault(words: Any) -> tuple[str, str] | None:
    if not _are_texts(words) or not words:
        return "lacks ratings", 'List the words from lowest to highest, as ratings = ["low", "high"]'
    plain = [_word(word) for word in words]
    if strange := [word for word in words if _word(word) not in CLASS_OF]:
        return (
            f"has ratings {strange}, which say neither low nor enough",
            f"Words known: {', '.join(CLASS_OF)}",
        )
    order = [RATING_CLASSES.index(CLASS_OF[word]) for word in plain]
    if len(set(plain)) < len(plain) or order != sorted(order):
        return "has ratings that do not rise", "List each word once, from lowest to highest"
    return None


def _formula_fault(said: Mapping[str, Any]) -> tuple[str, str] | None:
    if not isinstance(said["formula"], str) or not said["formula"]:
        return f"has formula {said['formula']!r}", "Name an add-on, as a text"
    return ("has a formula and limits", "Keep one of them") if "limits" in said else None


def _limits_fault(limits: Any, words: int) -> tuple[str, str] | None:
    if not isinstance(limits, dict) or not limits:
        return "lacks limits", "Write [limits.any], or a [limits.GROUP] for each soil group"
    groups = [plain(group) for group in limits]
    if not all(groups) or len(set(groups)) < len(groups):
        return "has limits of a group without a name, or of one group twice", "Write each group once"
    for group, rows in limits.items():
        if not isinstance(rows, dict) or not all(_is_row(*row, words) for row in rows.items()):
            mend = f"For each of {', '.join(NUTRIENTS)}: rising numbers from 0, fewer than the ratings"
            return f"has limits for {group!r} that cannot be used", mend
    return None


def _word(text: str) -> str:
    return " ".join(text.lower().split())


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(plain(value))


def _are_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def _is_row(nutrient: str, row: Any, words: int) -> bool:
    if nutrient not in NUTRIENTS or not isinstance(row, list) or not 0 < len(row) < words:
        return False
    numbers = all(map(is_number, row))
    return numbers and all(0 <= limit < math.inf for limit in row) and row == sorted(set(row))
