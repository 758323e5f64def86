"""Tags that a file keeps packed in one column: as hstore text, as JSON, or as pairs."""

from __future__ import annotations

import json
import re
from typing import Final

COLUMNS: Final = ("other_tags", "all_tags", "tags")
_HSTORE: Final = re.compile(r'"((?:[^"\\]|\\.)*)"\s*=>\s*"((?:[^"\\]|\\.)*)"')


def unpacked(row: dict[str, object]) -> dict[str, object]:
    """Give the attributes of a feature with its packed tags as attributes of their own.

    Parameters
    ----------
    row
        Attributes, keys in lower case.

    Returns
    -------
    dict
        Without the packed columns that could be read; a column of its own counts before a packed tag.
    """
    found = dict(row)
    for column in COLUMNS:
        if column not in found:
            continue
        tags = _tags(found[column])
        if tags is None:
            continue
        del found[column]
        for key, value in tags.items():
            found.setdefault(key.lower(), value)
    return found


def _tags(packed: object) -> dict[str, object] | None:
    """Read packed tags; None when they are none."""
    if isinstance(packed, dict):
        return {str(key): value for key, value in packed.items()}
    text = str(packed).strip()
    if text.startswith(("{", "[")):
        try:
            read = json.loads(text)
        except (ValueError, RecursionError):
            return None
        return _of_json(read)
    pairs = _HSTORE.findall(text)
    return {_unescaped(key): _unescaped(value) for key, value in pairs} if pairs else None


def _of_json(read: object) -> dict[str, object] | None:
    """Tags of an object, or of a list of pairs or of objects with a key and a value."""
    if isinstance(read, dict):
        return {str(key): value for key, value in read.items()}
    found: dict[str, object] = {}
    for entry in read if isinstance(read, list) else ():
        if isinstance(entry, dict) and {"key", "value"} <= set(entry):
            found[str(entry["key"])] = entry["value"]
        elif isinstance(entry, list) and len(entry) == 2:
            found[str(entry[0])] = entry[1]
    return found or None


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text) if "\\" in text else text
