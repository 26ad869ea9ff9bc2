"""Writes layers and tables so that the same content always gives the same bytes."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pyogrio

from sample.land import on_the_globe

WRITTEN_ON = "2026-09-08T00:00:00Z"


def write_layer(path: Path, table: gpd.GeoDataFrame, geometry_type: str) -> None:
    """Write a layer given in the district's metres as a GeoPackage in EPSG:4326; the layer is named as the file."""
    path.unlink(missing_ok=True)  # an overwritten GeoPackage keeps pages of the old one
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": WRITTEN_ON})
    pyogrio.write_dataframe(
        on_the_globe(table), path, layer=path.stem, driver="GPKG", geometry_type=geometry_type,
        promote_to_multi=geometry_type.startswith("Multi"),
    )  # fmt: skip


def write_table(path: Path, table: pd.DataFrame) -> None:
    """Write a table as CSV: UTF-8, one heading line, line feeds; a name that ends in .gz is packed."""
    packed: Any = {"method": "gzip", "compresslevel": 9, "mtime": 0} if path.suffix == ".gz" else None
    table.to_csv(path, index=False, encoding="utf-8", lineterminator="\n", compression=packed)


def write_text(path: Path, text: str) -> None:
    """Write text as UTF-8 with line feeds."""
    path.write_text(text, encoding="utf-8", newline="\n")
