"""The numbers of each field's grass, as columns beside the fields."""

from collections.abc import Mapping
from dataclasses import fields as parts_of

import pandas as pd

from spatial.values import Grass

TEXTS = ("grass", "sources")


def grass_numbers(fields: pd.DataFrame, grasses: Mapping[str, Grass]) -> pd.DataFrame:
    """Return one column for each number of `Grass`, on the fields' index; missing where no grass is named.

    `stubble_cm` is the field's own where it has one, else the grass's `usual_stubble_cm`; `grass_name` is the
    grass in words.
    """
    table = pd.DataFrame(
        {
            grass.grass: {part.name: getattr(grass, part.name) for part in parts_of(Grass)}
            for grass in grasses.values()
        }
    ).T.drop(columns=[*TEXTS])
    numbers = table.reindex(fields["grass"]).set_axis(fields.index).rename(columns={"name": "grass_name"})
    plain = [name for name in numbers.columns if name.endswith(("_cm", "_c", "_days", "_ph", "_h"))]
    numbers = numbers.astype(dict.fromkeys(plain, float))
    numbers["grass_name"] = numbers["grass_name"].fillna("")
    for name in ("may_burn", "weak_evidence"):
        numbers[name] = numbers[name].eq(True)
    own = fields["stubble_cm"].fillna(numbers["stubble_cm"])
    return numbers.assign(usual_stubble_cm=numbers["stubble_cm"], stubble_cm=own)
