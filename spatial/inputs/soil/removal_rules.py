"""What hay takes out of a field, from its rule file."""

import tomllib
from typing import Any

from spatial.inputs.rules import SHIPPED
from spatial.units import KG_PER_LB, T_PER_SHORT_TON
from spatial.values import RemovalRules

WRITTEN_UNIT = "_lb_ton"
KG_T_PER_LB_TON = KG_PER_LB / T_PER_SHORT_TON


def read_removal_rules() -> RemovalRules:
    """Return what a tonne of hay of each grass takes out of a field [kg], with the source of every number."""
    said = tomllib.loads((SHIPPED / "removal.toml").read_text(encoding="utf-8-sig"))
    kinds = [(grass, numbers) for numbers in said.values() for grass in numbers["grasses"]]
    return RemovalRules(
        kg_t={grass: {name: _kg_t(entry) for name, entry in _entries(numbers)} for grass, numbers in kinds},
        sources={
            grass: {name: str(entry["source"]) for name, entry in _entries(numbers)}
            for grass, numbers in kinds
        },
    )


def _entries(numbers: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    return [
        (name.removesuffix(WRITTEN_UNIT), entry)
        for name, entry in numbers.items()
        if name.endswith(WRITTEN_UNIT)
    ]


def _kg_t(entry: dict[str, Any]) -> tuple[float, float]:
    low, high = (float(one) * KG_T_PER_LB_TON for one in entry["value"])
    return low, high
