"""What Python users hold: the plan as a document, with the ground that it was made on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

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

    def __repr__(self) -> str:
        """Name the plan and its first site."""
        first = next(iter(self.suitable), None)
        told = "none suitable"
        if first is not None and first.sortie is not None:
            told = f"first {first.name} {show(first.sortie.litres_per_hour, 'volume', 'si')}/h"
        count = len(self.sites)
        return f"<Planned {self.title!r}, {count} site{'' if count == 1 else 's'}, {told}>"
