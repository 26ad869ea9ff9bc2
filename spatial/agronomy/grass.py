"""The numbers of each field's grass, as columns beside the fields."""

from collections.abc import Mapping
from dataclasses import fields as parts_of

import pandas as pd

from spatial.values import Grass

YES_NO = ("may_burn", "weak_evidence", "last_cut_rule", "freeze_cut")
LISTS = ("burn_hurts", "cautions")


def grass_numbers(fields: pd.DataFrame, grasses: Mapping[str, Grass]) -> pd.DataFrame:
    """Return one column for each number of `Grass`, on the fields' index; missing where no grass is named.

    `stubble_cm` is the field's own where it has one, else the grass's `usual_stubble_cm`; `usual_regrowth_days`
    are the grass's at that usual stubble; `grass_name` is the grass in words.
    """
    table = pd.DataFrame(
        {
            one.grass: {part.name: getattr(one, part.name) for part in parts_of(Grass)}
            for one in grasses.values()
        }
    ).T.drop(columns=["grass", "sources"])
    numbers = table.reindex(fields["grass"]).set_axis(fields.index)
    plain = [name for name in numbers.columns if name not in ("name", "last_cut_cap", *YES_NO, *LISTS)]
    numbers = numbers.astype(dict.fromkeys(plain, float))
    numbers["name"] = numbers["name"].fillna("")
    for name in YES_NO:
        numbers[name] = numbers[name].eq(True)
    for name in LISTS:
        numbers[name] = numbers[name].map(lambda texts: texts if isinstance(texts, tuple) else ())
    ours = {"name": "grass_name", "stubble_cm": "usual_stubble_cm", "regrowth_days": "usual_regrowth_days"}
    numbers = numbers.rename(columns=ours)
    return numbers.assign(stubble_cm=fields["stubble_cm"].fillna(numbers["usual_stubble_cm"]))
