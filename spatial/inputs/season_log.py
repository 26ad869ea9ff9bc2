"""The season log: what people did and saw, one fact a line, each checked for what its kind needs."""

from pathlib import Path
from typing import Any

import pandas as pd

from spatial.columns import SEASON_LOG, Column
from spatial.inputs.cells import MISSING
from spatial.inputs.checks import Report, Source, checked, row_numbers
from spatial.inputs.tables import empty_table, read_csv

LOG_FILE = "season_log.csv"  # where facts go when region.toml names no other file
VALUES = {
    "cut": Column("value", "number", "stubble in cm", least=0, most=60),
    "hay": Column("value", "number", "hay taken off the whole field in t", least=0, most=5_000),
    "height": Column("value", "number", "canopy height in cm", least=0, most=300),
    "freeze_cut": Column("value", "number", "canopy height before it in cm", least=0, most=300),
    "fall_armyworm": Column("value", "number", "canopy eaten in cm", least=0, most=300),
    "stem_maggot": Column("value", "number", "canopy eaten in cm", least=0, most=300),
    "stand_cover": Column("value", "number", "ground covered by the grass in percent", least=0, most=100),
    "sprayed_until": Column("value", "date", "the label's date"),
}
OF_A_VALUE = {"hay", "height", "stand_cover", "sprayed_until"}
OF_A_FIELD = {"cut", "hay", "height", "freeze_cut", "green_up", "stand_cover", "grazed", "sprayed_until"}
OF_A_FIELD_OR_AREA = {"killing_freeze", "fall_armyworm", "stem_maggot"}


def read_season_log(folder: Path, section: dict[str, Any], report: Report) -> pd.DataFrame:
    """Return the facts of a region's log in the order they were written; none where there is no log yet."""
    path = log_path(folder, section)
    if not path.exists() or path.stat().st_size == 0:
        if "file" in section:
            report.tell(path.name, "", "is not there yet", "The first fact that is recorded starts it")
        return empty_table(SEASON_LOG)
    raw = read_csv(path, report)
    if raw is None:
        return empty_table(SEASON_LOG)
    facts = checked(raw, SEASON_LOG, Source(path.name, section.get("columns", {})), report)
    check_facts(facts, path.name, report)
    return facts.reset_index(drop=True)


def log_path(folder: Path, section: dict[str, Any]) -> Path:
    """Return the path of a region's log, from its section of region.toml."""
    return folder / str(section.get("file", LOG_FILE))


def check_facts(facts: pd.DataFrame, file: str, report: Report) -> None:
    """Report facts without what their kind needs: a possible value, a field, a field or an area."""
    for kind, column in VALUES.items():
        checked(facts.loc[facts["fact"] == kind, ["value"]], (column,), Source(file), report)
    no_field = facts["field_id"] == ""
    needs = {
        "names no field": no_field & facts["fact"].isin(OF_A_FIELD),
        "names neither a field nor an area": no_field
        & (facts["area"] == "")
        & facts["fact"].isin(OF_A_FIELD_OR_AREA),
        "has no value": facts["fact"].isin(OF_A_VALUE) & facts["value"].str.lower().isin(MISSING),
    }
    for cause, faulty in needs.items():
        for number in row_numbers(facts.index[faulty]):
            report.refuse(file, f"row {number}", cause, "Fill it in, or take the row out")
