"""Work rates against the rows printed in Iowa State University Extension, A3-24 / PM 696, on field capacity."""

import pytest

from spatial.inputs.crews import work_rate_ha_h
from spatial.units import farmer_units, written_names

# width [ft], speed [mph], field efficiency [%], printed work rate [ac/h], tolerance of the printed figure [ac/h]
PRINTED = [
    (40, 6, 70, 20.4, 0.05),
    (60, 6, 68, 29.7, 0.05),
    (60, 12, 68, 59.3, 0.06),
    (80, 6, 68, 39.6, 0.05),
    (80, 12, 68, 79.1, 0.05),
    (15, 5, 63, 5.7, 0.05),
    (20, 6, 63, 9.2, 0.05),
    (30, 6, 60, 13.1, 0.05),
    (36, 5, 60, 13.1, 0.05),
    (45, 5, 60, 16.4, 0.05),
    # 12 ft rotary mower-conditioner: an ASAE-based extension table
    (12, 6, 75, 6.55, 0.006),
]


def inside(name, written, value):
    factor, offset = written_names(name)[written]
    return value * factor + offset


@pytest.mark.parametrize(("width_ft", "speed_mph", "efficiency_pct", "printed", "tolerance"), PRINTED)
def test_the_metric_work_rate_is_the_printed_one(width_ft, speed_mph, efficiency_pct, printed, tolerance):
    rate_ha_h = work_rate_ha_h(
        inside("speed_km_h", "speed_mph", speed_mph),
        inside("width_m", "width_ft", width_ft),
        inside("field_efficiency_share", "field_efficiency_pct", efficiency_pct),
    )
    assert farmer_units(rate_ha_h, "_ha_h", "_ac_h") == pytest.approx(printed, abs=tolerance)
