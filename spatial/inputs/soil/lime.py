"""How a region limes: the methods of its rule files, its laboratories, and the lime that it spreads."""

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from spatial.inputs.checks import Report, first_line
from spatial.inputs.region_file import FILE
from spatial.inputs.rules import SHIPPED
from spatial.inputs.soil.lime_files import lime_method, said_number
from spatial.names import plain
from spatial.soil import Laboratory, LimeMethod, LimeProduct, LimeRules
from spatial.units import CM_PER_INCH, WRITTEN

MOST_TONS_AC = 2.0  # on sod at one time: common practice, no source
QUALITY = (0.01, 1.3)  # pure CaCO3 is 1; from memory, no lime for fields has more than 1.3
SHARE = (0.0, 1.0)
LIMED_CM = (1 * CM_PER_INCH, 12 * CM_PER_INCH)
SAMPLED_CM = (1.0, 100.0)
MOST_T_HA = (0.1, 40.0)
LAB_TEXTS = ("ph_method", "buffer", "extractant", "unit", "soil_group")
SIEVES = ("through_10_mesh_share", "through_50_mesh_share")


def read_lime_rules(
    section: Mapping[str, Any], labs: Mapping[str, Mapping[str, Any]], report: Report, own_folder: Path | None
) -> LimeRules:
    """Return the lime rules of a region: its own methods before the shipped ones, a grass's own before the general.

    `section` is [lime] of region.toml, `labs` its [labs.*] by name, `own_folder` that of [rules] lime. What cannot be
    is a line in `report.wrong`.
    """
    _refuse_twice(labs, report)
    most_t_ha = said_number(section, "most_t_ha", MOST_T_HA, (FILE, "[lime]"), report)
    return LimeRules(
        methods=_methods(own_folder, report),
        laboratories={name: _laboratory(name, said, report) for name, said in labs.items()},
        product=_product(section, report),
        depth_cm=said_number(section, "depth_cm", LIMED_CM, (FILE, "[lime]"), report),
        most_t_ha=MOST_TONS_AC * WRITTEN["_tons_ac"][1] if math.isnan(most_t_ha) else most_t_ha,
    )


def relative_neutralizing_share(
    cce_share: float, through_10_mesh_share: float, through_50_mesh_share: float
) -> float:
    """Return the effective part (RNV) of a lime: half of what lies between the two sieves, all that is finer.

    All are shares of 1. Mississippi State Univ. P3762; Univ. of Kentucky AGR-106.
    """
    between = through_10_mesh_share - through_50_mesh_share
    return cce_share * (between / 2 + through_50_mesh_share)


def _refuse_twice(labs: Iterable[str], report: Report) -> None:
    """Report every laboratory without a name, and each that stands twice under names that are read alike."""
    named: dict[str, list[str]] = {}
    for lab in labs:
        named.setdefault(plain(lab), []).append(lab)
    for letters, same in sorted(named.items()):
        if not letters:
            mend = "Name it as its reports do"
            report.refuse(FILE, f"[labs.{same[0]!r}]", "is no name of a laboratory", mend)
        elif len(same) > 1:
            sections = " and ".join(f"[labs.{name!r}]" for name in sorted(same))
            report.refuse(FILE, sections, "name the same laboratory", "Keep one of them")


def _laboratory(name: str, said: Mapping[str, Any], report: Report) -> Laboratory:
    where = (FILE, f"[labs.{name}]")
    texts = {key: str(said[key]) for key in LAB_TEXTS if key in said}
    depth_cm = said_number(said, "depth_cm", SAMPLED_CM, where, report)
    quality = said_number(said, "lime_rnv_share", QUALITY, where, report)
    return Laboratory(**texts, depth_cm=depth_cm, lime_quality_share=quality)


def _product(section: Mapping[str, Any], report: Report) -> LimeProduct | None:
    """Return the lime that is spread, by its RNV, else by its CCE and sieves; None where neither is said."""
    said, where = {"rnv_pct", "cce_pct"} & set(section), (FILE, "[lime]")
    rnv = said_number(section, "rnv_share", QUALITY, where, report)
    if len(said) > 1:
        mend = "Remove cce_pct, or remove rnv_pct to have it reckoned from the CCE and the sieves"
        report.tell(FILE, "[lime] rnv_pct and cce_pct", "are both given; the RNV is used", mend)
    quality = rnv if "rnv_pct" in said else _by_sieves(section, report)
    name = str(section.get("product", ""))
    if name and not said:
        cause = "has no RNV, so lime is told in the lime that a rate is for"
        report.tell(
            FILE, f"[lime] product = {name!r}", cause, "Give its rnv_pct, or its cce_pct and two sieves"
        )
    return None if math.isnan(quality) else LimeProduct(name or "your lime", quality)


def _by_sieves(section: Mapping[str, Any], report: Report) -> float:
    where = (FILE, "[lime]")
    needed = [f"{name.removesuffix('_share')}_pct" for name in ("cce_share", *SIEVES)]
    missing = [name for name in needed if name not in section]
    if len(missing) == len(needed):
        return math.nan
    if missing:
        cause = "is not there, so the RNV cannot be reckoned"
        report.refuse(
            FILE, f"[lime] {', '.join(missing)}", cause, f"Give all of {', '.join(needed)}, or rnv_pct"
        )
        return math.nan
    cce = said_number(section, "cce_share", QUALITY, where, report)
    coarse, fine = (said_number(section, name, SHARE, where, report) for name in SIEVES)
    if fine > coarse:
        cause = f"are {100 * coarse:g} and {100 * fine:g}"
        report.refuse(
            FILE, f"[lime] {' and '.join(needed[1:])}", cause, "No more can pass the finer sieve, 50 mesh"
        )
        return math.nan
    share = relative_neutralizing_share(cce, coarse, fine)
    if share < QUALITY[0]:
        cause = "make an RNV of less than 1 %"
        report.refuse(
            FILE, f"[lime] {', '.join(needed)}", cause, "Check them with the label, or give rnv_pct"
        )
        return math.nan
    return share


def _methods(own_folder: Path | None, report: Report) -> tuple[LimeMethod, ...]:
    own = _folder(own_folder, report) if own_folder is not None else []
    names = {method.method for method in own}
    shipped = [method for method in _folder(SHIPPED / "lime", report) if method.method not in names]
    # One for a grass goes before one for all; sorting keeps the order of the rest.
    return tuple(one for methods in (own, shipped) for one in sorted(methods, key=lambda it: not it.grasses))


def _folder(folder: Path, report: Report) -> list[LimeMethod]:
    if not folder.is_dir():
        report.refuse(str(folder), "", "is not a folder", "Check [rules] lime in region.toml")
    found: list[LimeMethod] = []
    for path, said in _files(folder, report):
        method = lime_method(path, said, report)
        if method is not None and not _is_second(method, found, report):
            found.append(method)
    return found


def _is_second(method: LimeMethod, before: list[LimeMethod], report: Report) -> bool:
    """Tell whether a method of the same folder names the same buffer for the same grass."""
    for other in before:
        both = {plain(name) for name in method.buffers} & {plain(name) for name in other.buffers}
        same_grass = method.grasses == other.grasses or set(method.grasses) & set(other.grasses)
        if both and same_grass:
            cause = f"stands in {other.method}.toml too, so the method is not clear"
            report.refuse(f"{method.method}.toml", f"buffer {min(both)!r}", cause, "Keep it in one of them")
            return True
    return False


def _files(folder: Path, report: Report) -> Iterator[tuple[Path, dict[str, Any]]]:
    for path in sorted(folder.glob("*.toml")):
        try:
            yield path, tomllib.loads(path.read_text(encoding="utf-8-sig"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
            cause = f"is not readable TOML ({first_line(error)})"
            report.refuse(path.name, "", cause, "Mend the line it names")
