"""What a load is: a frozen dataclass that says, for one case, where water and air come in and go out.

A load lowers itself: `Load.lower` gets a `Site` (cells, marks, both sides) and returns records of four kinds,

- `Source`: water at a rate into cells, such as rain that gets past a window;
- `Stream`: dry air that passes the layers and carries heat and vapour;
- `Exchange`: the air of a layer against that of one side;
- `Deposit`: air that meets a place and leaves what it holds above saturation there.

Each is a term of its own in the budget and in the results, under the load's `label`. A package brings loads of its
own through the entry point group `drydown.loads`; see docs/extending.md.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, NamedTuple, Self

import numpy as np

from ..arrays import Array, Marks
from ..errors import InputError
from .assembly import Assembly
from .keys import Section
from .sides import Physics, Side, SideForcing

Place = Literal["whole", "outer", "inner"]


def check_place(place: str, depth: float, where: str) -> None:
    """Raise InputError unless a place within a layer makes sense."""
    if place not in ("whole", "outer", "inner"):
        raise InputError(f"place is '{place}'; use 'whole', 'outer' or 'inner'", where)
    if not depth > 0.0:
        raise InputError(f"depth is {depth:g} m; it must be greater than 0", where)


class LoadWords(NamedTuple):
    """What is said of a load's water: verbs before an amount, and what became of water that found no room.

    `silent_at_zero`: nothing is said where it brought none, as of a flow that ends nowhere in the wall.
    """

    brought: str = "brought"
    took: str = "took"
    refused: str = "found no room and ran off"
    silent_at_zero: bool = False


@dataclass(frozen=True)
class Site:
    """What a load meets in a case.

    Parameters
    ----------
    assembly : Assembly
    widths : array of shape (cell,)
        Of the cells from outside to inside [m].
    layer_of_cell : array of shape (cell,)
        Index among ``assembly.layers``, -1 in the contact air between two films.
    start : datetime64
    hours : array of datetime64, shape (hour,)
        Hour marks of the run.
    marks : array of shape (mark,)
        All marks of the run [s from the start], among them the hours and what `Load.times` names.
    outside, inside : SideForcing
        What both sides meet, at the hours.
    outer, inner : Side
        The sides themselves, for their weather.
    physics : Physics
    """

    assembly: Assembly
    widths: Array
    layer_of_cell: np.ndarray
    start: np.datetime64
    hours: Marks
    marks: Array
    outside: SideForcing
    inside: SideForcing
    outer: Side
    inner: Side
    physics: Physics

    @property
    def seconds(self) -> Array:
        """Hour marks in seconds from the start, shape (hour,)."""
        return (self.hours - self.start).astype("timedelta64[s]").astype(float)

    def cells(self, layer: str, place: Place = "whole", depth: float = 0.005) -> np.ndarray:
        """Return the cells of a layer, or those within `depth` [m] of its outer or inner face (at least one).

        Raises
        ------
        InputError
            If no layer has that name.
        """
        cells = np.flatnonzero(self.layer_of_cell == self.assembly.layer_index(layer))
        if place == "whole":
            return cells
        edges = np.concatenate([[0.0], np.cumsum(self.widths[cells])])
        centre = 0.5 * (edges[1:] + edges[:-1])
        from_face = centre if place == "outer" else edges[-1] - centre
        near = cells[from_face <= depth]
        return near if len(near) else cells[[0]] if place == "outer" else cells[[-1]]

    def spot(self, layer: str, place: Place = "whole", depth: float = 0.005) -> tuple[np.ndarray, Array]:
        """Return the cells that reach into a place, and what share of each lies in it; whatever the mesh.

        Raises
        ------
        InputError
            If no layer has that name.
        """
        cells = np.flatnonzero(self.layer_of_cell == self.assembly.layer_index(layer))
        if place == "whole":
            return cells, np.ones(len(cells))
        edges = np.concatenate([[0.0], np.cumsum(self.widths[cells])])
        near, far = (edges[:-1], edges[1:]) if place == "outer" else (edges[-1] - edges[1:], edges[-1] - edges[:-1])
        inside = np.clip((depth - near) / (far - near), 0.0, 1.0)
        return cells[inside > 0.0], inside[inside > 0.0]

    def at_marks(self, hourly: Array) -> Array:
        """Return values of the hours [hour] at all marks [mark], linear in between."""
        return np.interp(self.marks, self.seconds, hourly)

    def over_marks(self, hourly: Array) -> Array:
        """Return rates over the hours [hour], each ending at its mark, over the intervals that end at all marks."""
        seconds = self.seconds
        ending = np.clip(np.searchsorted(seconds, self.marks, side="left"), 0, len(seconds) - 1)
        return np.asarray(hourly, dtype=float)[ending]


@dataclass(frozen=True)
class Source:
    """Water at a rate into cells.

    Parameters
    ----------
    rate : array of shape (mark,)
        Over the interval that ends at the mark [kg/(m2 s)], not below 0.
    cells : array of int
        Where it goes, evenly by volume.
    fill : array, optional
        Share of each of them that belongs to the place; by default all of it. See `Site.spot`.
    limited : bool
        Taken only as far as the pores have room; the rest is refused and recorded.
    label : str
        In results; the load's own where empty.
    notes : mapping
        What the results are to say of it, by a short name.
    """

    rate: Array
    cells: np.ndarray
    limited: bool = True
    label: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    fill: Array | None = None


@dataclass(frozen=True)
class Stream:
    """Dry air through the layers.

    Parameters
    ----------
    flow : array of shape (mark,)
        Positive from outside to inside [kg/(m2 s)], linear between the marks.
    layer : str
        Layer in which its path ends towards outside, whose air is that outside; empty: the whole assembly.
    label, notes
        As of `Source`.
    """

    flow: Array
    layer: str = ""
    label: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Exchange:
    """The air of a layer against that of one side; it is taken as mixed.

    Parameters
    ----------
    layer : str
    air_changes : array of shape (mark,)
        Constant part [1/s].
    side : {'outside', 'inside'}
        Whose air comes in.
    wind_squared : array of shape (mark,)
        Square of the air change by wind [1/s2].
    buoyancy_squared : float
        Square of the air change by buoyancy over |T_layer - T_side|/T_side [1/s2].
    label, notes
        As of `Source`.

    Notes
    -----
    n = constant part + sqrt(wind + buoyancy), pressures added (ASHRAE Handbook Fundamentals 2021, ch. 16).
    """

    layer: str
    air_changes: Array
    side: Literal["outside", "inside"] = "outside"
    wind_squared: Array | float = 0.0
    buoyancy_squared: float = 0.0
    label: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Deposit:
    """Air that meets a place and leaves there what it holds above saturation, and nothing else.

    Parameters
    ----------
    air : array of shape (mark,)
        That meets the place [m3/(m2 s)].
    vapour : array of shape (mark,)
        What it brings [kg/m3].
    cells : array of int
        The place.
    label, notes, fill
        As of `Source`.
    """

    air: Array
    vapour: Array
    cells: np.ndarray
    label: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    fill: Array | None = None


Lowered = Source | Stream | Exchange | Deposit


class Load(ABC):
    """What happens to a wall besides its sides and wettings; an entry of `Case.loads`.

    Derive a frozen dataclass from it. `label` and `lower` are needed; the rest has defaults that fit most.
    """

    #: Its keys in a case file. Those that are fields of the dataclass need no more; others need `from_keys`, `to_keys`.
    section: ClassVar[Section] = Section()
    #: Whether its layer holds the air of a side, so that what stands beyond does not hinder vapour.
    ventilates: ClassVar[bool] = False

    @property
    @abstractmethod
    def label(self) -> str:
        """Name of the load in results."""

    @property
    def layers(self) -> tuple[str, ...]:
        """Names of the layers it acts in; each must be there."""
        return ()

    @property
    def words(self) -> LoadWords:
        """What is said of its water."""
        return LoadWords()

    @property
    def inward(self) -> bool:
        """Whether the water it takes out of the wall has left towards the room."""
        return False

    def times(self) -> Sequence[np.datetime64]:
        """Return the moments besides the hours at which it changes its course; a step ends there."""
        return ()

    @abstractmethod
    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return what it is in a case.

        Parameters
        ----------
        site : Site

        Raises
        ------
        InputError
            If it cannot act there; the message says where and what would be right.
        """

    @classmethod
    def from_keys(cls, given: dict[str, Any], assembly: Assembly, outside: Side) -> Self:
        """Return the load of the keys of its section [SI], of which every layer is known to exist.

        Parameters
        ----------
        given : dict
            Only the keys that are there.
        assembly : Assembly
        outside : Side

        Raises
        ------
        InputError
            With a `where` that is the key alone where one key is to blame.
        """
        return cls(**given)

    def to_keys(self, given: dict[str, Any], outside: Side) -> dict[str, Any]:
        """Return the keys that state the load; `given` are those that are fields and differ from their defaults.

        Parameters
        ----------
        given : mapping
            Values of its keys, SI.
        outside : Side
            The outer side.
        """
        return given
