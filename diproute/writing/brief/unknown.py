"""What the plan does not know: at a site, to be seen on the spot; and of the whole incident."""

from __future__ import annotations

from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show

ALWAYS = (
    "wires, trees and towers that no layer has",
    "bottom, snags, current, debris, weed",
    "swimmers, boats, animals; who else dips here",
    "wind on the spot",
)


def unknown_at(site: Site, plan: Plan) -> tuple[str, ...]:
    """Say what is not known at a site and must be seen on the spot, the plan's own gaps first."""
    found = []
    if site.depth_m is None:
        found.append("depth of the water")
    if site.elevation_m is None:
        found.append("level of the water")
    elif site.level_spread_m is not None and site.level_spread_m >= 1.0:
        found.append(
            f"level of the water: the ground under it strays by {show(site.level_spread_m, 'height', plan.display)}"
        )
    unseen = sum(not one.known for one in site.directions)
    if unseen:
        found.append(f"{unseen} of {len(site.directions)} directions round the dip")
    assumed = sorted({one.what for one in site.things if one.assumed_m is not None})
    if assumed:
        found.append(f"height of: {', '.join(assumed)} (assumed)")
    unverified = sorted({one.what for one in site.things if one.unverified})
    if unverified:
        found.append(f"place and height of: {', '.join(unverified)} (not verified)")
    if any(not leg.under_known for leg in site.routes):
        found.append("what lies under the load on part of a leg")
    return (*found, *_trees(plan), *ALWAYS)


def unknown_of(plan: Plan) -> tuple[str, ...]:
    """Say what is not known of the whole incident."""
    found = list(_trees(plan))
    if plan.ground.vertical_error_m is None:
        found.append("vertical error of the elevation")
    roles = {layer.role for layer in plan.layers}
    if "obstacles" not in roles:
        found.append("wires and towers: no obstacle layer was given")
    if "avoid" not in roles:
        found.append("people, roads and closed areas: no such layer was given")
    undated = [f"{layer.role} ({layer.file})" for layer in plan.layers if layer.current is None]
    if undated:
        found.append(f"age of: {', '.join(undated)}")
    if plan.air.dew_point_k is None:
        found.append("humidity")
    return tuple(found)


def _trees(plan: Plan) -> tuple[str, ...]:
    known = plan.ground.canopy_known or plan.ground.elevation_is == "surface"
    return () if known else ("trees: no canopy layer was given",)
