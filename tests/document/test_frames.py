"""The plan's tables: columns by rule, values the plan's own, and nothing told of what nobody flies."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from composed import full, plain
from exchange_scene import HOSTILE, as_written, at_offset, bare, moved, plans, read_back, two_drops
from geopandas.testing import assert_geodataframe_equal
from outlook_fixture import full_assessed

from diproute.document.frames import KINDS, NAMES, legs_of, to_geodataframe
from diproute.errors import QuantityError

ALWAYS = ["valid_at", "invented", "run", "vertical_datum", "geometry"]
UNITS = {"m", "s", "kg", "l", "k", "deg", "litres"}
# numbers without a unit: a share of one, points out of 100, a factor
PLAIN = {"bucket_setting", "share", "score", "extra_cost"}
# lengths that no height is: level, or from one thing to another
LENGTHS = {"depth", "shore", "line", "lift", "along", "length", "accuracy", "hanging", "density"}
PLACES = {"lat_deg", "lon_deg"}
FLOWN = [
    "litres_per_hour", "cycles_on_fuel", "cycle_s", "load_l", "bucket_setting", "fuel_kg", "margin_kg",
    "hovers_up_to_k", "line_m", "score", "rank", "rank_band", "approach_true_deg", "approach_magnetic_deg",
    "approach_lift_m", "departure_true_deg", "departure_magnetic_deg", "departure_lift_m",
]  # fmt: skip
COLUMNS = [(kind, name) for kind in NAMES for name in KINDS[kind][0]]


def known(value):
    return None if pd.isna(value) else value


@pytest.mark.parametrize(("kind", "name"), COLUMNS)
def test_a_number_s_name_tells_its_unit_and_from_where_it_counts(kind, name):
    words = set(name.split("_"))
    if KINDS[kind][0][name] != "Float64":
        assert KINDS[kind][0][name] in ("Int64", "boolean", "string")
        return
    assert words & UNITS or name in PLAIN, "no unit"
    if "m" in words and not words & LENGTHS:
        assert name.endswith(("_m_amsl", "_m_agl", "_at_least")), "a height above what?"
    if "deg" in words and name not in PLACES:
        assert words & {"true", "magnetic"}, "from which north?"


@pytest.mark.parametrize("kind", NAMES)
@pytest.mark.parametrize("name", list(plans()))
def test_every_table_has_its_columns_whatever_the_plan_holds(kind, name):
    frame = plans()[name].to_geodataframe(kind)
    assert isinstance(frame, gpd.GeoDataFrame)
    assert list(frame.columns) == [*KINDS[kind][0], *ALWAYS]
    assert {column: str(frame[column].dtype) for column in KINDS[kind][0]} == KINDS[kind][0]
    assert str(frame["valid_at"].dtype) == "datetime64[ms, UTC]"
    assert frame["invented"].dtype == bool
    assert frame.crs.to_epsg() == 4326
    if name == "bare":
        assert frame.empty
    west, south, east, north = frame.total_bounds
    assert frame.geometry.isna().all() or (-180 <= west <= east <= 180 and -90 <= south <= north <= 90)
    assert frame.geometry.dropna().is_valid.all()


def test_a_wrong_kind_is_told_the_right_ones():
    with pytest.raises(QuantityError) as caught:
        plain().to_geodataframe("lakes")
    line = str(caught.value)
    assert "'lakes'" in line
    assert all(kind in line for kind in NAMES)
    assert line.isprintable()


def test_sites_hold_what_the_plan_says():
    plan = full()
    frame = to_geodataframe(plan, "sites")
    assert list(frame["id"]) == [site.id for site in plan.sites]
    for row, site in zip(frame.itertuples(), plan.sites, strict=True):
        assert (row.name, row.suitable, known(row.rank)) == (site.name, site.suitable, site.rank)
        assert (row.geometry.x, row.geometry.y) == (row.lon_deg, row.lat_deg) == (site.lon, site.lat)
        told = {
            "elevation_m_amsl": site.elevation_m, "level_low_m_amsl": site.level_low_m, "depth_m": site.depth_m,
            "temperature_k": site.temperature_k, "density_altitude_m": site.density_altitude_m,
            "line_needed_m": site.line.needed_m, "shore_clearance_m": site.shore_clearance_m,
        }  # fmt: skip
        if site.suitable:
            told |= {
                "litres_per_hour": site.sortie.litres_per_hour, "cycles_on_fuel": site.sortie.cycles,
                "cycle_s": site.cycle.seconds, "load_l": site.load.water_l, "bucket_setting": site.load.fill,
                "fuel_kg": site.load.fuel_kg, "margin_kg": site.load.margin_kg, "line_m": site.line.carried_m,
                "hovers_up_to_k": site.go_no_go.holds_to_k, "score": site.score.total,
                "approach_true_deg": site.arrival.course_deg, "approach_lift_m": site.arrival.lift_m,
                "approach_magnetic_deg": site.arrival.course_magnetic_deg,
                "departure_true_deg": site.departure.course_deg, "departure_lift_m": site.departure.lift_m,
                "departure_magnetic_deg": site.departure.course_magnetic_deg,
            }  # fmt: skip
        assert {name: known(getattr(row, name)) for name in told} == told
        assert row.cautions_count == len(site.cautions)
        assert (known(row.refused) or "") == "; ".join(found.because for found in site.refused)


@pytest.mark.parametrize("name", list(plans()))
def test_of_a_refused_site_nothing_is_told_that_could_be_flown(name):
    plan = plans()[name]
    frame = to_geodataframe(plan, "sites")
    refused = frame[~frame["suitable"]]
    assert refused[FLOWN].isna().all(axis=None)
    assert refused["refused"].notna().all()
    ids = set(refused["id"])
    for kind in ("legs", "waypoints"):
        assert not ids & set(to_geodataframe(plan, kind)["site"].dropna())
    bound = {way for site in plan.suitable if site.ferry for way in (site.ferry.from_base, site.ferry.to_base)}
    ferries = to_geodataframe(plan, "legs").query("kind == 'ferry'")
    assert set(ferries["leg"]) == bound - {None}


def test_a_refused_site_with_legs_and_courses_of_its_own_shows_none():
    plan = full()
    best, *others = plan.sites
    refused = best.model_copy(update={"rank": None, "refused": plan.sites[-1].refused})
    kept = tuple(
        site.model_copy(update={"rank": None if site.rank is None else site.rank - 1}) for site in others
    )  # fmt: skip
    told = plan.model_copy(update={"sites": (*kept, refused)})
    assert refused.routes
    assert refused.arrival is not None
    row = to_geodataframe(told, "sites").iloc[-1]
    assert row["id"] == best.id
    assert row[FLOWN].isna().all()
    assert best.id not in set(to_geodataframe(told, "legs")["site"].dropna())


@pytest.mark.parametrize("name", ["full", "two drops"])
def test_legs_are_flown_as_the_plan_says(name):
    plan = plans()[name]
    frame = to_geodataframe(plan, "legs")
    legs = [(site, leg) for _, site, leg in legs_of(plan)]
    assert len(frame) == len(legs) > 8
    assert frame["name"].is_unique == (name == "full")
    for row, (site, leg) in zip(frame.itertuples(), legs, strict=True):
        assert list(row.geometry.coords) == [tuple(point) for point in leg.path]
        assert (row.leg, row.kind, known(row.drop), known(row.site)) == (leg.id, leg.leg, leg.drop, site and site.id)
        assert (row.length_m, row.time_s, row.highest_m_amsl) == (leg.length_m, leg.seconds, leg.highest_m)
        assert known(row.load_clearance_m_at_least) == (leg.lowest and leg.lowest.clearance_m)
        assert row.load_clearance_known == leg.under_known
        assert row.wires_crossed == len(leg.wires_crossed)


def test_a_ferry_names_the_sites_that_it_serves():
    frame = to_geodataframe(full(), "legs").query("kind == 'ferry'").set_index("leg")
    for site in full().suitable:
        for id_ in (site.ferry.from_base, site.ferry.to_base):
            ranks = frame.loc[id_, "name"].rpartition("site")[2].removeprefix("s").replace(",", " ").split()
            assert str(site.rank) in ranks


def test_waypoints_lie_on_their_legs():
    plan = full()
    frame = to_geodataframe(plan, "waypoints")
    expected = [(leg, number, point) for _, _, leg in legs_of(plan) for number, point in enumerate(leg.waypoints, 1)]
    assert len(frame) == len(expected)
    for row, (leg, number, point) in zip(frame.itertuples(), expected, strict=True):
        assert (row.leg, row.number, row.altitude_m_amsl) == (leg.id, number, point.altitude_m)
        assert (row.geometry.x, row.geometry.y) == leg.path[point.index][:2]
        assert (row.along_m, row.time_s, known(row.course_true_deg)) == (
            point.along_m, point.time_s, point.course_deg,
        )  # fmt: skip
        if point.course_deg is not None:
            turned = (row.course_magnetic_deg + plan.declination_deg - row.course_true_deg + 180) % 360 - 180
            assert abs(turned) <= 0.051
            assert 0 <= row.course_magnetic_deg < 360


def test_a_height_above_ground_is_never_more_than_there_is():
    """Against the legs as flown, before they were thinned and put into steps."""
    assessed, plan = full_assessed(), full()
    frame = to_geodataframe(plan, "waypoints").set_index(["leg", "number"])
    seen = 0
    for site in assessed.usable:
        for kind, legs in (("loaded", site.route.loaded), ("empty", site.route.empty)):
            for i, at in enumerate(legs[0].waypoints, start=1):
                told = known(frame.loc[(f"{site.id}-{kind}-1", i), "height_m_agl_at_least"])
                true = legs[0].altitude_m[at] - legs[0].ground_m[at]
                if told is not None:
                    assert told <= true
                    seen += 1
    assert seen > 20


def test_over_unknown_ground_no_height_above_it_is_told():
    plan = full()
    best = plan.suitable[0]
    leg = best.routes[0]
    hidden = leg.envelope.model_copy(update={"ground_m": (None,) * len(leg.envelope.ground_m)})
    routes = (leg.model_copy(update={"envelope": hidden}), *best.routes[1:])
    told = plan.model_copy(update={"sites": (best.model_copy(update={"routes": routes}), *plan.sites[1:])})
    frame = to_geodataframe(told, "waypoints")
    assert frame[frame["leg"] == leg.id]["height_m_agl_at_least"].isna().all()
    assert frame[frame["leg"] == best.routes[1].id]["height_m_agl_at_least"].notna().any()


def test_waters_obstacles_areas_and_places_are_all_there():
    plan = plans()["all shapes"]
    waters = to_geodataframe(plan, "waters")
    assert list(waters[waters["used"]]["id"]) == [water.id for water in plan.waters]
    assert list(waters[~waters["used"]]["left_out"]) == [out.because for out in plan.left_out]
    obstacles = to_geodataframe(plan, "obstacles")
    assert [tuple(map(known, row)) for row in obstacles[["name", "wire", "height_m_agl", "height_assumed", "top_m_amsl",
                                                         "verified", "accuracy_m"]].itertuples(index=False)] == [
        (one.name, one.wire, one.height_m, one.height_assumed, one.top_m, one.verified, one.accuracy_m)
        for one in plan.obstacles
    ]  # fmt: skip
    areas = to_geodataframe(plan, "areas")
    assert list(areas["closed"]) == [area.hard for area in plan.avoid]
    assert [known(v) for v in areas["extra_cost"]] == [None if area.hard else area.extra_cost for area in plan.avoid]
    assert [known(v) for v in areas["floor_m_amsl"]] == [area.floor_m for area in plan.avoid]
    assert list(areas["because"]) == [area.because for area in plan.avoid]
    for frame, parts in ((obstacles, plan.obstacles), (areas, plan.avoid)):
        assert [None if g is None else g.geom_type for g in frame.geometry] == [
            part.geometry and part.geometry.type for part in parts
        ]
    places = to_geodataframe(two_drops(full()), "places")
    assert list(places["kind"]) == ["drop", "drop", "helibase"]
    assert places.geometry.isna().tolist() == [False, True, False]  # a drop along a line has no one place


@pytest.mark.parametrize("name", ["across 180 from the west", "across 180 from the east"])
@pytest.mark.parametrize("kind", NAMES)
def test_a_plan_across_180_loses_nothing(kind, name):
    here, there = to_geodataframe(full(), kind), to_geodataframe(plans()[name], kind)
    assert len(here) == len(there)
    both_sides = 0
    for a, b in zip(here.geometry, there.geometry, strict=True):
        assert shapely.get_dimensions(a) == shapely.get_dimensions(b)
        west, _, east, _ = b.bounds
        both_sides += west < -170 and east > 170
        assert b.length == pytest.approx(a.length, rel=1e-5, abs=1e-5)
        assert b.area == pytest.approx(a.area, rel=1e-3)
        if kind == "legs":
            heights, found = (shapely.get_coordinates(shape, include_z=True)[:, 2] for shape in (a, b))
            left = iter(found)
            assert all(any(height == other for other in left) for height in heights)
    if kind == "legs":
        assert both_sides > 0


def test_at_exactly_180_a_place_is_told_once_and_within():
    plan = moved(full(), 0.0)
    site = plan.sites[0].model_copy(update={"lon": 180.0})
    row = to_geodataframe(plan.model_copy(update={"sites": (site, *plan.sites[1:])}), "sites").iloc[0]
    assert abs(row["lon_deg"]) == 180.0
    assert "180° 00.000'" in row["position"]


def test_names_cannot_turn_or_break_a_text():
    plan = plans()["hostile names"]
    for kind, column in (("sites", "name"), ("sites", "water"), ("waters", "name"), ("areas", "name"),
                         ("obstacles", "name"), ("places", "name"), ("legs", "drop")):  # fmt: skip
        named = to_geodataframe(plan, kind)[column].dropna()
        assert as_written(HOSTILE) in set(named)
    for kind in NAMES:
        frame = to_geodataframe(plan, kind)
        for column in frame.select_dtypes("string"):
            assert all(text.isprintable() for text in frame[column].dropna())


@pytest.mark.parametrize("hours", [-10, 5.5])
def test_the_time_is_the_instant_whatever_the_offset(hours):
    frame = to_geodataframe(at_offset(plain(), hours), "legs")
    assert (frame["valid_at"] == pd.Timestamp("2026-08-15T01:00:00Z")).all()


def test_the_tables_of_a_plan_that_was_read_back_are_the_same():
    for kind in NAMES:
        assert_geodataframe_equal(to_geodataframe(full(), kind), to_geodataframe(read_back(full()), kind))


def test_a_table_says_of_which_run_it_is():
    frame = to_geodataframe(full())
    assert frame.attrs["run"] == full().run == frame["run"].unique().item()
    assert frame.attrs["invented"] is True
    assert frame["invented"].all()
    assert (frame["vertical_datum"] == full().ground.vertical_datum).all()
    assert to_geodataframe(bare(plain())).attrs["title"] == "Kestrel Ridge"
