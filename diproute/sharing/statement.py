"""Signed statements that vouch for records: an in-toto statement of their digests in a DSSE envelope, Ed25519.

One statement signs thousands of records at once. Type and bytes are signed together (DSSE protocol), and a record's id
is the digest of its bytes, so whoever has record and statement can check the one by the other, wherever they came from.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final, Literal

from diproute.errors import ShareError
from diproute.sharing.keys import NOBODY, Trust
from diproute.sharing.record import moment_text
from diproute.sharing.seal import canonical, is_id, parse_strictly

if TYPE_CHECKING:
    from securesystemslib.dsse import Envelope
    from securesystemslib.signer import CryptoSigner

TYPE: Final = "https://in-toto.io/Statement/v1"
PAYLOAD_TYPE: Final = "application/vnd.in-toto+json"
PREDICATE_TYPE: Final = "urn:diproute:vouch:1"
MOST_SUBJECTS: Final = 10_000
MOST_BYTES: Final = 2 * 1024 * 1024
MOST_SIGNATURES: Final = 16

Standing = Literal["trusted", "other agency", "key not known", "wrongly signed", "unsigned"]
STANDINGS: Final[tuple[Standing, ...]] = ("trusted", "other agency", "key not known", "wrongly signed", "unsigned")


def sign(ids: Sequence[str], agency: str, when: datetime, signer: CryptoSigner) -> list[bytes]:
    """Sign records, as many in one statement as it may hold.

    Parameters
    ----------
    ids
        The ids of the records.
    agency
        Who vouches for them.
    when
        When, with its offset from UTC.
    signer
        The agency's key.

    Returns
    -------
    list of bytes
        The envelopes.

    Raises
    ------
    ShareError
        The libraries for it are missing.
    """
    check_library()
    from securesystemslib.dsse import Envelope

    made = []
    for start in range(0, len(ids), MOST_SUBJECTS):
        statement = {
            "_type": TYPE,
            "subject": [{"digest": {"sha256": id_}} for id_ in ids[start : start + MOST_SUBJECTS]],
            "predicateType": PREDICATE_TYPE,
            "predicate": {"agency": agency, "when": moment_text(when)},
        }
        envelope = Envelope(canonical(statement), PAYLOAD_TYPE, {})
        envelope.sign(signer)
        made.append(canonical(envelope.to_dict()))
    return made


def check_library() -> None:
    """Refuse to look at signatures without what can check them: a signed record must not pass for an unsigned one.

    Raises
    ------
    ShareError
        The library is missing.
    """
    if find_spec("securesystemslib") is None or find_spec("cryptography") is None:
        raise ShareError("signatures need more libraries; install diproute[share]")


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement as it came: the ids that it vouches for, and what its signatures are worth."""

    ids: frozenset[str]
    agencies: frozenset[str]  # of the trusted keys whose signature is right
    wrong: bool  # a trusted key is named, and its signature is not


def read_statement(body: bytes, trust: Trust = NOBODY) -> Statement:
    """Read a signed statement and look at its signatures.

    Parameters
    ----------
    body
        The envelope, as it came.
    trust
        The keys that are trusted.

    Raises
    ------
    ShareError
        It is no statement of this kind, or malformed. A wrong signature is no error.
    """
    check_library()
    from securesystemslib.dsse import Envelope
    from securesystemslib.exceptions import Error

    told = parse_strictly(body, "the signed statement", MOST_BYTES)
    if not isinstance(told, dict) or set(told) != {"payload", "payloadType", "signatures"}:
        raise ShareError("the signed statement is no DSSE envelope")
    if not isinstance(told["signatures"], list) or not 0 < len(told["signatures"]) <= MOST_SIGNATURES:
        raise ShareError(f"the signed statement has no signature, or more than {MOST_SIGNATURES}")
    try:
        envelope = Envelope.from_dict(told)
        ids = _subjects(envelope)
    except (KeyError, TypeError, ValueError, AttributeError, Error) as error:
        if isinstance(error, ShareError):
            raise
        raise ShareError(f"the signed statement is malformed: {type(error).__name__}") from None
    right, named = [], [keyid for keyid in envelope.signatures if keyid in trust.keys]
    for keyid in named:
        try:
            envelope.verify([trust.keys[keyid]], 1)
            right.append(keyid)
        except (Error, ValueError, TypeError):
            continue
    return Statement(ids, frozenset(trust.agency_of[keyid] for keyid in right), len(right) < len(named))


def _subjects(envelope: Envelope) -> frozenset[str]:
    if envelope.payload_type != PAYLOAD_TYPE:
        raise ShareError("the signed statement is of another type")
    said: Any = parse_strictly(envelope.payload, "the signed statement", MOST_BYTES)
    if not isinstance(said, dict) or said.get("_type") != TYPE or said.get("predicateType") != PREDICATE_TYPE:
        raise ShareError("the signed statement is of another kind")
    ids = [one["digest"]["sha256"] for one in said["subject"]]
    if not 0 < len(ids) <= MOST_SUBJECTS or not all(map(is_id, ids)):
        raise ShareError(f"the signed statement names no records, or more than {MOST_SUBJECTS}")
    return frozenset(ids)


@dataclass(frozen=True, slots=True)
class Vouched:
    """What many statements together say of records."""

    agencies: dict[str, set[str]]
    signed: set[str]
    wrong: set[str]

    def standing(self, id_: str, agency: str) -> Standing:
        """Tell what a record's signatures are worth.

        One right signature by its own agency's trusted key makes it trusted, whatever else was signed about it: nobody
        can spoil another's word.
        """
        vouching = self.agencies.get(id_, set())
        if agency in vouching:
            return "trusted"
        if vouching:
            return "other agency"
        if id_ in self.wrong:
            return "wrongly signed"
        return "key not known" if id_ in self.signed else "unsigned"


def vouched(statements: Iterable[bytes], trust: Trust = NOBODY) -> Vouched:
    """Look at every statement; those that cannot be read vouch for nothing.

    Raises
    ------
    ShareError
        There are statements, and the library that checks them is missing.
    """
    found = Vouched(defaultdict(set), set(), set())
    for body in statements:
        check_library()
        try:
            one = read_statement(body, trust)
        except ShareError:
            continue
        for id_ in one.ids:
            if one.agencies:
                found.agencies[id_] |= one.agencies
        (found.wrong if one.wrong else found.signed).update(one.ids)
    return found
