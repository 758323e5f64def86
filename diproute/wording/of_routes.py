"""Sentences about the legs and what blocks them."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes


def _in_turns(verb: str, meaning: str) -> Code:
    return Code(
        f"a leg {meaning} in turns, because its way is too short for the rate",
        f"the {{leg}} leg[ to {{to}}][ from {{back}}] {verb} {{height_m:height}} in turns[ at the {{end}}]"
        "[ {along_m:distance} along], {wait_s:time} on top of its own way",
    )


CODES: Final[Codes] = {
    "area": Code(
        "an area by its name, with the reason to keep out of it; it stands inside other findings",
        "{name} ({why:finding})",
    ),
    "area-crossed": Code(
        "a leg crosses an area that costs extra",
        "crosses {area}: {why:finding}",
    ),
    "blocked-area": Code(
        "no leg can keep a slung load clear of an area",
        "no way that keeps a slung load clear of {areas:list}",
    ),
    "blocked-unknown": Code(
        "no leg: the ground, or what stands on it, is not known at the site or on every way",
        "the ground, or what stands on it, is not known at the site{at_site:if}",
        "the ground, or what stands on it, is not known between here and there",
    ),
    "blocked-wind": Code(
        "no leg: the wind is too strong for a share of the airspeed, or for the course at the height flown",
        "the wind between here and there is more than {share:number} of the airspeed",
        "at the height flown the wind leaves no way over the ground",
    ),
    "climb-in-turn": _in_turns("climbs", "climbs"),
    "descent-in-turn": _in_turns("descends", "descends"),
    "legs-close": Code(
        "a leg cannot keep the distance that is asked between loaded and empty legs",
        "{shared_m:distance} of the {leg} leg come closer than {separation_m:height} to the other one: no one-way "
        "circuit there",
    ),
    "wind-outside-table": Code(
        "a leg is flown above or below the heights for which the wind is known",
        "flown between {low_m:height} and {high_m:height}, the wind is known from {known_low_m:height} to "
        "{known_high_m:height} only and held beyond",
    ),
    "wire-height-assumed": Code(
        "a leg crosses a wire whose height is not mapped",
        "crosses {wire}, height assumed, taken as {top_m:altitude}",
    ),
    "wire-oblique": Code(
        "a leg crosses a wire at a slant",
        "crosses {wire} at {angle_deg:angle}, not squarely: watch it",
    ),
}
