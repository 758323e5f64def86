"""Sentences about the legs and what blocks them."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes


def _unflyable(manner: str) -> Code:
    return Code(
        f"no leg with a flyable {manner}: `why` says what stops it at the place that fails first",
        f"no flyable {manner} at the {{place:label}}[, {{along_m:distance}} along]: {{why:finding}}",
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
    "no-flyable-departure": _unflyable("departure"),
    "no-flyable-arrival": _unflyable("approach"),
    "fails-open": Code("no corridor is open", "no corridor is open with this wind and within the limit of the lift"),
    "fails-height": Code(
        "the height that is asked for cannot be won or lost on the way",
        "{short_m:height+} too low there, and neither the way nor turns give it",
        "the height cannot be won or lost on the way",
    ),
    "fails-closed": Code("the way touches ground that is closed or not known", "closed, or not known, there"),
    "fails-roof": Code("the aircraft would fly up into an area above", "too high there to stay below an area"),
    "fails-room": Code("the turns do not fit", "no room for the turns"),
    "fails-circle": Code("no whole circle is clear for an orbit", "no clear circle in which to win or lose the height"),
    "orbits": Code(
        "whole turns flown at one place to win or lose height",
        "the {leg} leg flies {turns:count orbit} {along_m:distance} along, from {from_m:altitude} to {to_m:altitude}, "
        "{seconds:time}",
    ),
    "audit-area": Code(
        "the last audit found a leg inside an area; the leg is refused",
        "the {leg} leg would touch {area} ({why:finding}) {along_m:distance} along",
    ),
    "audit-wire": Code(
        "the last audit found a leg too near a wire; the leg is refused",
        "the {leg} leg would come {short_m:height+} too near {wire}, {top_m:altitude}, {along_m:distance} along",
    ),
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
