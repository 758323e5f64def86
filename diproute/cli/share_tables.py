"""What ``diproute share`` prints: places, what a taking brought, and what is not as it was written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from diproute.cli.console import terminal
from diproute.errors import plain
from diproute.units import Display, show, show_down

if TYPE_CHECKING:
    from diproute.sharing.keys import Trust
    from diproute.sharing.pack import Taken
    from diproute.sharing.places import Disagreement, Match, Place, Word
    from diproute.sharing.store import Store

SHORT = 8  # characters of an id that are printed
NAMES = {"depth_dm": "depth", "closed": "closed", "permission": "permission", "snags": "snags", "owner": "owner",
         "salt": "salt water"}  # fmt: skip
CAUTION = (
    "What others say is their word: look at the place before a bucket goes in. No marked hazard does not mean none. "
    "The flight manual, the operator, local rules and the pilot in command decide."
)


def print_places(found: Sequence[Place], matches: Sequence[Match], now: datetime, display: Display) -> None:
    """Print each place with its words, the one that counts first."""
    console = terminal()
    if any(word.invented for place in found for word in place.words):
        _line(console, "Invented demo data among them: no real place.")
    for place in found:
        chosen = place.current
        newest = chosen or place.words[0]
        _line(console, f"{newest.name} ({newest.water}), {newest.lat_deg:.5f} {newest.lon_deg:.5f}")
        if chosen is None:
            _line(console, "  nothing that is said of it counts now")
        for word in place.words:
            _line(console, f"  {'*' if word is chosen else ' '} {_whose(word, place, now)}")
            for said in _seen(word, display):
                _line(console, f"      {said}")
        for one in place.disagreements:
            _line(console, f"  ! {_disagreement(one, display)}")
    _matches(console, matches, display)
    count = "1 place" if len(found) == 1 else f"{len(found)} places"
    _line(console, f"{count}. * the newest valid word of somebody who was there, else of the desk.")
    _line(console, CAUTION)


def print_taken(taken: Taken, display: Display) -> None:
    """Print what a taking brought."""
    console = terminal()
    _line(console, f"{taken.came} came, {taken.came - taken.new} known, {taken.new} new")
    for standing, count in taken.standings.items():
        if count:
            _line(console, f"  {count} {standing}")
    for place in taken.disagreeing:
        name = place.words[0].name
        for one in place.disagreements:
            _line(console, f"! {name}: {_disagreement(one, display)}")
    _matches(console, taken.matches, display)


def print_verified(store: Store, trust: Trust) -> int:
    """Print what is not as it was written, and whose signatures hold; 3 where something is wrong."""
    from diproute.sharing.statement import STANDINGS, vouched

    console = terminal()
    faults = store.verify()
    for fault in faults:
        _line(console, f"row {fault.fid}: {fault.why}" if fault.fid else f"the file: {fault.why}")
    if faults:
        _line(console, "not as it was written: take the records again from those who gave them")
        return 3
    vouching = vouched(store.statements(), trust)
    counted = Counter(vouching.standing(one.id, one.record.properties.who.agency) for one in store.records())
    _line(console, f"{len(store)} records, all as they were written")
    for standing in STANDINGS:
        if counted[standing]:
            _line(console, f"  {counted[standing]} {standing}")
    return 0


def _whose(word: Word, place: Place, now: datetime) -> str:
    state = "put right by a later one" if word.id in place.superseded else ""
    if not state and not word.valid(now):
        state = "has run out" if word.when <= now.strftime("%Y-%m-%dT%H:%M:%SZ") else "dated in the future"
    told = f"{word.id[:SHORT]} {word.how}, {word.agency} ({word.by}), {word.when[:10]}, counts until {word.until[:10]}"
    return ", ".join(part for part in (told, word.standing, state) if part)


def _seen(word: Word, display: Display) -> list[str]:
    seen = word.seen
    if seen is None:
        return []
    told = [
        None if seen.closed is None else ("CLOSED" if seen.closed else "open"),
        None if seen.depth_dm is None else f"depth {show_down(seen.depth_dm / 10, 'depth', display)}",
        None if seen.snags is None else f"snags: {seen.snags}",
        *(f"wire: {wire.what}" for wire in seen.wires),
        None if seen.permission is None else f"permission {seen.permission}",
        None if seen.owner is None else f"owner: {seen.owner}",
        None if seen.invasive_species is None else f"invasive species: {seen.invasive_species}",
        None if seen.contact is None else f"contact: {seen.contact}",
        None if seen.remarks is None else f"remarks: {seen.remarks}",
    ]
    return [said for said in told if said is not None]


def _disagreement(one: Disagreement, display: Display) -> str:
    def shown(value: object) -> str:
        if one.of == "depth_dm" and isinstance(value, int):
            return show_down(value / 10, "depth", display)
        return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)

    said = "; ".join(f"{shown(value)} ({id_[:SHORT]})" for id_, value in one.said)
    return f"{NAMES[one.of]} differs: {said}"


def _matches(console: Console, matches: Sequence[Match], display: Display) -> None:
    for match in matches:
        water = "the same water" if match.same_water else "waters of different names"
        far = show(match.distance_m, "line", display)
        _line(console, f"? {match.one[:SHORT]} and {match.other[:SHORT]} may be one place: {water}, {far} apart; "
                       f"if so, note it with --of {match.one[:SHORT]} --of {match.other[:SHORT]}")  # fmt: skip


def _line(console: Console, text: str) -> None:
    console.print(Text(plain(text)), soft_wrap=True)
