"""Sentences about the load, the fuel and the lines compared."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes

CODES: Final[Codes] = {
    # why nothing can be flown
    "no-lift": Code(
        "the lightest load is more than can be lifted",
        "with {fuel_kg:mass} of fuel the first lift at a bucket setting of {fill:share} is {excess_kg:mass+} too "
        "heavy: {governed_by:label} at {place:label}",
        "no bucket setting can be lifted",
    ),
    "outside-chart": Code(
        "the hover chart gives no answer where the load hovers",
        "{place:label}: {why:finding}",
        "outside the hover chart",
    ),
    "fuel-short": Code(
        "the fuel is too little for one cycle",
        "one cycle with both ways and the reserve takes {needed_kg:mass+} of fuel, and {have_kg:mass-} is all there is",
        "the fuel is too little for one cycle with both ways and the reserve",
    ),
    "leg-wind": Code("a leg cannot be flown in this wind", "no leg can be flown in this wind[: {why:finding}]"),
    "no-leg-found": Code(
        "in a what-if: of a leg no path was found through the gates that the wind leaves open",
        "no leg was found for this wind; a plan made in this weather may find one",
    ),
    "rates-end": Code(
        "in a what-if: the helicopter's rates of climb or descent end below the air of this weather",
        "the rates of climb and descent are not given for air as thin as this",
    ),
    "cycles-only": Code(
        "no base is given, so a fuel cycle is cycles alone",
        "one cycle after another: no base was given, so neither ferry nor refuelling is counted",
    ),
    # the hover chart's edges
    "chart-air-unknown": Code(
        "the air at the place is not known",
        "the pressure altitude or the temperature is not known, and the chart needs both",
    ),
    "chart-too-hot": Code(
        "hotter than the hover chart's hottest curve",
        "{temperature_k:celsius} is above the chart's hottest curve, {hottest_k:celsius}",
    ),
    "chart-too-cold": Code(
        "colder than the hover chart's coldest curve",
        "{temperature_k:celsius} is below the chart's coldest curve, {coldest_k:celsius}",
    ),
    "chart-too-high": Code(
        "higher than the top of the hover chart's curve",
        "pressure altitude {pressure_altitude_m:height} is above the top of the chart's {curve_k:celsius} curve, "
        "{top_m:height}",
    ),
    "chart-too-low": Code(
        "lower than the foot of the hover chart's curve",
        "pressure altitude {pressure_altitude_m:height} is below the foot of the chart's {curve_k:celsius} curve, "
        "{foot_m:height}",
    ),
    "chart-empty-cell": Code(
        "next to an empty cell of the hover chart",
        "the chart has an empty cell at pressure altitude {pressure_altitude_m:height} and {temperature_k:celsius}",
    ),
    # notes of the load sheet
    "place": Code("a place where the load hovers", "{place:label}"),
    "sheet-named": Code("what the line weighs, by its name", "{name}"),
    "sheet-first-lift": Code("the fuel of the first lift", "on board at the first lift"),
    "sheet-fuel-asked": Code("the fuel that was asked for", "{share:share} of full tanks, as asked"),
    "sheet-fuel-incident": Code("the fuel of the incident file", "{share:share} of full tanks, as the incident says"),
    "sheet-fuel-full": Code(
        "full tanks, where the incident leaves the fuel to the plan",
        "full tanks: the incident leaves the fuel to the plan",
    ),
    "sheet-operating": Code("how the operating weight is made", "equipped + crew + fuel"),
    "sheet-hoge": Code("where the hover chart was read", "HOGE at {place:label}[, the least of: {among:list}]"),
    "sheet-reduction": Code("what the weight reduction is for", "taken off the chart"),
    "sheet-climb": Code(
        "what the vertical climb costs beyond the hover, by momentum theory",
        "straight up at {climb_m_s:vertical} takes this beyond the hover (momentum theory)",
    ),
    "sheet-no-climb": Code("the load only hovers there", "nothing: the load only hovers there"),
    "sheet-in-hand": Code(
        "what the hover margin is for",
        "{share:share} of the payload, power in hand",
        "taken off the chart, power in hand",
    ),
    "sheet-adjusted": Code(
        "how the adjusted weight is made", "computed gross weight - vertical climb - weight reduction - hover margin"
    ),
    "sheet-jettisonable": Code("which certificated limit it is", "with a jettisonable external load"),
    "sheet-selected": Code("how the selected weight is made", "the lesser of adjusted weight and gross weight limit"),
    "sheet-payload": Code("how the allowable payload is made", "selected weight - operating weight"),
    "sheet-no-lift": Code("nothing can be lifted", "no lift"),
    "sheet-belly-hook": Code("no line: the bucket hangs on the belly hook", "on the belly hook"),
    "sheet-long-line": Code("the bucket hangs on a line", "long line"),
    "sheet-allowed": Code("which limit allows the water", "by the {governed_by:label}, less bucket, line and gear"),
    "sheet-share": Code("how full the bucket is", "{fill:share} of the bucket"),
    "sheet-too-heavy": Code("the margin is negative", "too heavy by this much"),
    "sheet-under-limit": Code("the margin that is left", "under the limit with this load"),
    # a load calculation for a height
    "lifted": Code(
        "what can be lifted here, and what holds it",
        "{water_l:volume} of water ({water_kg:mass}) at a bucket setting of {fill:share}, held by the "
        "{governed_by:label}; {margin_kg:mass} left under the limit",
    ),
    "too-heavy": Code(
        "nothing can be lifted here",
        "no lift: {excess_kg:mass+} too heavy at a bucket setting of {fill:share} ({governed_by:label})",
    ),
    # the lines
    "obstacles-unknown": Code(
        "what stands in the hover circle is not known",
        "what stands in the hover circle is not known: the layers have no data there",
    ),
    "line-too-short": Code(
        "the site asks for more line than is carried",
        "a line of {needed_m:line+} would be needed, the longest carried is {longest_m:line}[: {asks:finding}]",
    ),
    "drop-line": Code(
        "a drop asks for more line than is carried",
        "the drop asks for a line of {needed_m:line+}, the longest carried is {longest_m:line}",
        "what stands round the drop is not known",
    ),
    "line-asks": Code(
        "what asks for the line",
        "{what}[, height assumed {assumed_m:height}][, unverified{unverified:if}], {height_m:line} above the water, "
        "{distance_m:line} away",
    ),
    "line-short": Code("a carried line that is too short here", "too short: {needed_m:line+} is needed"),
    "line-recommended": Code(
        "the line that brings the most water an hour",
        "recommended: the most water an hour of the lines that reach {needed_m:line+}",
    ),
    "line-less": Code(
        "what a line brings less than the recommended one",
        "{less_l:volume} an hour less, the cycle [{longer_s:time} longer][{shorter_s:time} shorter]",
    ),
}
