"""What freeze layers made from a grid of daily minima promise, from file to file."""

import threading
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import rasterio

from spatial.daily import DayBlock
from spatial.errors import InputError, Stopped
from spatial.freeze_layers import grid_layers
from spatial.inputs.checks import Report
from spatial.inputs.freeze import read_freeze
from spatial.inputs.grids.blocks import read_ahead
from spatial.values import Window
from tests.unit.daily_grids import fall_days, steps_since, write_netcdf, write_stack
from tests.unit.making import contents, lines_of, write_text

T = -20 / 9  # 28 F
NEVER, UNKNOWN = 999, -9999
SEASONS = 6
DAYS = fall_days(SEASONS)


def minima(seasons=SEASONS):
    """Return warm minima of a grid of two by three cells that freeze in each fall from a day of their own on.

    Season k freezes on day 60 + k of the fall in all cells but three: no freeze, never a value, and 20 days
    missing before the freeze in the first season.
    """
    values = np.full((seasons, 150, 2, 3), 10.0)
    for season in range(seasons):
        values[season, 60 + season :] = -5.0
    values[:, :, 0, 1] = 10.0
    values[:, :, 0, 2] = np.nan
    values[0, 20:40, 1, 0] = np.nan
    return values.reshape(-1, 2, 3)


def made(tmp_path, days=DAYS, **how):
    values = how.pop("values", None)
    values = minima() if values is None else values
    return write_netcdf(tmp_path / "a.nc", values, how.pop("time", steps_since(days)), **how)


def layers(tmp_path, *paths, out="freeze.tif", threshold_c=T, **how):
    report = Report()
    found = grid_layers(list(paths) or [made(tmp_path)], threshold_c, tmp_path / "out" / out, report, **how)
    assert list(found.told) == lines_of(report.told)
    return found


def refused(tmp_path, *paths, **how):
    before = set((tmp_path / "out").rglob("*"))
    with pytest.raises(InputError) as error:
        layers(tmp_path, *paths, **how)
    assert set((tmp_path / "out").rglob("*")) == before
    (line,) = lines_of(error.value.problems)
    return line


def values_of(path):
    with rasterio.open(path) as raster:
        return raster.read()


def band_of(path, name):
    with rasterio.open(path) as raster:
        return raster.read(raster.descriptions.index(name) + 1)


# what is written


def test_the_stack_has_a_band_a_season_with_its_first_freeze(tmp_path):
    stack = values_of(layers(tmp_path).seasons_path)
    assert stack.shape == (SEASONS, 2, 3)
    assert stack[:, 1, 1].tolist() == [91, 92, 93, 94, 95, 96]  # 31 October on
    assert stack[:, 0, 1].tolist() == [NEVER] * SEASONS
    assert stack[:, 0, 2].tolist() == [UNKNOWN] * SEASONS
    assert stack[:, 1, 0].tolist() == [UNKNOWN, 92, 93, 94, 95, 96]


def test_the_chances_are_those_of_the_stack(tmp_path):
    path = layers(tmp_path).chances_path
    middle = band_of(path, "0.5")
    assert middle[1, 1] == 93.5 and middle[0, 1] == NEVER and middle[0, 2] == UNKNOWN
    assert band_of(path, "valid_seasons").tolist() == [[6, 6, 0], [5, 6, 6]]
    assert band_of(path, "no_freeze_share").tolist() == [[0, 1, UNKNOWN], [0, 0, 0]]
    assert 0 < band_of(path, "error_days 0.5")[1, 1] < 2


def test_what_was_made_is_told(tmp_path):
    found = layers(tmp_path)
    assert (found.chances_path.name, found.seasons_path.name) == ("freeze.tif", "freeze_seasons.tif")
    assert (found.seasons, found.season_start) == (tuple(range(2001, 2007)), (8, 1))
    assert (found.part, found.calendar, found.told) == (((9, 1), (1, 28)), "standard", ())
    assert (found.cells, found.known_cells) == (6, 5)


def test_bands_are_named_and_codes_explained_in_the_files(tmp_path):
    found = layers(tmp_path)
    with rasterio.open(found.seasons_path) as raster:
        assert raster.descriptions[0] == "2001-02" and raster.dtypes[0] == "int16"
        assert raster.tags()["freeze_kind"] == "seasons" and "999" in raster.tags()["codes"]
    with rasterio.open(found.chances_path) as raster:
        assert raster.descriptions[8:10] == ("0.9", "error_days 0.1") and raster.dtypes[0] == "float32"
        assert raster.tags()["covered_to"] == "01-28" and raster.nodata == UNKNOWN


def test_a_region_can_be_given_the_stack_as_it_is(tmp_path):
    report = Report()
    layer = read_freeze(layers(tmp_path).seasons_path, {}, report)
    assert lines_of(report.wrong) == []
    assert (layer.kind, layer.seasons) == ("seasons", tuple(range(2001, 2007)))
    assert layer.threshold_c == pytest.approx(T, abs=1e-5)
    days = layer.read(Window(0, 0, 2, 3))
    assert np.isposinf(days[0, 0, 1]) and np.isnan(days[0, 0, 2]) and days[0, 1, 1] == 91


def test_a_region_can_be_given_the_chances_as_they_are(tmp_path):
    report = Report()
    layer = read_freeze(layers(tmp_path).chances_path, {}, report)
    assert lines_of(report.wrong) == []
    assert layer.chances == (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
    assert layer.read(Window(1, 1, 1, 1))[4, 0, 0] == 93.5


# the same from every form


def test_every_way_of_keeping_the_same_days_gives_the_same_layers(tmp_path, monkeypatch):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 2000)
    raw = np.where(np.isnan(minima()), -999, np.round(minima() * 10))
    packed = {"dtype": "i2", "values": raw, "attributes": {"scale_factor": 0.1, "_FillValue": np.int16(-999)}}
    kelvin = {"values": minima() + 273.15, "attributes": {"units": "K"}, "dtype": "f8"}
    ways = [{"chunks": (1, 2, 3)}, {"chunks": (900, 1, 2)}, {"chunks": (70, 2, 2)}, {}, packed, kelvin]
    found = []
    for place, way in enumerate(ways):
        layer = layers(tmp_path, made(tmp_path, **way), out=f"{place}.tif")
        found.append((values_of(layer.chances_path).tobytes(), values_of(layer.seasons_path).tobytes()))
    assert len(set(found)) == 1


@pytest.mark.parametrize("interleave", ["pixel", "band"])
def test_a_geotiff_of_the_same_days_gives_the_same_layers(tmp_path, interleave):
    stack = write_stack(tmp_path / "a.tif", minima(), days=DAYS, interleave=interleave)
    one, other = layers(tmp_path, out="nc.tif"), layers(tmp_path, stack, out="tif.tif")
    assert (values_of(one.chances_path) == values_of(other.chances_path)).all()


def test_files_a_year_give_the_same_layers_as_one_file(tmp_path):
    parts = [
        write_netcdf(tmp_path / f"y{season}.nc", minima()[place], steps_since(DAYS[place]))
        for season in range(SEASONS)
        for place in [slice(season * 150, season * 150 + 150)]
    ]
    one, other = layers(tmp_path, out="one.tif"), layers(tmp_path, *parts, out="many.tif")
    assert (values_of(one.seasons_path) == values_of(other.seasons_path)).all()


def test_a_calendar_of_360_days_serves_and_is_said_in_the_tags(tmp_path):
    # Days 240 to 389 from 1 January are 1 September to 30 January of twelve months of 30 days.
    time = np.concatenate([year * 360 + np.arange(240, 390) for year in range(SEASONS)])
    said = {"units": "days since 2001-01-01", "calendar": "360_day"}
    found = layers(tmp_path, made(tmp_path, time=time, time_attributes=said))
    # 60 days of 360 after 1 September is 1 November: day 300 of 360 is day 304 of 365, 1 November.
    assert values_of(found.seasons_path)[0, 1, 1] == 92
    assert found.calendar == "360_day" and found.known_cells == 5
    with rasterio.open(found.chances_path) as raster:
        assert raster.tags()["calendar"] == "360_day" and "360 days" in raster.tags()["codes"]


def test_a_southern_grid_has_its_season_from_february(tmp_path):
    days = [day for year in range(2001, 2007) for day in fall_days_south(year)]
    found = layers(tmp_path, made(tmp_path, days, places=((-30.0, -30.5), (140.0, 140.5, 141.0))))
    assert found.season_start == (2, 1) and found.seasons == tuple(range(2001, 2007))
    assert values_of(found.seasons_path)[0, 1, 1] == 28 + 60  # 1 March and 60 days


def fall_days_south(year):
    return [date.fromordinal(date(year, 3, 1).toordinal() + step) for step in range(150)]


# options


def test_seasons_may_be_chosen(tmp_path):
    found = layers(tmp_path, seasons=(2002, 2006))
    assert found.seasons == (2002, 2003, 2004, 2005, 2006)
    assert values_of(found.seasons_path)[0, 1, 1] == 92


def test_another_season_start_counts_from_there(tmp_path):
    assert values_of(layers(tmp_path, season_start=(7, 1)).seasons_path)[0, 1, 1] == 91 + 31


def test_a_warmer_threshold_is_never_later(tmp_path):
    warm, cold = (
        layers(tmp_path, out="w.tif", threshold_c=0.0),
        layers(tmp_path, out="c.tif", threshold_c=-4.0),
    )
    assert (values_of(warm.seasons_path) <= values_of(cold.seasons_path)).all()


# what cannot serve


def test_a_single_season_is_refused(tmp_path):
    path = made(tmp_path, fall_days(1), values=minima(1))
    assert "holds 1 season that can be known (2001). Give 5 at least" in refused(tmp_path, path)


def test_a_record_without_any_value_is_refused(tmp_path):
    path = made(tmp_path, values=np.full((900, 2, 3), np.nan))
    assert "has no cell with 5 valid seasons" in refused(tmp_path, path)


def test_kelvin_taken_for_celsius_is_refused_and_leaves_no_file(tmp_path):
    assert "which no night has been" in refused(tmp_path, made(tmp_path, values=minima() + 273.15))


def test_a_record_of_maxima_without_a_telling_name_is_refused(tmp_path):
    assert "is over 85 F in" in refused(tmp_path, made(tmp_path, values=minima() + 22))


def test_a_target_that_is_a_source_is_refused(tmp_path):
    stack = write_stack(tmp_path / "freeze.tif", minima(), days=DAYS)
    with pytest.raises(InputError, match="is one of the files read"):
        grid_layers([stack], T, stack, Report())


def test_a_target_in_a_place_that_is_no_folder_is_refused(tmp_path):
    write_text(tmp_path / "full", "a file")
    with pytest.raises(InputError, match="cannot be written"):
        grid_layers([made(tmp_path)], T, tmp_path / "full" / "freeze.tif", Report())


@pytest.mark.parametrize(
    ("cut", "phrase"),
    [
        (slice(0, 60), "holds the days 1 September to 30 October only, so no freeze means none by then"),
        (slice(61, 150), "begins on 1 November, when"),
    ],
)
def test_a_record_of_part_of_the_fall_serves_and_that_is_told(tmp_path, cut, phrase):
    place = np.arange(900).reshape(SEASONS, 150)[:, cut].ravel()
    found = layers(tmp_path, made(tmp_path, [DAYS[k] for k in place], values=minima()[place]))
    assert any(phrase in line for line in found.told)


def test_a_record_that_has_frozen_by_its_first_day_in_most_seasons_is_refused(tmp_path):
    place = np.arange(900).reshape(SEASONS, 150)[:, 65:].ravel()
    with pytest.raises(InputError, match="on their first day, 5 November"):
        layers(tmp_path, made(tmp_path, [DAYS[k] for k in place], values=minima()[place]))
    assert not (tmp_path / "out" / "freeze.tif").exists()


def test_a_season_that_no_cell_knows_is_told_and_not_counted(tmp_path):
    values = minima()
    values[:150] = np.nan  # of the first season
    found = layers(tmp_path, made(tmp_path, values=values))
    assert len(found.seasons) == SEASONS - 1
    assert any("known in no cell" in line for line in found.told)


# stopped, and threads


def test_a_run_that_is_stopped_leaves_the_old_layers_whole(tmp_path, monkeypatch):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 2000)
    path = made(tmp_path, chunks=(70, 2, 3))
    layers(tmp_path, path)
    before = contents(tmp_path / "out")
    shares = []

    def stop(step, share):
        shares.append((step, share))
        if share > 0.3:
            raise Stopped

    with pytest.raises(Stopped):
        layers(tmp_path, path, threshold_c=0.0, tell=stop)
    assert contents(tmp_path / "out") == before
    assert len(list((tmp_path / "out").iterdir())) == 2
    assert shares[0] == ("daily minima", 0.0) and len(shares) > 2


def test_progress_rises_from_nothing_to_all(tmp_path, monkeypatch):
    monkeypatch.setattr("spatial.inputs.grids.blocks.BLOCK_BYTES", 2000)
    told = []
    layers(tmp_path, made(tmp_path, chunks=(70, 2, 3)), tell=lambda step, share: told.append((step, share)))
    minima_told = [share for step, share in told if step == "daily minima"]
    assert minima_told == sorted(minima_told) and minima_told[0] == 0 and minima_told[-1] == 1
    assert len(minima_told) == 14  # 13 blocks of 70 days, and the end
    assert {step for step, _ in told} == {"daily minima", "freeze chances"}


def blocks_by(thread_names, count=3):
    for place in range(count):
        thread_names.add(threading.current_thread().name)
        yield DayBlock(Window(0, 0, 1, 1), place, np.zeros((1, 1, 1)))


def test_blocks_are_read_in_another_thread_and_in_their_order():
    names = set()
    assert [block.first for block in read_ahead(blocks_by(names))] == [0, 1, 2]
    assert threading.current_thread().name not in names and len(names) == 1


def test_a_reader_that_is_let_go_early_is_closed():
    closed = []

    def blocks():
        try:
            yield from blocks_by(set(), 100)
        finally:
            closed.append(True)

    ahead = read_ahead(blocks())
    next(ahead)
    ahead.close()
    assert closed == [True]


def test_an_error_of_the_reader_comes_through():
    def blocks():
        yield from blocks_by(set(), 1)
        raise InputError([])

    with pytest.raises(InputError):
        list(read_ahead(blocks()))


def test_the_source_is_only_read(tmp_path):
    path = made(tmp_path)
    before = path.read_bytes()
    layers(tmp_path, path)
    assert path.read_bytes() == before
    assert {file.name for file in Path(tmp_path).iterdir()} == {"a.nc", "out"}
