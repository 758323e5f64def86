"""The margins and shapes that a dip point is measured with."""

from __future__ import annotations

from dataclasses import dataclass

from diproute.errors import RangeError
from diproute.records import Limits
from diproute.sites.surfaces import Corridor, published_surface


@dataclass(frozen=True, slots=True)
class ClearanceRules:
    """The margins and shapes that a dip point is measured with."""

    departure: Corridor
    arrival: Corridor
    surface: Corridor  # the published surface
    load_margin_m: float  # vertical error included
    wire_margin_m: float  # vertical error included
    least_lift_m: float
    rotor_margin_m: float  # vertical error included
    hover_radius_m: float
    side_slope: float
    side_length_m: float
    bucket_length_m: float

    def __post_init__(self) -> None:
        sizes = (self.load_margin_m, self.wire_margin_m, self.least_lift_m, self.rotor_margin_m, self.hover_radius_m,
                 self.side_slope, self.side_length_m, self.bucket_length_m)  # fmt: skip
        if not all(0 <= size < float("inf") for size in sizes):
            raise RangeError(f"clearance rules {sizes}: every margin and size must be 0 or more; check [limits]")

    @classmethod
    def from_limits(
        cls, limits: Limits, hover_circle_m: float, rotor_diameter_m: float, bucket_length_m: float,
        vertical_error_m: float | None = None, surface: str = "8:1",
    ) -> ClearanceRules:  # fmt: skip
        """Take the rules from an incident's limits.

        Parameters
        ----------
        limits
            The incident's limits.
        hover_circle_m, rotor_diameter_m
            Diameters of the hover circle and of the rotor [m].
        bucket_length_m
            Hook to bucket bottom at full stretch [m].
        vertical_error_m
            Vertical error of the heights [m], added to every margin; None: not stated, nothing is added.
        surface
            Name of the published surface, a key of `surfaces.SURFACES`.
        """
        error = vertical_error_m or 0.0
        shape = (limits.corridor_start_m, limits.corridor_spread, limits.corridor_length_m)
        return cls(
            departure=Corridor(*shape, limits.departure_gradient),
            arrival=Corridor(*shape, limits.arrival_gradient),
            surface=published_surface(surface, hover_circle_m, rotor_diameter_m),
            load_margin_m=limits.load_margin_m + error,
            wire_margin_m=max(limits.wire_margin_m, limits.load_margin_m) + error,
            least_lift_m=limits.least_lift_m,
            rotor_margin_m=limits.rotor_margin_m + error,
            hover_radius_m=hover_circle_m / 2,
            side_slope=limits.side_slope,
            side_length_m=limits.side_length_m,
            bucket_length_m=bucket_length_m,
        )
