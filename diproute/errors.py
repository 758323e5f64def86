"""The errors a caller may meet, one family.

::

    DiprouteError
    ├── InputError (ValueError)         what was given cannot be used; exit code 2
    │   ├── QuantityError               a number, a unit or a coordinate that cannot be read
    │   ├── IncidentError               an incident or fleet file with a wrong, missing or unknown key
    │   ├── LayerError                  a raster or vector layer that cannot be read or does not fit
    │   ├── WeatherError                a weather report or table that cannot be used
    │   ├── PlanError                   a plan file that cannot be read, or is of another format
    │   └── ShareError                  a shared record, store, pack, key or trust list that cannot be used
    ├── RangeError (ValueError)         a value outside the range a formula is good for
    └── OutputError (OSError)           a result that cannot be written

A message says what came, what was wanted and what to do next, in one line. The error carries what it speaks
of: ``where`` (a key, a file, a layer), and ``got``. Whatever a file holds, a message shows its control characters
and never sends them to a terminal, and cuts long values short.
"""

from __future__ import annotations

import re
from typing import Final

MOST_OF_A_VALUE: Final = 80  # characters of what came that a message repeats
MOST_OF_A_MESSAGE: Final = 600
_CONTROLS: Final = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufff9-\ufffb\ufffe\uffff\ud800-\udfff]"
)  # those that turn the writing round, no characters at all, and halves of characters, among them


def plain(text: str, most: int | None = None) -> str:
    """Show the control characters of a text as they are written in code, and cut it to a length.

    Parameters
    ----------
    text
        What came from a file or a command line.
    most
        Characters kept; None keeps all.
    """
    if most is not None and len(text) > most:
        text = f"{text[:most]}…"
    return _CONTROLS.sub(lambda found: found[0].encode("unicode_escape").decode("ascii"), text)


class DiprouteError(Exception):
    """Base of every error that diproute raises on purpose.

    Parameters
    ----------
    message
        One line: what came, what was wanted, what to do.
    where
        The key, file or layer that the message speaks of.
    got
        The value that came.
    """

    def __init__(self, message: str, *, where: str | None = None, got: object = None) -> None:
        for said in (repr(got), str(got)):
            if len(said) > MOST_OF_A_VALUE and said != where:  # where something is stays whole
                message = message.replace(said, plain(said, MOST_OF_A_VALUE))
        super().__init__(plain(" ".join(message.split()), MOST_OF_A_MESSAGE))
        self.where = where
        self.got = got


class InputError(DiprouteError, ValueError):
    """What was given cannot be used."""


class QuantityError(InputError):
    """A number, a unit or a coordinate that cannot be read."""


class IncidentError(InputError):
    """An incident or fleet file with a wrong, missing or unknown key."""


class LayerError(InputError):
    """A raster or vector layer that cannot be read, or does not fit the incident."""


class WeatherError(InputError):
    """A weather report or an hourly table that cannot be used."""


class PlanError(InputError):
    """A plan file that cannot be read, is damaged, or is of another format."""


class ShareError(InputError):
    """A shared record, a store, a pack, a key or a trust list that cannot be used."""


class RangeError(DiprouteError, ValueError):
    """A value outside the range that a formula is good for."""


class OutputError(DiprouteError, OSError):
    """A result that cannot be written."""
