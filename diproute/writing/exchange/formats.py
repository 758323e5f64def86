"""The formats that a plan can leave in, by the name that a user gives them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final, cast

from diproute.document.plan import Plan
from diproute.errors import QuantityError
from diproute.files import write_atomically

if TYPE_CHECKING:
    from diproute.writing.map.draw import Planned


@dataclass(frozen=True, slots=True)
class Format:
    """A format: the file that `write_folder` makes of it, and what it is for."""

    file: str
    about: str
    writer: str  # module and function, imported when it is used


FORMATS: Final[dict[str, Format]] = {
    "gpkg": Format("sites.gpkg", "GeoPackage with styles, for a GIS", "geopackage.geopackage"),
    "geojson": Format("sites.geojson", "GeoJSON (RFC 7946)", "geojson.geojson"),
    "kml": Format("plan.kml", "KML 2.2, for a globe or a tablet", "kml.kml"),
    "gpx": Format("routes.gpx", "GPX 1.1, for a GPS: waypoints, routes, paths as flown", "gpx.gpx"),
    "csv": Format("sites.csv", "table of the sites, for a spreadsheet", "table.table"),
}


def exchange(plan: Plan, name: str) -> bytes:
    """Give a plan in a format.

    Parameters
    ----------
    plan
        The plan.
    name
        A key of `FORMATS`.

    Returns
    -------
    bytes
        The file, the same for the same plan.

    Raises
    ------
    QuantityError
        No such format.
    OutputError
        The format needs a temporary file, and none can be written.
    """
    if name not in FORMATS:
        raise QuantityError(f"no format {name!r}; there are: {', '.join(FORMATS)}", where="format", got=name)
    module, function = FORMATS[name].writer.split(".")
    write = getattr(import_module(f"diproute.writing.exchange.{module}"), function)
    return cast(Callable[[Plan], bytes], write)(plan)


def write_exchange(plan: Plan | Planned, path: str | Path) -> Path:
    """Write a plan to a file for another program; the ending of its name says in which format.

    Parameters
    ----------
    plan
        The plan, made here or read from a file.
    path
        The file to write: ``.gpkg``, ``.geojson``, ``.kml``, ``.gpx`` or ``.csv``.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    QuantityError
        No format has such an ending.
    OutputError
        The file cannot be written.
    """
    document = plan if isinstance(plan, Plan) else plan.document
    return write_atomically(path, exchange(document, Path(path).suffix.lower().removeprefix(".")))
