"""The ground with everything on it, the water, and the points where a bucket may go in."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
import numpy.typing as npt

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.errors import RangeError
from diproute.records.base import F32, F64, I64, U16, Finding
from diproute.records.seen import Seen

_FLOWING: Final = frozenset({"river", "stream", "canal", "ditch", "drain", "brook", "creek", "riverbank"})


@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up grid of square cells in the working transverse Mercator (WGS 84, scale 1 at its centre).

    Cell ``(r, c)`` covers ``left_m + c·cell_m <= x < left_m + (c+1)·cell_m`` and
    ``top_m - (r+1)·cell_m < y <= top_m - r·cell_m``.
    """

    lat_deg: float
    lon_deg: float
    left_m: float
    top_m: float
    cell_m: float
    rows: int
    cols: int

    @property
    def right_m(self) -> float:
        """Eastern edge [m]."""
        return self.left_m + self.cols * self.cell_m

    @property
    def bottom_m(self) -> float:
        """Southern edge [m]."""
        return self.top_m - self.rows * self.cell_m

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns, as of an array that covers it."""
        return self.rows, self.cols

    def rowcol(self, x_m: npt.ArrayLike, y_m: npt.ArrayLike) -> tuple[I64, I64]:
        """Give the cells that points lie in.

        Parameters
        ----------
        x_m, y_m
            Points in the working frame [m], shapes that broadcast.

        Returns
        -------
        tuple of numpy.ndarray
            Row and column, also of points off the grid: negative, or past the last (see `holds`).
        """
        row = np.floor((self.top_m - np.asarray(y_m, dtype=np.float64)) / self.cell_m).astype(np.int64)
        col = np.floor((np.asarray(x_m, dtype=np.float64) - self.left_m) / self.cell_m).astype(np.int64)
        return row, col

    def holds(self, row: npt.ArrayLike, col: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Tell which cells are on the grid."""
        row, col = np.asarray(row), np.asarray(col)
        return np.asarray((row >= 0) & (row < self.rows) & (col >= 0) & (col < self.cols))

    def xy(self, row: npt.ArrayLike, col: npt.ArrayLike) -> tuple[F64, F64]:
        """Give the centres of cells.

        Parameters
        ----------
        row, col
            Cells, whole or in fractions of a cell (0.5 is the centre's southern, or eastern, edge).

        Returns
        -------
        tuple of numpy.ndarray
            x and y in the working frame [m].
        """
        x = self.left_m + (np.asarray(col, dtype=np.float64) + 0.5) * self.cell_m
        y = self.top_m - (np.asarray(row, dtype=np.float64) + 0.5) * self.cell_m
        return x, y


@dataclass(frozen=True, slots=True)
class LayerSource:
    """Where one layer came from, as far as its file says; what it does not say is None."""

    role: Literal["elevation", "canopy", "water", "obstacles", "avoid", "drop", "weather"]
    file: str  # relative to the incident file
    digest: str  # SHA-256 of the file's bytes, hexadecimal
    layer: str | None = None  # of a container
    current: str | None = None  # date of its content, ISO 8601; never the file's own time
    licence: str | None = None
    vertical_datum: str | None = None
    vertical_error_m: float | None = None


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A thing that stands up: a tower, a span of wire, a mast."""

    name: str  # "power line, 110 kV", "mast"
    kind: str  # "wire", "tower", "mast", "tree", "building", …
    height_m: float  # above ground, as used
    height_assumed: bool
    verified: bool | None  # None: the source does not say
    accuracy_m: float | None  # horizontal
    geometry: Any  # shapely point or line in working x, y
    source: str
    is_wire: bool = False
    top_m: float | None = None  # AMSL, when the source states it beside the height
    vertical_error_m: float | None = None  # already added to what `Ground.top` shows of it


@dataclass(frozen=True, slots=True)
class WireCells:
    """The cells that a wire may touch, whatever else stands there higher."""

    cell: I64  # (n,) row · columns + column, rising, each cell once
    top_m: F32  # (n,) the highest wire of each [m AMSL]
    obstacle: I64  # (n,) which one that is, an index into `Ground.obstacles`

    @classmethod
    def none(cls) -> WireCells:
        """No wire anywhere."""
        return cls(np.zeros(0, np.int64), np.zeros(0, np.float32), np.zeros(0, np.int64))

    def at(self, cell: int) -> int | None:
        """Give the place of a cell in these arrays; None where no wire touches it."""
        found = int(np.searchsorted(self.cell, cell))
        return found if found < self.cell.size and self.cell[found] == cell else None


@dataclass(frozen=True, slots=True)
class Ground:
    """The working grid with what is known of the earth and of everything on it.

    ``cause[r, c]`` says what ``top`` is there: 0 bare ground (or a surface model), 1 trees,
    ``i + 2`` the obstacle ``obstacles[i]``.
    """

    grid: Grid
    ground: F32  # (rows, cols), NaN where not known
    top: F32  # (rows, cols), NaN where not known
    cause: U16  # (rows, cols)
    obstacles: tuple[Obstacle, ...]
    vertical_datum: str  # "EGM2008 height", "not stated"
    vertical_error_m: float | None
    elevation_is: Literal["ground", "surface"]
    canopy_known: bool
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...] = ()
    layers: tuple[LayerSource, ...] = ()
    wires: WireCells = field(default_factory=WireCells.none)
    elevation_cell_m: float | None = None  # finest cell of its files on the ground; None: the grid's
    elevation_error_m: float | None = None  # vertical, without the canopy's; None: not stated

    @property
    def seen(self) -> Seen:
        """How its elevation sees the ground."""
        cell_m = max(self.elevation_cell_m or 0.0, self.grid.cell_m)
        return Seen(cell_m, self.elevation_is == "surface", self.elevation_error_m or 0.0)

    def __post_init__(self) -> None:
        if not self.wires.cell.size and (self.cause >= 2).any():
            is_wire = np.array([False, False, *(obstacle.is_wire for obstacle in self.obstacles)])
            if is_wire[self.cause].any():
                raise RangeError("a ground with wires on it and no cells of theirs: their own margin would be lost")

    def with_wire_margin(self, extra_m: float) -> F32:
        """Give `top` with every wire raised by what its margin has over another.

        A wire keeps its own margin also where something else is the higher thing in its cell.

        Parameters
        ----------
        extra_m
            Wire margin minus the other margin [m]; 0 or less changes nothing.

        Returns
        -------
        numpy.ndarray
            Heights [m AMSL], shape (rows, cols); `top` itself where there is no wire to raise.
        """
        if extra_m <= 0 or not self.wires.cell.size:
            return self.top
        top = self.top.copy()
        flat = top.reshape(-1)
        flat[self.wires.cell] = np.maximum(flat[self.wires.cell], self.wires.top_m + np.float32(extra_m))  # NaN stays
        return top


@dataclass(frozen=True, slots=True)
class AvoidArea:
    """An area that a slung load must not cross (``hard``), or crosses at a price."""

    name: str
    why: Finding  # in the words of its source where it gives any
    hard: bool
    extra_cost: float  # multiplies the time inside when not hard; 1: none
    geometry: Any  # shapely polygon in working x, y
    floor_m: float | None = None  # AMSL; None: from the ground up
    ceiling_m: float | None = None  # AMSL; None: no upper end


@dataclass(frozen=True, slots=True)
class WaterBody:
    """One stretch of open water."""

    id: str
    name: str
    kind: str  # "lake", "pond", "reservoir", "river", "sea", …
    polygon: Any  # shapely polygon in working x, y, islands as holes
    salt: bool
    level_low_m: float  # it lies no lower; of a river its lower end; NaN: not known
    level_high_m: float  # it lies no higher; of a river its upper end; NaN: not known
    level_spread_m: float  # how far the ground inside strays from level; NaN: not known
    depth_m: float | None
    source: str
    cautions: tuple[Finding, ...] = ()
    named: bool = True  # False: no layer names it, and it is called by its place
    depth_below_m: float | None = None  # a layer says that it is less deep than this, and no more

    @property
    def flows(self) -> bool:
        """Its surface slopes: each place has a level of its own."""
        return self.kind in _FLOWING

    @property
    def density_kg_l(self) -> float:
        """What a litre of it weighs [kg/L]."""
        return density_kg_l(self.salt)


def density_kg_l(salt: bool) -> float:
    """Give what a litre of fresh or of sea water weighs [kg/L]."""
    return (SEA_WATER_KG_L if salt else FRESH_WATER_KG_L).value


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A water feature that no bucket can use, and why."""

    name: str
    why: Finding
    geometry: Any  # shapely geometry in working x, y


@dataclass(frozen=True, slots=True)
class DipPoint:
    """A place in the water where the bucket may go in."""

    water: WaterBody
    x_m: float
    y_m: float
    lat_deg: float
    lon_deg: float
    level_low_m: float  # lift and line count from here; NaN: not known
    level_high_m: float  # the air is taken from here; NaN: not known
    shore_clearance_m: float  # to the nearest shore or island
    chosen_for: str  # "deepest inside", "nearest the drop", "most open", "most sheltered", "most water an hour"
