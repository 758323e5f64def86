"""What the page says besides the plan's own sentences: its headings, hints, and sentences to be filled in."""

from __future__ import annotations

from typing import Any, Final

from diproute.document.plan import Plan
from diproute.units import show
from diproute.wording import label

LAYERS: Final[tuple[tuple[str, str], ...]] = (
    ("water", "Water in use"),
    ("left-out", "Water left out, and why"),
    ("sites", "Suitable dip site, with its rank"),
    ("refused", "Unsuitable dip site, and why"),
    ("legs", "Loaded leg, and empty leg (dashed)"),
    ("others", "Loaded legs of the other sites"),
    ("ferry", "To and from the helibase (dotted)"),
    ("wires", "Wires; a ring where a leg crosses"),
    ("obstacles", "Obstacle, with its height above ground"),
    ("avoid", "Closed to a load; light hatch: at a price"),
    ("blocked", "What blocks the way of an unsuitable site"),
    ("search", "Search limit"),
    ("names", "Names and heights"),
    ("graticule", "Latitude and longitude"),
)
AT_FIRST_OFF: Final = ("others",)

_WORDS: Final[dict[str, str]] = {
    "unknown": "not known",
    "closer": "Closer",
    "wider": "Wider",
    "noGrid": "no grid reference near the poles",
    "inTheWay": "in the way",
    # discs and ranking
    "discOpen": "{rank}. {name}, {rate} an hour",
    "discShut": "{name}: unsuitable, {why}",
    "compareWith": "Compare {name}",
    "counted": "{shown} of {all} sites pass the filter",
    "range": "range {range}",
    "lineAtMost": "{line} or less",
    # the moment
    "inPlan": "The plan, {clock}: {heat} at the station, {wind}.",
    "inHour": "{clock}: {weather}.",
    "inWeather": "What if: {wind}, {heat} at the station; all else as in the plan.",
    "windFrom": "wind from {from} {speed}",
    "belowIsPlan": "The four lines are of this moment; all that stands below them is the plan of {clock}.",
    "notWorked": "not worked out for this weather",
    "dark": "dark",
    "calm": "calm",
    "windUnknown": "wind not known",
    "windShort": "wind",
    "gusts": "gusts",
    "trueWord": "true",
    # the card
    "where": "Where",
    "inAndOut": "In and out",
    "load": "Load",
    "watch": "Watch for",
    "in": "in",
    "out": "out",
    "copy": "Copy",
    "copied": "copied",
    "copyFailed": "not copied: select it by hand",
    "coursesUnknown": "courses not known",
    "noCourses": "no pair of courses",
    "noLoad": "no load",
    "bucket": "of the bucket",
    "fuel": "fuel",
    "fuelUntold": "fuel not worked out",
    "fuelUnit": "fuel",
    "line": "line",
    "bellyHook": "on the belly hook",
    "moreCautions": "and {count} more below",
    "nothingToWatch": "nothing beyond the usual cautions",
    "rateNow": "{rate} an hour",
    "unsuitable": "unsuitable",
    "shut": "unsuitable",
    "refusedBecause": "Unsuitable: refused because",
    "approachDeparture": "Approach and departure",
    "gates": "Gates: how each end of a leg is left and reached",
    "goNoGo": "Go or no go",
    "linesCompared": "Lines compared",
    "score": "Score {points} of 100",
    "scoreTable": "Score",
    "scoreWord": "Score",
    "cautions": "Cautions",
    "table": "Table",
    "hours": "Hours",
    "waypoints": "{count} waypoints, {leg}",
    "worksNever": "By the hour: it works in none of them.",
    "byTheHour": "By the hour: {low} to {high} an hour",
    "settings": "bucket setting {said}",
    "settingAll": "bucket setting {said} in all",
    "from": "from",
    "waterHour": "Water an hour",
    "setting": "Bucket setting",
    "margin": "Margin",
    "inOut": "In / out, magnetic",
    "dense": "Density altitude",
    # the rose
    "north": "N",
    "east": "E",
    "south": "S",
    "west": "W",
    "mag": "mag",
    "limit": "limit",
    "approach": "approach",
    "departure": "departure",
    "roseLabel": "Directions round the dip point",
    "roseHint": "Point at a wedge, or use the arrow keys: it says what closes it.",
    "wedgeOpen": "{course} magnetic: open.",
    "wedgeClosed": "{course} magnetic: closed.",
    "wedgeUnknown": "{course} magnetic: not known, so never open.",
    "wedgeLifts": "Lift in over it {into}, out over it {out}; the limit is {limit}.",
    "wedgeThing": "It is for {what}, {far} out on {on}, its top {high} above the water.",
    "wedgeNothing": "Nothing that stands up asks for it: it is the margin over the water.",
    # profiles
    "profileReading": (
        "Line: the aircraft. Dots: the lowest that keeps every clearance, load included. Grey: ground; darker: trees."
    ),
    "profileHint": "Point along it, or use the arrow keys: the dot on the map follows.",
    "probe": "{far} along · aircraft {craft} · {room} above the lowest allowed · ground {ground}, with trees {top}",
    "overlaid": "Loaded legs over each other",
    "overlaidReading": "Thick: the aircraft. Thin in the same colour: the highest thing below it.",
    # bars
    "oneCycle": "One cycle {time}",
    "grossWeight": "gross weight",
    "tooHeavy": "too heavy by {mass}",
    "oneFuel": "One fuel load only",
    "noPair": "No pair of bucket setting and fuel is allowed",
    "curves": "Water an hour against fuel at the start",
    "curvesLabel": "Water an hour against fuel for {count} bucket settings",
    "curvesChosen": "chosen {rate} an hour with {fuel} of fuel, bucket setting {fill}",
    "noMargin": "no hover margin left",
    "anHour": "an hour",
    # comparing
    "rank": "Rank",
    "fuelStart": "Fuel at the start",
    "lineTaken": "Line",
    "lineNeeded": "Line needed",
    "inMagnetic": "In, magnetic",
    "outMagnetic": "Out, magnetic",
    "liftIn": "Straight down at the end of the approach",
    "liftOut": "Straight up before the departure",
    "cycle": "Cycle, min:s",
    "loadedLeg": "Loaded leg",
    "depth": "Depth",
    "salt": "Salt water",
    "wiresCrossed": "Wires crossed",
    "yes": "yes",
    "no": "no",
    "ofPlan": "{name} (plan {clock})",
    "addSite": "Add a dip site",
    "takeAway": "Take {name} out",
    "compareHint": "Tick two or three dip sites in the ranking, or add them here.",
    "compareTable": "Dip sites compared",
    "onlyOne": "What not all of them have",
    "rosesScale": "Roses, all at one scale",
    # measuring and the pointer
    "measureFirst": "Tap the first point.",
    "measureSecond": "Tap the second point.",
    "measured": (
        "{nm} NM, {km} km · {true} true, {mag} magnetic · loaded {loaded}, empty {empty}: level and straight at the "
        "plan's airspeeds in this wind"
    ),
    "readoutHint": "Point at the map: place and heights stand here.",
    "groundUnknown": "ground not known",
    "groundUpTo": "ground up to {high}",
    "topUnknown": "what stands on it not known",
    "treesUpTo": "with trees up to {high}",
    "topWithObstacle": "with trees and obstacles up to {high}",
    "obstacleHere": "obstacle here: {what}",
    # the rest
    "goThere": "Show on the map",
    "allKnown": "The plan lists nothing as not known. That is no proof that all is known.",
    "scale": "1 : {scale} in the middle of the sheet, printed at full size",
}


def words(plan: Plan) -> dict[str, Any]:
    """Give the page's words for the reader of a plan."""
    limit = show(plan.limits.lift_limit_m, "height", plan.display)
    return _WORDS | {
        "roseReading": (
            f"A wedge is as long as the lift that its direction takes before moving off; the ring is the limit, "
            f"{limit}. Pale: open. Dark: closed. Hatched: not known. Dashed: approach, empty. Solid: departure, "
            "loaded. True north up; courses on it are magnetic."
        ),
        "seaLevel": label("altitude", plan.display),
        "sheet": ["low", "half", "whole page"],
        "fromBaseText": "from the helibase",
        "toBaseText": "to the helibase",
    }
