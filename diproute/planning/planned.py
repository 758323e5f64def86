"""What Python users hold: the plan as a document, with the ground that it was made on."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from diproute.errors import IncidentError
from diproute.planning.prepared import Prepared
from diproute.units import show

if TYPE_CHECKING:
    import geopandas as gpd

    from diproute.document import Plan, Site


@dataclass(frozen=True, slots=True, repr=False)
class Planned:
    """A plan that was made here. Two are equal when their documents are."""

    document: Plan
    prepared: Prepared = field(compare=False)

    @property
    def title(self) -> str:
        """The incident's."""
        return self.document.title

    @property
    def sites(self) -> tuple[Site, ...]:
        """Ranked ones first, then the refused ones."""
        return self.document.sites

    @property
    def suitable(self) -> tuple[Site, ...]:
        """The sites that pass every limit, best first."""
        return self.document.suitable

    usable = suitable  # its name in the first release

    def to_geodataframe(self, kind: str = "sites") -> gpd.GeoDataFrame:
        """Give one kind of the plan's things as a table with geometry: see `diproute.document.frames`."""
        return self.document.to_geodataframe(kind)

    def with_weather(
        self,
        *,
        temperature: str | None = None,
        wind: str | None = None,
        qnh: str | None = None,
        dew_point: str | None = None,
        lapse: str | None = None,
    ) -> Planned:
        """Plan again in another weather of the plan's time, on the ground as it was read.

        Only the weather can be changed so; for anything else read the incident again (``diproute plan --set`` does
        both). The hours of a table or a forecast stay as they are.

        Parameters
        ----------
        temperature, wind, qnh, dew_point, lapse
            Written as in an incident file, with units: ``temperature="36 degC"``, ``wind="240 deg 15 kt"``. What is not
            given stays.

        Raises
        ------
        IncidentError
            A value that does not fit, or none at all.
        """
        from diproute.planning.plan import plan_again
        from diproute.reading.changes import change_weather

        given = {"temperature": temperature, "wind": wind, "qnh": qnh, "dew_point": dew_point, "lapse": lapse}
        changes = {key: value for key, value in given.items() if value is not None}
        if not changes:
            raise IncidentError(f"no weather is given; give some of {', '.join(given)}")
        incident = self.prepared.incident
        other = replace(incident, weather=change_weather(incident.weather, changes, "with_weather"))
        told = {f"weather.{key}": value for key, value in changes.items()}
        return plan_again(self, other, told, grid=self.document.what_if is not None)

    def _repr_html_(self) -> str:
        """Show a notebook the ranking and the map."""
        return self.document._repr_html_()

    def __repr__(self) -> str:
        """Name the plan and its first site."""
        first = next(iter(self.suitable), None)
        told = "none suitable"
        if first is not None and first.sortie is not None:
            told = f"first {first.name} {show(first.sortie.litres_per_hour, 'volume', 'si')}/h"
        count = len(self.sites)
        return f"<Planned {self.title!r}, {count} site{'' if count == 1 else 's'}, {told}>"
