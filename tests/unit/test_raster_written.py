"""What writing layers window by window, and swapping files in whole, promise."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
import rasterio
from pyproj import CRS

from spatial.errors import InputError
from spatial.raster.freeze_codes import FreezeFacts, chance_tags, coded, season_tags
from spatial.raster.written import LayerForm, check_targets, stored_windows, tiles, written_layer
from spatial.store import written_whole
from spatial.values import Grid, Window
from tests.unit.making import contents, lines_of, write_text

GRID = Grid(CRS.from_epsg(5070), 1_000_000.0, 1_200_000.0, 4000.0, 4000.0, 300, 520)
FACTS = FreezeFacts(-20 / 9, (8, 1), (1991, 1992, 1994), ((9, 1), (1, 28)), "standard", "a.nc")


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def form(dtype="int16", bands=("1991-92", "1992-93"), **tags):
    return LayerForm(GRID, bands, dtype, -9999, tags)


def write(path, one=None):
    with written_layer(path, one or form()) as put:
        put(np.full((2, 20, 30), 7), Window(290 - 20, 490, 20, 30), 1)
        put(np.full((1, 1, 1), 8), Window(0, 0, 1, 1), 2)
    return path


def test_values_stand_in_their_window_and_band_and_nodata_elsewhere(tmp_path):
    with rasterio.open(write(tmp_path / "a.tif")) as raster:
        values = raster.read()
    assert (values[:, 270:290, 490:520] == 7).all()
    assert values[1, 0, 0] == 8 and values[0, 0, 0] == -9999
    assert np.count_nonzero(values != -9999) == 2 * 20 * 30 + 1


def test_a_layer_says_its_bands_its_tags_its_place_and_its_nodata(tmp_path):
    with rasterio.open(write(tmp_path / "a.tif", form(codes="what they mean"))) as raster:
        assert raster.descriptions == ("1991-92", "1992-93")
        assert raster.tags()["codes"] == "what they mean"
        assert (raster.crs.to_epsg(), raster.nodata, raster.dtypes[0]) == (5070, -9999, "int16")
        assert tuple(raster.transform)[:6] == (4000, 0, 1_000_000, 0, -4000, 1_200_000)


@pytest.mark.parametrize("dtype", ["int16", "uint8", "float32"])
def test_a_layer_is_tiled_and_deflated_in_every_type(tmp_path, dtype):
    one = LayerForm(GRID, ("a", "b"), dtype, 0)
    with rasterio.open(write(tmp_path / "a.tif", one)) as raster:
        assert raster.block_shapes[0] == (256, 256)
        assert raster.compression.value == "DEFLATE"
        assert raster.read(1)[275, 500] == 7


def test_what_is_stored_comes_back_tile_by_tile(tmp_path):
    path = write(tmp_path / "a.tif")
    with rasterio.open(path) as raster:
        whole = raster.read()
    put_together = np.zeros_like(whole)
    for window, values in stored_windows(path):
        rows = slice(window.row, window.row + window.rows)
        put_together[:, rows, window.column : window.column + window.columns] = values
    assert (put_together == whole).all()


@pytest.mark.parametrize(("rows", "columns"), [(1, 1), (256, 256), (257, 512), (700, 100)])
def test_tiles_cover_every_cell_once(rows, columns):
    seen = np.zeros((rows, columns), dtype=int)
    for tile in tiles(rows, columns):
        seen[tile.row : tile.row + tile.rows, tile.column : tile.column + tile.columns] += 1
    assert (seen == 1).all()


@pytest.mark.parametrize(
    ("name", "phrase"), [("a.nc", "ends in .tif"), ("b.tif", "is one of the files read")]
)
def test_a_target_that_would_mislead_or_overwrite_is_refused(tmp_path, name, phrase):
    with pytest.raises(InputError) as error:
        check_targets([tmp_path / name], [tmp_path / "x" / ".." / "b.tif"])
    assert phrase in lines_of(error.value.problems)[0]


# codes


def test_unknown_and_never_are_different_codes_and_days_stay():
    assert coded(np.array([np.nan, np.inf, 92.5])).tolist() == [-9999, 999, 92.5]


def test_the_tags_explain_both_codes_in_a_sentence():
    tags = season_tags(FACTS)
    assert tags["no_freeze_value"] == "999" and tags["freeze_kind"] == "seasons"
    assert "999: known to have no freeze in that season by 28 January." in tags["codes"]
    assert "-9999: not known" in tags["codes"]
    assert "days since 1 August (day 0)" in tags["codes"]


def test_the_tags_of_chances_say_what_every_band_is():
    tags = chance_tags(FACTS, 5)
    assert tags["freeze_kind"] == "chances"
    assert "fewer than 5 valid seasons" in tags["codes"]
    assert all(name in tags["codes"] for name in ("error_days", "valid_seasons", "no_freeze_share"))


def test_the_tags_say_threshold_season_and_days_covered():
    tags = season_tags(FACTS)
    assert (tags["threshold_c"], tags["threshold_f"], tags["season_start"]) == ("-2.22222", "28", "08-01")
    assert (tags["covered_from"], tags["covered_to"], tags["seasons"]) == (
        "09-01",
        "01-28",
        "1991, 1992, 1994",
    )


def test_a_calendar_of_360_days_is_said():
    facts = FreezeFacts(-2.0, (2, 1), (1991,), ((2, 1), (12, 30)), "360_day", "a.nc")
    assert "each of a year's 360 days is the same share of 365" in season_tags(facts)["codes"]
    assert season_tags(facts)["calendar"] == "360_day"


def test_every_month_has_its_name():
    said = [
        season_tags(FreezeFacts(0.0, (month, 1), (1991,), FACTS.part, "standard", ""))["codes"]
        for month in (2, 12)
    ]
    assert "1 February" in said[0] and "1 December" in said[1]
    assert date(2001, 2, 1).month == 2


# files swapped in whole


def write_half(path):
    with written_whole(path) as half:
        write_text(half, "half")
        raise RuntimeError("stopped")


def test_files_come_in_beside_one_another_when_the_block_ends_well(tmp_path):
    target = tmp_path / "deep" / "a.tif"
    with written_whole(target) as path:
        write_text(path, "a")
        write_text(path.with_name("b.tif"), "b")
        assert path.parent.parent == target.parent and path.parent.name.startswith(".")
        assert not target.exists()
    assert contents(target.parent) == {Path("a.tif"): b"a", Path("b.tif"): b"b"}
    assert names(target.parent) == ["a.tif", "b.tif"]


def test_a_block_that_fails_leaves_the_old_file_and_nothing_else(tmp_path):
    write_text(tmp_path / "a.tif", "old")
    with pytest.raises(RuntimeError, match="stopped"):
        write_half(tmp_path / "a.tif")
    assert contents(tmp_path) == {Path("a.tif"): b"old"}
    assert names(tmp_path) == ["a.tif"]


def test_files_of_other_names_stay(tmp_path):
    write_text(tmp_path / "mine.txt", "mine")
    with written_whole(tmp_path / "a.tif") as path:
        write_text(path, "new")
    assert contents(tmp_path) == {Path("a.tif"): b"new", Path("mine.txt"): b"mine"}


def test_where_one_file_cannot_come_in_none_does(tmp_path, monkeypatch):
    write_text(tmp_path / "a.tif", "old")
    replace = Path.replace

    def fail_on_b(self, target):
        if self.name == "b.tif":
            raise OSError("full")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", fail_on_b)
    with pytest.raises(InputError, match="full"):
        write_two(tmp_path / "a.tif")
    assert contents(tmp_path) == {Path("a.tif"): b"old"}


def write_two(path):
    with written_whole(path) as new:
        write_text(new, "new")
        write_text(new.with_name("b.tif"), "new")


def test_a_folder_in_the_place_of_a_file_stays_with_all_it_holds(tmp_path):
    write_text(tmp_path / "a.tif" / "mine.txt", "mine")
    with pytest.raises(InputError, match="a folder is in its place"):
        write_two(tmp_path / "a.tif")
    assert contents(tmp_path) == {Path("a.tif/mine.txt"): b"mine"}


def test_a_place_that_is_no_folder_is_refused(tmp_path):
    write_text(tmp_path / "out", "a file")
    with pytest.raises(InputError, match="out"):
        write_two(tmp_path / "out" / "a.tif")
