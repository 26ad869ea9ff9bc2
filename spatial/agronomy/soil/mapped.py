"""The pH that the soil survey maps for each field, weighted by area."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS


def survey_ph(
    fields: gpd.GeoDataFrame, survey: gpd.GeoDataFrame | None, limits_ph: pd.Series
) -> pd.DataFrame:
    """Return survey_ph (area-weighted mean), survey_cover_share (share of the field with a value) and
    survey_low_share (share of that part below `limits_ph`), on the fields' index; NaN where nothing is mapped.

    Arithmetic mean of pH, as the published weighted-average method for survey tables takes it.
    """  # noqa: D205 - one sentence that lists three columns
    if survey is None or survey["ph"].notna().sum() == 0 or fields.empty:
        return pd.DataFrame(
            index=fields.index, columns=["survey_ph", "survey_cover_share", "survey_low_share"], dtype=float
        )
    mapped = survey[survey["ph"].notna()]
    plane = _equal_area(fields)
    shapes, units = fields.geometry.to_crs(plane).to_numpy(), mapped.geometry.to_crs(plane).to_numpy()
    field, unit = shapely.STRtree(units).query(shapes, predicate="intersects")
    area = shapely.area(shapely.intersection(shapes[field], units[unit]))
    ph = mapped["ph"].to_numpy()[unit]
    low = ph < limits_ph.to_numpy()[field]
    covered = np.bincount(field, area, len(fields))
    covered = np.where(covered > 0, covered, np.nan)
    shares = {
        "survey_ph": np.bincount(field, area * ph, len(fields)) / covered,
        "survey_cover_share": covered / shapely.area(shapes),
        "survey_low_share": np.bincount(field, area * low, len(fields)) / covered,
    }
    return pd.DataFrame(shares, index=fields.index)


def _equal_area(fields: gpd.GeoDataFrame) -> CRS:
    west, south, east, north = fields.total_bounds
    return CRS.from_proj4(f"+proj=laea +lat_0={(south + north) / 2} +lon_0={(west + east) / 2} +ellps=WGS84")
