"""What only shows when the survey is laid over the fields: that it misses them, or covers their land twice."""

import geopandas as gpd
import numpy as np

from spatial.inputs.checks import Report, listed
from spatial.raster.overlay import covered_m2, covered_twice_m2, overlaps
from spatial.units import HA_PER_ACRE

TWICE_SHARE = 0.01  # of a field: less is the edges of map units that do not quite meet
M2_PER_HA = 10_000.0


def tell_survey_fit(fields: gpd.GeoDataFrame, survey: gpd.GeoDataFrame, report: Report) -> None:
    """Tell that the survey lies under no field, or that polygons of it lie over each other under some.

    `fields` on `field_id` with outlines; `survey` as `read_survey` gives it.
    """
    name = str(survey.attrs.get("name", "survey"))
    found = overlaps(fields.geometry, survey.geometry)
    if not len(found.left):
        report.tell(name, "", "says nothing of any field", "Check its place and its coordinate system")
        return
    summed = np.bincount(found.left, found.area_m2, minlength=len(fields))
    over_m2 = summed - covered_m2(fields.geometry, survey.geometry, found)
    some = np.flatnonzero(over_m2 > TWICE_SHARE * found.left_area_m2)
    twice_m2 = covered_twice_m2(fields.geometry, survey.geometry, found, some)
    much = twice_m2 > TWICE_SHARE * found.left_area_m2[some]
    if much.any():
        land = land_in_words(float(twice_m2[much].sum()) / M2_PER_HA)
        cause = f"{land} of the land lie under more than one polygon, and count once for each of them"
        place = listed("field", map(repr, fields.index[some[much]]))
        report.tell(name, place, cause, "Keep one polygon for each piece of land")


def land_in_words(area_ha: float) -> str:
    """Return an area in the units of both readers."""
    return f"{area_ha / HA_PER_ACRE:.3g} acres ({area_ha:.3g} ha)"
