"""What the records say together: one place's records side by side, and the one that counts now.

Records belong to one place when one of them names the other (``of``, ``supersedes``), since a person said so; never
because they lie near each other. What lies near is proposed (`likely_matches`). The order in which the records came
changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import cos, dist, radians, sin
from typing import Final

from diproute.sharing.record import HOW, Seen, moment_text
from diproute.sharing.seal import Sealed
from diproute.sharing.statement import Standing

SAME_WATER_M: Final = 1000.0  # an assumption: so far apart two records of one water may be of one site
ANY_WATER_M: Final = 100.0  # and so far, whatever the water is called
FARTHEST_M: Final = 2000.0  # a record that names one farther away is of another place
_EARTH_M: Final = 6_371_008.8  # mean radius, IUGG
COMPARED: Final = ("depth_dm", "permission", "closed", "snags", "owner")


@dataclass(frozen=True, slots=True)
class Word:
    """A record as it is looked at beside others."""

    id: str
    lon_deg: float
    lat_deg: float
    name: str
    water: str
    water_id: str | None
    salt: bool | None
    how: str
    agency: str
    by: str
    when: str
    until: str
    links: tuple[str, ...]
    supersedes: tuple[str, ...]
    seen: Seen | None
    invented: bool
    standing: Standing = "unsigned"

    @classmethod
    def of(cls, sealed: Sealed, standing: Standing = "unsigned") -> Word:
        """Take of a record what is compared."""
        said = sealed.record.properties
        return cls(
            sealed.id, sealed.record.lon_deg, sealed.record.lat_deg, said.name, said.water.name, said.water.id,
            said.water.salt, said.how, said.who.agency, said.who.by, said.when, said.until,
            (*said.of, *said.supersedes), said.supersedes, said.seen, said.invented, standing,
        )  # fmt: skip

    @property
    def first_hand(self) -> bool:
        """Somebody was there."""
        return self.how != HOW[0]

    def valid(self, now: datetime) -> bool:
        """Tell whether it was said by now, and has not run out."""
        return self.when <= moment_text(now) < self.until


@dataclass(frozen=True, slots=True)
class Disagreement:
    """One thing of which valid records say different things: record id and value, by id."""

    of: str
    said: tuple[tuple[str, object], ...]


@dataclass(frozen=True, slots=True)
class Place:
    """The records of one place, newest first.

    ``current`` is the newest valid first-hand record, else the newest valid one; where any record is trusted, only
    trusted ones are chosen from. None: nothing that is said of the place counts any more.
    """

    words: tuple[Word, ...]
    current: Word | None
    superseded: frozenset[str]
    disagreements: tuple[Disagreement, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """Two records of two places that may be one: for a person to decide."""

    one: str
    other: str
    distance_m: float
    same_water: bool


def places(words: Iterable[Word], now: datetime) -> tuple[Place, ...]:
    """Put records together by place.

    Parameters
    ----------
    words
        The records, in any order; the same one twice counts once.
    now
        The time to look at them, with its offset from UTC.

    Returns
    -------
    tuple of Place
        By the id of the oldest record of each.
    """
    by_id = {word.id: word for word in words}
    groups: dict[str, list[Word]] = defaultdict(list)
    root = _roots(by_id)
    for id_ in sorted(by_id):
        groups[root[id_]].append(by_id[id_])
    found = [_place(group, by_id, now) for group in groups.values()]
    return tuple(sorted(found, key=lambda place: (place.words[-1].when, place.words[-1].id)))


def _roots(by_id: dict[str, Word]) -> dict[str, str]:
    """Give for each record the least id of its place."""
    parent = {id_: id_ for id_ in by_id}

    def top(id_: str) -> str:
        while parent[id_] != id_:
            parent[id_] = parent[parent[id_]]
            id_ = parent[id_]
        return id_

    for word in by_id.values():
        for other in word.links:
            if other in by_id and _distance_m(word, by_id[other]) <= FARTHEST_M:
                one, two = sorted((top(word.id), top(other)))
                parent[two] = one
    return {id_: top(id_) for id_ in by_id}


def _place(group: Sequence[Word], by_id: dict[str, Word], now: datetime) -> Place:
    ids = {word.id for word in group}
    gone = frozenset(
        old for word in group for old in word.supersedes if old in ids and _puts_right(word, by_id[old], now)
    )
    counting = [word for word in group if word.id not in gone and word.valid(now)]
    trusted = [word for word in counting if word.standing == "trusted"]
    chosen = max(trusted or counting, key=lambda word: (word.first_hand, word.when, word.id), default=None)
    newest_first = sorted(group, key=lambda word: (word.when, word.id), reverse=True)
    return Place(tuple(newest_first), chosen, gone, _disagreements(counting))


def _puts_right(new: Word, old: Word, now: datetime) -> bool:
    """Tell whether a record takes another's place: an agency puts its own word right, nobody another's."""
    as_good = new.standing == "trusted" or old.standing != "trusted"
    return new.agency == old.agency and as_good and old.when <= new.when <= moment_text(now)


def _disagreements(counting: Sequence[Word]) -> tuple[Disagreement, ...]:
    found = []
    told: dict[str, list[tuple[str, object]]] = {
        key: [(word.id, getattr(word.seen, key)) for word in counting if word.seen is not None] for key in COMPARED
    }
    told["salt"] = [(word.id, word.salt) for word in counting]
    for key, said in told.items():
        known = [(id_, value) for id_, value in said if value is not None]
        if len({value for _, value in known}) > 1:
            found.append(Disagreement(key, tuple(sorted(known, key=lambda pair: pair[0]))))
    return tuple(found)


def likely_matches(words: Iterable[Word]) -> tuple[Match, ...]:
    """Propose pairs of records of different places that may be one place, nearest first; nothing is joined.

    Parameters
    ----------
    words
        The records, in any order.

    Returns
    -------
    tuple of Match
        Records of one water within 1 km, of any water within 100 m.
    """
    import numpy as np
    from scipy.spatial import cKDTree

    by_id = {word.id: word for word in words}
    if len(by_id) < 2:
        return ()
    root = _roots(by_id)
    ids = sorted(by_id)
    xyz = np.array([_on_sphere(by_id[id_]) for id_ in ids])
    found = []
    for i, j in cKDTree(xyz).query_pairs(SAME_WATER_M):
        one, other = by_id[ids[min(i, j)]], by_id[ids[max(i, j)]]
        distance_m = _distance_m(one, other)
        same = _same_water(one, other)
        if root[one.id] != root[other.id] and (same or distance_m <= ANY_WATER_M):
            found.append(Match(one.id, other.id, distance_m, same))
    return tuple(sorted(found, key=lambda match: (match.distance_m, match.one, match.other)))


def _same_water(one: Word, other: Word) -> bool:
    by_id = one.water_id is not None and one.water_id == other.water_id
    return by_id or one.water.strip().casefold() == other.water.strip().casefold()


def _on_sphere(word: Word) -> tuple[float, float, float]:
    lon, lat = radians(word.lon_deg), radians(word.lat_deg)
    return _EARTH_M * cos(lat) * cos(lon), _EARTH_M * cos(lat) * sin(lon), _EARTH_M * sin(lat)


def _distance_m(one: Word, other: Word) -> float:
    return dist(_on_sphere(one), _on_sphere(other))
