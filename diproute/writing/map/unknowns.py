"""All that a plan does not know, in one list, each thing with its place where it has one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show
from diproute.writing.map import shapes
from diproute.writing.reader import told

# findings of a whole plan that say what is not known
OF_THE_PLAN: Final = (
    "no-obstacle-layer", "vertical-datum-unknown", "trees-unknown", "bare-earth-unknown", "elevation-holes",
    "partly-covered", "tree-height-unknown", "obstacle-kind-unknown", "obstacle-place-unknown", "obstacle-unverified",
    "obstacle-height-assumed", "obstacle-file-undated", "wire-direction-unknown", "wire-support-unknown",
    "place-unknown", "wind-variable", "hours-without-temperature", "hours-missing", "station-not-compared",
    "empty-bucket-unstated", "elevation-unit-assumed",
)  # fmt: skip
OF_A_SITE: Final = (
    "directions-unknown", "obstacles-unknown", "surface-unknown", "blocked-unknown", "outside-chart",
    "chart-air-unknown", "level-unknown", "water-unsure",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Unknown:
    """One thing that is not known: what it is of, what is not known, and where; a site's has its number."""

    of: str
    what: str
    at: tuple[float, float] | None = None  # latitude, longitude [deg]
    site: int | None = None


def unknowns(plan: Plan) -> list[Unknown]:
    """List what is not known.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    list of Unknown
        Of the plan as a whole, of its layers, of its obstacles, of its waters, of its sites.
    """
    whole = [*plan.cautions, *plan.ground.cautions, *plan.air.cautions]
    found = [Unknown("plan", told(one, plan)) for one in whole if one.code in OF_THE_PLAN]
    found += [Unknown("layer", words) for words in _layers(plan)]
    found += _obstacles(plan)
    found += _waters(plan)
    for number, site in enumerate(plan.sites):
        at = (site.lat, shapes.beside(site.lon, plan))
        found += [Unknown(site.name, words, at, number) for words in _of_site(site, plan)]
    return list(dict.fromkeys(found))


def _layers(plan: Plan) -> list[str]:
    ground = plan.ground
    found = [f"{layer.file}: how current it is" for layer in plan.layers if layer.current is None]
    if ground.vertical_error_m is None:
        found.append("vertical error of the elevation")
    if not ground.canopy_known and ground.elevation_is == "ground":
        found.append("how high the trees are")
    return found


def _obstacles(plan: Plan) -> list[Unknown]:
    found = []
    for one in plan.obstacles:
        missing = []
        if one.height_assumed:
            missing.append(f"height (assumed {show(one.height_m, 'height', plan.display)})")
        if one.verified is False:
            missing.append("whether it stands there (not verified)")
        if missing:
            place = None if one.geometry is None else shapes.inside(one.geometry)
            found.append(Unknown(one.name, ", ".join(missing), None if place is None else (place[0], place[1])))
    return found


def _waters(plan: Plan) -> list[Unknown]:
    found = []
    for water in plan.waters:
        missing = [word for word, value in (("level", water.level_low_m), ("depth", water.depth_m)) if value is None]
        if missing:
            lat, lon = shapes.inside(water.geometry)
            found.append(Unknown(water.name or "unnamed water", " and ".join(missing), (lat, lon)))
    return found


def _of_site(site: Site, plan: Plan) -> list[str]:
    found = [told(one, plan) for one in (*site.refused, *site.cautions) if one.code in OF_A_SITE]
    if site.depth_m is None:
        found.append("depth at the dip point")
    if site.density_altitude_m is None:
        found.append("density altitude")
    if site.open_share is None:
        found.append("which directions are open")
    for leg in site.routes:
        name = "loaded leg" if leg.leg == "loaded" else "empty leg"
        if not leg.under_known:
            found.append(f"what is under the load everywhere on the {name}")
        if not leg.slope_known:
            found.append(f"how steep the {name} is")
    return found
