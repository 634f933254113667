"""What a wall is made of: `Material` (has thickness, stores) and `Film` (a face with a permeance)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ..errors import InputError
from ..frozen import FrozenMap
from .checks import MouldClass, film_problems, material_problems
from .curve import Argument, Curve, CurveLike, argument_of, as_curve
from .source import Kind, Source

__all__ = [
    "REFERENCE_TEMPERATURE",
    "Argument",
    "Curve",
    "CurveLike",
    "Film",
    "Kind",
    "Material",
    "MouldClass",
    "Source",
    "argument_of",
]

#: Temperature [K] at which permeabilities and permeances of a catalogue are stated (cup tests).
REFERENCE_TEMPERATURE = 296.15


@dataclass(frozen=True)
class Material:
    """A homogeneous material that fills a layer.

    A plain number in the place of a curve is a constant; a storage curve is none.

    Parameters
    ----------
    name : str
    density : float
        Dry bulk density [kg/m3].
    heat_capacity : float
        Specific heat capacity of the dry material [J/(kg K)].
    conductivity : Curve
        Thermal conductivity [W/(m K)] of water content [kg/m3] (or humidity).
    storage : Curve
        Water content [kg/m3] of humidity or of suction; never falling with humidity.
    permeability : Curve
        Vapour permeability [kg/(m s Pa)] at 296.15 K, of humidity or of water content.
    saturation : float
        Water content with all open pores filled [kg/m3].
    liquid : Curve or None
        Liquid conductivity K [s] (kg/(m s Pa)) of suction or of water content; None: no liquid flow.
    diffusivity : Curve or None
        Liquid diffusivity D_w [m2/s] of water content; given instead of `liquid`.
    permeability_temperature : callable or None
        Factor [-] of temperature [K] on the permeability; None: that of still air.
    conductivity_temperature_coefficient : float
        Relative change of conductivity per kelvin about 283.15 K [1/K].
    conductivity_temperature : callable or None
        Factor [-] of temperature [K] on the conductivity, 1 where `conductivity` is stated; None: the straight line of
        `conductivity_temperature_coefficient`, which is not read beside it. For foams whose gas condenses in the cold.
    sorption_temperature_exponent : float
        Exponent kappa [-] with which a storage curve of humidity, stated at 296.15 K, moves with temperature:
        w(phi, T) = W(z + kappa ln(T/296.15 K)), z = ln(-ln phi). 0: w depends on humidity alone; 1.33 fits
        wood (see `drydown.materials.curves.WOOD_TEMPERATURE_SHIFT`). A curve of suction behaves as with 1 already.
    freezing : bool
        Whether its pore water freezes: below 0 degC what is held at a lower suction than that of freezing is ice.
    frozen_conductivity : float
        Conductivity with all pores full of ice, over that with them full of water [-]; in between by the ice in them.
    mould_class : {'', 'very sensitive', 'sensitive', 'medium resistant', 'resistant'}
        How easily mould grows on it; empty: not stated.
    critical_saturation : float or None
        Degree of saturation [-] above which frost damages it; None: not stated.
    sheds_rain : bool
        No liquid water enters it, and that is so: metal, glass, closed foam. Without it, a material that has no
        liquid transport lacks data.
    unusual : mapping
        Why a property lies outside what its kind has (`drydown.materials.plausible`), by property name.
    at_thickness : callable or None
        Returns the material as it is in a layer of a thickness [m], given itself and the thickness: an air gap.
    sources : tuple of Source
    humidity_range : (float, float)
        Humidities [-] between which the published data lie.
    spread : mapping
        Known relative spread by property name, e.g. ``{"permeability": (0.5, 2.0)}`` (factors).
    tags : tuple of str
        Words to find it by, e.g. ``("wood", "panel")``.
    aliases : tuple of str

    Raises
    ------
    InputError
        Naming the material and the property: a wrong type, a value out of range or of another unit, a curve that fails
        or does not keep the shape. The whole contract (`drydown.testing`) looks closer.
    """

    name: str
    density: float
    heat_capacity: float
    conductivity: CurveLike
    storage: CurveLike
    permeability: CurveLike
    saturation: float
    liquid: CurveLike | None = None
    diffusivity: CurveLike | None = None
    permeability_temperature: Callable[[Any], Any] | None = None
    conductivity_temperature_coefficient: float = 0.0
    conductivity_temperature: Callable[[Any], Any] | None = None
    sorption_temperature_exponent: float = 0.0
    freezing: bool = False
    frozen_conductivity: float = 1.0
    mould_class: MouldClass | Literal[""] = ""
    critical_saturation: float | None = None
    sheds_rain: bool = False
    unusual: Mapping[str, str] = FrozenMap()
    at_thickness: Callable[[Any, float], Any] | None = None
    sources: tuple[Source, ...] = ()
    humidity_range: tuple[float, float] = (0.0, 1.0)
    spread: Mapping[str, tuple[float, float]] = FrozenMap()
    tags: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()

    if TYPE_CHECKING:  # a number may stand for a curve; what is held is a curve

        def __init__(
            self,
            name: str,
            density: float,
            heat_capacity: float,
            conductivity: CurveLike | float,
            storage: CurveLike,
            permeability: CurveLike | float,
            saturation: float,
            liquid: CurveLike | float | None = ...,
            diffusivity: CurveLike | float | None = ...,
            permeability_temperature: Callable[[Any], Any] | None = ...,
            conductivity_temperature_coefficient: float = ...,
            conductivity_temperature: Callable[[Any], Any] | None = ...,
            sorption_temperature_exponent: float = ...,
            freezing: bool = ...,
            frozen_conductivity: float = ...,
            mould_class: MouldClass | Literal[""] = ...,
            critical_saturation: float | None = ...,
            sheds_rain: bool = ...,
            unusual: Mapping[str, str] = ...,
            at_thickness: Callable[[Any, float], Any] | None = ...,
            sources: tuple[Source, ...] = ...,
            humidity_range: tuple[float, float] = ...,
            spread: Mapping[str, tuple[float, float]] = ...,
            tags: tuple[str, ...] = ...,
            aliases: tuple[str, ...] = ...,
        ) -> None: ...

    def __post_init__(self) -> None:
        _freeze(self, ("conductivity", "storage", "permeability", "liquid", "diffusivity"), material_problems)


@dataclass(frozen=True)
class Film:
    """A membrane, paper or paint: a face with a permeance, no storage, no thickness.

    Parameters
    ----------
    name : str
    permeance : Curve
        Local vapour permeance [kg/(m2 s Pa)] of humidity [-]; with `permeance_outward`, for flow outward to inward.
    permeance_outward : Curve or None
        Permeance for flow from inside to outside, where it differs.
    permeance_temperature : callable or None
        Factor [-] of temperature [K] on the permeance, 1 at 296.15 K; None: constant.
    thickness : float
        Nominal thickness [m], for drawings only.
    unusual, sources, humidity_range, spread, tags, aliases
        As for `Material`.

    Raises
    ------
    InputError
        As for `Material`.
    """

    name: str
    permeance: CurveLike
    permeance_outward: CurveLike | None = None
    permeance_temperature: Callable[[Any], Any] | None = None
    thickness: float = 0.0
    unusual: Mapping[str, str] = FrozenMap()
    sources: tuple[Source, ...] = ()
    humidity_range: tuple[float, float] = (0.0, 1.0)
    spread: Mapping[str, tuple[float, float]] = FrozenMap()
    tags: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()

    if TYPE_CHECKING:  # a number may stand for a curve; what is held is a curve

        def __init__(
            self,
            name: str,
            permeance: CurveLike | float,
            permeance_outward: CurveLike | float | None = ...,
            permeance_temperature: Callable[[Any], Any] | None = ...,
            thickness: float = ...,
            unusual: Mapping[str, str] = ...,
            sources: tuple[Source, ...] = ...,
            humidity_range: tuple[float, float] = ...,
            spread: Mapping[str, tuple[float, float]] = ...,
            tags: tuple[str, ...] = ...,
            aliases: tuple[str, ...] = ...,
        ) -> None: ...

    def __post_init__(self) -> None:
        _freeze(self, ("permeance", "permeance_outward"), film_problems)


def _freeze(entry: Material | Film, curves: tuple[str, ...], check: Callable[..., Iterator[str]]) -> None:
    """Take copies of what was handed in, so that nobody changes an entry from outside; refuse what cannot be."""
    where = "a film" if isinstance(entry, Film) else "a material"
    if not isinstance(entry.name, str) or not entry.name.strip():
        raise InputError(f"its name is {entry.name!r}; a text is needed", where)
    where = f"{where[2:]} '{entry.name}'"
    for key in ("unusual", "spread"):
        if not isinstance(getattr(entry, key), Mapping):
            raise InputError(f"{key} is {getattr(entry, key)!r}; a mapping of property names is needed", where)
        object.__setattr__(entry, key, FrozenMap(getattr(entry, key)))
    for key in ("sources", "tags", "aliases", "humidity_range"):
        value = getattr(entry, key)
        if isinstance(value, str | Source) or not hasattr(value, "__iter__"):
            raise InputError(f"{key} is {value!r}; a tuple is needed, such as ({value!r},)", where)
        object.__setattr__(entry, key, tuple(value))
    for key in curves:
        object.__setattr__(entry, key, as_curve(getattr(entry, key)))
    with np.errstate(all="ignore"):
        wrong = next(check(entry, quick=True), "")
    if wrong:
        raise InputError(wrong, where)
