"""Layers and films of a building part, listed from outside to inside."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import InputError, nearest
from ..materials.model import Film, Material


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
    """

    material: Material
    thickness: float
    name: str = ""
    cells: int | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.material, Material):
            what = "a film" if isinstance(self.material, Film) else repr(type(self.material).__name__)
            raise InputError(f"a layer needs a material, not {what}; list a film without a thickness", "layer")
        if not self.name:
            object.__setattr__(self, "name", self.material.name)
        if not (self.thickness > 0.0 and self.thickness < 100.0):
            raise InputError(
                f"thickness is {self.thickness:g} m; it must be greater than 0 and below 100 m",
                f"layer '{self.name}'",
            )
        if self.cells is not None and self.cells < 1:
            raise InputError(f"cells is {self.cells}; at least 1 is needed", f"layer '{self.name}'")
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
        object.__setattr__(self, "parts", tuple(self.parts))
        for p in self.parts:
            if not isinstance(p, Layer | Film):
                raise InputError(f"parts must be Layer or Film, not {type(p).__name__}", "assembly")
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

        Raises
        ------
        InputError
            If no layer has that name.
        """
        names = [layer.name for layer in self.layers]
        if name not in names:
            raise InputError(f"no layer is called '{name}'; {nearest(name, names)}", "assembly")
        return names.index(name)
