"""An invented plan, built without the rooms that plan: enough of everything that a document holds and a writer draws.

The numbers hang together (masses add up, times add up) but none of them is a result. The island is made up.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from diproute.document import Plan, compose
from diproute.physics.geodesy import LocalFrame
from diproute.records import (
    Air,
    Approach,
    Assessed,
    AssessedSite,
    AvoidArea,
    Base,
    Bucket,
    Clearance,
    Course,
    Criterion,
    Crossing,
    CurvePoint,
    Cycle,
    CyclePart,
    DipPoint,
    Drop,
    Finding,
    Gate,
    GoNoGo,
    Governing,
    Grid,
    Ground,
    Helicopter,
    HoverChart,
    HoverCurve,
    Incident,
    Layers,
    LayerSource,
    LeftOut,
    Leg,
    Limits,
    Line,
    Load,
    LoadLine,
    Obstacle,
    Piece,
    Route,
    Search,
    Sector,
    Sortie,
    WaterBody,
    Weather,
    Wind,
)

LAT, LON = 42.1, -160.05
FRAME = LocalFrame(LAT, LON)
DROP_XY, BASE_XY = (600.0, 900.0), (-5200.0, -6100.0)
DECLINATION = 9.6


def _place(x: float, y: float) -> tuple[float, float]:
    lon, lat = FRAME.to_lonlat(x, y)
    return float(lat), float(lon)


def blob(x: float, y: float, radius: float, seed: int, squash: float = 1.0) -> Polygon:
    """An outline like a lake's."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    reach = radius * (1 + sum(0.16 / n * np.sin(n * angle + rng.uniform(0, 6.28)) for n in range(2, 7)))
    return Polygon(np.column_stack([x + reach * np.cos(angle), y + squash * reach * np.sin(angle)]))


def make_ground(size: int = 420, cell_m: float = 44.0, seed: int = 7) -> Ground:
    """Rough mountains from a random spectrum, woods on the low ground, one corner not known."""
    rng = np.random.default_rng(seed)
    frequency = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :])
    frequency[0, 0] = 1.0
    noise = np.fft.rfft2(rng.standard_normal((size, size))) / frequency**1.75
    noise[0, 0] = 0.0
    height = np.fft.irfft2(noise, s=(size, size))
    height = (height - height.min()) / np.ptp(height)
    half = size * cell_m / 2
    x = -half + (np.arange(size) + 0.5) * cell_m
    far = np.hypot(x[None, :], x[::-1, None]) / half
    ground = (2350 * height**1.5 * np.clip(1.3 - far, 0.05, 1) ** 0.7).astype(np.float32)
    woods = (rng.random((size, size)) < 0.6) & (ground < 1300)
    top = ground + np.where(woods, rng.uniform(8, 32, (size, size)), 0).astype(np.float32)
    ground[: size // 5, -size // 6 :] = np.nan
    top[: size // 5, -size // 6 :] = np.nan
    return Ground(
        grid=Grid(LAT, LON, -half, half, cell_m, size, size),
        ground=ground,
        top=top,
        cause=woods.astype(np.uint16),
        obstacles=(
            Obstacle("power line, 110 kV", "wire", 45.0, True, None, None,
                     LineString([(-7800, -2500), (-3000, -1200), (900, -2600), (6400, -2100)]), "wires.geojson", True),
            Obstacle("mast", "mast", 62.0, False, True, 15.0, Point(-2600, 3400), "towers.dat"),
            Obstacle("tower", "tower", 38.0, False, False, None, Point(3600, -4300), "towers.dat"),
            Obstacle("ropeway", "wire", 30.0, True, None, None, LineString([(2500, 4500), (4200, 5900)]),
                     "wires.geojson", True),
        ),
        vertical_datum="not stated",
        vertical_error_m=None,
        elevation_is="ground",
        canopy_known=True,
        sources=("elevation.tif (invented)", "canopy.tif (invented)"),
        cautions=(Finding.of("vertical-datum-unknown"),),
        layers=(
            LayerSource("elevation", "elevation.tif", "1" * 64, current="2021-05-01", licence="CC0-1.0"),
            LayerSource("canopy", "canopy.tif", "2" * 64, vertical_error_m=3.0),
            LayerSource("water", "water.gpkg", "3" * 64, layer="lakes"),
            LayerSource("obstacles", "wires.geojson", "4" * 64),
            LayerSource("obstacles", "towers.dat", "5" * 64, current="2026-07-12"),
        ),
    )  # fmt: skip


def _sample(array: np.ndarray, grid: Grid, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    r = np.clip(((grid.top_m - y) / grid.cell_m).astype(int), 0, grid.rows - 1)
    c = np.clip(((x - grid.left_m) / grid.cell_m).astype(int), 0, grid.cols - 1)
    return array[r, c].astype(float)


def make_leg(ground: Ground, kind: str, start: tuple[float, float], end: tuple[float, float], bend: float,
             crossing: tuple[float, float] | None = None) -> Leg:  # fmt: skip
    """A bent leg flown above the ground."""
    t = np.linspace(0, 1, 181)
    a, b = np.array(start), np.array(end)
    middle = (a + b) / 2 + bend * np.array([a[1] - b[1], b[0] - a[0]])
    x, y = (np.outer((1 - t) ** 2, a) + np.outer(2 * t * (1 - t), middle) + np.outer(t**2, b)).T
    distance = np.concatenate([[0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    low, high = _sample(ground.ground, ground.grid, x, y), _sample(ground.top, ground.grid, x, y)
    floor = np.array([np.nanmax(high[max(0, i - 3) : i + 4]) for i in range(len(x))]) + 45 + 42
    step = np.diff(distance, prepend=0).max() * 0.12
    path = floor + 4
    for i in range(1, len(path)):
        path[i] = max(path[i], path[i - 1] - step)
    for i in range(len(path) - 2, -1, -1):
        path[i] = max(path[i], path[i + 1] - step)
    lon, lat = FRAME.to_lonlat(x, y)
    wires = ()
    if crossing is not None:
        where = _place(*crossing)
        wires = (Crossing("power line, 110 kV", *where, float(np.nanmean(low)) + 45.0, True, 51.0, 83.0),)
    return flown(Leg("Head", kind, x, y, np.asarray(lon), np.asarray(lat), distance, low, high, floor, path,
                     distance / 41.0, wires, (), gate("departure"), gate("arrival")))  # fmt: skip


def gate(kind: str, course: float = 225.0, lift: float = 9.0) -> Gate:
    """A gate in a light wind."""
    return Gate("dip" if kind == "departure" else "drop", kind, course, lift, 0.125, 20.3, 180.0, 500.0, 4.1, -2.2)


def flown(leg: Leg, lift: float = 9.0, lower: float = 5.0) -> Leg:
    """Put lift and lower round a leg, and tell its pieces: corridor, arc, straight, corridor."""

    def round_(values: np.ndarray, first: float, last: float) -> np.ndarray:
        return np.concatenate([[values[0] + first], values, [values[-1] + last]])

    count = len(leg.x_m)
    rows = {
        name: round_(getattr(leg, name), 0.0, 0.0)
        for name in ("x_m", "y_m", "lon_deg", "lat_deg", "distance_m", "ground_m", "top_m")
    }
    height = round_(leg.altitude_m, -lift, -lower)
    floor = np.minimum(round_(leg.floor_m, 0.0, 0.0), height)
    time = np.concatenate([[0.0], leg.time_s + lift / 1.5, [leg.time_s[-1] + lift / 1.5 + lower / 1.27]])
    third = max(2, count // 3)
    pieces = (
        Piece("lift", 0, 1, True), Piece("corridor", 1, 2, True), Piece("arc", 2, third, True, 412.0, 38.0),
        Piece("straight", third, count - 1), Piece("corridor", count - 1, count, True),
        Piece("lower", count, count + 1, True),
    )  # fmt: skip
    return replace(leg, **rows, altitude_m=height, floor_m=floor, time_s=time, pieces=pieces)


def make_clearance(seed: int, tall: float, unknown: tuple[int, int] | None, needed: float) -> Clearance:
    """Lifts round the circle, 72 directions; a stretch of them may be not known."""
    rng = np.random.default_rng(seed)
    bearing = np.arange(72) * 5.0
    wave = sum(np.sin(np.radians(bearing) * n + rng.uniform(0, 6.28)) / n for n in range(1, 6))
    lift = np.clip(tall * np.clip(wave + 0.2, 0, None) + rng.uniform(0, 5, 72), 3, None)
    if unknown is not None:
        lift[unknown[0] : unknown[1]] = np.nan
    governing = tuple(
        None if not v > 3 else Governing("trees", 180.0 + 4 * i, float(bearing[i]), float(v) + 22, None)
        for i, v in enumerate(lift)
    )
    return Clearance(bearing, lift, lift + np.where(lift > 30, 6, 0), np.clip(lift - 20, 0, None),
                     np.full(72, 140.0), needed, Governing("trees", 31.0, 215.0, needed + 18.0, None),
                     governing)  # fmt: skip


def make_approach(clearance: Clearance, arrival: float, departure: float, limit: float = 60.0) -> Approach:
    """The open directions, and a pair of courses among them."""
    known = np.isfinite(clearance.lift_out_m)
    is_open = known & (np.nan_to_num(clearance.lift_in_m, nan=1e9) <= limit)

    def flown(course: float, bearing: float) -> Course:
        i = int(bearing // 5) % 72
        away = np.radians(240.0 - course)
        return Course(course, float(np.nan_to_num(clearance.lift_out_m[i], nan=9.0)), 6.2 * np.cos(away),
                      6.2 * np.sin(away), float(np.nan_to_num(clearance.surface_m[i])), 140.0,
                      clearance.lift_governing[i], 0.125, 180.0)  # fmt: skip

    return Approach(is_open, known, float(is_open.mean()), (Sector(150.0, 290.0), Sector(340.0, 40.0)),
                    flown(arrival, arrival + 180), flown(departure, departure))  # fmt: skip


def make_incident(title: str = "Kestrel Ridge", display: str = "us") -> Incident:
    """The incident and its made-up helicopter."""
    altitude = (0.0, 1219.2, 2438.4, 3657.6)
    temperatures = (253.15, 273.15, 293.15, 313.15)
    curves = tuple(
        HoverCurve(t, altitude, tuple(min(2750.0, 3290.0 - 0.16 * h - 6.2 * (t - 253.15)) for h in altitude))
        for t in temperatures
    )
    craft = Helicopter("Demo light", "made up for the demo; not a real type", 3, 10.7, 1300.0, 2750.0, 1200.0, 60.0,
                       540.0, 0.8, 0.0422, 0.04, 0.0367, 41.2, 48.9, 2.54, 6.1, 2.54, 4.06, 1.5, 2.0, 45.0,
                       HoverChart(curves))  # fmt: skip
    drop, base = _place(*DROP_XY), _place(*BASE_XY)
    return Incident(
        title=title,
        display=display,
        when=datetime(2026, 8, 14, 15, 0, tzinfo=timezone(timedelta(hours=-10))),
        layers=Layers((Path("elevation.tif"),), "ground", ((Path("water.gpkg"), None),)),
        drops=(Drop("Head", *drop),),
        base=Base(*base, 720.0),
        weather=Weather(Air(304.15, 1200.0, 100900.0, 281.15), Wind((0.0,), (240.0,), (6.17,), 9.3), "incident file"),
        helicopter=craft,
        crew_kg=95.0,
        fuel=None,
        count=1,
        bucket=Bucket("Demo 820", "made up for the demo", 820.0, 70.0, 4.5, 1.5, (1.0, 0.9, 0.8, 0.7, 0.6), 25.0, 8.0),
        fill=None,
        lines=(Line(0.0), Line(30.0, 18.0, 6.0), Line(38.0, 22.8, 7.6)),
        limits=Limits(),
        search=Search(8000.0, 40),
        invented=True,
    )


def make_load(fill: float, fuel: float, line: Line) -> Load:
    """A load by the form, its lines as the load calculation names them."""
    incident = make_incident()
    craft, bucket = incident.helicopter, incident.bucket
    operating, chart = craft.equipped_kg + incident.crew_kg + fuel, 2720.0
    adjusted = chart - craft.weight_reduction_kg
    selected = min(adjusted, craft.max_gross_external_kg)
    tare = bucket.empty_kg + line.mass_kg
    room = min(selected - operating, craft.hook_limit_kg) - tare
    water = fill * bucket.capacity_l * 0.9991
    sheet = (
        ("equipped", craft.equipped_kg), ("crew", incident.crew_kg), ("fuel", fuel), ("operating mass", operating),
        ("chart limit", chart), ("vertical climb", 0.0), ("weight reduction", craft.weight_reduction_kg),
        ("hover margin", 0.0), ("adjusted", adjusted), ("certificated limit", craft.max_gross_external_kg),
        ("selected", selected),
        ("allowable payload", selected - operating), ("bucket", bucket.empty_kg), ("line", line.mass_kg), ("gear", 0.0),
        ("hook limit", craft.hook_limit_kg), ("water allowed", room), ("water carried", water), ("left", room - water),
    )  # fmt: skip
    lines = tuple(LoadLine(name, mass, _note(name, fill)) for name, mass in sheet)
    return Load(water / 0.9991, water, fill, fuel, "hover limit", "drop", chart, room - water, lines)


def _note(name: str, fill: float) -> Finding | None:
    if name == "water carried":
        return Finding.of("sheet-share", fill=fill)
    return Finding.of("sheet-under-limit") if name == "left" else None


def make_cycle(out_s: float, back_s: float) -> Cycle:
    """One round trip in flying order."""
    parts = (("fill", 31.0), ("lift", 12.0), ("transit loaded", out_s), ("lower at the drop", 4.0), ("drop", 8.0),
             ("turn at the drop", 6.0), ("transit empty", back_s), ("lower", 9.0), ("turn at the dip", 5.0),
             ("manoeuvre", 45.0))  # fmt: skip
    return Cycle(tuple(CyclePart(name, s, s * 0.04) for name, s in parts))


def make_curve(load: Load, best_lph: float) -> tuple[CurvePoint, ...]:
    """Water an hour over fuel for each fill; not allowed where the hover margin runs out."""

    def rate(fill: float, fuel: float) -> float:
        return best_lph * fill / load.fill * (1 - 55.0 / fuel) / (1 - 55.0 / load.fuel_kg)

    points = []
    for fill in (1.0, 0.9, 0.8, 0.7, 0.6):
        for fuel in np.linspace(110, 432, 24):
            margin = load.margin_kg + load.fuel_kg - fuel + 0.9991 * 820 * (load.fill - fill)
            litres = rate(fill, fuel) if margin >= 0 else np.nan
            points.append(CurvePoint(fill, float(fuel), float(litres), float(margin),
                                     int(fuel // 26) if margin >= 0 else 0))  # fmt: skip
    return tuple(points)


_CRITERIA = (
    Finding.of("score-distance", mean_leg_m=3100.0, radius_m=8000.0),
    Finding.of("score-altitude", fill=0.8, density_altitude_m=2380.0, governed_by="hover limit", place="drop"),
    Finding.of("score-obstacles", line_m=30.0, belly_hook=False, what="trees", distance_m=31.0, lift_m=9.0),
    Finding.of("score-approach", open_share=0.6, arrival_deg=235.0, into_wind=True, wind_from_deg=240.0),
)
_TABLE = GoNoGo(
    (292.15, 297.15, 302.15, 307.15), (120.0, 190.0, 432.0),
    ((1.0, 0.9, 0.7), (0.9, 0.9, 0.6), (0.9, 0.8, 0.0), (0.7, 0.6, float("nan"))),
    2, 1, 304.0, 2600.0, False,
)  # fmt: skip
_DEPTH = Finding.of("depth-unknown", needed_m=1.5)


def _site(i: int, ground: Ground, water: WaterBody, at: tuple[float, float], **more: object) -> AssessedSite:
    """One usable site."""
    lat, lon = _place(*at)
    clearance = more["clearance"]
    line = more["line"]
    fill = more["fill"]
    load = make_load(fill, 190.0, line)
    loaded = make_leg(ground, "loaded", at, DROP_XY, 0.12, more.get("crossing"))
    empty = make_leg(ground, "empty", DROP_XY, at, 0.10)
    ferry = make_leg(ground, "ferry", BASE_XY, at, 0.05)
    home = make_leg(ground, "ferry", DROP_XY, BASE_XY, 0.08)
    cycle = make_cycle(loaded.seconds, empty.seconds)
    hourly = 3600 / cycle.seconds * load.water_l * 0.82
    return AssessedSite(
        id=f"{water.id}-1",
        name=f"{water.name}, deepest inside" if i else water.name,
        point=DipPoint(water, *at, lat, lon, water.level_low_m, water.level_high_m, 24.0 + 10 * i, "deepest inside"),
        rank=i + 1,
        temperature_k=302.0 + i,
        pressure_altitude_m=water.level_high_m + 40,
        density_altitude_m=water.level_high_m + 900,
        clearance=clearance,
        approach=make_approach(clearance, 235.0, 225.0 - 60 * i),
        line=line,
        load=load,
        route=Route((loaded,), (empty,), ferry, home),
        cycle=cycle,
        sortie=Sortie(14, 14 * cycle.seconds + 1300, 14 * load.water_l, hourly, 560.0 + 30 * i, 48.0,
                      (load.water_l,) * 14),
        criteria=tuple(
            Criterion(why.code.removeprefix("score-"), 88.0 - 9 * j - 11 * i, 25.0, why)
            for j, why in enumerate(_CRITERIA)
        ),
        curve=make_curve(load, hourly),
        refused=(),
        cautions=(_DEPTH,),
        rank_band=1 + i // 2,
        go_no_go=_TABLE,
    )  # fmt: skip


def _asks(clearance: Clearance) -> Finding:
    thing = clearance.line_governing
    return Finding.of("line-asks", what=thing.what, height_m=thing.height_m, distance_m=thing.distance_m)


def _refused(ground: Ground, water: WaterBody, at: tuple[float, float]) -> AssessedSite:
    lat, lon = _place(*at)
    nan = float("nan")
    clearance = make_clearance(5, 70.0, (0, 14), 44.0)
    point = DipPoint(water, *at, lat, lon, water.level_low_m, water.level_high_m, 12.0, "deepest inside")
    return AssessedSite("pond-1", water.name, point, None, 303.0, 900.0, nan, clearance,
                        make_approach(clearance, 235.0, 220.0), None, None, None, None, None,
                        (Criterion("distance", 60.0, 25.0, _CRITERIA[0]),), (),
                        (Finding.of("line-too-short", needed_m=44.0, longest_m=38.0, asks=_asks(clearance)),
                         Finding.of("directions-unknown", share=0.19)),
                        (_DEPTH,))  # fmt: skip


def make_assessed(*, title: str = "Kestrel Ridge", display: str = "us", size: int = 420, cell_m: float = 44.0,
                  water_name: str = "Caldera lake", usable: bool = True) -> Assessed:  # fmt: skip
    """The invented plan as the stages leave it: three ranked sites (one with unknown directions), one refused."""
    ground = make_ground(size, cell_m)
    nan = float("nan")

    def water(key: str, name: str, kind: str, at: tuple[float, float], r: float, seed: int, level: float) -> WaterBody:
        shape = blob(*at, r, seed)
        return WaterBody(key, name, kind, shape, kind == "sea", level, level, 0.8, None, "water.gpkg (invented)")

    lakes = (
        water("caldera", water_name, "lake", (2700.0, 2600.0), 480, 3, 1480.0),
        water("reservoir", "Long reservoir", "reservoir", (-4600.0, -1900.0), 900, 4, 640.0),
        water("tarn", "Tarn", "pond", (-1500.0, 4600.0), 210, 5, 1720.0),
        water("pond", "Ringed pond", "pond", (4700.0, -3400.0), 120, 6, 420.0),
        water("bay", "North bay", "sea", (-6500.0, 6400.0), 1300, 8, nan),
    )
    spots = ((2700.0, 2600.0), (-4500.0, -2000.0), (-1500.0, 4600.0))
    if usable:
        sites = (
            _site(0, ground, lakes[0], spots[0], clearance=make_clearance(1, 26.0, None, 27.0),
                  line=Line(30.0, 18.0, 6.0), fill=0.8),
            _site(1, ground, lakes[1], spots[1], clearance=make_clearance(2, 34.0, None, 0.0), line=Line(0.0),
                  fill=0.9, crossing=(-2700.0, -1250.0)),
            _site(2, ground, lakes[2], spots[2], clearance=make_clearance(3, 40.0, (3, 15), 29.0),
                  line=Line(30.0, 18.0, 6.0), fill=0.7),
        )  # fmt: skip
    else:
        sites = ()
    return Assessed(
        incident=make_incident(title, display),
        made_with="diproute 0.1.0",
        ground=ground,
        waters=lakes,
        left_out=(
            LeftOut("Dry pan", Finding.of("intermittent", nhd_code=46601), blob(3600.0, 6800.0, 420, 11)),
            LeftOut(
                "Mill pond", Finding.of("tailings", tag="content", said="tailings"), blob(-6900.0, -4200.0, 260, 12)
            ),
        ),
        avoid=(
            AvoidArea("Village", Finding.of("area-said", text="people"), True, 1.0, blob(-1500.0, -900.0, 620, 21)),
            AvoidArea(
                "Campground",
                Finding.of("area-said", text="people in summer"),
                False,
                3.0,
                blob(2600.0, 300.0, 420, 22),
            ),
        ),
        declination_deg=DECLINATION,
        declination_sigma_deg=0.36,
        sites=(*sites, _refused(ground, lakes[3], (4700.0, -3400.0))),
        cautions=(Finding.of("no-base"),),
    )


def make_plan(**given: object) -> Plan:
    """The document of `make_assessed`."""
    return compose(make_assessed(**given))
