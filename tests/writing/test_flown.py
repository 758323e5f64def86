"""The page's words on a flight: steepest part, orbits, lowest place, gates; and the go/no-go table."""

import pytest
from composed import changed, plain

from diproute.document.legs import Low, Piece, Slope
from diproute.writing.map import flown


@pytest.fixture(scope="module")
def leg():
    return changed(
        plain().sites[0].routes[0], slope_known=True, under_known=True,
        steepest=Slope(gradient=0.4, from_m=400.0, over_m=200.0), lowest=Low(clearance_m=70.9, along_m=600.0),
    )  # fmt: skip


def test_the_steepest_part_and_the_lowest_place_are_told(leg):
    assert flown.reading(leg, "metric") == (
        "Steepest over 0.2 km: 40 % up, from 0.4 km along. "
        "Between its ends the load comes no closer than 70 m to anything below it, 0.6 km along."
    )
    assert flown.reading(changed(leg, lowest=None), "metric").endswith("The load is lowest at the ends.")
    unknown = flown.reading(changed(leg, lowest=None, under_known=False, steepest=None, slope_known=False), "us")
    assert unknown == "How steep it is is not known. What is under the load is not known everywhere."


@pytest.mark.parametrize(("turn", "words"), [(-720.0, "2 orbits to the left"), (360.0, "1 orbit to the right")])
def test_orbits_are_told_with_place_radius_and_heights(leg, turn, words):
    path = [*leg.path]
    path[2], path[3] = (*path[2][:2], 1412.4), (*path[3][:2], 1616.6)
    circle = Piece(kind="orbits", first=2, last=3, seconds=151.0, radius_m=224.0, turn_deg=turn)
    turning = changed(leg, path=tuple(path), along_m=(0.0, 0.0, 340.0, *leg.along_m[3:]), pieces=(*leg.pieces, circle))
    assert f"{words} of 224 m radius, 0.3 km along, from 1 412 m to 1 617 m AMSL." in flown.reading(
        turning, "metric"
    ).replace("\u202f", " ")


def test_the_gates_stand_in_flying_order_with_their_own_numbers():
    plan = plain()
    site = plan.sites[0]
    rows = flown.gates(site, plan).rows
    asked = [(leg, gate) for leg in site.routes for gate in (leg.departure, leg.arrival)]
    assert len(rows) == len(asked)
    for row, (leg, gate) in zip(rows, asked, strict=True):
        way, place = ("from", "to")[gate.kind == "arrival"], {"dip": "dip", "drop": leg.drop}[gate.place]
        assert row[0] == f"{leg.leg} {way} {place}"
        assert row[1] == f"{round(gate.course_deg - plan.declination_deg) % 360 or 360:03d}°"
        assert row[3] == f"{gate.gradient * 100:.1f}%"
        assert float(row[2]) == pytest.approx(gate.lift_m / 0.3048, abs=0.51)
        assert float(row[4]) == pytest.approx(gate.ground_speed_m_s * 3600 / 1852, abs=0.51)
        ahead, across = row[6].split(", ")
        assert float(ahead.split()[0]) == pytest.approx(abs(gate.headwind_m_s) * 3600 / 1852, abs=0.51)
        assert ("tail" in ahead) == (gate.headwind_m_s < 0)
        assert across.endswith("right" if gate.crosswind_m_s > 0 else "left")
    assert flown.gates(changed(site, routes=()), plan) is None


def test_the_table_gives_every_setting_and_frames_the_plan():
    plan = plain()
    site = plan.sites[0]
    table, found = flown.go_no_go(site, plan), site.go_no_go
    rows = table.rows
    words = {None: "not known", 0.0: "no go"}
    for row, kelvin, fills in zip(rows, found.temperature_k, found.fill, strict=True):
        assert float(row[0]) == pytest.approx((kelvin - 273.15) * 1.8 + 32, abs=0.51)
        assert [cell.replace("\u202f", " ").replace("\xa0", " ") for cell in row[1:]] == [
            words.get(fill) or f"{fill:.0%}".replace("%", " %") for fill in fills
        ]
    assert table.here == (found.row, found.column)
    assert flown.go_no_go(changed(site, go_no_go=None), plan) is None


def test_a_row_that_nobody_knows_is_said_once():
    plan = plain()
    site = plan.sites[0]
    table = changed(site.go_no_go, fill=(*site.go_no_go.fill[:-1], (None,) * len(site.go_no_go.fuel_kg)))
    rows = flown.go_no_go(changed(site, go_no_go=table), plan).rows
    assert rows[-1][1:] == ("not known: the hover chart ends",)


def test_up_to_what_heat_the_load_hovers_is_rounded_down():
    found = changed(plain().sites[0].go_no_go, holds_to_k=306.94, holds_to_m=2650.9, edge=True)
    assert flown.holds(found, "metric").replace("\u202f", " ").replace("\xa0", " ") == (
        "The first load hovers up to 33 °C over the dip, a density altitude of 2 650 m, where the hover chart ends"
    )
    assert flown.holds(changed(found, holds_to_k=None), "metric") == ""
