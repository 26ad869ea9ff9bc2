"""Buffer pH that the buffer of its row cannot read: told and left out."""

import math
from collections.abc import Sequence

import pandas as pd

from spatial.inputs.checks import Report, listed, row_numbers
from spatial.names import plain
from spatial.soil import LimeMethod

MOST_VALUES = 4  # told of those that cannot be


def in_buffer(tests: pd.DataFrame, methods: Sequence[LimeMethod], file: str, report: Report) -> pd.DataFrame:
    """Return the tests without each buffer pH that lies outside all methods of its buffer; all that is told.

    A buffer that no method names is not judged.
    """
    impossible = pd.Series(False, index=tests.index)
    for buffer in sorted(set(tests["buffer"])):
        least, most = _span(buffer, methods)
        its = (tests["buffer"] == buffer) & ((tests["buffer_ph"] < least) | (tests["buffer_ph"] > most))
        if its.any():
            values = ", ".join(f"{value:g}" for value in sorted(set(tests["buffer_ph"][its]))[:MOST_VALUES])
            place = f"{listed('row', row_numbers(tests.index[its]))}, buffer_ph = {values}"
            mend = f"It reads {least:g} to {most:g}: check the report, and the buffer's name"
            report.tell(file, place, f"cannot be in the buffer {buffer!r}, so left out", mend)
        impossible |= its
    return tests.assign(buffer_ph=tests["buffer_ph"].mask(impossible))


def _span(buffer: str, methods: Sequence[LimeMethod]) -> tuple[float, float]:
    """Return the least and greatest pH that a buffer reads, over its methods for all grasses."""
    its = [method for method in methods if plain(buffer) and plain(buffer) in map(plain, method.buffers)]
    least = min((method.least_buffer_ph for method in its), default=-math.inf)
    return least, max((method.most_buffer_ph for method in its), default=math.inf)
