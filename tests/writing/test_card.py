"""What a card is told of its site: numbers, tables, legs and waypoints, the worst first."""

import json

import pytest
from composed import changed, full, plain

from diproute.document import Finding
from diproute.document.legs import Leg
from diproute.physics.coordinates import format_ddm
from diproute.units import show, show_course
from diproute.writing.map import card, legs, tables
from diproute.writing.map.packing import Texts
from diproute.writing.map.worst import first_worst


def packed(site, plan):
    texts = Texts()
    ferries = {leg.id: number for number, leg in enumerate(plan.ferries)}
    return card.packed(site, plan, texts, ferries), texts.table


@pytest.fixture(scope="module")
def best():
    return packed(full().sites[0], full())


def sums(row):
    at, found = 0, []
    for step in row:
        at += step or 0
        found.append(None if step is None else at)
    return found


def test_the_numbers_of_a_site_are_printed_as_everywhere(best):
    data, texts = best
    site, plan = full().sites[0], full()
    told = {texts[name]: value for name, value in data["numbers"]}
    assert told["Water an hour"] == show(site.sortie.litres_per_hour, "volume", plan.display)
    assert told["Density altitude"] == show(site.density_altitude_m, "height", plan.display)
    assert told["Nine cases in ten give"].endswith("US gal")
    assert data["dense"] == round(site.density_altitude_m * 100)
    assert json.loads(json.dumps(data)) == data


def test_lines_are_compared_with_their_reasons(best):
    data, _ = best
    table = data["lines"]
    assert table["rows"][0][1:4] == ["–", "–", "–"]
    assert table["rows"][0][4] == "too short: 89 ft is needed"
    assert table["taken"] == 1
    assert tables.lines(plain().sites[0], plain()) is None


def test_loads_are_one_sentence_and_a_table(best):
    data, texts = best
    sentence, table = data["loads"]
    assert texts[sentence].startswith("Load by load: 14 × ")
    assert texts[sentence].endswith("; margin 26 lb at the first lift, 514 lb at the last")
    assert len(table["rows"]) == 14
    assert [row[0] for row in table["rows"]] == [str(n + 1) for n in range(14)]


def test_courses_are_magnetic_and_true():
    site, plan = plain().sites[0], plain()
    rows = tables.courses(site, plan).rows
    for row, way in zip(rows, (site.arrival, site.departure), strict=True):
        assert row[1:3] == (show_course(way.course_magnetic_deg), show_course(way.course_deg))
        assert row[3] == show(way.lift_m, "height", plan.display)
    assert tables.courses(changed(site, arrival=None, departure=None), plan) is None


def test_a_leg_ends_where_it_ends_and_its_heights_are_on_the_safe_side():
    plan = plain()
    leg: Leg = plan.sites[0].routes[0]
    data = legs.packed(leg, plan, Texts())
    lat, lon, high, along = (sums(row) for row in data["path"])
    for i, n in ((0, 0), (-1, -1)):
        assert lat[i] / 1e5 == pytest.approx(leg.path[n][1], abs=6e-6)
        assert lon[i] / 1e5 == pytest.approx(leg.path[n][0], abs=6e-6)
        assert high[i] == pytest.approx(leg.path[n][2], abs=0.51)
        assert along[i] == pytest.approx(leg.along_m[n], abs=0.51)
    for key, row in (("ground", leg.envelope.ground_m), ("top", leg.envelope.top_m), ("floor", leg.envelope.floor_m)):
        assert all(page >= plan_ for page, plan_ in zip(sums(data["below"][key]), row, strict=True))
    for key, row in (("craft", leg.envelope.aircraft_m), ("room", leg.envelope.room_m)):
        assert all(page <= plan_ for page, plan_ in zip(sums(data["below"][key]), row, strict=True))


def test_unknown_ground_stays_unknown_in_a_profile():
    plan = plain()
    leg = plan.sites[0].routes[0]
    row = (None, *leg.envelope.ground_m[1:-1], None)
    data = legs.packed(changed(leg, envelope=changed(leg.envelope, ground_m=row)), plan, Texts())
    back = sums(data["below"]["ground"])
    assert [i for i, height in enumerate(back) if height is None] == [0, len(row) - 1]


def test_waypoints_have_place_course_height_and_time():
    plan = plain()
    leg = plan.sites[0].routes[0]
    points = legs.packed(leg, plan, Texts())["points"]
    lat, lon = sums(points["lat"]), sums(points["lon"])
    for i, point in enumerate(leg.waypoints):
        x, y, _ = leg.path[point.index]
        assert format_ddm(lat[i] / legs.MINUTE, lon[i] / legs.MINUTE) == format_ddm(y, x)
        course = point.course_deg
        assert points["course"][i] == ("–" if course is None else show_course(course - plan.declination_deg))
    assert points["time"][0] == "0:00"
    assert "Course, magnetic" in legs.waypoint_heads(plan)
    assert "Height MSL" in legs.waypoint_heads(plan)


def test_refusals_stand_first_then_what_can_hurt_at_once():
    found = [Finding(code=code, because=code) for code in ("x-later", "depth-unknown", "wire-height-assumed")]
    site = changed(plain().sites[0], refused=(Finding(code="x-refused", because="r"),), cautions=tuple(found))
    assert [one.code for one in first_worst(site)] == ["x-refused", "wire-height-assumed", "depth-unknown", "x-later"]


def test_a_rose_tells_every_direction_and_what_asks_for_it():
    site, plan = plain().sites[2], plain()
    rose, texts = packed(site, plan)[0]["rose"], packed(site, plan)[1]
    assert rose["count"] == len(site.directions) == 72
    assert rose["at"] is None
    for i, one in enumerate(site.directions):
        assert rose["out"][i] == (None if one.departure_lift_m is None else round(one.departure_lift_m * 10))
        assert (int(rose["state"][i]) & 1, int(rose["state"][i]) >> 1) == (one.open, one.known)
    assert rose["out"].count(None) == 12
    assert {texts[thing[0]] for thing in rose["things"]} == {"trees"}


def test_what_blocks_is_drawn_with_its_reason():
    from diproute.writing.map import scene

    texts = Texts()
    site = full().sites[-1]
    blocked = scene.build(full(), texts)["blocked"]
    assert list(blocked) == [str(len(full().sites) - 1)]
    shape = blocked[str(len(full().sites) - 1)]["shapes"][0]
    assert shape[0] == "area"
    assert texts.table[shape[2]].startswith("no way that keeps a slung load clear of hamlet")
    assert site.blocked is not None
