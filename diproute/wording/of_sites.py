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
    "wind-too-strong": Code(
        "more wind, gusts included, than the helicopter hovers in",
        "wind up to {strongest_m_s:wind}, more than the limit of {limit_m_s:wind}",
    ),
    "gusts-too-wide": Code(
        "gusts stand too far above the steady wind",
        "gusts stand {spread_m_s:wind} above the wind, more than the limit of {limit_m_s:wind}",
    ),
    "tailwind-loaded": Code(
        "a loaded departure or approach with a tailwind, taken because nothing else can be flown",
        "loaded {manner:label} at the {place:label} with {tailwind_m_s:wind} of tailwind: nothing else can be flown",
    ),
    "steep-tailwind": Code(
        "an approach steeper than 13 degrees with a tailwind: settling with power",
        "approach of {slope_deg:angle} at the {place:label} with {tailwind_m_s:wind} of tailwind: settling with power",
    ),
    "yaw-sector": Code(
        "the relative wind lies, or may swing, into a sector of unanticipated yaw while the airspeed is low; "
        "`stated`: the helicopter's file says which way the rotor turns",
        "{manner:label} at the {place:label}: below {below_m_s:wind} of airspeed the wind may come from "
        "{relative_deg:angle} off "
        "the nose, in a sector of unanticipated yaw ({from_deg:angle} to {to_deg:angle}){stated:if}",
        "{manner:label} at the {place:label}: below {below_m_s:wind} of airspeed the wind may come from "
        "{relative_deg:angle} off "
        "the nose, in a sector of unanticipated yaw for one way that a rotor turns, and the helicopter's file does not "
        "say which",
    ),
    "people-near": Code(
        "people are nearer than a hover may come",
        "{area:finding} is {away_m:height-} away, and a hover keeps {distance_m:height+} from people",
    ),
    "drop-climb-out": Code(
        "no corridor leaves or reaches a drop within the limit of its lift",
        "no way to or from {drop} with less than {lift_m:height+} straight up, more than the limit of "
        "{limit_m:height}: "
        "a drop height {higher_m:height+} greater would do, or a longer line and a higher drop",
        "no corridor to or from {drop} is known",
    ),
    "drop-people": Code(
        "people are near a drop",
        "{area:finding} is {away_m:height-} from {drop}: clear them out before the first load",
    ),
    "descent-capped": Code(
        "the helicopter's file lowers faster than the limit of a vertical descent",
        "straight down at {limit_m_s:vertical}, not the {asked_m_s:vertical} of {helicopter}: from "
        "{onset_m_s:vertical} "
        "on settling with power begins",
    ),
    "fast-descent": Code(
        "straight down at a rate at which settling with power begins",
        "straight down at {flown_m_s:vertical}: from {onset_m_s:vertical} on settling with power begins",
    ),
    "empty-bucket-unstated": Code(
        "no speed limit with the empty bucket is given",
        "the file of {helicopter} gives no speed limit with the empty bucket: empty legs are planned at "
        "{speed_m_s:wind}",
    ),
    "part-first-load": Code(
        "the first load is taken part full, then the power is checked",
        "take the first load part full and check the power before going on",
    ),
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
        "the {course:label} surface is penetrated by {depth_m:height+}, {distance_m:height} from the dip",
    ),
}
