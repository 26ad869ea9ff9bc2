"""The rule of the public soil survey worked by hand on its own rows: thickness, then shares, without rock and towns.

All rows: USDA-NRCS SSURGO, survey area NC113 (Macon County, North Carolina), tables component and chorizon, public
domain; blanks as they stand there. Rule: the weighted average of the public soilDB library, to 15 cm.
"""

import pytest
import shapely

from spatial.inputs.checks import Report
from spatial.inputs.soil.survey import read_survey
from tests.unit.making import lines_of, shapes, write_layer, write_text

COMPONENT = """comppct_r,compname,compkind,majcompflag,slope_r,drainagecl,mukey,cokey
15,Rock outcrop,Miscellaneous area,Yes,,,545800,24825510
35,Craggey,Series,Yes,23.0,Somewhat excessively drained,545800,24825511
45,Burton,Series,Yes,23.0,Well drained,545800,24825512
12,Saunook,Series,No ,22.0,Well drained,545836,24825996
8,Hayesville,Series,No ,22.0,Well drained,545836,24825997
30,Cowee,Series,Yes,22.0,Well drained,545836,24825998
50,Evard,Series,Yes,22.0,Well drained,545836,24825999
2,Thurmont,Series,No ,5.0,Well drained,545882,24825930
2,Cullowhee,Series,No ,2.0,Somewhat poorly drained,545882,24825931
60,Udorthents,Taxon above family,Yes,3.0,Well drained,545882,24825932
30,Urban land,Miscellaneous area,Yes,,,545882,24825933
2,Dellwood,Series,No ,3.0,Moderately well drained,545882,24825934
2,Dillard,Series,No ,3.0,Moderately well drained,545882,24825935
2,Reddies,Series,No ,3.0,Moderately well drained,545882,24825936
60,Rock outcrop,Miscellaneous area,Yes,,,545857,24825343
30,Cleveland,Series,Yes,63.0,Somewhat excessively drained,545857,24825344
40,Cleveland,Series,Yes,23.0,Somewhat excessively drained,545813,24825388
35,Chestnut,Series,Yes,23.0,Well drained,545813,24825389
15,Rock outcrop,Miscellaneous area,Yes,,,545813,24825390
2,Chestnut,Series,No ,40.0,Well drained,545853,24826056
4,Unaka,Series,No ,40.0,Well drained,545853,24826057
4,Porters,Series,No ,40.0,Well drained,545853,24826058
80,Plott,Series,Yes,40.0,Well drained,545853,24826059
4,Tuckasegee,Series,No ,40.0,Well drained,545853,24826060
4,Cullasaja,Series,No ,40.0,Well drained,545853,24826061
2,Edneyville,Series,No ,40.0,Well drained,545853,24826062
"""
# Whole columns of 545800, 545836 and 545857; of the others only what reaches into the top 15 cm.
CHORIZON = """hzname,hzdept_r,hzdepb_r,ph1to1h2o_r,cokey,chkey
R,0,203,,24825510,73895279
A,0,43,4.8,24825511,73895281
R,43,203,,24825511,73895280
A,0,46,4.8,24825512,73895283
Bw,46,91,4.8,24825512,73895284
R,91,203,,24825512,73895282
A,0,23,5.5,24825996,73896926
Bt,23,150,5.5,24825996,73896928
BC,150,203,5.5,24825996,73896927
A,0,13,5.0,24825997,73896929
Bt,13,96,4.8,24825997,73896931
BC,96,122,4.8,24825997,73896930
C,122,203,4.8,24825997,73896932
A,0,13,5.3,24825998,73896934
Bt,13,68,5.3,24825998,73896935
Cr,68,203,,24825998,73896933
A,0,13,5.3,24825999,73896936
Bt,13,81,5.3,24825999,73896938
BC,81,114,5.3,24825999,73896937
C,114,203,5.3,24825999,73896939
R,0,203,,24825343,73894811
A,0,13,5.3,24825344,73894813
Bw,13,36,5.3,24825344,73894814
R,36,203,,24825344,73894812
Ap,0,10,5.0,24825930,73896714
Bt1,10,89,5.0,24825930,73896715
A,0,33,5.6,24825931,73896722
C,0,203,4.5,24825932,73896723
A1,0,21,5.9,24825934,73896726
Ap,0,18,5.0,24825935,73896727
A,0,36,5.9,24825936,73896731
A,0,13,5.3,24825388,73894948
Bw,13,43,5.3,24825388,73894949
A,0,13,4.8,24825389,73894951
Bw,13,91,4.8,24825389,73894952
R,0,203,,24825390,73894954
A,0,8,4.8,24826056,73897162
Bw,8,71,4.8,24826056,73897163
A,0,23,5.0,24826057,73897165
A,0,23,5.5,24826058,73897172
Oi,0,3,4.3,24826059,73897173
A1,3,18,4.8,24826059,73897176
A,0,28,5.5,24826060,73897179
A,0,46,5.3,24826061,73897182
A,0,13,5.3,24826062,73897186
Bw,13,64,5.3,24826062,73897187
"""


@pytest.fixture(name="survey", scope="module")
def _survey(tmp_path_factory):
    """Return the values of the map units on their keys, and what was told."""
    folder, report = tmp_path_factory.mktemp("survey"), Report()
    keys = [545800, 545836, 545882, 545857, 545813, 545853]
    outlines = [shapely.box(-83.5 + 0.01 * place, 35.0, -83.495 + 0.01 * place, 35.005) for place in range(6)]
    write_layer(folder / "polygons.gpkg", shapes(outlines, mukey=keys))
    write_text(folder / "component.csv", COMPONENT)
    write_text(folder / "chorizon.csv", CHORIZON)
    section = {"file": "polygons.gpkg", "tables": ["component.csv", "chorizon.csv"]}
    found = read_survey(folder, section, report)
    assert report.wrong == []
    return found.set_index("map_unit"), lines_of(report.told)


def test_rock_outcrop_takes_no_part(survey):
    # BuD: rock outcrop (15 %) is out. Craggey: A 0-43, clipped to 0-15, pH 4.8. Burton: A 0-46, clipped, 4.8.
    # (35 x 4.8 + 45 x 4.8) / 80 = 384 / 80 = 4.8.
    assert survey[0].loc["545800", "ph"] == pytest.approx(4.8, abs=1e-9)


def test_two_soils_and_rock_are_weighted_by_their_shares(survey):
    # CpD: rock outcrop (15 %) is out. (40 x 5.3 + 35 x 4.8) / 75 = (212 + 168) / 75 = 380 / 75 = 5.066667.
    assert survey[0].loc["545813", "ph"] == pytest.approx(5.066667, abs=1e-6)


def test_a_horizon_that_crosses_15_cm_counts_for_its_part_above(survey):
    # EvD, Hayesville: A 0-13 pH 5.0, Bt 13-96 pH 4.8, of it 13-15: (13 x 5.0 + 2 x 4.8) / 15 = 74.6 / 15 = 4.973333.
    # Saunook 5.5; Cowee and Evard (13 x 5.3 + 2 x 5.3) / 15 = 5.3.
    # (12 x 5.5 + 8 x 4.973333 + 30 x 5.3 + 50 x 5.3) / 100 = (66 + 39.786667 + 159 + 265) / 100 = 5.297867.
    assert survey[0].loc["545836", "ph"] == pytest.approx(5.297867, abs=1e-6)


def test_shares_below_100_are_weighed_among_themselves(survey):
    # UfB: urban land (30 %) is out, six soils have 70 %.
    # (2 x 5.0 + 2 x 5.6 + 60 x 4.5 + 2 x 5.9 + 2 x 5.0 + 2 x 5.9) / 70
    # = (10 + 11.2 + 270 + 11.8 + 10 + 11.8) / 70 = 324.8 / 70 = 4.64.
    assert survey[0].loc["545882", "ph"] == pytest.approx(4.64, abs=1e-9)


def test_litter_counts_where_the_survey_measures_from_its_top(survey):
    # PwE, Plott: Oi 0-3 pH 4.3, A1 3-18 pH 4.8, of it 3-15: (3 x 4.3 + 12 x 4.8) / 15 = 70.5 / 15 = 4.7.
    # (2 x 4.8 + 4 x 5.0 + 4 x 5.5 + 80 x 4.7 + 4 x 5.5 + 4 x 5.3 + 2 x 5.3) / 100
    # = (9.6 + 20 + 22 + 376 + 22 + 21.2 + 10.6) / 100 = 481.4 / 100 = 4.814.
    assert survey[0].loc["545853", "ph"] == pytest.approx(4.814, abs=1e-9)


def test_drainage_and_slope_are_those_of_the_soil_with_the_most_land(survey):
    # BuD: Burton (45 %) before Craggey (35 %). UfB: Udorthents. RkF: Cleveland, though rock has twice its land.
    values = survey[0].loc[["545800", "545882", "545857"]]
    assert values["drainage"].tolist() == ["well drained", "well drained", "somewhat excessively drained"]
    assert values["slope_share"].tolist() == [0.23, 0.03, 0.63]


def test_a_ph_that_stands_for_30_of_100_parts_is_told(survey):
    # RkF: rock outcrop 60 %, Cleveland 30 % at 5.3.
    values, told = survey
    assert values.loc["545857", "ph"] == 5.3
    said = "map unit 545857: pH is known for less than half of the land."
    assert [line.startswith(f"polygons.gpkg: {said}") for line in told] == [True]
