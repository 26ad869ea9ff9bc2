"""Writes what the plan says of some fields of the sample region through the season, to be read by eye."""

import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from maps.labels import sentence  # noqa: E402 - the project is found by the line above
from spatial.inputs.region import Region, read_region  # noqa: E402
from spatial.plan import Plan, make_plan  # noqa: E402
from spatial.settings import settings_with  # noqa: E402

GOLDEN = ROOT / "tests" / "end_to_end" / "golden"
DAYS = (
    date(2026, 8, 5), date(2026, 8, 20), date(2026, 9, 8), date(2026, 10, 1), date(2026, 10, 20), date(2026, 11, 8),
    date(2026, 11, 25), date(2027, 1, 15), date(2027, 3, 10),
)  # fmt: skip
# One of each kind: plain, cold spot, short stubble, native, grazed, unknown, overseeded, stockpiled, sprayed, ...
FIELDS = (
    "BH-01",
    "BH-05",
    "CG-01",
    "CG-03",
    "DA-01",
    "DA-04",
    "GB-05",
    "LS-03",
    "MS-03",
    "TD-03",
    "TH-02",
    "VC-03",
)
PARTS = ("advice", "why", "mind", "hay", "tasks", "stand_record")
SOIL_PARTS, SOIL_DAY = ("flags", "lime", "nutrients", "ground"), date(2026, 9, 8)
FREEZE = date(2026, 11, 6)


def main() -> None:
    """Write a file for each day, with no freeze recorded and, after it, with one."""
    GOLDEN.mkdir(exist_ok=True)
    region = read_region(ROOT / "sample_region")
    for name, text in golden(region):
        (GOLDEN / name).write_text(text, encoding="utf-8", newline="\n")


def golden(region: Region) -> Iterator[tuple[str, str]]:
    """Give the name and text of each file."""
    for on in DAYS:
        yield f"{on}.txt", _text(region, on)
        if on > FREEZE:
            yield f"{on}_freeze_recorded.txt", _text(_frozen(region), on)
    yield f"soil_{SOIL_DAY}.txt", _soil_text(region)


def _frozen(region: Region) -> Region:
    areas = sorted(set(region.fields["area"]))
    facts = pd.DataFrame({"date": pd.Timestamp(FREEZE), "fact": "killing_freeze", "area": areas})
    log = pd.concat([region.season_log, facts], ignore_index=True)
    texts = {name: log[name].fillna("") for name in ("field_id", "area", "value", "note")}
    return replace(region, season_log=log.assign(**texts))


def _text(region: Region, on: date) -> str:
    plan = make_plan(region, settings_with(on, region.settings))
    notes = [f"  {sentence(note, region.units)}" for note in plan.notes]
    return "\n".join(
        [f"Plan for {on}", *notes, *(line for name in FIELDS for line in _field(plan, name)), ""]
    )


def _soil_text(region: Region) -> str:
    plan = make_plan(region, settings_with(SOIL_DAY, region.settings))
    lines = [f"Soil on {SOIL_DAY}"]
    for name, row in plan.fields.iterrows():
        lines.append(
            f"\n{name}: {row['grass']}, pH {row['soil_ph']:.2f} ({row['soil_ph_origin'] or 'not known'})"
        )
        lines += _words(plan, row, SOIL_PARTS)
    lines += [
        "",
        *(
            f"{one.client}, {one.field_id}: {sentence(one.reason, region.units)}"
            for one in plan.purchases.itertuples()
        ),
    ]
    return "\n".join([*lines, ""])


def _words(plan: Plan, row: pd.Series, parts: tuple[str, ...]) -> Iterator[str]:
    for part in parts:
        for one in row[part]:
            yield f"  {part}: {sentence(one, plan.region.units)}"


def _field(plan: Plan, name: str) -> Iterator[str]:
    row = plan.fields.loc[name]
    yield f"\n{name}: {row['grass']}, {row['intent']}, {row['stage'] or 'stage not known'}, days left {row['days_left']}"
    yield from _words(plan, row, PARTS)
    if row["why_not"] is not None:
        yield f"  why_not: {sentence(row['why_not'], plan.region.units)}"


if __name__ == "__main__":
    main()
