"""Files whose numbers are packed in different ways, brought to one: degrees C in single precision."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spatial.inputs.grids.part import GridPart, Packing, ReadRaw
from spatial.values import Window

DEG_C = Packing(1.0, 0.0, ())


def packed_alike(parts: Sequence[GridPart]) -> tuple[GridPart, ...]:
    """Return the files as they are where all are packed alike, and else as deg C with NaN for missing."""
    if all(part.packing == parts[0].packing for part in parts):
        return tuple(parts)
    return tuple(_in_deg_c(part) for part in parts)


def deg_c(raw: NDArray[Any], packing: Packing) -> NDArray[np.float64]:
    """Return raw values as deg C, NaN missing."""
    missing = np.isin(raw, np.array(packing.missing).astype(raw.dtype))
    return np.where(missing, np.nan, packing.scale * raw.astype(np.float64) + packing.offset)


def _in_deg_c(part: GridPart) -> GridPart:
    @contextmanager
    def opened() -> Iterator[ReadRaw]:
        with part.opened() as read_raw:

            def read(days: slice, window: Window) -> NDArray[Any]:
                return deg_c(read_raw(days, window), part.packing).astype(np.float32)

            yield read

    return replace(part, packing=DEG_C, opened=opened, item_bytes=max(part.item_bytes, 4))
