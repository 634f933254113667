"""What stands where, for drawing: layers with kind and thickness, and the films between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..figures.style import kinds_drawn, spans_of
from ..materials.kinds import kind_of
from ..text import without_size

if TYPE_CHECKING:
    import xarray as xr

    from ..case.assembly import Assembly


@dataclass(frozen=True)
class Part:
    """One layer or film, from outside to inside.

    Parameters
    ----------
    mark : str
        Number of a layer, letter of a film.
    name : str
    kind : str
        Of `drydown.materials.kinds`, or ``"film"``.
    thickness : float
        [mm]; 0 of a film.
    material : str
        Where it differs from the name.
    sources : tuple of Source
    """

    mark: str
    name: str
    kind: str
    thickness: float
    material: str = ""
    sources: tuple[Any, ...] = ()

    @property
    def label(self) -> str:
        """The name without a size in it, for where the thickness stands beside it."""
        return without_size(self.name) if self.thickness else self.name


def parts_of(results: xr.Dataset | None, assembly: Assembly | None = None) -> list[Part]:
    """Return the parts of an assembly; of a result alone its layers (it does not know the films).

    Parameters
    ----------
    results : Dataset or None
        Of `drydown.simulate`.
    assembly : Assembly, optional
    """
    from ..case.assembly import Layer

    parts: list[Part] = []
    if assembly is not None:
        numbers, letters = 0, 0
        for part in assembly.parts:
            if isinstance(part, Layer):
                numbers += 1
                material = part.material
                parts.append(
                    Part(
                        str(numbers),
                        part.name,
                        kind_of(material.tags, material.name),
                        1e3 * part.thickness,
                        material.name if material.name != part.name else "",
                        material.sources,
                    )
                )
            else:
                letters += 1
                parts.append(Part(_letter(letters), part.name, "film", 0.0, "", part.sources))
    elif results is not None:
        kinds = kinds_drawn(results)
        for i, (name, outer, inner) in enumerate(spans_of(results), 1):
            parts.append(Part(str(i), name, kinds.get(name, "other"), inner - outer))
    return parts


def _letter(number: int) -> str:
    return "abcdefghijklmnopqrstuvwxyz"[(number - 1) % 26]


def layers_of(parts: list[Part]) -> list[Part]:
    """Return the layers alone."""
    return [p for p in parts if p.kind != "film"]


def cells_of(results: xr.Dataset) -> list[np.ndarray]:
    """Return the cells of every layer."""
    place = results["layer_of_cell"].values
    return [np.flatnonzero(place == str(n)) for n in results["layer"].values]
