"""Sentences about a dip site: water, depth, line, lift, approach."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes

_LOWEST_LIFT = "the lowest lift for any {kind} is {{lift_m:height}}, more than the limit of {{limit_m:height}}: "


def _no_way(kind: str) -> Code:
    lowest = _LOWEST_LIFT.format(kind=kind)
    return Code(
        f"no direction is open to {'an approach' if kind == 'approach' else 'a departure'}: what stands round the "
        "dip asks for too high a lift, or is not known",
        f"{lowest}{{thing:finding}}",
        f"{lowest}the margin over the water{{lift_m:if}}",
        f"no {kind} is known: every corridor holds or leaves unknown ground",
    )


def _wind(kind: str) -> Code:
    return Code(
        f"the wind closes every open {kind}",
        "wind {from_deg:true} {speed_m_s:wind}[, gusts up to {gust_m_s:wind}][, it may turn to anything from "
        f"{{low_deg:course}} to {{high_deg:true}}][, it may turn anywhere{{anywhere:if}}]: every open {kind} would "
        "have a tailwind above {tailwind_m_s:wind} or a crosswind above {crosswind_m_s:wind}",
    )


CODES: Final[Codes] = {
    "thing": Code(
        "one thing that stands up, how far off and where; it stands inside other findings",
        "{what}[, height assumed {assumed_m:height}][, unverified{unverified:if}], {distance_m:height} out on "
        "{bearing_deg:bearing}",
    ),
    "out-of-reach": Code(
        "no part of the water lies within the search radius",
        "{water}: no part of it lies within the search radius",
    ),
    "shore-clearance": Code(
        "the water is too narrow to keep the shore clearance anywhere",
        "{water}: its widest place is {shore_m:height-} from the shore, {short_m:height+} short of {needed_m:height+}",
    ),
    "no-way-in": _no_way("approach"),
    "no-way-out": _no_way("departure"),
    "wind-in": _wind("approach"),
    "wind-out": _wind("departure"),
    "directions-unknown": Code(
        "some directions round the dip are not known and count as closed",
        "{share:share} of the directions are not known (ground missing), and count as closed",
    ),
    "one-way": Code(
        "one narrow open sector, or different ways in and out",
        "one way in and out: the only open sector is {width_deg:angle} wide, from {from_deg:bearing} to "
        "{to_deg:bearing}",
        "no direction is open both ways: the way in cannot be used to leave",
    ),
    "surface-unknown": Code(
        "the published surface on a chosen course is not known",
        "the {course:label} surface is not known: its ground is missing in part",
    ),
    "surface-penetrated": Code(
        "something stands into the published surface on a chosen course",
        "the {course:label} surface is penetrated by {depth_m:height}, {distance_m:height} from the dip",
    ),
}
