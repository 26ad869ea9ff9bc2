import math
from itertools import combinations

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
import rasterio
from geographiclib.geodesic import Geodesic
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.text import Text
from pyproj import Transformer
from rasterio.transform import from_origin

from maps.freeze.cells import key_of
from maps.freeze.layer_picture import draw_layer
from maps.freeze.station_picture import draw_station
from maps.freeze.steps import date_steps, error_steps
from maps.freeze.view import degree_ticks, north_turn, read_view, size_m
from maps.paper.picture import drawable, sheet
from spatial.daily import Station, StationDates, Trend
from spatial.errors import InputError

CHANCES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
PNG = b"\x89PNG\r\n\x1a\n"


def made(freeze_days, trend=None, name="Made Up", **changes):
    """Return a station's dates over seasons from 1991 on, with dates and errors that go along with them."""
    days = np.array(freeze_days, dtype=float)
    years = pd.Index(range(1991, 1991 + len(days)), name="season")
    valid = days[~np.isnan(days)]
    froze = valid[np.isfinite(valid)]
    reached = len(froze) / len(valid) if len(valid) else 0
    at = [np.quantile(froze, chance / reached) if chance < reached else np.inf for chance in CHANCES]
    usual = {
        "station": Station("X1", name),
        "threshold_c": -20 / 9,
        "season_start": (8, 1),
        "origin": "daily",
        "period": (1991, 1990 + len(days)),
        "valid_seasons": len(valid),
        "invalid_seasons": len(days) - len(valid),
        "no_freeze_share": float(np.isinf(valid).mean()) if len(valid) else np.nan,
        "chances": CHANCES,
        "days": np.array(at),
        "error_days": np.where(np.isfinite(at), 2.5, np.nan),
        "seasons": pd.DataFrame({"freeze_day": days}, index=years),
        "trend": trend,
        "file": "x.csv",
    }
    return StationDates(**usual | changes)


MIXED = [90, 95, 88, 101, np.inf, 79, 93, np.nan, 99, 104, 85, np.inf, 92, 96, 110]
STATIONS = {
    "trend": made([80 + (7 * year) % 30 for year in range(30)], Trend(0.4, -0.2, 1.1, 30)),
    "no freeze and not valid": made(MIXED, Trend(-3.0, -9.0, 3.0, 12)),
    "never a freeze": made([np.inf] * 12),
    "nothing valid": made([np.nan] * 4, days=np.full(9, np.nan), error_days=np.full(9, np.nan)),
    "one date": made([92.0] * 8),
    "130 seasons": made([60 + (37 * year) % 90 for year in range(130)]),
    "1 in 5 beside the average": made([92, 92, 92, 92, 93, 93, 93, 120, 140, 30]),
    "normals": made([], days=np.arange(60.0, 105, 5), seasons=pd.DataFrame(), origin="normals"),
    "a long name": made(MIXED, name="A name that goes on and on " * 6),
}


@pytest.fixture
def figures(monkeypatch):
    """Collect the figures instead of writing them."""
    seen = []
    monkeypatch.setattr(Figure, "savefig", lambda self, *_args, **_options: seen.append(self))
    return seen


def touching_texts(figure):
    """Return the texts that touch one another or leave the sheet."""
    figure.draw_without_rendering()
    shown = [text for text in figure.findobj(Text) if text.get_visible() and text.get_text().strip()]
    boxes = [(text.get_text(), Text.get_window_extent(text)) for text in shown]  # without leader lines
    room = figure.bbox
    outside = [
        text
        for text, box in boxes
        if box.x0 < room.x0 or box.x1 > room.x1 or box.y0 < room.y0 or box.y1 > room.y1
    ]
    pairs = [(one, other) for (one, a), (other, b) in combinations(boxes, 2) if a.overlaps(b)]
    return outside + pairs


@pytest.mark.parametrize("name", STATIONS)
def test_nothing_written_touches_anything_or_leaves_the_sheet(name, figures, tmp_path):
    draw_station(STATIONS[name], tmp_path / "s.png", "metric")
    assert touching_texts(figures[0]) == []


def texts_of(figure):
    return [text.get_text() for text in figure.findobj(Text)]


def test_the_trend_is_said_not_to_be_applied(figures, tmp_path):
    draw_station(STATIONS["trend"], tmp_path / "s.png", "us")
    assert "trend, not applied: 4.0 days later in 10 years" in texts_of(figures[0])


def test_without_a_trend_none_is_drawn(figures, tmp_path):
    draw_station(STATIONS["one date"], tmp_path / "s.png", "us")
    assert not any("trend" in text for text in texts_of(figures[0]))


def test_each_season_has_its_mark(figures, tmp_path):
    draw_station(STATIONS["no freeze and not valid"], tmp_path / "s.png", "us")
    lines = {line.get_label(): line for line in figures[0].axes[1].get_lines()}
    assert len(lines["first freeze of a season"].get_xdata()) == 12
    assert list(lines["a season without a freeze"].get_xdata()) == [1995, 2002]
    assert list(lines["a season that is not valid"].get_xdata()) == [1998]


def test_the_curve_steps_at_the_plotting_position(figures, tmp_path):
    draw_station(made([70, 80, 90, np.inf]), tmp_path / "s.png", "us", a=0.0)
    curve = next(line for line in figures[0].axes[0].get_lines() if line.get_drawstyle() == "steps-pre")
    # Weibull: the k-th of N seasons has come in k / (N + 1) of them (scipy.stats.mstats.plotting_positions, alpha 0).
    assert list(curve.get_xdata()) == pytest.approx([0.2, 0.4, 0.6])
    assert list(curve.get_ydata()) == [70, 80, 90]


def test_the_marked_chances_are_in_words_with_their_error(figures, tmp_path):
    draw_station(made(range(70, 100)), tmp_path / "s.png", "us")
    labels = [text for text in texts_of(figures[0]) if "give or take" in text and "\n" in text]
    # The middle of 70 to 99 is 84.5, and 1 August + 84 days is 24 October.
    assert "average, 1 fall in 2:\nby 24 Oct,\ngive or take 2 days" in labels and len(labels) == 2


def test_normals_have_the_curve_alone(figures, tmp_path):
    draw_station(STATIONS["normals"], tmp_path / "s.png", "us")
    assert not any("season, by the year" in text for text in texts_of(figures[0]))


def test_a_picture_is_the_same_in_every_run_whatever_the_machine_is_set_to(tmp_path):
    draw_station(STATIONS["trend"], tmp_path / "a.png", "us")
    with mpl.rc_context({"font.size": 20, "savefig.dpi": 50, "axes.grid": True}):
        draw_station(STATIONS["trend"], tmp_path / "b.png", "us")
        assert mpl.rcParams["font.size"] == 20
    written = (tmp_path / "a.png").read_bytes()
    assert written.startswith(PNG) and written == (tmp_path / "b.png").read_bytes()
    assert b"tEXt" not in written and b"tIME" not in written


def test_a_failed_drawing_leaves_no_file(tmp_path):
    with pytest.raises(RuntimeError, match="half way"), sheet(tmp_path / "s.png", 2, 2):
        raise RuntimeError("half way")
    assert list(tmp_path.iterdir()) == []


def test_a_name_is_drawn_as_it_is_and_in_one_line(figures, tmp_path):
    assert drawable("São\n  $x^2$\t\u672c") == "São $x^2$ ?"
    draw_station(made([90] * 6, name="Cost $5 and $6 \u672c"), tmp_path / "s.png", "us")
    assert any("Cost $5 and $6 ?" in text for text in texts_of(figures[0]))


# The picture of a layer.

ROWS, COLUMNS = 60, 80
UTM = {"crs": "EPSG:32617", "transform": from_origin(300_000, 3_700_000, 1000, 1000)}
DEGREES = {"crs": "EPSG:4326", "transform": from_origin(-84, 33.5, 0.02, 0.02)}
NOWHERE = {"crs": None, "transform": from_origin(0, 100, 1, 1)}


def slope(rows=ROWS, columns=COLUMNS):
    """Return days from 80 in the north to 119 in the south, no freeze in the east, unknown in the north-west."""
    days = np.repeat(np.linspace(80, 119, rows)[:, np.newaxis], columns, axis=1)
    days[:, -8:], days[:6, :6] = 999, -9999
    return days


def write_layer(path, days=None, place=None, errors=True, tags=()):
    days = slope() if days is None else days
    error = np.where((days == 999) | (days == -9999), -9999, 1 + (days - 80) / 12)
    bands = {"0.1": np.where(days > 900, 999, days - 5), "0.2": days}
    bands |= {"error_days 0.2": error} if errors else {}
    place = UTM if place is None else place
    shape = {"height": days.shape[0], "width": days.shape[1], "count": len(bands)}
    known = {"freeze_kind": "chances", "threshold_f": "28", "season_start": "08-01", "no_freeze_value": "999"}
    with rasterio.open(path, "w", driver="GTiff", dtype="float32", nodata=-9999, **shape, **place) as raster:
        raster.update_tags(**known | dict(tags))
        for number, (name, band) in enumerate(bands.items(), start=1):
            raster.write(band.astype("float32"), number)
            raster.set_band_description(number, name)
    return path


def stations():
    lons, lats = np.meshgrid(np.linspace(-82.9, -82.5, 9), np.linspace(33.0, 33.3, 9))
    days = np.linspace(70, 130, lons.size)
    days[0], days[1] = np.inf, np.nan
    return pd.DataFrame({"longitude_deg": lons.ravel(), "latitude_deg": lats.ravel(), "day": days})


LAYERS = {
    "two maps": {},
    "one map": {"errors": False},
    "degrees": {"place": DEGREES},
    "without a place": {"place": NOWHERE},
    "tall": {"days": slope(300, 40)},
    "wide": {"days": slope(20, 400)},
    "all unknown": {"days": np.full((9, 9), -9999.0)},
    "all no freeze": {"days": np.full((9, 9), 999.0)},
    "all one day": {"days": np.full((9, 9), 92.0)},
}


@pytest.mark.parametrize("name", LAYERS)
def test_nothing_on_the_picture_of_a_layer_touches_anything(name, figures, tmp_path):
    layer = write_layer(tmp_path / "l.tif", **LAYERS[name])
    draw_layer(layer, tmp_path / "l.png", "A district with a name", "us", stations())
    assert touching_texts(figures[0]) == []


def test_the_picture_of_a_layer_is_the_same_in_every_run(tmp_path):
    layer = write_layer(tmp_path / "l.tif")
    for name in ("a.png", "b.png"):
        draw_layer(layer, tmp_path / name, "District", "us", stations())
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


def test_each_station_has_its_dot_and_a_date_where_there_is_room(figures, tmp_path):
    draw_layer(write_layer(tmp_path / "l.tif"), tmp_path / "l.png", "District", "us", stations().iloc[:3])
    texts = texts_of(figures[0])
    # The first has no freeze, of the second nothing is known, the third froze after 71 days: 11 October.
    assert "none" in texts and "11 Oct" in texts
    dots = [line for line in figures[0].axes[0].get_lines() if line.get_marker() == "o"]
    assert len(dots) == 3


def test_a_station_outside_is_left_out(figures, tmp_path):
    far = pd.DataFrame({"longitude_deg": [10.0], "latitude_deg": [50.0], "day": [90.0]})
    draw_layer(write_layer(tmp_path / "l.tif"), tmp_path / "l.png", "District", "us", far)
    assert "station, with\nits own date" not in texts_of(figures[0])


def test_no_freeze_and_unknown_have_their_own_hatch_and_line():
    steps = date_steps(np.array([80.0]), (8, 1))
    key = key_of(np.array([80.0, np.inf, np.nan]), steps)
    assert [part.get_label() for part in key] == ["17–23 Oct", "no freeze so often", "not known"]
    hatches = [part.get_hatch() for part in key if isinstance(part, Patch)]
    assert hatches[0] is None and hatches[1] != hatches[2] and all(hatches[1:])


def test_a_layer_without_the_chance_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"l\.tif: has no band for chance 0\.5"):
        draw_layer(write_layer(tmp_path / "l.tif"), tmp_path / "l.png", "District", "us", chance=0.5)


def test_codes_are_read_as_never_and_unknown(tmp_path):
    view = read_view(write_layer(tmp_path / "l.tif"), 0.2)
    assert np.isposinf(view.days[:, -8:]).all() and np.isnan(view.days[:6, :6]).all()
    assert view.days[-1, 0] == 119 and view.threshold_c == pytest.approx(-2.2222, abs=1e-4)
    assert np.isnan(view.error_days[:, -8:]).all() and view.error_days[-1, 0] == pytest.approx(4.25)


def test_a_large_layer_is_thinned(tmp_path):
    view = read_view(write_layer(tmp_path / "l.tif", np.full((30, 2500), 92.0), errors=False), 0.1)
    assert view.days.shape == (10, 834) and (view.days == 87).all()


def test_weeks_are_named_by_their_first_and_last_day():
    # 1 August + 77 days is 17 October.
    steps = date_steps(np.array([77.0, 90.9, np.inf, np.nan]), (8, 1))
    assert steps.names == ("17–23 Oct", "24–30 Oct")
    assert list(steps.numbers(np.array([77.0, 83.99, 84.0, 90.9]))) == [0, 0, 1, 1]


@pytest.mark.parametrize("span", [1, 30, 62, 100, 200, 364])
def test_steps_are_few_and_each_value_has_one(span):
    days = np.arange(0.0, span)
    steps = date_steps(days, (8, 1))
    assert 1 <= len(steps.fills) <= 9
    assert steps.first + steps.step * len(steps.fills) > days[-1]


@pytest.mark.parametrize(
    ("steps", "darker_first"),
    [(date_steps(np.arange(60.0), (8, 1)), True), (error_steps(np.arange(8.0)), False)],
)
def test_a_ramp_goes_one_way_in_lightness(steps, darker_first):
    lightness = [np.dot(to_rgb(fill), (0.2126, 0.7152, 0.0722)) for fill in steps.fills]
    rising = np.diff(lightness)
    assert len(lightness) > 3 and ((rising > 0) if darker_first else (rising < 0)).all()


def test_the_scale_is_true_on_the_ellipsoid(tmp_path):
    view = read_view(write_layer(tmp_path / "l.tif", place=DEGREES), 0.2)
    # Peer: geographiclib. The layer is 80 by 60 cells of 0.02 degrees from 84 W, 33.5 N.
    across = Geodesic.WGS84.Inverse(32.9, -84.0, 32.9, -82.4)["s12"]
    up = Geodesic.WGS84.Inverse(32.3, -83.2, 33.5, -83.2)["s12"]
    assert size_m(view) == pytest.approx((across, up), rel=1e-6)


def test_north_is_turned_by_the_convergence_of_the_grid(tmp_path):
    view = read_view(write_layer(tmp_path / "l.tif"), 0.2)
    # Convergence of a transverse Mercator grid: atan(tan(lon - lon0) sin(lat)), Snyder 1987, USGS Professional Paper
    # 1395, for the sphere. West of the middle meridian (81 W) true north lies to the right of grid north.
    lon, lat = Transformer.from_crs("EPSG:32617", "EPSG:4326", always_xy=True).transform(340_000, 3_670_000)
    turn = -math.atan(math.tan(math.radians(lon + 81)) * math.sin(math.radians(lat)))
    assert turn > 0.01 and north_turn(view) == pytest.approx(turn, abs=5e-5)


def test_round_degrees_stand_where_they_meet_the_edge(tmp_path):
    view = read_view(write_layer(tmp_path / "l.tif", place=DEGREES), 0.2)
    lons, lats = degree_ticks(view, 4, 4)
    assert list(lons) == pytest.approx(list(lons.values())) and list(lons.values()) == [
        -84.0,
        -83.5,
        -83.0,
        -82.5,
    ]
    assert list(lats.values()) == [32.5, 33.0, 33.5]
