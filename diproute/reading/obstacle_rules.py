"""What a mapped obstacle is by its tags or columns, and the cautious height of one that is mapped without any.

OpenStreetMap tags and plain columns (kind, height, voltage, accuracy, …). ``docs/layers.md`` lists the same rules for
people.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diproute.constants import ASSUMED_HEIGHT_M, ROOF_M, STOREY_M
from diproute.reading import attributes as at
from diproute.reading.attributes import Tags

_HEIGHTS: Final = ("height", "agl", "height_agl", "agl_ht", "structure_height", "support_height", "tower_height")
_AERIALWAYS: Final = {
    "cable car": "cable car",
    "gondola": "gondola",
    "mixed lift": "gondola",
    "chair lift": "chair lift",
    "goods": "goods cableway",
    "zip line": "zip line",
    "drag lift": "drag lift",
    "t-bar": "drag lift",
    "j-bar": "drag lift",
    "platter": "drag lift",
    "rope tow": "drag lift",
    "pylon": "cableway pylon",
}
_NOT_AERIAL: Final = frozenset({"station", "magic carpet", "canopy", "explosive"})
_MAN_MADE: Final = {
    "mast": "mast",
    "tower": "tower",
    "communications tower": "communications tower",
    "chimney": "chimney",
    "crane": "crane",
    "antenna": "antenna",
    "water tower": "water tower",
    "storage tank": "storage tank",
    "silo": "silo",
    "flagpole": "flagpole",
    "lighthouse": "lighthouse",
    "windmill": "windmill",
    "utility pole": "power pole",
    "cooling tower": "cooling tower",
    "flare": "chimney",
    "gasometer": "storage tank",
    "bridge": "bridge",
    "wire": "wire",
}
_WORDS: Final = {  # other people's words, after lower case and underscores
    "power": "power line",
    "powerline": "power line",
    "transmission line": "power line",
    "line": "power line",
    "minor line": "minor power line",
    "cable": "wire",
    "aerial cable": "cableway",
    "ropeway": "cableway",
    "tramway": "cableway",
    "windmill": "wind turbine",
    "wind generator": "wind turbine",
    "turbine": "wind turbine",
    "t-l twr": "power tower",
    "transmission tower": "power tower",
    "pylon": "power tower",
    "stack": "chimney",
    "twr": "tower",
    "bldg": "building",
    "util pole": "power pole",
    "utility pole": "power pole",
    "house": "building",
    "elec sys": "power tower",
    "monument": "tower",
    "tank": "storage tank",
    "radio mast": "mast",
}
WIRES: Final = frozenset(
    kind for kind in ASSUMED_HEIGHT_M
    if kind.startswith(("power line", "minor power", "telephone", "railway contact", "zip"))
    or kind in ("cable car", "gondola", "goods cableway", "chair lift", "drag lift", "cableway", "wire", "catenary")
)  # fmt: skip
SPANS: Final = WIRES | {"bridge", "suspension bridge"}  # carried between the vertices of their line


@dataclass(frozen=True, slots=True)
class Named:
    """What a feature is and how high it stands."""

    kind: str  # a key of `constants.ASSUMED_HEIGHT_M`
    words: str  # "power line, 110 kV"
    height_m: float
    assumed: bool


@dataclass(frozen=True, slots=True)
class Hidden:
    """Something that does not stand up, or stands no longer."""

    code: str  # of the finding
    state: str | None = None  # "demolished", …


def name_obstacle(tags: Tags, dimension: int, *, osm: bool) -> Named | Hidden | None:
    """Say what a feature is.

    Parameters
    ----------
    tags
        Attributes, keys in lower case.
    dimension
        0 a point, 1 a line, 2 an area.
    osm
        True for OpenStreetMap data, where what no rule names is no obstacle; elsewhere everything in the layer is one.

    Returns
    -------
    Named, Hidden or None
        None: no obstacle.
    """
    kind = _osm_kind(tags, dimension) if osm else _plain_kind(tags, dimension)
    if kind is None:
        return None
    if (hidden := _hidden(tags, kind)) is not None:
        return hidden
    given = _height(tags, kind)
    words = _words(tags, kind)
    if given is not None and given > 0:
        return Named(kind, words, given, assumed=False)
    return Named(kind, words, ASSUMED_HEIGHT_M[_by_voltage(tags, kind)].value, assumed=True)


def accuracy_m(tags: Tags) -> float | None:
    """Horizontal accuracy of a feature's place [m]; None when it is not stated."""
    return at.length_m(tags, "accuracy", "horizontal_accuracy", "h_acc", "uncertainty")


def vertical_error_m(tags: Tags) -> float | None:
    """Error of a feature's height [m]; None when it is not stated."""
    return at.length_m(tags, "height_error", "vertical_accuracy", "vertical_error", "v_acc", "height:accuracy")


def _osm_kind(tags: Tags, dimension: int) -> str | None:
    power, aerialway, made = at.word(tags, "power"), at.word(tags, "aerialway"), at.word(tags, "man_made")
    if power in ("line", "minor line", "cable"):
        return "minor power line" if power == "minor line" else "power line"
    if power in ("tower", "pole", "portal", "catenary mast"):
        return {"tower": "power tower", "portal": "portal"}.get(power, "power pole")
    if power == "generator" and at.word(tags, "generator:source", "generator:method") in ("wind", "wind turbine"):
        return "wind turbine"
    if aerialway and aerialway not in _NOT_AERIAL:
        return _AERIALWAYS.get(aerialway, "cableway")
    if made in _MAN_MADE and not (made == "wire" and dimension != 1):
        return _MAN_MADE[made]
    if at.word(tags, "communication", "telecom") == "line":
        return "telephone line"
    if at.yes(tags, "railway") and at.word(tags, "electrified") == "contact line" and dimension == 1:
        return "railway contact line"
    if at.yes(tags, "bridge") and dimension > 0 and (at.yes(tags, "highway") or at.yes(tags, "railway")):
        hung = at.word(tags, "bridge:structure") in ("suspension", "cable-stayed", "simple-suspension", "arch")
        return "suspension bridge" if hung else "bridge"
    if at.word(tags, "waterway") == "dam":
        return "dam"
    if at.word(tags, "natural") in ("tree", "tree row"):
        return "tree"
    if at.yes(tags, "building") or at.yes(tags, "building:part"):
        return "building"
    return None


def _plain_kind(tags: Tags, dimension: int) -> str:
    said = at.word(tags, "kind", "type", "obstacle", "obstacle_type", "class", "description")
    return _osm_kind(tags, dimension) or kind_of(said) or ("wire" if dimension == 1 else "obstacle")


def kind_of(said: str) -> str | None:
    """Kind that somebody's word for an obstacle means, in lower case; None when it is not known."""
    tries = (_WORDS.get(said), said, said.removesuffix("s"), _AERIALWAYS.get(said), _MAN_MADE.get(said))
    return next((kind for kind in tries if kind in ASSUMED_HEIGHT_M), None)


def _hidden(tags: Tags, kind: str) -> Hidden | None:
    if at.word(tags, "power") == "cable" or at.word(tags, "location") in (
        "underground",
        "underwater",
        "kiosk",
        "indoor",
    ):
        return Hidden("obstacle-underground") if kind in WIRES else None
    if kind in SPANS | {"railway contact line"} and at.yes(tags, "tunnel"):
        return Hidden("obstacle-in-tunnel")
    for state in ("demolished", "removed", "dismantled"):
        if at.yes(tags, state):
            return Hidden("obstacle-gone", state)
    return None


def _height(tags: Tags, kind: str) -> float | None:
    given = at.length_m(tags, *_HEIGHTS)
    if kind == "wind turbine":
        hub = at.length_m(tags, "height:hub", "hub_height")
        rotor = at.length_m(tags, "rotor:diameter", "rotor_diameter")
        if hub is not None and rotor is not None:
            given = max(given or 0.0, hub + rotor / 2)
        elif hub is not None:
            given = None  # a hub without its blades is no height
    if kind == "building" and given is None and (levels := at.number(tags, "building:levels")) is not None:
        roof = at.number(tags, "roof:levels") or 0.0
        given = (levels + roof) * STOREY_M.value + ROOF_M.value
    return given


def _by_voltage(tags: Tags, kind: str) -> str:
    volts = at.volts(tags)
    if kind not in ("power line", "minor power line") or volts is None:
        return kind
    for least_kv in (300, 200, 100, 30):
        if volts >= least_kv * 1000:
            return f"power line {least_kv} kV and more"
    return "power line under 30 kV" if kind == "minor power line" or volts >= 1000 else kind


def _words(tags: Tags, kind: str) -> str:
    name = at.text(tags, "name", "ref")
    volts = at.volts(tags)
    words = kind if not volts or kind not in WIRES else f"{kind}, {volts / 1000:g} kV"
    return f"{words} {name}" if name else words
