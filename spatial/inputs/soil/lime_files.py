"""One lime method from its rule file: names, numbers with their sources, a formula or a table."""

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from spatial.inputs.cells import is_number
from spatial.inputs.checks import Report
from spatial.inputs.soil.formulas import refuse_unknown
from spatial.names import plain
from spatial.soil import LimeMethod
from spatial.units import written_names

Span = tuple[float, float]

# What a number of a method can be, in inside units, by the name it has inside.
NUMBERS: dict[str, Span] = {
    "rnv_share": (0.01, 1.3),
    "depth_cm": (2.54, 30.48),
    "least_buffer_ph": (3.0, 9.0),
    "most_buffer_ph": (3.0, 9.0),
    "only_below_ph": (2.5, 10.5),
    "target_ph": (2.5, 10.5),
    "least_t_ha": (0.0, 5.0),
}
BUILT_IN = ("adams_evans", "mehlich_north_carolina")
NEEDED = ("name", "source")
TEXTS = (*NEEDED, "lime", "formula")
LISTS = ("buffers", "grasses")
ROW = {"least_buffer_ph": NUMBERS["least_buffer_ph"], "rate_t_ha": (0.0, 40.0)}
BUFFER_ENDS = ("least_buffer_ph", "most_buffer_ph")
SLACK = 1e-9


def said_number(
    said: Mapping[str, Any], name: str, span: Span, where: tuple[str, str], report: Report
) -> float:
    """Return the number that inside is `name`, in inside units; NaN where it is not said or cannot be.

    `where` is the file and the section for the line that `report` gets where it is said in two units, or lies outside
    `span` (inside units).
    """
    names = {written: scale for written, scale in written_names(name).items() if written in said}
    file, section = where
    if len(names) > 1:
        report.refuse(file, f"{section} {' and '.join(names)}".strip(), "say the same", "Keep one of them")
        return math.nan
    for written, (factor, offset) in names.items():
        inside = said[written] * factor + offset
        if span[0] - SLACK <= inside <= span[1] + SLACK:
            return float(inside)
        least, most = ((limit - offset) / factor for limit in span)
        place = f"{section} {written} = {said[written]:g}".strip()
        report.refuse(file, place, "is not possible", f"It lies between {least:.3g} and {most:.4g}")
    return math.nan


def lime_method(path: Path, said: Mapping[str, Any], report: Report) -> LimeMethod | None:
    """Return the method that a rule file describes, or None with the line or lines of why not in `report`."""
    before = len(report.wrong)
    for place, cause, mend in _faults(said):
        report.refuse(path.name, place, cause, mend)
    if "formula" in said and len(report.wrong) == before:
        refuse_unknown(path.name, ("spatial.lime_methods", said["formula"]), BUILT_IN, report)
    if len(report.wrong) > before:
        return None
    written = {key: entry["value"] for key, entry in said.items() if isinstance(entry, dict)}
    numbers = {
        name: said_number(written, name, span, (path.name, ""), report) for name, span in NUMBERS.items()
    }
    table = _table(path.name, said["rates"], report) if "rates" in said else ()
    if len(report.wrong) > before:
        return None
    values = {name: value for name, value in numbers.items() if not math.isnan(value)}
    least, most = (values.get(name, getattr(LimeMethod, name)) for name in BUFFER_ENDS)
    if least >= most:
        report.refuse(
            path.name, " and ".join(BUFFER_ENDS), f"are {least:g} and {most:g}", "The least is the lower"
        )
        return None
    if "rnv_share" in values:
        values["quality_share"] = values.pop("rnv_share")
    return _made(path.stem, said, values | {"table": table})


def _made(stem: str, said: Mapping[str, Any], values: dict[str, Any]) -> LimeMethod:
    depth: dict[str, Any] = next((said[key] for key in ("depth_cm", "depth_in") if key in said), {})
    texts = {key: str(said[key]) for key in TEXTS if key in said}
    return LimeMethod(
        method=stem,
        buffers=tuple(said["buffers"]),
        grasses=tuple(said.get("grasses", ())),
        depth_source=str(depth.get("source", "")),
        **texts | values,
    )


def _faults(said: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """Return the place, cause and mend of each thing that does not have the shape of a method."""
    numbers = {written for name in NUMBERS for written in written_names(name)}
    known = {*TEXTS, *LISTS, *numbers, "rates"}
    unknown = sorted(set(said) - known)
    faults = [
        (key, "is not known in a lime method", f"Use one of: {', '.join(sorted(known))}") for key in unknown
    ]
    faults += [(key, "is not a text", "Give it as a text") for key in TEXTS if not _is_text(key, said)]
    faults += [
        (key, "is not a list of texts", 'Write it as ["..."]') for key in LISTS if not _is_list(key, said)
    ]
    faults += [
        (
            key,
            "needs a value and its source",
            'Write value = ..., source = "..." (or "common practice, no source")',
        )
        for key in sorted(numbers & set(said))
        if not _is_sourced(said[key])
    ]
    if ("formula" in said) == ("rates" in said):
        faults.append(("formula, rates", "needs one of the two", "Name a formula, or list the rates"))
    return faults


def _is_text(key: str, said: Mapping[str, Any]) -> bool:
    return (
        (key in said or key not in NEEDED)
        and isinstance(said.get(key, "-"), str)
        and said.get(key, "-").strip() != ""
    )


def _is_list(key: str, said: Mapping[str, Any]) -> bool:
    value = said.get(key, ["any"] if key != "buffers" else [])
    return (
        isinstance(value, list) and bool(value) and all(isinstance(one, str) and plain(one) for one in value)
    )


def _is_sourced(entry: Any) -> bool:
    return isinstance(entry, dict) and is_number(entry.get("value")) and bool(entry.get("source"))


def _table(file: str, rows: Any, report: Report) -> tuple[tuple[float, float], ...]:
    """Return (least buffer pH, rate [t/ha]) by falling buffer pH; a sourer soil must never get less."""
    if not isinstance(rows, list) or not rows or not all(map(_is_row, rows)):
        mend = "Write each as least_buffer_ph = 6.5, rate_tons_ac = 1.2 (or rate_t_ha) under [[rates]]"
        report.refuse(file, "rates", "cannot be used", mend)
        return ()
    places = [(file, f"rates, row {place}") for place in range(1, len(rows) + 1)]
    least_ph, rates = (
        [said_number(row, name, span, where, report) for row, where in zip(rows, places, strict=True)]
        for name, span in ROW.items()
    )
    table = sorted(zip(least_ph, rates, strict=True), reverse=True)
    known = not any(map(math.isnan, (*least_ph, *rates)))
    if known and (len(set(least_ph)) < len(rows) or [rate for _least, rate in table] != sorted(rates)):
        report.refuse(file, "rates", "must rise as the buffer pH falls", "Check them with their source")
    return tuple(table)


def _is_row(row: Any) -> bool:
    written = {name for inside in ROW for name in written_names(inside)}
    numbers = isinstance(row, dict) and all(map(is_number, row.values()))
    return numbers and set(row) <= written and len(row) == len(ROW)
