"""Sentences about the layers: ground, canopy, obstacles, water, areas."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes

_BY_TAG: Final = "[ ({tag} = '{said}')]"  # what a mapped water says of itself
_BY_CODE: Final = "[ (NHD code {nhd_code})]"
_NOWHERE: Final = " of the search has no {what}[, mostly to the {towards}[ and {second}[ and {third}]]]"
_ROUND: Final = "[, all round{all_round:if}]; nothing is known there"

GROUND: Final[Codes] = {
    "lies-at": Code(
        "a box of latitudes and longitudes",
        "{south_deg:latitude} to {north_deg:latitude}, {west_deg:longitude} to {east_deg:longitude}",
    ),
    "features-dropped": Code(
        "features of a file that have no usable geometry",
        "{file}: {count:count feature} had no usable geometry",
    ),
    "places-impossible": Code(
        "features of a file that lie beyond a pole, as swapped coordinates do",
        "{file}: {count:count feature lies/features lie} beyond a pole and can stand nowhere; are latitude and "
        "longitude swapped there?",
    ),
    "layer-empty-here": Code(
        "a file that holds nothing in what is looked at, and where it lies",
        "{file} ({key}) holds nothing here; it lies at {lies:finding}",
        "{file} ({key}) holds nothing here; it is empty",
    ),
    "partly-covered": Code(
        "elevation or canopy height is missing for a share of the search",
        f"{{little:if}}under 1 %{_NOWHERE}{_ROUND}",
        f"{{share:share}}{_NOWHERE}{_ROUND}",
    ),
    "place-unknown": Code(
        "a drop or the base lies where the ground is not known",
        "drop '{drop}' lies where the ground is not known",
        "the base lies where the ground is not known",
    ),
    "place-far": Code(
        "a drop or the base lies further from every other drop than the search reaches",
        "drop '{drop}' lies {away_m:distance} from the nearest other drop, further than the search reaches "
        "({radius_m:distance}): check its position",
        "the base lies {away_m:distance} from the nearest drop, further than the search reaches "
        "({radius_m:distance}): check its position",
    ),
    "ground-too-steep": Code(
        "the ground is so steep that its heights may be in feet",
        "half of the ground is steeper than {slope_deg:angle}: are the heights of the elevation in feet?",
    ),
    "grid-coarsened": Code(
        "the working cells are coarser than the elevation, for the area is large",
        "the area is too large for {wanted_m:line} cells; it is worked out on {cell_m:line} cells, "
        "each as high as its highest part",
    ),
    "elevation-coarse": Code(
        "the elevation is coarser than the working cells",
        "the elevation has one height every {spacing_m:line}; ridges and hollows between are not seen",
    ),
    "elevation-unit-assumed": Code(
        "no unit is stated for the elevation; metres are taken",
        "{file} does not say its unit; taken as metres",
    ),
    "elevation-holes": Code(
        "cells of the elevation hold a number that stands for no data, or a flat patch with a drop all round",
        "{count:count cell} of the elevation hold numbers that are no ground[, the largest of them a flat patch at "
        "{flat_m:altitude}]: nothing is known there",
    ),
    "vertical-datum-unknown": Code(
        "all or some of the elevation files do not say their vertical datum",
        "some elevation files do not say their vertical datum; taken as {taken_as}",
        "the elevation does not say its vertical datum; taken as above sea level",
    ),
    "heights-above-ellipsoid": Code(
        "the elevation counts from the ellipsoid, not from sea level",
        "heights are above the ellipsoid ({datum}), which can stray from sea level by up to {most_m:height}",
    ),
    "bare-earth-unknown": Code(
        "the elevation is a surface model",
        "the elevation is a surface model: treetops and roofs are in it, the bare earth is not known",
    ),
    "trees-unknown": Code(
        "no canopy layer is given",
        "{lower_bound:if}trees not known here: no canopy layer; the line and lift are a lower bound",
        "no canopy layer is given: trees are not known",
    ),
    "canopy-no-trees": Code(
        "a canopy layer of zeros alone",
        "{file} has no trees anywhere in what is looked at: make sure that it is a canopy",
    ),
    "tree-height-unknown": Code(
        "woods that are mapped without a height",
        "no height is known for {count} of {of} woods in {file}; nothing is known above them",
    ),
    "canopy-beside-surface": Code(
        "of a canopy layer beside a surface model the taller counts",
        "trees are in the surface model already: the canopy counts only where it is taller than what stands above the "
        "lowest surface near by",
    ),
}

OBSTACLES: Final[Codes] = {
    "no-obstacle-layer": Code(
        "no obstacle layer is given", "no obstacle layer is given: wires and towers are not known"
    ),
    "obstacles-left-out": Code("obstacles that do not stand up, or no longer", "{file}: left out {left:list}"),
    "obstacle-underground": Code("a wire under ground or under water", "{count} under ground or under water"),
    "obstacle-in-tunnel": Code("a line in a tunnel", "{count} in a tunnel"),
    "obstacle-gone": Code("an obstacle that is mapped or filed as taken down", "{count} [filed{filed:if} as ]{state}"),
    "obstacle-height-assumed": Code(
        "obstacles mapped without a height, and the heights taken for them",
        "no height is known for {count} of {of:count obstacle}; assumed: {assumed:list}",
    ),
    "assumed-height": Code("a kind of obstacle and the height assumed for it", "{kind} {height_m:height}"),
    "obstacle-kind-unknown": Code(
        "obstacles of a kind that no rule knows",
        "{count:count obstacle is/obstacles are} of a kind that is not known",
    ),
    "obstacle-unverified": Code(
        "obstacles that their source does not vouch for",
        "{count:count obstacle is/obstacles are} not verified: place and height are unreliable",
    ),
    "obstacle-place-unknown": Code(
        "obstacles of unknown horizontal accuracy",
        "{file}: {count:count obstacle has/obstacles have} no known accuracy",
    ),
    "obstacles-two-datums": Code(
        "the obstacles of a file stand off the ground by the same height all over",
        "{above:if}the obstacles of {file} stand {off_m:height} above the ground, alike all over ({count} compared): "
        "two vertical datums; the higher top counts",
        "the obstacles of {file} stand {off_m:height} below the ground, alike all over ({count} compared): "
        "two vertical datums; the higher top counts",
    ),
    "obstacles-off-ground": Code(
        "single obstacles of a file that do not stand on the ground as it is mapped",
        "{file}: {count} of {of:count obstacle} off the ground as mapped: {which:list}"
        "[ and {more} more]; the higher top counts",
    ),
    "obstacle-off-ground": Code(
        "an obstacle whose foot is off the ground",
        "{above:if}{name} {off_m:height} above",
        "{name} {off_m:height} below",
    ),
    "obstacle-file-old": Code(
        "an obstacle file older than its cycle on the day of the plan",
        "{file} is current to {current}, {days:count day} before the plan; a new one comes every {every_days:number} "
        "days",
    ),
    "obstacle-file-undated": Code("an obstacle file without its date", "{file} does not say how current it is"),
    "wire-direction-unknown": Code(
        "power lines that are filed as one point",
        "{count:count power line is/power lines are} filed as one point without direction; a disc round it is kept "
        "clear, the rest of the line is not known",
    ),
    "wire-support-unknown": Code(
        "spans with a support where the ground is not known",
        "{count:count span has/spans have} a support where the ground is not known; nothing is known below",
    ),
}

WATER: Final[Codes] = {
    "water-unsure": Code(
        "a water that may be dry now",
        "{tidal:if}tidal: it may be dry at low water",
        "NHD code {nhd_code} does not say that it holds water all year",
        "nothing says that it holds water all year",
    ),
    "water-cut": Code("another layer leaves a part of the water out", "a part of it is left out"),
    "one-layer-only": Code(
        "a part of a water that another layer of it does not show",
        "only one of the layers that show this water shows this part of it",
    ),
    "depths-differ": Code(
        "a water with two depths, of which the least counts",
        "depths from {depth_m:depth-} to {most_m:depth} are given: the least counts",
    ),
    "water-slopes": Code(
        "the ground inside a still water is not level",
        "the ground inside strays by {spread_m:height}: water and elevation do not match",
    ),
    "above-its-shore": Code(
        "the ground inside a still water stands above a good part of its shore",
        "the ground inside stands {above_m:height} above the lowest of its shore: the shore counts for line and lift",
    ),
    "level-wide": Code(
        "a water level that the elevation does not show well",
        "the water lies between {low_m:altitude} and {high_m:altitude}: line and lift count from the low end, the air "
        "from the high end",
    ),
    "level-unknown": Code(
        "the ground inside a water is not known",
        "{water}: the water level is not known, the ground has no data",
        "the ground inside is not known, so neither is the water level",
    ),
    "water-as-points": Code(
        "waters that are mapped as points",
        "{file}: {count:count water is a point/waters are points}, not areas; give polygons",
    ),
}


def _left_out(meaning: str, words: str) -> Code:
    return Code(f"water left out: {meaning}", words + _BY_CODE)


LEFT_OUT: Final[Codes] = {
    "line-without-width": Code(
        "water left out: drawn as a line that gives no width", "a {kind} drawn as a line without a width"
    ),
    "dry": _left_out("dry, or a dry lake bed", "dry: no water is sure"),
    "intermittent": _left_out("it holds water for a part of the time only", "intermittent: no water is sure"),
    "ephemeral": _left_out("it holds water after rain only", "ephemeral: no water is sure"),
    "seasonal": _left_out("it holds water for a season only", "seasonal: no water is sure"),
    "out-of-use": _left_out("disused, abandoned, proposed or under construction", "{state}: no water is sure"),
    "covered": _left_out("under a cover or a roof", "covered"),
    "in-tunnel": _left_out("in a tunnel or culvert", "in a tunnel or culvert"),
    "underground": _left_out("under ground, under water or in a conduit", "under ground"),
    "pipeline": _left_out("in a pipe", "a pipeline"),
    "tank": _left_out("a tank", "a tank"),
    "tailings": _left_out("tailings of a mine", "tailings" + _BY_TAG),
    "sewage": _left_out("sewage, waste water or effluent", "sewage" + _BY_TAG),
    "foul": _left_out("slurry, brine, evaporation, disposal and the like", "{what}" + _BY_TAG),
    "not-for-storage": _left_out(
        "an NHD reservoir that is not for storing water",
        "a reservoir not for storing water: tailings, sewage, evaporation, …",
    ),
    "not-open-water": _left_out("an NHD code that is no known open water", "not known as open water"),
    "salt-pond": _left_out("a salt pond", "a salt pond, left to evaporate"),
    "detention-basin": _left_out("a detention basin", "a basin that is dry between floods"),
    "infiltration-basin": _left_out("an infiltration basin", "a basin that drains into the ground"),
    "to-be-flooded": _left_out("land that a dam is to flood", "land that a dam is still to flood"),
    "flood-land": _left_out("land that only floods reach", "land that only floods reach"),
    "tidal-flat": _left_out("ground that the tide uncovers", "ground that the tide uncovers"),
    "wash": _left_out("a wash", "a wash, dry but after rain"),
    "shifting-bars": _left_out("shifting channels", "shifting channels between bars"),
    "wetland": _left_out("wetland, swamp or marsh", "a wetland: open water is not sure"),
    "ice": _left_out("glacier or ice", "ice"),
    "mud": _left_out("mud", "mud"),
    "rock": _left_out("rock", "a rocky patch"),
    "shoal": _left_out("a shoal", "a shoal"),
    "reef": _left_out("a reef", "a reef"),
    "shallow": _left_out("mapped as shallow", "shallow"),
    "hot-spring": _left_out("a hot spring", "a hot spring"),
    "swimming-pool": _left_out("a swimming pool", "a swimming pool"),
    "rapids": _left_out("rapids", "rapids"),
    "waterfall": _left_out("a waterfall", "a waterfall"),
    "weir": _left_out("a weir", "a weir"),
    "spillway": _left_out("a spillway", "a spillway, dry but in floods"),
    "fountain": _left_out("a fountain", "a fountain"),
    "fish-pass": _left_out("a fish pass", "a fish pass"),
}

AREAS: Final[Codes] = {
    "area-said": Code("why an area is avoided, in the words of its source", "{text}"),
    "area-closed": Code("an area that no slung load may cross", "closed to a slung load"),
    "area-costs": Code("an area that is crossed at a price", "costs extra"),
    "area-mapped": Code("a place of people or traffic that a map shows", "{kind} ({file})"),
}

CODES: Final[Codes] = {**GROUND, **OBSTACLES, **WATER, **LEFT_OUT, **AREAS}
