"""Sentences about the plan as a whole: score, cautions, light, hours, uncertainty, fleet, duty."""

from __future__ import annotations

from typing import Final

from diproute.constants import FLIGHT_DAY_S, FLIGHT_SIX_DAYS_S
from diproute.wording.codes import Code, Codes

_SCORE: Final[Codes] = {
    "score-distance": Code(
        "what the way to the drop scores",
        "{mean_leg_m:distance} a leg as flown; 0 points at the search radius of {radius_m:distance}",
    ),
    "score-altitude": Code(
        "what the load that the air allows scores",
        "{fill:share} of the bucket at a density altitude of {density_altitude_m:height}, held by the "
        "{governed_by:label} at the {place:label}",
    ),
    "score-obstacles": Code(
        "what line and lift score; `what` asks for the line",
        "{belly_hook:if}no line: the bucket goes straight on the belly hook; {lift_m:line} of lift before moving off",
        "a line of {line_m:line}[, asked for by {what}[, height assumed {assumed_m:height}][, "
        "unverified{unverified:if}] {distance_m:line} away]; {lift_m:line} of lift before moving off",
    ),
    "score-approach": Code(
        "what the open directions score in this wind",
        "{open_share:share} of the directions open; approach on {arrival_deg:bearing} {into_wind:if}into wind, "
        "wind from {wind_from_deg:true}",
        "{open_share:share} of the directions open; approach on {arrival_deg:bearing} with no headwind, wind from "
        "{wind_from_deg:true}",
    ),
}

_WATER: Final[Codes] = {
    "too-shallow": Code(
        "the water is known to be less deep than the bucket needs",
        "less than {below_m:depth+} deep, the bucket needs {needed_m:depth+}",
        "{depth_m:depth-} deep, the bucket needs {needed_m:depth+}",
    ),
    "depth-unknown": Code(
        "nobody says how deep the water is",
        "depth not known; the bucket needs {needed_m:depth+}: look before the first dip",
    ),
    "salt-water": Code("the water is salt", "salt water: heavier, hard on the machine, and not wanted on every ground"),
    "density-altitude-high": Code(
        "the air at the site is so thin that settling with power has happened in it",
        "density altitude {density_altitude_m:height}[ with {left_kg:mass} in hand], above {limit_m:height}: settling "
        "with power on a steep slow approach has happened in thin air",
    ),
}

_PLAN: Final[Codes] = {
    "no-power-in-hand": Code(
        "neither the helicopter's file nor the incident keeps anything back from the hover chart",
        "the loads go right up to the hover chart of {helicopter}: neither its file gives a weight reduction nor "
        "limits.hover_margin a margin",
    ),
    "compass": Code(
        "the magnetic field is too flat here for a compass to be trusted",
        "{blackout:if}magnetic blackout zone: the horizontal field is {horizontal_nt:number} nT, a compass is "
        "unreliable here",
        "magnetic caution zone: the horizontal field is {horizontal_nt:number} nT, a compass may mislead here",
    ),
    "not-assessed": Code(
        "more water bodies have a suitable point than the search keeps",
        "{waters:count more water body has a suitable point but was not assessed/more water bodies have a suitable "
        "point but were not assessed}: raise search.keep",
    ),
    "no-base": Code(
        "the incident names no base", "no base is given: neither ferry nor refuelling is counted in the water per hour"
    ),
}

_LIGHT: Final[Codes] = {
    "dark": Code(
        "the plan's time lies outside the flying window of its day",
        "{at:clock} is in the dark: the flying window of the day is {first:clock} to {last:clock}; over dark water "
        "height cannot be judged",
        "{at:clock} is in the dark: the sun does not rise that day; over dark water height cannot be judged",
    ),
    "sun-in-the-eyes": Code(
        "the approach, or the departure, is flown into a low sun",
        "{departing:if}the sun stands {elevation_deg:angle} high at {azimuth_deg:bearing}, {off_deg:angle} off the "
        "departure course of {course_deg:bearing}: glare on wires",
        "the sun stands {elevation_deg:angle} high at {azimuth_deg:bearing}, {off_deg:angle} off the approach course "
        "of {course_deg:bearing}: glare on water and wires",
    ),
}

_HOURS: Final[Codes] = {
    "first-from": Code("a site works again after an hour in which none did", "from {at:clock} {site} is first"),
    "none-from": Code("no site works any more", "from {at:clock} no site works"),
    "first-changes": Code(
        "another water body takes the first place; `why` says what made it",
        "from {at:clock} {site} is first instead of {before}: {why:finding}",
    ),
    "site-closed": Code(
        "a site does not work from one hour on; `until` is missing where the forecast ends first",
        "{site} does not work from {at:clock}[ to {until:clock}]: {why:finding}",
    ),
    "no-longer-works": Code(
        "why another one is first: the one before does not work any more", "{site} no longer works ({why:finding})"
    ),
    "opens": Code("why another one is first: it did not work before", "{site} opens"),
    "fill-falls": Code(
        "why another one is first: the one before lifts less in thinner air",
        "the density altitude at {site} goes from {density_altitude_before_m:height} to {density_altitude_m:height} "
        "and its bucket setting from {fill_before:share} to {fill:share}, {rival} takes {rival_fill:share}",
    ),
    "fill-rises": Code(
        "why another one is first: it lifts more in the cooler air",
        "{rival} takes a bucket setting of {rival_fill:share} instead of {rival_fill_before:share} in the cooler air",
    ),
    "rates-change": Code(
        "why another one is first: the wind moves what both deliver; no wind is named where it stays as it was",
        "with the wind going from {wind_before:finding} to {wind:finding}, {site} goes from "
        "{before_litres_per_hour:volume} to {litres_per_hour:volume} an hour, {rival} from "
        "{rival_before_litres_per_hour:volume} to {rival_litres_per_hour:volume}",
        "{site} goes from {before_litres_per_hour:volume} to {litres_per_hour:volume} an hour, {rival} from "
        "{rival_before_litres_per_hour:volume} to {rival_litres_per_hour:volume}",
    ),
    "wind-of-the-hour": Code(
        "the prevailing wind of an hour, and the gusts of any group that touches it",
        "{from_deg:true} {wind_m_s:wind}[, gusts up to {gust_m_s:wind}]",
    ),
}

_CHANGED: Final[Codes] = {
    "keys-set": Code(
        "the plan was made with keys that differ from the incident file, or from the weather that was read",
        "not the incident as its file has it: {changes:list}",
    ),
    "key-set": Code("a key and the value that it was set to; it stands inside another finding", "{key} = {value}"),
    "first-stays": Code("in a changed plan the same water is first", "{site} stays first"),
    "first-instead": Code(
        "in a changed plan another water is first; `why` says what became of the one before",
        "{site} is first instead of {before}: {why:finding}",
        "{site} is first instead of {before}",
    ),
    "first-at-all": Code(
        "in a changed plan a water can be used, before there was none", "{site} is first: before, no site was suitable"
    ),
    "none-any-more": Code("in a changed plan no water can be used any more", "no site is suitable any more"),
    "rate-moves": Code(
        "what a changed plan makes of a water that both can use; the setting stands where it moves",
        "{site} goes from {before_litres_per_hour:volume} to {litres_per_hour:volume} an hour[, its bucket setting "
        "from {fill_before:share} to {fill:share}][, its line from {line_before_m:line} to {line_m:line}]",
    ),
    "site-opens": Code(
        "a water that only the changed plan can use; `why` is what was against it",
        "{site} opens with {litres_per_hour:volume} an hour; before: {why:finding}",
        "{site} opens with {litres_per_hour:volume} an hour; before, it was not looked at",
    ),
    "site-closes": Code(
        "a water that the changed plan cannot use any more",
        "{site} closes: {why:finding}",
        "{site} closes: it is not looked at any more",
    ),
    "nothing-moves": Code("a changed plan has the same ranking with the same numbers", "nothing changes"),
}

_DUTY: Final = (
    "{flight_left_s:time} of flight (LIMIT) and {duty_left_s:time} of duty are left: "
    "{fuel_cycles:count whole fuel cycle} at {site}, {litres:volume}"
)
_DAY: Final = f"{FLIGHT_DAY_S.value / 3600:g} h of flight a day"
_SIX_DAYS: Final = f"{FLIGHT_SIX_DAYS_S.value / 3600:g} h of flight in 6 days"

_TOGETHER: Final[Codes] = {
    "uncertainty": Code(
        "in what share of the cases the first site stays first, and which other one is first the most often; what is "
        "varied in the cases, each evenly up to the value on both sides",
        "{site} stays first in {first:share} of the cases[; {rival} is first in {rival_first:share}][; its own load "
        "still "
        "hovers in {hovers:share}] (temperature ± {temperature_difference_k:temperature_difference}, wind ± "
        "{wind_m_s:wind}"
        "[ and ± {wind_deg:angle}][, gusts ± {gust_m_s:wind}], times to fill, drop and line up ± {times:share}, "
        "{cases:count case})",
    ),
    "fleet": Code(
        "which helicopters work which site so that together they deliver the most; `idle` ones would add nothing",
        "{count:count helicopter} deliver {litres_per_hour:volume} an hour: {parts:list}"
        "[; {idle} would add nothing and stay out]",
    ),
    "fleet-part": Code(
        "those helicopters of one kind that work one site; `helicopter` names the kind where there are several",
        "{helicopters}[ {helicopter}] at {site} ({litres_per_hour:volume}/h[, each waiting {wait_s:time} a cycle])",
    ),
    "duty": Code(
        "what is left of the pilot's day, and what fits into it at the first site; `six_days`: the limit of six days "
        "leaves less than that of the day",
        "{by_light:if}" + _DUTY.replace("LIMIT", _DAY) + "; the light leaves {light_left_s:time}",
        "{six_days:if}" + _DUTY.replace("LIMIT", _SIX_DAYS),
        _DUTY.replace("LIMIT", _DAY),
    ),
}

CODES: Final[Codes] = _SCORE | _WATER | _PLAN | _LIGHT | _HOURS | _CHANGED | _TOGETHER
