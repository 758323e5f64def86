"""Nothing that a raster holds is lost on the working grid: against footprints by shapely, and by hand."""

import math
from itertools import pairwise

import numpy as np
import pytest
from affine import Affine
from footprint_scene import FLOOR, SYSTEMS, Case, chain, judge, random_case
from pyproj import CRS, Transformer

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.footprint import Source, lay
from diproute.reading.lattice import Placing, file_on_grid, grid_in_file, through, unwrap, windows
from diproute.reading.tiles import paste
from diproute.records import Grid
from diproute.threads import set_threads

FIJI = (-16.5, 179.98)
DEGREES = CRS.from_epsg(4326)


def grid_at(lat, lon, cell=30.0, n=60, left=None, top=None):
    half = n * cell / 2
    return Grid(lat, lon, -half if left is None else left, half if top is None else top, cell, n, n)


def source_of(data, transform, crs, **more):
    """A raster in memory that keeps account of what was read."""
    data = np.asarray(data, np.float32)
    asked = []

    def read(rows, cols):
        asked.append((rows, cols))
        return data[rows, cols]

    return Source(read, *data.shape, transform, CRS.from_user_input(crs), **more), asked


def hill(lon, lat):
    """A smooth height that runs on past ±180."""
    return 500 + 300 * np.sin(np.radians(lon) * 40) + 200 * np.cos(np.radians(lat) * 50)


def degrees_file(west, north, cell, rows, cols):
    lon, lat = west + (np.arange(cols) + 0.5) * cell, north - (np.arange(rows) + 0.5) * cell
    return hill(lon[None, :], lat[:, None]).astype(np.float32), Affine(cell, 0, west, 0, -cell, north)


# ------------------------------------------------------------------------------------------- against shapely
@pytest.mark.parametrize("system", sorted(SYSTEMS))
def test_no_spike_and_no_hole_is_lost(system):
    rng = np.random.default_rng(sorted(SYSTEMS).index(system))
    for _ in range(4):
        case = random_case(rng, system)
        verdict = judge(case, rng)
        assert verdict.lost == 0, case
        assert verdict.more == 0, case


def test_the_twin_finds_what_a_plain_warp_loses():
    """The comparison can fail: the same spikes through GDAL's `max` at 45 degrees are not all there."""
    from rasterio.warp import Resampling, reproject

    rng = np.random.default_rng(5)
    n = 40
    turned = chain(Affine.scale(10, -10), Affine.rotation(45), Affine.translation(-n / 2, -n / 2))
    data = np.full((n, n), FLOOR, np.float32)
    spikes = rng.choice(np.arange(8, 32), (2, 40))
    data[tuple(spikes)] = 1000
    out = np.full((16, 16), np.nan, np.float32)
    reproject(
        data, out, src_transform=turned, src_crs="EPSG:32633", dst_transform=Affine(10, 0, -80, 0, -10, 80),
        dst_crs="EPSG:32633", src_nodata=np.nan, dst_nodata=np.nan, resampling=Resampling.max,
    )  # fmt: skip
    frame = LocalFrame(0.0, 15.0)
    grid = Grid(0.0, 15.0, -80.0, 80.0, 10.0, 16, 16)
    ours = lay(source_of(data, turned, frame.crs)[0], frame, grid).highest
    assert (ours >= out).all()
    assert (ours > out).sum() > 20


def test_a_large_cell_s_bent_edges_are_followed():
    """A quarter of a degree is 28 km: its northern edge is an arc of a parallel, over 5 m from the straight line."""
    lat, lon = 60.0, 10.0
    frame = LocalFrame(lat, lon)
    data = np.full((9, 9), 10.0, np.float32)
    data[5] = 900.0  # from 59.875 to 59.625
    source, _ = source_of(data, Affine(0.25, 0, lon - 1.125, 0, -0.25, lat + 1.125), DEGREES)
    n = 400
    grid = grid_at(lat, lon, 2.0, n, left=0.0, top=float(frame.to_xy(lon, 59.875)[1]) + n)
    high = lay(source, frame, grid).highest == 900.0
    assert 0 < high.sum() < high.size
    first = np.argmax(high, axis=0)
    x = grid.left_m + (np.arange(n) + 0.5) * grid.cell_m
    lons, _ = frame.to_lonlat(x, np.full(n, grid.top_m))
    edge = np.asarray(frame.to_xy(lons, np.full(n, 59.875))[1])
    assert np.abs(first - (grid.top_m - edge) / grid.cell_m).max() <= 1.05


def test_a_lattice_of_conformal_projections_is_as_close_as_it_says():
    """At the middles of its patches it is closer by far than at their edges: those must not be what is looked at."""
    frame = LocalFrame(55.0, -120.0)
    grid = grid_at(55.0, -120.0, 10.0, 3000)
    crs = CRS.from_proj4("+proj=lcc +lat_1=20 +lat_2=30 +lat_0=25 +lon_0=-60 +datum=WGS84")
    x, y = Transformer.from_crs(frame.crs, crs, always_xy=True).transform(0.0, 0.0)
    placing = Placing.of(Affine(12, 0, x - 12_000, 0, -12, y + 12_000), crs, frame, grid)
    window = next(windows(placing, grid_in_file(placing, 2000, 2000), 2000, 2000))
    mesh, split, error = file_on_grid(placing, window)
    assert split == 1
    assert error <= 0.0025
    rng = np.random.default_rng(0)
    m, n = rng.integers(len(mesh.at_row) - 1, size=5000), rng.integers(len(mesh.at_col) - 1, size=5000)
    u, v = rng.choice([0.0, 0.5, 1.0], 5000), rng.choice([0.0, 0.5, 1.0], 5000)
    row = mesh.at_row[m] + v * (mesh.at_row[m + 1] - mesh.at_row[m])
    col = mesh.at_col[n] + u * (mesh.at_col[n + 1] - mesh.at_col[n])
    exact = placing.on_grid(window.cols.start + col, window.rows.start + row, window.turn)
    for values, true in zip(mesh[:2], exact, strict=True):
        laid = (values[m, n] * (1 - u) + values[m, n + 1] * u) * (1 - v)
        laid = laid + (values[m + 1, n] * (1 - u) + values[m + 1, n + 1] * u) * v
        assert np.abs(laid - true).max() < 0.0025


def test_the_same_on_any_number_of_threads():
    case = random_case(np.random.default_rng(3), "EPSG:3413")
    case.data[:] = np.random.default_rng(4).uniform(0, 1000, case.data.shape)
    laid = []
    for count in (1, 2, 7):
        set_threads(count)
        try:
            laid.append(lay(case.source, case.frame, case.grid, best=True))
        finally:
            set_threads(None)
    for other in laid[1:]:
        for a, b in zip(laid[0], other, strict=True):
            np.testing.assert_array_equal(a, b)


# ------------------------------------------------------------------------------------------- readings
def aligned(data, posts=False):
    """A raster on the very cells of the grid."""
    frame, n = LocalFrame(45.0, 7.0), len(data)
    grid = grid_at(45.0, 7.0, 10.0, n)
    half = n * 5.0
    return source_of(data, Affine(10, 0, -half, 0, -10, half), frame.crs, posts=posts)[0], frame, grid


def test_cells_that_only_share_an_edge_do_not_touch():
    data = np.random.default_rng(1).uniform(0, 100, (40, 40)).astype(np.float32)
    data[7, 9] = np.nan
    laid = lay(*aligned(data), best=True)
    for reading in laid:
        np.testing.assert_allclose(reading, data, rtol=1e-5)


def test_posts_count_as_far_as_the_next():
    data = np.zeros((40, 40), np.float32)
    data[20, 20] = 100.0
    data[5, 5] = np.nan
    high = lay(*aligned(data, posts=True)).highest
    np.testing.assert_array_equal(high[19:22, 19:22], 100.0)
    assert (high == 100.0).sum() == 9
    assert np.isnan(high).sum() == 9
    assert (lay(*aligned(data)).highest == 100.0).sum() == 1


def test_bilinear_between_the_posts():
    """Against the textbook formula, written out in NumPy."""
    rng = np.random.default_rng(2)
    data = rng.uniform(0, 1000, (30, 34)).astype(np.float32)
    frame = LocalFrame(-33.0, 150.0)
    grid = grid_at(-33.0, 150.0, 10.0, 20, left=-101.0, top=93.0)
    t = chain(Affine.rotation(31), Affine(12, 1.5, -200, 0.5, -11, 170))
    best = lay(source_of(data, t, frame.crs)[0], frame, grid, best=True).best
    row, col = np.indices(grid.shape)
    c, r = through(~t, *grid.xy(row, col))
    c, r = c - 0.5, r - 0.5
    a, b = np.floor(r).astype(int), np.floor(c).astype(int)
    fr, fc = r - a, c - b
    want = (data[a, b] * (1 - fc) + data[a, b + 1] * fc) * (1 - fr)
    want += (data[a + 1, b] * (1 - fc) + data[a + 1, b + 1] * fc) * fr
    np.testing.assert_allclose(best, want, rtol=1e-4)


def test_a_coarser_grid_takes_the_mean():
    data = np.random.default_rng(3).uniform(0, 1000, (200, 200)).astype(np.float32)
    frame = LocalFrame(10.0, 20.0)
    grid = grid_at(10.0, 20.0, 100.0, 18)
    best = lay(source_of(data, Affine(10, 0, -1000, 0, -10, 1000), frame.crs)[0], frame, grid, best=True).best
    want = data[10:190, 10:190].reshape(18, 10, 18, 10).mean(axis=(1, 3))
    np.testing.assert_allclose(best, want, atol=1e-2)


@pytest.mark.parametrize("seed", range(8))
def test_lowest_likeliest_highest(seed):
    rng = np.random.default_rng(seed)
    case = random_case(rng)
    case.data[:] = rng.uniform(0, 1000, case.data.shape)
    case.data.ravel()[rng.choice(case.data.size, 5)] = np.nan
    laid = lay(case.source, case.frame, case.grid, best=True)
    known = np.isfinite(laid.highest)
    assert known.any()
    for reading in (laid.best, laid.lowest):
        np.testing.assert_array_equal(np.isfinite(reading), known)
    assert (laid.lowest[known] <= laid.best[known]).all()
    assert (laid.best[known] <= laid.highest[known]).all()
    alone = lay(case.source, case.frame, case.grid, lowest=False)
    assert alone.lowest is None
    assert alone.best is None
    assert (alone.highest[known] <= laid.highest[known]).all()


def test_strips_are_read_once_at_whole_blocks_and_leave_no_seam(monkeypatch):
    case = random_case(np.random.default_rng(11), "EPSG:5070")
    cols = case.data.shape[1]
    data = np.random.default_rng(1).uniform(0, 1000, (700, cols)).astype(np.float32)
    tall = Case(case.frame, case.grid, case.crs, chain(case.transform, Affine.scale(1, cols / 700)), data)
    whole = lay(tall.source, tall.frame, tall.grid, best=True)
    source, asked = source_of(tall.data, tall.transform, tall.crs, block_rows=48)
    monkeypatch.setattr("diproute.reading.footprint._STRIP_CELLS", 1)
    laid = lay(source, tall.frame, tall.grid, best=True)
    assert len(asked) > 3
    assert all(a[0].stop == b[0].start and a[0].stop % 48 == 0 for a, b in pairwise(asked))
    for a, b in zip(whole, laid, strict=True):
        np.testing.assert_allclose(a, b, rtol=1e-6)


def test_off_the_raster_nothing_is_known():
    frame = LocalFrame(45.0, 7.0)
    grid = grid_at(45.0, 7.0, 10.0, 40)
    here, _ = source_of(np.ones((20, 20)), Affine(10, 0, -200, 0, -10, 200), frame.crs)
    laid = lay(here, frame, grid, best=True)
    assert np.isfinite(laid.highest[:20, :20]).all()
    assert np.isnan(laid.highest[21:]).all()
    away, asked = source_of(np.ones((20, 20)), Affine(10, 0, 5000, 0, -10, 200), frame.crs)
    assert np.isnan(lay(away, frame, grid).highest).all()
    other_side, _ = source_of(np.ones((20, 20)), Affine(10, 0, 500_000, 0, -10, 200), "EPSG:32660")
    assert np.isnan(lay(other_side, LocalFrame(0.5, 87.0), grid_at(0.5, 87.0)).highest).all()
    assert asked == []
    europe, _ = source_of(np.ones((20, 20)), Affine(10, 0, 800_000, 0, -10, 5_000_000), "EPSG:3857")
    assert np.isnan(lay(europe, LocalFrame(*FIJI), grid_at(*FIJI, n=200)).highest).all()


# ------------------------------------------------------------------------------------------- ±180° and the poles
def world(start):
    """A file round the world in half degrees."""
    return degrees_file(start, 0.0, 0.5, 60, 720)


@pytest.mark.parametrize("lon", [179.98, -179.98, 0.02, -0.02, 90.0])
@pytest.mark.parametrize("start", [-180.0, 0.0])
def test_a_file_round_the_world_has_no_seam(start, lon):
    frame = LocalFrame(-16.5, lon)
    grid = grid_at(-16.5, lon, 500.0, 80)
    best = lay(source_of(*world(start), DEGREES)[0], frame, grid, best=True)
    row, col = np.indices(grid.shape)
    lons, lats = frame.to_lonlat(*grid.xy(row, col))
    assert np.isfinite(best.highest).all()
    a = math.radians(0.5)  # what bilinear is off on a hill of that curvature
    off = a * a / 8 * (300 * 40**2 + 200 * 50**2)
    assert np.abs(best.best - hill(lons, lats)).max() < off * 1.05


@pytest.mark.parametrize(("west", "east"), [(179.5, -180.0), (179.5, 180.0), (-180.5, -180.0)])
def test_two_tiles_at_the_antimeridian_are_as_one(west, east):
    cell, rows, cols = 0.001, 700, 500
    frame, grid = LocalFrame(*FIJI), grid_at(*FIJI, 100.0, 200)
    one, t = degrees_file(179.5, -16.2, cell, rows, 2 * cols)
    whole = lay(source_of(one, t, DEGREES)[0], frame, grid, best=True)
    left, _ = source_of(one[:, :cols], Affine(cell, 0, west, 0, -cell, -16.2), DEGREES, name="E179")
    right, _ = source_of(one[:, cols:], Affine(cell, 0, east, 0, -cell, -16.2), DEGREES, name="W180")
    pasted = paste([right, left], FIJI[1])
    assert [source.name for source in pasted] == ["E179, W180"]
    laid = lay(pasted[0], frame, grid, best=True)
    assert np.isfinite(laid.best).all()
    for a, b in zip(whole, laid, strict=True):
        np.testing.assert_allclose(a, b, rtol=1e-5)


def test_pasted_tiles_fill_each_other_s_holes_and_leave_gaps_unknown():
    a, b = np.full((10, 10), 5.0, np.float32), np.full((10, 10), 7.0, np.float32)
    a[4, 8] = np.nan
    one, _ = source_of(a, Affine(10, 0, 0, 0, -10, 0), "EPSG:32633", name="a")
    two, _ = source_of(b, Affine(10, 0, 70, 0, -10, 0), "EPSG:32633", name="b")
    far, _ = source_of(b, Affine(10, 0, 200, 0, -10, 0), "EPSG:32633", name="c")
    other, _ = source_of(b, Affine(10, 0, 73, 0, -10, 0), "EPSG:32633", name="d")
    zone, _ = source_of(b, Affine(10, 0, 70, 0, -10, 0), "EPSG:32634", name="e")
    pasted = paste([two, other, one, far, zone], 15.0)
    assert [source.name for source in pasted] == ["a, b, c", "d", "e"]
    read = pasted[0].read(slice(2, 6), slice(0, 30))
    assert read.shape == (4, 30)
    np.testing.assert_array_equal(read[2], [5.0] * 7 + [7.0] * 10 + [np.nan] * 3 + [7.0] * 10)


def test_a_file_in_grads_from_paris():
    frame, grid = LocalFrame(46.0, 2.5), grid_at(46.0, 2.5, 100.0, 50)
    crs = CRS.from_epsg(4807)
    lon, lat = Transformer.from_crs(4326, crs, always_xy=True).transform(2.5, 46.0)
    data = np.full((200, 200), 1.0, np.float32)
    data[100, 100] = 50.0
    for turn in (-400.0, 0.0, 400.0):
        t = Affine(0.001, 0, lon + turn - 0.1005, 0, -0.001, lat + 0.1005)
        high = lay(source_of(data, t, crs)[0], frame, grid).highest
        assert high[25, 25] == 50.0
        assert (high == 50.0).sum() <= 9


def test_a_polar_grid_over_the_pole():
    frame, grid = LocalFrame(89.99, 30.0), grid_at(89.99, 30.0, 50.0, 60)
    data = np.random.default_rng(0).uniform(0, 100, (200, 200)).astype(np.float32)
    source, _ = source_of(data, Affine(30, 0, -3000, 0, -30, 3000), "EPSG:3413")
    assert np.isfinite(lay(source, frame, grid).highest).all()


@pytest.mark.parametrize(
    ("lat", "lon", "crs", "transform"),
    [
        (89.999, 30.0, "EPSG:4326", Affine(0.5, 0, -180, 0, -0.001, 90)),
        (-16.5, 179.999, "EPSG:3857", Affine(55_000, 0, -20_037_508, 0, -1000, -1_500_000)),
    ],
)
def test_a_torn_projection_is_refused(lat, lon, crs, transform):
    source, _ = source_of(np.ones((800, 728)), transform, crs, name="world.tif")
    with pytest.raises(LayerError, match=r"world\.tif.*torn.*convert it"):
        lay(source, LocalFrame(lat, lon), grid_at(lat, lon, 50.0, 100))


@pytest.mark.parametrize("bad", [Affine(0, 0, 0, 0, -1, 0), Affine(math.nan, 0, 0, 0, -1, 0), Affine(1, 2, 0, 2, 4, 0)])
def test_a_transform_that_leads_nowhere_is_refused(bad):
    source, _ = source_of(np.ones((4, 4)), bad, "EPSG:32633", name="flat.tif")
    with pytest.raises(LayerError, match=r"flat\.tif.*no place"):
        lay(source, LocalFrame(0.0, 15.0), grid_at(0.0, 15.0))


def test_a_file_that_gives_less_than_asked_is_refused():
    def read(rows, cols):
        return np.ones((3, 3), np.float32)

    frame = LocalFrame(0.0, 15.0)
    short = Source(read, 400, 400, Affine(10, 0, -2000, 0, -10, 2000), frame.crs, name="short.tif")
    with pytest.raises(LayerError, match=r"short\.tif gave \(3, 3\)"):
        lay(short, frame, grid_at(0.0, 15.0))


def test_unwrap():
    np.testing.assert_allclose(unwrap([-179.5, 179.5, 0.0], 179.0), [180.5, 179.5, 0.0])
    np.testing.assert_allclose(unwrap([199.5, -199.5], -199.0, 400.0), [-200.5, -199.5])
