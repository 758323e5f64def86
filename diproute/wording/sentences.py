"""From a code and its values to the sentence that a reader sees."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Protocol

from diproute.wording import of_layers, of_loads, of_plans, of_routes, of_sites, of_weather
from diproute.wording.codes import Code, Codes
from diproute.wording.template import Reader, fields, fill, known, parse

PARTS: Final = (of_layers, of_weather, of_sites, of_routes, of_loads, of_plans)
CODES: Final[Codes] = {code: said for part in PARTS for code, said in part.CODES.items()}
SI: Final = Reader()


class Said(Protocol):
    """Anything with a code and values: a record's finding, or one of the plan document."""

    @property
    def code(self) -> str:
        """The code."""

    @property
    def values(self) -> Mapping[str, Any]:
        """The values by name, SI."""


def say(found: Said, reader: Reader = SI) -> str:
    """Make the sentence of a finding.

    Parameters
    ----------
    found
        The finding.
    reader
        Units, and the declination where bearings are to be magnetic; SI and true by default.

    Returns
    -------
    str
        One sentence without its full stop, beginning small. A code that is not known here (a plan of a later release)
        is told by the sentence that came with it, else by the code itself.
    """
    said = CODES.get(found.code)
    if said is None:
        return str(getattr(found, "because", "") or found.code)
    values = found.values
    parts = parse(_fitting(said, values))
    return fill(parts, values, reader, lambda inner: say(inner, reader))


def _fitting(said: Code, values: Mapping[str, Any]) -> str:
    for template in said.sentences:
        if all(known(values.get(field.name)) for field in fields(parse(template), optional=False)):
            return template
    return said.sentences[-1]
