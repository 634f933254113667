"""A vapour retarder that covers only part of the area: holes, laps left open, strips forgotten."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..arrays import Array
from ..errors import InputError
from ..materials.model import Argument, CurveLike, Film, Material, argument_of
from .assembly import Layer
from .sides import Physics

#: Relative humidity [-] at which the permeance of the rest of the assembly is taken: about that between a room and
#: its sheathing in winter (assumed). With it the library wall passes in a heating season what the two walls side by
#: side pass, within 2 % (tests/trade/test_air_against_diffusion.py); other walls and humidities fit less well.
REST_HUMIDITY = 0.7


@dataclass(frozen=True)
class PartlyCovering:
    """Permeance that stands for a film over part of the area, as a curve of humidity.

    Parameters
    ----------
    film : Film
        The whole film.
    covered : float
        Share of the area a that it covers [-].
    rest : float
        Permeance P_r of everything else between the two airs [kg/(m2 s Pa)].
    permeance_outward : bool
        Read the permeance from inside to outside.

    Notes
    -----
    P = (P_f + (1 - a) P_r)/a. Two ways side by side, with the film and without, weighted by area (common
    practice), a P_f P_r/(P_f + P_r) + (1 - a) P_r, pass what one film of the permeance P in series with P_r
    passes; own derivation. Exact for steady isothermal diffusion and a constant P_r.
    """

    film: Film
    covered: float
    rest: float
    permeance_outward: bool = False

    @property
    def of(self) -> Argument:
        """What the curve is a function of."""
        return argument_of(self._curve)

    @property
    def _curve(self) -> CurveLike:
        backward = self.film.permeance_outward
        return backward if self.permeance_outward and backward is not None else self.film.permeance

    def __call__(self, x: Array) -> Array:
        """Return the permeance [kg/(m2 s Pa)]."""
        return (np.asarray(self._curve(x), dtype=float) + (1.0 - self.covered) * self.rest) / self.covered


def partly_covering(film: Film, covered: float, others: Sequence[Layer | Film], physics: Physics | None = None) -> Film:
    """Return a film that covers part of the area of an assembly.

    Parameters
    ----------
    film : Film
    covered : float
        Share of the area [-], greater than 0 and at most 1.
    others : sequence of Layer or Film
        The other parts between the two airs (a ventilated gap is outdoor air); their vapour resistance at
        `REST_HUMIDITY` is the rest, air films left out.
    physics : Physics, optional
        Constants of vapour and water.

    Raises
    ------
    InputError
        A share outside its range, or an assembly without resistance beside the film.
    """
    if not 0.0 < covered <= 1.0:
        raise InputError(f"it covers {covered:g} of the area; the share must be greater than 0 and at most 1", "film")
    if covered == 1.0:
        return film
    if not others:
        raise InputError("a film alone leaves an open hole where it does not cover", f"film '{film.name}'")
    rest = 1.0 / sum(_resistance(part, physics or Physics()) for part in others)
    return replace(
        film,
        name=f"{film.name}, {100.0 * covered:.4g} % of the area",
        permeance=PartlyCovering(film, covered, rest),
        permeance_outward=None
        if film.permeance_outward is None
        else PartlyCovering(film, covered, rest, permeance_outward=True),
    )


def between_airs(parts: Sequence[Layer | Film], place: int, gaps: Collection[str]) -> list[Layer | Film]:
    """Return the other parts on the same side of every ventilated gap as the part at `place`.

    Parameters
    ----------
    parts : sequence of Layer or Film
    place : int
    gaps : collection of str
        Names of the ventilated layers.
    """
    cuts = [i for i, part in enumerate(parts) if isinstance(part, Layer) and part.name in gaps]
    low = max((i for i in cuts if i < place), default=-1)
    high = min((i for i in cuts if i > place), default=len(parts))
    return [part for i, part in enumerate(parts) if low < i < high and i != place]


def _resistance(part: Layer | Film, physics: Physics) -> float:
    """Vapour resistance [m2 s Pa/kg] at `REST_HUMIDITY`."""
    if isinstance(part, Layer):
        return part.thickness / _at(part.material.permeability, part.material, physics)
    return 1.0 / _at(part.permeance, None, physics)


def _at(curve: CurveLike, material: Material | None, physics: Physics) -> float:
    by: dict[str, Any] = {"humidity": REST_HUMIDITY}
    by["suction"] = -physics.water_density * physics.vapour_gas_constant * 296.15 * np.log(REST_HUMIDITY)
    if argument_of(curve) == "water content" and material is not None:
        by["water content"] = _at(material.storage, None, physics)
    return float(np.asarray(curve(np.array([by[argument_of(curve)]])), dtype=float)[0])
