"""Layers and films of a building part, listed from outside to inside."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from ..errors import InputError, is_number, nearest, need, shown
from ..materials.model import Film, Material, MouldClass

#: Most cells of one layer.
MOST_CELLS = 100_000
#: Thickness of a layer [m]: what is thinner is a film, what is thicker was meant in other units.
THINNEST, THICKEST = 1e-6, 100.0


@dataclass(frozen=True)
class Layer:
    """A thickness of one material.

    Parameters
    ----------
    material : Material
        Kept as it is at this thickness, where that matters (`Material.at_thickness`: an air gap).
    thickness : float
        [m], greater than zero.
    name : str
        Unique in the assembly; the material's name where empty.
    cells : int or None
        Number of finite volumes; None lets the grid decide.
    judged : bool
        False: criteria leave it out, such as cladding that is there to be wet.
    mould_class : str
        As in `Material`, where this layer differs from what its material states: sawn where that is planed.
    critical_saturation : float or None
        As in `Material`, where a test of the very brick or stone tells it.
    """

    material: Material
    thickness: float
    name: str = ""
    cells: int | None = None
    judged: bool = True
    mould_class: MouldClass | Literal[""] = ""
    critical_saturation: float | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.material, Material):
            what = "a film" if isinstance(self.material, Film) else repr(type(self.material).__name__)
            raise InputError(f"a layer needs a material, not {what}; list a film without a thickness", "layer")
        need(self.name, str, "its name", "a text", f"layer of '{self.material.name}'")
        if not self.name:
            object.__setattr__(self, "name", self.material.name)
        if not is_number(self.thickness):
            raise InputError(
                f"thickness is {self.thickness!r}; a number in metres is needed, such as 0.011", f"layer '{self.name}'"
            )
        if not THINNEST <= self.thickness < THICKEST:
            raise InputError(
                f"thickness is {self.thickness:g} m; it must be at least {THINNEST:g} m and below {THICKEST:g} m",
                f"layer '{self.name}'",
            )
        if self.cells is not None and not (isinstance(self.cells, int | np.integer) and 1 <= self.cells <= MOST_CELLS):
            raise InputError(
                f"cells is {shown(self.cells)}; a whole number from 1 to {MOST_CELLS} is needed", f"layer '{self.name}'"
            )
        if self.mould_class and self.mould_class not in get_args(MouldClass):
            raise InputError(
                f"mould_class is {self.mould_class!r}; use one of {', '.join(get_args(MouldClass))}",
                f"layer '{self.name}'",
            )
        if self.critical_saturation is not None and not 0.0 < self.critical_saturation <= 1.0:
            raise InputError(
                f"critical_saturation is {self.critical_saturation:g}; a share above 0 and up to 1 is needed",
                f"layer '{self.name}'",
            )
        if self.material.at_thickness is not None:
            object.__setattr__(self, "material", self.material.at_thickness(self.material, self.thickness))


@dataclass(frozen=True)
class Assembly:
    """Layers and films from outside to inside; at least one layer.

    Parameters
    ----------
    parts : tuple of Layer or Film
    name : str
    """

    parts: tuple[Layer | Film, ...]
    name: str = "assembly"

    def __post_init__(self) -> None:
        if not isinstance(self.parts, Iterable) or isinstance(self.parts, str):
            raise InputError(f"parts is {shown(self.parts)}; a tuple of layers and films is needed", "assembly")
        need(self.name, str, "its name", "a text", "assembly")
        object.__setattr__(self, "parts", tuple(self.parts))
        for p in self.parts:
            if not isinstance(p, Layer | Film):
                hint = "; a material needs a thickness: Layer(material, 0.1)" if isinstance(p, Material) else ""
                raise InputError(f"parts must be Layer or Film, not {type(p).__name__}{hint}", "assembly")
        if not self.layers:
            raise InputError("an assembly needs at least one layer with a thickness", "assembly")
        names = [layer.name for layer in self.layers]
        twice = sorted({n for n in names if names.count(n) > 1})
        if twice:
            raise InputError(f"two layers are called '{twice[0]}'; give each a name of its own", "assembly")

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers alone, from outside to inside."""
        return tuple(p for p in self.parts if isinstance(p, Layer))

    @property
    def films(self) -> tuple[Film, ...]:
        """The films alone, from outside to inside."""
        return tuple(p for p in self.parts if isinstance(p, Film))

    @property
    def thickness(self) -> float:
        """Total thickness of the layers [m]."""
        return sum(layer.thickness for layer in self.layers)

    def layer_index(self, name: str) -> int:
        """Return the position of a layer among the layers.

        Parameters
        ----------
        name : str
            Of a layer.

        Raises
        ------
        InputError
            If no layer has that name.
        """
        names = [layer.name for layer in self.layers]
        if name not in names:
            raise InputError(f"no layer is called '{name}'; {nearest(name, names)}", "assembly")
        return names.index(name)

    def part_index(self, name: str) -> int:
        """Return the position of a layer or film among all parts, by its name.

        Parameters
        ----------
        name : str
            Of a layer or film.

        Raises
        ------
        InputError
            If nothing has that name, or two films have it.
        """
        names = [part.name for part in self.parts]
        if name not in names:
            raise InputError(f"no layer or film is called '{name}'; {nearest(name, names)}", "assembly")
        if names.count(name) > 1:
            raise InputError(f"two parts are called '{name}'; give one a name of its own", "assembly")
        return names.index(name)

    def replace(self, name: str, part: Layer | Film) -> Assembly:
        """Return the assembly with another part in the place of a layer or film.

        Parameters
        ----------
        name : str
            Of the layer or film that goes.
        part : Layer or Film

        Raises
        ------
        InputError
            As `part_index`; also if the new part's name is there already.
        """
        at = self.part_index(name)
        return replace(self, parts=(*self.parts[:at], part, *self.parts[at + 1 :]))

    def insert(self, part: Layer | Film, *, before: str = "", after: str = "") -> Assembly:
        """Return the assembly with one more part, outside of `before` or inside of `after`.

        Parameters
        ----------
        part : Layer or Film
        before, after : str
            Name of the layer or film beside it; one of the two.

        Raises
        ------
        InputError
            As `part_index`; also if none or both are given.
        """
        if bool(before) == bool(after):
            raise InputError("say where: before='its inner neighbour' or after='its outer neighbour'", "insert")
        at = self.part_index(before) if before else self.part_index(after) + 1
        return replace(self, parts=(*self.parts[:at], part, *self.parts[at:]))

    def remove(self, name: str) -> Assembly:
        """Return the assembly without a layer or film.

        Parameters
        ----------
        name : str
            Of the layer or film that goes.

        Raises
        ------
        InputError
            As `part_index`; also if no layer would be left.
        """
        at = self.part_index(name)
        return replace(self, parts=(*self.parts[:at], *self.parts[at + 1 :]))

    def with_thickness(self, name: str, thickness: float) -> Assembly:
        """Return the assembly with a layer of another thickness [m].

        Parameters
        ----------
        name : str
            Of the layer.
        thickness : float
            [m].

        Raises
        ------
        InputError
            If no layer has that name, or the thickness cannot be.
        """
        layer = self.layers[self.layer_index(name)]
        return self.replace(name, replace(layer, thickness=thickness))

    def __str__(self) -> str:
        """Return its parts from outside to inside, a line each."""
        rows = [f"{self.name}, {1e3 * self.thickness:.4g} mm, from outside to inside:"]
        for part in self.parts:
            if isinstance(part, Film):
                rows.append(f"  {'film':>9}  {part.name}")
            else:
                of = f" ({part.material.name})" if part.name != part.material.name else ""
                rows.append(f"  {1e3 * part.thickness:6.4g} mm  {part.name}{of}")
        return "\n".join(rows)
