"""The plan as tables with geometry (GeoDataFrames, WGS 84), one kind of thing a table.

Every column is SI with its unit in its name; bearings say true or magnetic, heights say above what. Of a site that is
refused no water, no load and no course is given, and its legs are left out: nobody flies them. Control characters in
names are shown as they are written in code, so that no text breaks a file or turns its reading round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC
from typing import TYPE_CHECKING, Any, Final, Literal

from diproute.document.findings import Finding
from diproute.document.geometry import Geometry
from diproute.document.seam import cut, home
from diproute.errors import QuantityError, plain
from diproute.physics.coordinates import format_ddm, format_mgrs

if TYPE_CHECKING:
    import geopandas as gpd
    from shapely.geometry.base import BaseGeometry

    from diproute.document.legs import Leg, Waypoint
    from diproute.document.plan import Plan
    from diproute.document.site import Site, Way

Kind = Literal["sites", "legs", "waypoints", "waters", "obstacles", "areas", "places"]
Row = dict[str, Any]


def to_geodataframe(plan: Plan, kind: Kind | str = "sites") -> gpd.GeoDataFrame:
    """Give one kind of the plan's things as a table.

    Parameters
    ----------
    plan
        The plan.
    kind
        ``"sites"``, ``"legs"`` (of suitable sites, and ferries; x, y [deg], z [m AMSL]), ``"waypoints"`` (of those
        legs), ``"waters"`` (those in use and those left out), ``"obstacles"``, ``"areas"`` or ``"places"`` (drops and
        helibase).

    Returns
    -------
    GeoDataFrame
        EPSG:4326; shapes that cross ±180° are cut there. ``attrs`` holds title, run, datum, declination and whether
        the data are invented.

    Raises
    ------
    QuantityError
        No such kind.
    """
    import geopandas as gpd
    import pandas as pd

    if kind not in KINDS:
        raise QuantityError(f"no table {kind!r} in a plan; there are: {', '.join(KINDS)}", where="kind", got=kind)
    columns, rows_of = KINDS[kind]
    rows = list(rows_of(plan))
    stamp = pd.Timestamp(plan.when.astimezone(UTC)).as_unit("ms")
    data = {name: pd.array([_clean(row.get(name)) for row in rows], dtype=dtype) for name, dtype in columns.items()}
    count = len(rows)
    data["valid_at"] = pd.Series([stamp] * count, dtype="datetime64[ms, UTC]").array
    data["invented"] = pd.array([plan.invented] * count, dtype="bool")
    data["run"] = pd.array([plan.run] * count, dtype="string")
    data["vertical_datum"] = pd.array([plain(plan.ground.vertical_datum)] * count, dtype="string")
    frame = gpd.GeoDataFrame(data, geometry=[row["geometry"] for row in rows], crs=4326)
    frame.attrs = {
        "title": plan.title, "run": plan.run, "invented": plan.invented, "made_with": plan.made_with,
        "vertical_datum": plan.ground.vertical_datum, "declination_deg": plan.declination_deg,
    }  # fmt: skip
    return frame


def shape(geometry: Geometry | None) -> BaseGeometry | None:
    """Give a geometry as a shapely one, cut at ±180°; None stays."""
    import shapely

    return None if geometry is None else cut(shapely.geometry.shape(geometry.model_dump()))


def _clean(value: Any) -> Any:
    return plain(value) if isinstance(value, str) else value


def _said(found: Iterable[Finding]) -> str | None:
    return "; ".join(one.because for one in found) or None


def _position(lat: float, lon: float) -> Row:
    from shapely import Point

    east = home(lon)
    return {
        "lat_deg": lat, "lon_deg": east, "position": format_ddm(lat, east), "mgrs": format_mgrs(lat, east),
        "geometry": Point(east, lat),
    }  # fmt: skip


def _sites(plan: Plan) -> Iterable[Row]:
    for site in plan.sites:
        row: Row = {
            "id": site.id, "name": site.name, "suitable": site.suitable, "rank": site.rank,
            "water": site.water, "water_kind": site.water_kind, "salt": site.salt,
            **_position(site.lat, site.lon), "elevation_m_amsl": site.elevation_m,
            "level_low_m_amsl": site.level_low_m, "depth_m": site.depth_m, "shore_clearance_m": site.shore_clearance_m,
            "temperature_k": site.temperature_k, "density_altitude_m": site.density_altitude_m,
            "line_needed_m": site.line.needed_m, "refused": _said(site.refused), "cautions": _said(site.cautions),
            "cautions_count": len(site.cautions),
        }  # fmt: skip
        yield row | (_flown(site) if site.suitable else {})


def _flown(site: Site) -> Row:
    load, cycle, sortie = site.load, site.cycle, site.sortie
    return {
        "rank_band": site.rank_band,
        "litres_per_hour": None if sortie is None else sortie.litres_per_hour,
        "cycles_on_fuel": None if sortie is None else sortie.cycles,
        "cycle_s": None if cycle is None else cycle.seconds,
        "load_l": None if load is None else load.water_l,
        "bucket_setting": None if load is None else load.fill,
        "fuel_kg": None if load is None else load.fuel_kg,
        "margin_kg": None if load is None else load.margin_kg,
        "hovers_up_to_k": None if site.go_no_go is None else site.go_no_go.holds_to_k,
        "line_m": site.line.carried_m,
        "score": site.score.total,
        **_course("approach", site.arrival),
        **_course("departure", site.departure),
    }


def _course(name: str, way: Way | None) -> Row:
    if way is None:
        return {}
    return {
        f"{name}_true_deg": way.course_deg, f"{name}_magnetic_deg": way.course_magnetic_deg,
        f"{name}_lift_m": way.lift_m,
    }  # fmt: skip


def legs_of(plan: Plan) -> Iterable[tuple[str, Site | None, Leg]]:
    """Give the legs that are flown, each with its name: those of the suitable sites, and the ferries of these."""
    bound: dict[str, list[str]] = {}  # for which sites a ferry is flown
    for site in plan.suitable:
        for leg in site.routes:
            place = "" if leg.drop is None else f" {'to' if leg.leg == 'loaded' else 'from'} {leg.drop}"
            yield f"{site.rank} {site.name}, {leg.leg}{place}", site, leg
        if site.ferry is not None:
            for id_, way in (
                (site.ferry.from_base, "helibase to"),
                (site.ferry.to_base, "back to the helibase, after"),
            ):
                if id_ is not None:
                    bound.setdefault(id_, [f"{id_}, {way} site"]).append(str(site.rank))
    for leg in plan.ferries:
        if leg.id in bound:
            way, *ranks = bound[leg.id]
            yield f"{way}{'s' if len(ranks) > 1 else ''} {', '.join(ranks)}", None, leg


def _legs(plan: Plan) -> Iterable[Row]:
    from shapely import LineString

    for name, site, leg in legs_of(plan):
        yield {
            **_whose(site, leg), "name": name, "length_m": leg.length_m, "time_s": leg.seconds,
            "highest_m_amsl": leg.highest_m, "hanging_m": leg.hanging_m,
            "load_clearance_m_at_least": None if leg.lowest is None else leg.lowest.clearance_m,
            "load_clearance_known": leg.under_known, "wires_crossed": len(leg.wires_crossed),
            "cautions": _said(leg.cautions), "geometry": cut(LineString(leg.path)),
        }  # fmt: skip


def _waypoints(plan: Plan) -> Iterable[Row]:
    for _, site, leg in legs_of(plan):
        for number, point in enumerate(leg.waypoints, start=1):
            lon, lat, _ = leg.path[point.index]
            course = point.course_deg
            yield {
                **_whose(site, leg), "number": number, **_position(lat, lon), "along_m": point.along_m,
                "time_s": point.time_s, "altitude_m_amsl": point.altitude_m,
                "height_m_agl_at_least": _above_ground(leg, point), "course_true_deg": course,
                "course_magnetic_deg": None if course is None else round(course - plan.declination_deg, 1) % 360.0,
            }  # fmt: skip


def _above_ground(leg: Leg, point: Waypoint) -> float | None:
    """Give the height above the highest ground of the envelope's step [m]; None where any of it is not known.

    A point at the edge of two steps counts for both, and the height as rounded up is a tenth too great at most.
    """
    if leg.envelope is None or not leg.envelope.step_m > 0:
        return None
    step_m, ground = leg.envelope.step_m, leg.envelope.ground_m
    first, last = (min(max(int((point.along_m + more) / step_m), 0), len(ground) - 1) for more in (-0.1, 0.1))
    below = [height for height in ground[first : last + 1] if height is not None]
    if len(below) < last + 1 - first:
        return None
    return round(point.altitude_m - max(below) - 0.1, 1)


def _whose(site: Site | None, leg: Leg) -> Row:
    return {
        "leg": leg.id, "kind": leg.leg, "site": None if site is None else site.id,
        "site_name": None if site is None else site.name, "rank": None if site is None else site.rank,
        "drop": leg.drop,
    }  # fmt: skip


def _waters(plan: Plan) -> Iterable[Row]:
    for water in plan.waters:
        yield {
            "id": water.id, "name": water.name, "kind": water.kind, "used": True, "salt": water.salt,
            "level_low_m_amsl": water.level_low_m, "level_high_m_amsl": water.level_high_m, "depth_m": water.depth_m,
            "source": water.source, "cautions": _said(water.cautions), "geometry": shape(water.geometry),
        }  # fmt: skip
    for out in plan.left_out:
        yield {"name": out.name, "used": False, "left_out": out.because, "geometry": shape(out.geometry)}


def _obstacles(plan: Plan) -> Iterable[Row]:
    for one in plan.obstacles:
        yield {
            "name": one.name, "kind": one.kind, "wire": one.wire, "height_m_agl": one.height_m,
            "height_assumed": one.height_assumed, "top_m_amsl": one.top_m, "verified": one.verified,
            "accuracy_m": one.accuracy_m, "source": one.source, "geometry": shape(one.geometry),
        }  # fmt: skip


def _areas(plan: Plan) -> Iterable[Row]:
    for area in plan.avoid:
        yield {
            "name": area.name, "closed": area.hard, "extra_cost": None if area.hard else area.extra_cost,
            "floor_m_amsl": area.floor_m, "ceiling_m_amsl": area.ceiling_m, "because": area.because,
            "geometry": shape(area.geometry),
        }  # fmt: skip


def _places(plan: Plan) -> Iterable[Row]:
    for drop in plan.drops:
        at: Row = {"geometry": None} if drop.lat is None or drop.lon is None else _position(drop.lat, drop.lon)
        yield {"name": drop.name, "kind": "drop", "share": drop.share, **at}
    if plan.base is not None:
        yield {"name": "helibase", "kind": "helibase", **_position(plan.base.lat, plan.base.lon)}


_F: Final = "Float64"
_I: Final = "Int64"
_B: Final = "boolean"
_S: Final = "string"
_PLACE: Final = {"lat_deg": _F, "lon_deg": _F, "position": _S, "mgrs": _S}
_WHOSE: Final = {"leg": _S, "kind": _S, "site": _S, "site_name": _S, "rank": _I, "drop": _S}

KINDS: Final[dict[str, tuple[dict[str, str], Callable[[Plan], Iterable[Row]]]]] = {
    "sites": (
        {
            "id": _S, "name": _S, "suitable": _B, "rank": _I, "rank_band": _I, "litres_per_hour": _F,
            "water": _S, "water_kind": _S, "salt": _B, **_PLACE,
            "elevation_m_amsl": _F, "level_low_m_amsl": _F, "depth_m": _F, "shore_clearance_m": _F,
            "temperature_k": _F, "density_altitude_m": _F, "line_needed_m": _F, "line_m": _F, "load_l": _F,
            "bucket_setting": _F, "fuel_kg": _F, "margin_kg": _F, "hovers_up_to_k": _F, "cycle_s": _F,
            "cycles_on_fuel": _I, "approach_true_deg": _F, "approach_magnetic_deg": _F, "approach_lift_m": _F,
            "departure_true_deg": _F, "departure_magnetic_deg": _F, "departure_lift_m": _F, "score": _F,
            "refused": _S, "cautions": _S, "cautions_count": _I,
        },
        _sites,
    ),
    "legs": (
        {"name": _S}
        | _WHOSE
        | {
            "length_m": _F, "time_s": _F, "highest_m_amsl": _F, "hanging_m": _F, "load_clearance_m_at_least": _F,
            "load_clearance_known": _B, "wires_crossed": _I, "cautions": _S,
        },
        _legs,
    ),
    "waypoints": (
        _WHOSE
        | {"number": _I}
        | _PLACE
        | {
            "along_m": _F, "time_s": _F, "altitude_m_amsl": _F, "height_m_agl_at_least": _F,
            "course_true_deg": _F, "course_magnetic_deg": _F,
        },
        _waypoints,
    ),
    "waters": (
        {
            "id": _S, "name": _S, "kind": _S, "used": _B, "left_out": _S, "salt": _B, "level_low_m_amsl": _F,
            "level_high_m_amsl": _F, "depth_m": _F, "source": _S, "cautions": _S,
        },
        _waters,
    ),
    "obstacles": (
        {
            "name": _S, "kind": _S, "wire": _B, "height_m_agl": _F, "height_assumed": _B, "top_m_amsl": _F,
            "verified": _B, "accuracy_m": _F, "source": _S,
        },
        _obstacles,
    ),
    "areas": (
        {
            "name": _S, "closed": _B, "extra_cost": _F, "floor_m_amsl": _F, "ceiling_m_amsl": _F, "because": _S,
        },
        _areas,
    ),
    "places": ({"name": _S, "kind": _S, "share": _F, **_PLACE}, _places),
}  # fmt: skip

NAMES: Final[Sequence[str]] = tuple(KINDS)
