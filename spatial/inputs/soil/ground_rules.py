"""From where on ground is wet or steep, from the rule file."""

import tomllib
from dataclasses import fields

from spatial.inputs.rules import SHIPPED
from spatial.values import GroundRules


def read_ground_rules() -> GroundRules:
    """Return the limits of wet and of steep ground, as shares."""
    said = tomllib.loads((SHIPPED / "ground.toml").read_text(encoding="utf-8"))
    names = [part.name for part in fields(GroundRules) if part.name != "sources"]
    sources = {name: str(said[name]["source"]) for name in names}
    return GroundRules(**{name: said[name]["value"] for name in names}, sources=sources)
