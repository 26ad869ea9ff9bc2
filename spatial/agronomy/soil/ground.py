"""Why the ground of a field asks for care: wet or steep by the soil survey."""

from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.values import GroundRules


def ground_reasons(mapped: pd.DataFrame, ground: GroundRules) -> pd.Series:
    """Return the reasons (tuple, may be empty) of each field; `mapped` has drainage, wet_ and steep_share."""
    found = [(*_wet(row, ground), *_steep(row, ground)) for row in mapped.itertuples()]
    return pd.Series(found, index=mapped.index, dtype=object)


def _wet(row: Any, ground: GroundRules) -> tuple[Reason, ...]:
    if not row.wet_share >= ground.wet_share:  # nor where it is unknown
        return ()
    return (reason("ground_wet", wet_share=row.wet_share, wet_from=ground.wet_from),)


def _steep(row: Any, ground: GroundRules) -> tuple[Reason, ...]:
    if not row.steep_share >= ground.steep_share:
        return ()
    return (reason("ground_steep", steep_share=row.steep_share, steep_slope_share=ground.steep_slope_share),)
