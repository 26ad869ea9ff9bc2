"""What reading a soil survey promises: its own values or its tables, in every form in which people have them."""

import csv
import io
import shutil
import sqlite3
from pathlib import Path

import numpy as np
import pandas as pd
import pyogrio
import pytest

from spatial.columns import SURVEY
from spatial.inputs.checks import Report
from spatial.inputs.soil.survey import read_survey
from tests.unit.making import contents, lines_of, shapes, square, write_layer, write_text

MAPUNIT = """mukey,musym,muname
1,AaB,"Alpha loam, 2 to 6 percent slopes"
2,Ro,Rock
3,CcD,Gamma
"""
COMPONENT = """comppct_r,compname,compkind,majcompflag,slope_r,drainagecl,mukey,cokey
60,Alpha,Series,Yes,4,Well drained,1,11
30,Beta,Series,No ,8,Poorly drained,1,12
90,Rock,Miscellaneous area ,Yes,,,2,21
60,Gamma,Series,Yes,12,Moderately well drained,3,31
"""
CHORIZON = """hzname,hzdept_r,hzdepb_r,ph1to1h2o_r,cokey,chkey
A,0,5,6.0,11,1
B,5,40,5.4,11,2
A,0,20,6.5,12,3
R,0,200,,21,4
A,0,15,5.5,31,5
"""
# Alpha (5 x 6.0 + 10 x 5.4) / 15 = 5.6; AaB (60 x 5.6 + 30 x 6.5) / 90 = 5.9.
EXPECTED = {"AaB": 5.9, "Ro": np.nan, "CcD": 5.5}
NAMES = ("mapunit.csv", "component.csv", "chorizon.csv")
TABLES = dict(zip(NAMES, (MAPUNIT, COMPONENT, CHORIZON), strict=True))
MATCH = pytest.approx(EXPECTED, abs=1e-6, nan_ok=True)


def read(folder, tables=None, files=None, section=(), **columns):
    """Return the survey, the lines told and those refused; `files` stand beside three polygons of mukey 1, 2, 3."""
    columns = columns or {"mukey": [1, 2, 3]}
    (count,) = {len(values) for values in columns.values()}
    write_layer(folder / "polygons.gpkg", shapes([square(place) for place in range(count)], **columns))
    for name, text in (TABLES if files is None else files).items():
        write_text(folder / name, text)
    report, named = Report(), list(TABLES if files is None else files) if tables is None else tables
    said = {"file": "polygons.gpkg", "tables": named, **dict(section)}
    found = read_survey(folder, {key: value for key, value in said.items() if value != []}, report)
    return found, lines_of(report.told), lines_of(report.wrong)


def own(folder, section=(), **columns):
    """Return the survey of polygons without tables, the lines told and those refused."""
    return read(folder, [], {}, section, **columns)


def ph_of(survey):
    return dict(zip(survey["map_unit"], survey["ph"], strict=True))


def with_table(name, text):
    return TABLES | {name: text}


def without_heading(text):
    return text.split("\n", 1)[1]


def piped(text):
    """Return a table as the public service writes it: bars between values, quotes around text."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter="|", quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerows(csv.reader(io.StringIO(text)))
    return out.getvalue()


def write_database(path, mode="delete"):
    """Write the tables under names in any case; in mode "wal", until it is closed, into a file beside it."""
    data = sqlite3.connect(path)
    data.execute(f"pragma journal_mode = {mode}")
    for name, text in zip(("MapUnit", "component", "CHORIZON"), TABLES.values(), strict=True):
        pd.read_csv(io.StringIO(text)).to_sql(name, data)
    data.commit()
    return data


def test_a_survey_has_its_columns_its_name_and_its_day(tmp_path):
    found, told, wrong = read(tmp_path, section={"date": "2025-09-01"})
    assert list(found.columns) == [column.name for column in SURVEY] + ["geometry"]
    assert ph_of(found) == MATCH
    assert found["drainage"].tolist() == ["well drained", "", "moderately well drained"]
    assert found["slope_share"].tolist() == pytest.approx([0.04, np.nan, 0.12], nan_ok=True)
    assert found.attrs == {"date": pd.Timestamp("2025-09-01"), "name": "polygons.gpkg"}
    assert (told, wrong) == ([], [])


def test_a_day_that_is_none_is_refused_and_an_unsaid_one_is_unknown(tmp_path):
    found, _told, wrong = read(tmp_path, section={"date": "09/01/2025"})
    assert wrong == ["region.toml: [survey] date: is '09/01/2025'. Write it as 2025-09-01"]
    assert found.attrs["date"] is pd.NaT


@pytest.mark.parametrize(
    ("change", "encoding"),
    [
        (lambda text: text.replace("\n", "\r\n"), "utf-8-sig"),
        (lambda text: text, "utf-16"),
        (piped, "utf-8"),
        (lambda text: text.replace(", 2", " 2").replace(",", "\t"), "utf-8"),
        (lambda text: text.replace("\n", ",\n"), "utf-8"),
        (lambda text: f"\n\n{text}\n,,\n" if text.startswith("mukey") else text, "utf-8"),
        (lambda text: text.replace("Gamma", "Gammä"), "cp1252"),
    ],
    ids=["excel", "utf-16", "bars", "tabs", "comma at the end", "empty lines", "old letters"],
)
def test_text_tables_are_read_as_people_export_them(tmp_path, change, encoding):
    for name, text in TABLES.items():
        write_text(tmp_path / name, change(text), encoding)
    found, told, wrong = read(tmp_path, list(NAMES), {})
    assert (wrong, told) == ([], [])
    assert ph_of(found) == MATCH


def test_rows_that_end_in_a_comma_more_than_their_heading_keep_their_columns(tmp_path):
    heading, rows = COMPONENT.split("\n", 1)
    found, told, _wrong = read(
        tmp_path, files=with_table("component.csv", f"{heading}\n" + rows.replace("\n", ",\n"))
    )
    assert ph_of(found) == MATCH and told == []


def test_capital_headings_and_any_order_of_the_files_do(tmp_path):
    files = {}
    for name, text in reversed(TABLES.items()):
        heading, rows = text.split("\n", 1)
        files[f"my {name.upper()}"] = f"{heading.upper()}\n{rows}"
    found, _told, _wrong = read(tmp_path, files=files)
    assert ph_of(found) == MATCH


def test_files_of_any_name_are_known_by_their_columns(tmp_path):
    files = dict(zip(("chorizon.csv", "b.csv", "mapunit.csv"), TABLES.values(), strict=True))
    assert ph_of(read(tmp_path, files=files)[0]) == MATCH


def test_one_flat_file_serves_all_three_tables(tmp_path):
    flat = (
        "mukey,musym,cokey,comppct_r,compkind,drainagecl,slope_r,hzdept_r,hzdepb_r,ph1to1h2o_r\n"
        "1,AaB,11,60,Series,Well drained,4,0,5,6.0\n1,AaB,11,60,Series,Well drained,4,5,40,5.4\n"
        "1,AaB,12,30,Series,Poorly drained,8,0,20,6.5\n"
    )
    found, told, _wrong = read(tmp_path, files={"query.csv": flat}, mukey=[1])
    assert ph_of(found) == pytest.approx({"AaB": 5.9})
    assert told == []


def test_a_folder_is_looked_through_and_other_tables_in_it_are_passed_by(tmp_path):
    inner = tmp_path / "download" / "NC113" / "tabular"
    for name, text in TABLES.items():
        write_text(inner / name, text)
    write_text(inner / "legend.csv", "lkey,areasymbol\n1,NC113\n")
    write_text(inner / "version.txt", "2.3.3\n")
    found, told, wrong = read(tmp_path, ["download"], {})
    assert ph_of(found) == MATCH and (told, wrong) == ([], [])


def test_a_copy_of_the_tables_in_the_folder_counts_once(tmp_path):
    for place in ("one", "two"):
        for name, text in TABLES.items():
            write_text(tmp_path / "soil" / place / name, text)
    found, told, _wrong = read(tmp_path, ["soil"], {})
    assert ph_of(found) == MATCH and told == []


def test_tables_of_two_survey_areas_are_read_together(tmp_path):
    more = {
        "component_b.csv": "mukey,cokey,comppct_r,compkind,drainagecl,slope_r\n9,91,100,Series,,\n",
        "chorizon_b.csv": "cokey,hzdept_r,hzdepb_r,ph1to1h2o_r\n91,0,30,7.1\n",
    }
    found, told, _wrong = read(tmp_path, files=TABLES | more, mukey=[1, 9])
    assert ph_of(found) == pytest.approx({"AaB": 5.9, "9": 7.1})
    assert told == []


def test_paths_of_the_tables_start_at_the_region_not_at_the_polygons(tmp_path):
    write_layer(tmp_path / "layers" / "polygons.gpkg", shapes([square()], mukey=[1]))
    for name, text in TABLES.items():
        write_text(tmp_path / "soil" / name, text)
    report = Report()
    found = read_survey(tmp_path, {"file": "layers/polygons.gpkg", "tables": ["soil"]}, report)
    assert report.wrong == [] and ph_of(found) == pytest.approx({"AaB": 5.9})


@pytest.mark.parametrize("name", ["tables.sqlite", "tables.gpkg", "with ?#% in it.db"])
@pytest.mark.parametrize(("mode", "is_open"), [("delete", False), ("wal", False), ("wal", True)])
def test_a_database_is_read_and_left_as_it_is(tmp_path, name, mode, is_open):
    data = write_database(tmp_path / name, mode)
    if not is_open:
        data.close()
    before = contents(tmp_path)
    found, told, wrong = read(tmp_path, [name], {})
    (tmp_path / "polygons.gpkg").unlink()
    assert contents(tmp_path) == before
    assert ph_of(found) == MATCH and (told, wrong) == ([], [])
    data.close()


def test_a_region_may_be_named_from_where_one_stands(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_database(tmp_path / "tables.db").close()
    found, _told, wrong = read(Path(), ["tables.db"], {})
    assert wrong == [] and ph_of(found) == MATCH


def test_polygons_and_tables_may_be_one_geopackage(tmp_path):
    polygons = write_layer(tmp_path / "polygons.gpkg", shapes([square()], mukey=[1]))
    write_database(polygons).close()
    report = Report()
    found = read_survey(tmp_path, {"file": "polygons.gpkg", "tables": ["polygons.gpkg"]}, report)
    assert report.wrong == [] and ph_of(found) == pytest.approx({"AaB": 5.9})


def test_a_file_geodatabase_serves(tmp_path):
    folder = tmp_path / "state.gdb"
    for name, text in zip(("mapunit", "component", "chorizon"), TABLES.values(), strict=True):
        table = pd.read_csv(io.StringIO(text)).astype({"mukey": "int32"} if "mukey" in text else {})
        table = table.astype({name: "int32" for name in table.columns if table[name].dtype == "int64"})
        pyogrio.write_dataframe(table, folder, layer=name, driver="OpenFileGDB", append=folder.exists())
    found, _told, wrong = read(tmp_path, ["state.gdb"], {})
    assert wrong == [] and ph_of(found) == MATCH


@pytest.mark.parametrize("said", [True, False])
def test_text_without_headings_is_read_only_with_the_list_of_its_columns(tmp_path, said):
    files = {
        name: without_heading(piped(text))
        for name, text in zip(("mapunit.txt", "comp.txt", "chorizon.txt"), TABLES.values(), strict=True)
    }
    columns = [
        f'"{table}"|{place}|"{column}"|"what it\nmeans"'
        for table, text in zip(("mapunit", "component", "chorizon"), TABLES.values(), strict=True)
        for place, column in enumerate(text.split("\n")[0].split(","), start=1)
    ]
    if said:
        heading = "component|colsequence|colphyname|collogname|coldesc"
        write_text(tmp_path / "mstabcol.txt", "\n".join([heading, *reversed(columns)]))
    found, _told, wrong = read(tmp_path, list(files), files)
    if said:
        assert wrong == [] and ph_of(found) == MATCH
    else:
        assert found is None and len(wrong) == 3
        assert all("names none of the survey's columns in its first line" in line for line in wrong)


def test_a_list_of_columns_for_another_edition_is_not_used(tmp_path):
    files = TABLES | {"comp.txt": without_heading(piped(COMPONENT))}
    del files["component.csv"]
    write_text(tmp_path / "mstabcol.txt", '"component"|1|"mukey"\n"component"|2|"cokey"\n')
    found, _told, wrong = read(tmp_path, list(files), files)
    assert found is None
    assert "lists 2 for its 8" in wrong[0]


@pytest.mark.parametrize(
    ("files", "line"),
    [
        (with_table("component.csv", ""), "component.csv: is empty. Export the table again"),
        (
            with_table("chorizon.csv", CHORIZON.replace("ph1to1h2o_r", "ph_l").replace("hzdept_r", "top")),
            "chorizon.csv: columns hzdept_r, ph1to1h2o_r: not there. Export the table with all columns",
        ),
        (with_table("component.csv", "PK\x03\x04 zipped"), "component.csv: is a spreadsheet or a zip."),
        (with_table("component.csv", "a\0b"), "component.csv: is not a table that lastcut reads."),
        (
            with_table("component.csv", "SQLite format 3\0 broken"),
            "component.csv: cannot be read as a database",
        ),
        (with_table("legend.csv", "lkey,area\n1,x\n"), "legend.csv: names none of the survey's columns"),
        (
            {"mapunit.csv": MAPUNIT, "component.csv": COMPONENT},
            "region.toml: [survey] tables, mapunit.csv, component.csv: hold no table chorizon.",
        ),
        (
            with_table("component.csv", COMPONENT.split("\n", 1)[0] + "\n"),
            "component.csv: has none of the map units of polygons.gpkg.",
        ),
    ],
)
def test_tables_that_cannot_be_used_are_refused_in_one_line(tmp_path, files, line):
    found, _told, wrong = read(tmp_path, files=files)
    assert found is None and len(wrong) == 1
    assert wrong[0].startswith(line)


def test_a_table_that_is_not_there_and_an_empty_list_are_refused(tmp_path):
    found, _told, wrong = read(tmp_path, ["gone.csv"])
    assert found is None and wrong == ["region.toml: [survey] tables, gone.csv: is not there. Check its name"]
    report = Report()
    section = {"file": "polygons.gpkg", "tables": []}
    assert read_survey(tmp_path, section, report) is None
    assert "names no file" in lines_of(report.wrong)[0]


def test_tables_of_another_area_are_refused(tmp_path):
    found, _told, wrong = read(tmp_path, mukey=[7, 8])
    assert found is None
    assert wrong == [
        "component.csv: has none of the map units of polygons.gpkg. Name the tables of the same survey area"
    ]


def test_a_row_of_another_length_is_left_out_and_told_by_its_line(tmp_path):
    component = COMPONENT.replace("30,Beta", "30,Be,ta")
    found, told, _wrong = read(tmp_path, files=with_table("component.csv", component))
    assert ph_of(found)["AaB"] == pytest.approx(5.6)
    mend = "more values than columns, so left out. Put quotes around a value with a separator in it"
    assert told == [f"component.csv: row 3: {mend}"]


def test_a_row_cut_short_is_told_with_another_mend(tmp_path):
    files = with_table("chorizon.csv", CHORIZON[: CHORIZON.index("15,5.5")])
    _found, told, _wrong = read(tmp_path, files=files)
    said = (
        "fewer values than columns, so left out. Export the table again; it may be cut short or lack a quote"
    )
    assert told[0] == f"chorizon.csv: row 6: {said}"


@pytest.mark.parametrize(
    "keys", [["1", "2", "3"], [" 1", "2 ", "3.0"], [1.0, 2.0, 3.0]], ids=["text", "blanks", "decimals"]
)
def test_keys_join_however_they_are_stored(tmp_path, keys):
    assert ph_of(read(tmp_path, mukey=keys)[0]) == MATCH


def test_keys_of_the_tables_join_however_they_are_written(tmp_path):
    component = (
        COMPONENT.replace("drained,1,1", "drained,1.0, 1").replace(",3,31", ",003 ,31").replace("003 ", "3 ")
    )
    assert ph_of(read(tmp_path, files=with_table("component.csv", component))[0]) == MATCH


def test_map_units_without_rows_are_named_with_their_land(tmp_path):
    columns = {"MUKEY": [1, 8, 9, 9], "MUSYM": ["AaB", "", "Zz", "Zz"]}
    found, told, _wrong = read(tmp_path, **columns)
    assert found["map_unit"].tolist() == ["AaB", "8", "Zz", "Zz"]
    assert found["ph"].isna().tolist() == [False, True, True, True]
    assert len(told) == 1
    assert told[0].startswith("polygons.gpkg: map units 8, Zz: no rows in component.csv")
    # 0.004 degrees are 375.9 m by 443.6 m at 32.5 N: 16.67 ha, three squares 50.0 ha, and 50.0 / 0.40469 = 123.6 acres.
    assert "124 acres (50 ha)" in told[0]


def test_a_map_unit_without_components_has_the_symbol_of_its_table(tmp_path):
    component = "\n".join(line for line in COMPONENT.split("\n") if not line.endswith(",3,31"))
    found, told, _wrong = read(tmp_path, files=with_table("component.csv", component))
    assert found["map_unit"].tolist() == ["AaB", "Ro", "CcD"]
    assert len(told) == 1 and told[0].startswith("polygons.gpkg: map unit CcD: no rows in component.csv")


def test_polygons_without_a_key_are_told_apart(tmp_path):
    found, told, _wrong = read(tmp_path, mukey=[1.0, np.nan, 3.0])
    assert found["map_unit"].tolist() == ["AaB", "", "CcD"]
    assert told == ["polygons.gpkg: shape 2: no mukey, so nothing is known of the soil. Fill it in"]


@pytest.mark.parametrize("ours", ["mukey", "map_unit"])
def test_the_column_of_the_key_may_be_named(tmp_path, ours):
    found, _told, _wrong = read(tmp_path, section={"columns": {ours: "unit"}}, unit=[1, 2, 3])
    assert ph_of(found) == MATCH


def test_a_symbol_that_looks_like_nothing_is_a_symbol(tmp_path):
    files = {name: text for name, text in TABLES.items() if name != "mapunit.csv"}
    found, _told, _wrong = read(
        tmp_path,
        files=files,
        section={"columns": {"map_unit": "sym"}},
        mukey=[1, 2, 3],
        sym=["NA", "Na", "3E1"],
    )
    assert found["map_unit"].tolist() == ["NA", "Na", "3E1"]


def test_a_symbol_of_the_tables_that_looks_like_nothing_is_a_symbol(tmp_path):
    found, _told, _wrong = read(tmp_path, files=with_table("mapunit.csv", MAPUNIT.replace("AaB", "NA")))
    assert found["map_unit"].tolist() == ["NA", "Ro", "CcD"]


def test_without_a_key_the_tables_cannot_be_joined(tmp_path):
    found, _told, wrong = read(tmp_path, unit=[1, 2, 3])
    assert found is None
    assert wrong[0].startswith("polygons.gpkg: column 'mukey': is not there, so the tables cannot be joined.")
    assert wrong[0].endswith("the file has: field_id, unit")


def ph_with(folder, component=COMPONENT, chorizon=CHORIZON):
    files = TABLES | {"component.csv": component, "chorizon.csv": chorizon}
    found, told, _wrong = read(folder, files=files)
    return ph_of(found), told


def test_impossible_cells_are_told_a_line_for_each_column_and_left_out(tmp_path):
    chorizon = CHORIZON.replace("6.0", "60").replace("6.5", "n.d.").replace("5.5,31", "-5,31")
    ph, told = ph_with(tmp_path, COMPONENT.replace("60,Alpha", "160,Alpha"), chorizon)
    assert ph == pytest.approx({"AaB": np.nan, "Ro": np.nan, "CcD": np.nan}, nan_ok=True)
    assert told[0].startswith(
        "component.csv: cokey '11', comppct_r = '160': is not a possible number here, so left out"
    )
    assert told[1].startswith(
        "chorizon.csv: cokey '11', ph1to1h2o_r = '60'; cokey '12', ph1to1h2o_r = 'n.d.'; cokey '31', ph1"
    )


@pytest.mark.parametrize("kind", ["Miscellaneous area", "MISCELLANEOUS AREA  ", " miscellaneous  area"])
def test_a_miscellaneous_area_is_out_even_with_a_ph(tmp_path, kind):
    component = COMPONENT.replace("30,Beta,Series", f"30,Beta,{kind}")
    assert ph_with(tmp_path, component)[0]["AaB"] == pytest.approx(5.6)


def test_repeated_rows_count_once(tmp_path):
    ph, told = ph_with(tmp_path, COMPONENT + without_heading(COMPONENT), CHORIZON + without_heading(CHORIZON))
    assert ph == MATCH and told == []


def test_a_component_in_two_rows_that_differ_counts_by_the_larger_and_is_told(tmp_path):
    ph, told = ph_with(tmp_path, COMPONENT + "1,Alpha,Series,Yes,4,Well drained,1,11\n")
    assert ph == MATCH
    assert told[0].startswith(
        "component.csv: component 11: in rows that differ; the one with most land counts"
    )


def test_components_over_100_percent_are_told(tmp_path):
    _ph, told = ph_with(tmp_path, COMPONENT.replace("30,Beta", "70,Beta"))
    assert told[0].startswith("component.csv: map unit 1: components that add up to over 100 %")


def test_a_map_unit_whose_components_are_all_0_percent_is_told(tmp_path):
    component = COMPONENT.replace("60,Alpha", "0,Alpha").replace("30,Beta", "0,Beta")
    ph, told = ph_with(tmp_path, component)
    assert np.isnan(ph["AaB"])
    said = "components that are all 0 %, so nothing is known of the soil. Mend comppct_r"
    assert told == [f"component.csv: map unit 1: {said}"]


def test_a_component_without_a_share_is_left_out_and_told(tmp_path):
    ph, told = ph_with(tmp_path, COMPONENT.replace("30,Beta", ",Beta"))
    assert ph["AaB"] == pytest.approx(5.6)
    assert told == ["component.csv: component 12: no comppct_r, so left out of their map units. Fill it in"]


def test_horizons_over_each_other_count_by_thickness_and_are_told(tmp_path):
    # Alpha (5 x 6.0 + 10 x 5.4 + 5 x 7.0) / 20 = 5.95; AaB (60 x 5.95 + 30 x 6.5) / 90.
    ph, told = ph_with(tmp_path, chorizon=CHORIZON + "AB,4,9,7.0,11,6\n")
    assert ph["AaB"] == pytest.approx(552 / 90)
    assert told[0].startswith("chorizon.csv: component 11: horizons that lie over each other")


@pytest.mark.parametrize("depths", ["0,,", ",20,", ",,"])
def test_a_horizon_without_true_depths_is_left_out_and_told(tmp_path, depths):
    ph, told = ph_with(tmp_path, chorizon=CHORIZON.replace("A,0,20,", f"A,{depths}"))
    assert ph["AaB"] == pytest.approx(5.6)
    assert told[0].startswith("chorizon.csv: component 12: horizons whose depths are missing or cannot be")


UPSIDE = "horizons upside down, their bottom over their top, so left out. Swap their depths"


@pytest.mark.parametrize("depths", ["20,5,", "10,0,", "-2,-5,"])
def test_a_horizon_upside_down_is_told_as_such_and_is_no_litter(tmp_path, depths):
    ph, told = ph_with(tmp_path, chorizon=CHORIZON.replace("A,0,20,", f"A,{depths}"))
    assert ph["AaB"] == pytest.approx(5.6)
    assert told == [f"chorizon.csv: component 12: {UPSIDE}"]


def test_all_horizons_upside_down_are_told(tmp_path):
    chorizon = CHORIZON.replace("A,0,5,6.0,11,1", "A,10,0,6.0,11,1").replace("B,5,40,", "B,40,10,")
    _ph, told = ph_with(tmp_path, chorizon=chorizon)
    assert f"chorizon.csv: component 11: {UPSIDE}" in told


def test_litter_over_a_soil_whose_first_horizon_has_no_ph_is_litter(tmp_path):
    horizons = "Oi,5,0,3.9,31,5\nA,0,4,,31,6\nB,4,15,5.5,31,7\n"
    ph, told = ph_with(tmp_path, chorizon=CHORIZON.replace("A,0,15,5.5,31,5\n", horizons))
    assert ph == MATCH and told == []


@pytest.mark.parametrize("depths", ["-3,0", "5,0", "-5,-2"])
def test_litter_above_the_surface_does_not_count(tmp_path, depths):
    ph, told = ph_with(tmp_path, chorizon=CHORIZON + f"Oi,{depths},3.9,31,6\n")
    assert ph == MATCH and told == []


def test_a_horizon_below_15_cm_does_not_count_and_needs_no_bottom(tmp_path):
    ph, told = ph_with(tmp_path, chorizon=CHORIZON + "C,15,,8.0,31,6\nC,15,90,8.0,12,7\n")
    assert ph == MATCH and told == []


def test_soil_without_a_ph_is_told_and_rock_is_not(tmp_path):
    ph, told = ph_with(tmp_path, chorizon=CHORIZON.replace("5.5,31", ",31"))
    assert ph == pytest.approx({"AaB": 5.9, "Ro": np.nan, "CcD": np.nan}, nan_ok=True)
    assert told == ["polygons.gpkg: map unit CcD: soil without a pH in the tables. Sample there"]


@pytest.mark.parametrize(("share", "lines"), [(49, 1), (50, 0)])
def test_a_ph_that_stands_for_less_than_half_is_told(tmp_path, share, lines):
    _ph, told = ph_with(tmp_path, COMPONENT.replace("60,Gamma", f"{share},Gamma"))
    assert len(told) == lines


def test_land_of_ph_6_is_not_below_6_by_a_rounding(tmp_path):
    chorizon = CHORIZON.replace("6.5", "6.0").replace("5.4", "6.0")
    for shares in ("60 30", "17 73", "33 39", "7 2"):
        first, second = shares.split()
        component = COMPONENT.replace("60,Alpha", f"{first},Alpha").replace("30,Beta", f"{second},Beta")
        assert ph_with(tmp_path, component, chorizon)[0]["AaB"] == 6.0


def test_the_order_of_rows_changes_nothing(tmp_path):
    component, chorizon = (
        "\n".join([text.split("\n")[0], *reversed(text.strip().split("\n")[1:])])
        for text in (COMPONENT, CHORIZON)
    )
    tied = component.replace("30,Beta", "60,Beta")
    again = COMPONENT.replace("30,Beta", "60,Beta")
    first = read(tmp_path, files=TABLES | {"component.csv": tied, "chorizon.csv": chorizon})[0]
    second = read(tmp_path, files=TABLES | {"component.csv": again})[0]
    assert first.equals(second)


def test_columns_that_a_table_lacks_cost_their_values_only(tmp_path):
    component = COMPONENT.replace("drainagecl", "x").replace("slope_r", "y")
    found, told, _wrong = read(tmp_path, files=with_table("component.csv", component))
    assert ph_of(found) == MATCH
    assert (found["drainage"] == "").all() and found["slope_share"].isna().all()
    lost = "so no drainage is known, and so no slope is known. Export the table with all columns"
    assert told == [f"component.csv: columns drainagecl, slope_r: not there, {lost}"]


def test_of_two_drainage_classes_the_wetter_counts(tmp_path):
    said = ["Well drained/Somewhat poorly drained", "very-poorly drained", "Moderately Well", "wet"]
    found, told, _wrong = own(tmp_path, ph=[6, 6, 6, 6], drainagecl=said)
    assert found["drainage"].tolist() == [
        "somewhat poorly drained", "very poorly drained", "moderately well drained", "",
    ]  # fmt: skip
    assert told[0].startswith(
        "polygons.gpkg: drainage 'wet': is no drainage class of the survey, so not used"
    )


def test_own_values_are_read_in_their_unit_and_under_their_name(tmp_path):
    found, told, wrong = own(
        tmp_path, {"columns": {"ph": "acid"}}, musym=["a", "b"], acid=["5.4", ""], slope_pct=[3, 12]
    )
    assert ph_of(found) == pytest.approx({"a": 5.4, "b": np.nan}, nan_ok=True)
    assert found["slope_share"].tolist() == pytest.approx([0.03, 0.12])
    assert found.attrs["name"] == "polygons.gpkg" and (told, wrong) == ([], [])


def test_an_impossible_own_value_is_told_and_the_rest_goes_on(tmp_path):
    found, told, wrong = own(tmp_path, musym=["a", "b", "c"], ph=["5.4", "65", "sour"])
    assert ph_of(found) == pytest.approx({"a": 5.4, "b": np.nan, "c": np.nan}, nan_ok=True)
    assert wrong == []
    said = "is not a possible number here, so left out. pH of the top 15 cm: 2.5 to 10.5 as ph"
    assert told == [f"polygons.gpkg: row 2, ph = '65'; row 3, ph = 'sour': {said}"]


def test_polygons_without_a_ph_ask_for_the_column_or_the_tables(tmp_path):
    found, _told, wrong = own(tmp_path, musym=["a"], acid=[5.4])
    assert found is None and len(wrong) == 1
    assert "tables = [" in wrong[0] and wrong[0].endswith("the file has: field_id, musym, acid")


def test_a_mapped_column_that_is_not_there_is_refused_once(tmp_path):
    found, told, wrong = own(tmp_path, {"columns": {"ph": "acid"}}, musym=["a"])
    assert found is None and len(wrong) == 1 and told == []


def test_a_survey_without_any_ph_says_so(tmp_path):
    found, told, _wrong = own(tmp_path, ph=["", "n/a"])
    assert found["ph"].isna().all()
    assert told == ["polygons.gpkg: gives no pH for any of its land. Check the column of pH, or the tables"]


def test_a_survey_of_impossible_ph_is_told_in_one_line(tmp_path):
    _found, told, _wrong = own(tmp_path, ph=["65", "64"])
    assert len(told) == 1 and "is not a possible number here" in told[0]


def test_tables_without_any_ph_are_told_in_one_line(tmp_path):
    chorizon = "\n".join([CHORIZON.split("\n", maxsplit=1)[0], "R,0,200,,21,4", ""])
    _found, told, _wrong = read(tmp_path, files=with_table("chorizon.csv", chorizon))
    assert told == ["polygons.gpkg: gives no pH for any of its land. Check the column of pH, or the tables"]


def test_tables_of_rock_alone_are_told_to_give_no_ph(tmp_path):
    _found, told, _wrong = read(tmp_path, mukey=[2])
    assert told == ["polygons.gpkg: gives no pH for any of its land. Check the column of pH, or the tables"]


def test_polygons_that_cannot_be_read_are_refused(tmp_path):
    report = Report()
    assert read_survey(tmp_path, {"file": "gone.gpkg"}, report) is None
    assert len(report.wrong) == 1


def test_a_geodatabase_in_the_folder_is_not_searched_for_text(tmp_path):
    shutil.copytree(tmp_path, tmp_path / "soil" / "some.gdb", ignore=lambda *_names: ["soil"])
    write_text(tmp_path / "soil" / "some.gdb" / "component.csv", "nonsense")
    for name, text in TABLES.items():
        write_text(tmp_path / "soil" / name, text)
    found, _told, wrong = read(tmp_path, ["soil"], {})
    assert wrong == [] and ph_of(found) == MATCH
