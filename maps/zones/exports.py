"""The files of a district's zones: page, paper and layers, written whole or not at all."""

from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path

from maps.exporters import written_together
from maps.zones.files import ZONE_FILES
from maps.zones.page import write_zone_page
from maps.zones.printed import print_zones
from spatial.errors import Tell, quiet
from spatial.zones import Zones


def export_zones(zones: Zones, folder: Path, made_on: datetime, paper: str, tell: Tell = quiet) -> list[Path]:
    """Write the page, the printed map for `paper` and every file of the zones into `folder`; return their paths.

    Raises InputError for a folder that cannot be written to; the old files then stay whole.
    """
    printed = partial(print_zones, paper=paper)
    writers: dict[str, Callable[[Zones, Path, datetime], None]] = {
        "zones.html": write_zone_page,
        "zones.pdf": printed,
        "zones.png": printed,
        **ZONE_FILES,
    }
    return written_together(writers, zones, folder, made_on, tell)
