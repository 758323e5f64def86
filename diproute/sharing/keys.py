"""Keys for signing records, and the list of the keys that are trusted: Ed25519 (RFC 8032).

The private key is a file in PKCS #8, encrypted; the public key one line as OpenSSH writes it, to be read out or pasted.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from diproute.errors import OutputError, ShareError

if TYPE_CHECKING:
    from securesystemslib.signer import CryptoSigner, SSlibKey

MOST_BYTES: Final = 1024 * 1024  # of a key file or a trust list
LEAST_PASSPHRASE: Final = 8
_MISSING: Final = "signatures need more libraries; install diproute[share]"
_EXAMPLE: Final = '[[key]], agency = "North District", public = "ssh-ed25519 …"'


@dataclass(frozen=True, slots=True)
class Trust:
    """The keys that are trusted: key id → agency, and key id → key."""

    agency_of: Mapping[str, str]
    keys: Mapping[str, SSlibKey]


NOBODY: Final = Trust({}, {})


def make_key(path: str | Path, passphrase: str) -> str:
    """Make a pair of keys; the private one goes into a new file that only its owner may read.

    Returns
    -------
    str
        The public key, one line.

    Raises
    ------
    ShareError
        The passphrase is too short, or the libraries for it are missing.
    OutputError
        The file cannot be written, or is there already.
    """
    if len(passphrase) < LEAST_PASSPHRASE:
        raise ShareError(f"a passphrase of at least {LEAST_PASSPHRASE} characters is wanted")
    try:
        from cryptography.hazmat.primitives import serialization as form
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    except ImportError:
        raise ShareError(_MISSING) from None
    key = Ed25519PrivateKey.generate()
    text = key.private_bytes(
        form.Encoding.PEM, form.PrivateFormat.PKCS8, form.BestAvailableEncryption(passphrase.encode("utf-8"))
    )
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(text)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}; choose another name") from error
    return key.public_key().public_bytes(form.Encoding.OpenSSH, form.PublicFormat.OpenSSH).decode("ascii")


def read_signer(path: str | Path, passphrase: str) -> CryptoSigner:
    """Read a private key.

    Raises
    ------
    ShareError
        It cannot be read, is no Ed25519 key, or the passphrase does not open it.
    """
    data = _read(Path(path))
    try:
        from cryptography.exceptions import UnsupportedAlgorithm
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
        from cryptography.hazmat.primitives.serialization import load_pem_private_key
        from securesystemslib.signer import CryptoSigner
    except ImportError:
        raise ShareError(_MISSING) from None
    try:
        key = load_pem_private_key(data, passphrase.encode("utf-8"))
    except (ValueError, TypeError, UnsupportedAlgorithm):
        raise ShareError(f"{path}: is no encrypted key, or the passphrase does not open it", where=str(path)) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise ShareError(f"{path}: is a key of another kind; make one by diproute share key", where=str(path))
    return CryptoSigner(key)


def read_public(line: str, where: str) -> SSlibKey:
    """Read a public key from its line.

    Raises
    ------
    ShareError
        It is no Ed25519 key as OpenSSH writes it.
    """
    try:
        from cryptography.exceptions import UnsupportedAlgorithm
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
        from cryptography.hazmat.primitives.serialization import load_ssh_public_key
        from securesystemslib.signer import SSlibKey
    except ImportError:
        raise ShareError(_MISSING) from None
    try:
        key = load_ssh_public_key(line.encode("ascii"))
    except (ValueError, UnsupportedAlgorithm):
        key = None
    if not isinstance(key, Ed25519PublicKey):
        raise ShareError(
            f'{where}: no public key; paste the line that begins with "ssh-ed25519"', where=where, got=line
        )
    return SSlibKey.from_crypto(key)


def read_trust(path: str | Path) -> Trust:
    """Read a trust list, a TOML file with a ``[[key]]`` for each key: its ``agency`` and the ``public`` line.

    Raises
    ------
    ShareError
        It cannot be read, has other keys than these, or names one public key twice.
    """
    place = Path(path)
    try:
        told = tomllib.loads(_read(place).decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise ShareError(f"{place}: is no TOML: {error}; write {_EXAMPLE}", where=str(place)) from None
    listed = told.get("key")
    if set(told) != {"key"} or not isinstance(listed, list) or not all(map(_whole, listed)):
        raise ShareError(f"{place}: is no trust list; write for each key {_EXAMPLE}", where=str(place))
    agencies: dict[str, str] = {}
    keys: dict[str, SSlibKey] = {}
    for one in listed:
        key = read_public(one["public"], f"{place}: {one['agency']}")
        if key.keyid in keys:
            raise ShareError(f"{place}: {one['agency']}: its key stands twice in the list", where=str(place))
        agencies[key.keyid], keys[key.keyid] = one["agency"], key
    return Trust(agencies, keys)


def _whole(one: Any) -> bool:
    return isinstance(one, dict) and set(one) == {"agency", "public"} and all(isinstance(v, str) for v in one.values())


def _read(place: Path) -> bytes:
    try:
        if not place.is_file():
            raise ShareError(f"{place}: there is no such file", where=str(place))
        with place.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise ShareError(f"{place}: cannot be read: {error.strerror or error}", where=str(place)) from error
    if len(data) > MOST_BYTES:
        raise ShareError(f"{place}: is too large for what it should be", where=str(place))
    return data
