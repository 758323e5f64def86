"""HTML by construction: what is not markup already is escaped, so no name from a file can become a tag."""

from __future__ import annotations

import json
from html import escape
from typing import Any


class Markup(str):
    """Text that is HTML already."""

    __slots__ = ()


def tag(name: str, *inside: str | None, **attributes: str | float | bool | None) -> Markup:
    """Make an element.

    Parameters
    ----------
    name
        Its tag.
    inside
        Children; plain text is escaped, `Markup` is not, None is left out.
    attributes
        ``class_="x"``; ``data_v=1`` becomes ``data-v="1"``; True is a bare attribute, False and None leave it out.

    Returns
    -------
    Markup
        The element.
    """
    head = "".join(
        f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{escape(str(value))}"')
        for key, value in attributes.items()
        if value is not None and value is not False
    )
    return Markup(f"<{name}{head}>{join(*inside)}</{name}>")


def join(*pieces: str | None) -> Markup:
    """Put pieces together, plain text escaped."""
    return Markup("".join(p if isinstance(p, Markup) else escape(p) for p in pieces if p is not None))


def json_for_script(data: Any) -> str:
    """JSON that may stand inside ``<script>``: no ``<``, ``>``, ``&`` or line separator survives in it."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text
