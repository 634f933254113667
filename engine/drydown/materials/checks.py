"""What every entry must keep to: looked at quickly whenever one is made, on a fine grid by the contract."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Literal, get_args

import numpy as np

from ..arrays import Array
from ..errors import is_number, shown
from .curve import Constant, CurveLike, argument_of
from .source import Kind, Source

#: How easily mould grows on a material, the most sensitive first (T. Ojanen et al. 2010).
MouldClass = Literal["very sensitive", "sensitive", "medium resistant", "resistant"]

#: Limits outside which a value is taken for a slip of units: (least, most, unit).
LIMITS: dict[str, tuple[float, float, str]] = {
    "density": (0.5, 12000.0, "kg/m3"),
    "heat_capacity": (100.0, 10000.0, "J/(kg K)"),
    "saturation": (1e-3, 1000.0, "kg/m3"),
    "conductivity": (0.004, 500.0, "W/(m K)"),
    "permeability": (1e-16, 2.2e-10, "kg/(m s Pa)"),
    "permeance": (1e-16, 1e-6, "kg/(m2 s Pa)"),
    "liquid": (0.0, 1.0, "s"),
    "diffusivity": (0.0, 1.0, "m2/s"),
}

#: Beyond these a property is a slip of units in a calculation as well.
QUICK_MOST = {"permeability": 1e-5, "saturation": 1e4}

#: Properties whose spread an entry may state.
_FILM_SPREAD = ("permeance",)
_MATERIAL_SPREAD = (
    "density",
    "heat_capacity",
    "conductivity",
    "storage",
    "permeability",
    "liquid",
    "saturation",
    "critical_saturation",
)


@lru_cache(maxsize=1)
def humidity_grid() -> Array:
    """Return humidities [-], rising, even in ln(-ln phi), from 5e-6 to 1 - 2e-9."""
    grid = np.exp(-np.exp(np.linspace(2.5, -20.0, 451)))
    grid.setflags(write=False)
    return grid


def _arguments(curve: CurveLike, saturation: float, quick: bool = False) -> Array:
    """Return the grid on which a curve is looked at: humidity falls never, suction and water rise."""
    match argument_of(curve):
        case "suction":
            grid = np.geomspace(0.1, 2e9, 8 if quick else 451)
        case "water content":
            grid = np.linspace(0.0, saturation, 6 if quick else 401)
        case _:
            if not quick:
                return humidity_grid()
            grid = np.array([0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97])
    grid.setflags(write=False)
    return grid


def meant(name: str, value: float) -> str:
    """Return what a value out of range probably is, or nothing."""
    unit = {"permeability": "ng/(Pa s m)", "permeance": "ng/(Pa s m2)"}.get(name)
    if unit and value > 0.0 and LIMITS[name][0] <= 1e-12 * value <= LIMITS[name][1]:
        return f"; if {value:g} {unit} are meant, that is {1e-12 * value:g}"
    return ""


def curve_problems(curve: CurveLike, name: str, saturation: float = 1.0, quick: bool = False) -> Iterator[str]:
    """Yield what is wrong with one curve: shape, type, finiteness, range; `quick` looks at a handful of points."""
    if not callable(curve):
        yield f"{name} is {shown(curve)}; a number or a curve is needed, such as drydown.materials.curves.Points"
        return
    if argument_of(curve) not in ("humidity", "suction", "water content"):
        yield f"{name}: its `of` is {argument_of(curve)!r}; use 'humidity', 'suction' or 'water content'"
        return
    grid = _arguments(curve, saturation, quick)
    try:
        y = np.asarray(curve(grid), dtype=float)
        square = np.zeros((2, 3)) if quick else np.asarray(curve(grid[:6].reshape(2, 3)), dtype=float)
    except Exception as error:
        yield f"{name} fails with {type(error).__name__}: {' '.join(str(error).split())[:120]}"
        return
    if quick and y.shape != grid.shape:
        yield f"{name} does not keep the shape: {grid.shape} became {y.shape}; a function of an array is needed"
        return
    if y.shape != grid.shape or square.shape != (2, 3):
        yield f"{name} does not keep the shape: {grid.shape} became {y.shape}, (2, 3) became {square.shape}"
        return
    if not np.all(np.isfinite(y)):
        yield f"{name} is not finite at {argument_of(curve)} {grid[~np.isfinite(y)][0]:.6g}"
        return
    limits = LIMITS.get("permeance" if name == "permeance_outward" else name)
    if limits:
        low, high, unit = limits
        if quick:  # full pores let no vapour pass; stirred air stands for a layer that resists nothing
            low, high = (0.0 if np.any(y > 0.0) else low), QUICK_MOST.get(name, high)
        bad = (y < low) | (y > high)
        if np.any(bad):
            at = int(np.argmax(bad))
            yield (
                f"{name} is {y[at]:.3g} {unit} at {argument_of(curve)} {grid[at]:.4g}; "
                f"it must lie between {low:g} and {high:g} {unit}{meant(name.removesuffix('_outward'), float(y[at]))}"
            )


def storage_problems(material: Any, quick: bool = False) -> Iterator[str]:
    """Yield what is wrong with a storage curve: not rising, not positive, not ending at saturation."""
    if isinstance(material.storage, Constant):
        yield (
            f"storage is the number {material.storage.value:g}; a curve of humidity that rises to saturation is needed"
        )
        return
    found = list(curve_problems(material.storage, "storage", material.saturation, quick))
    if found:
        yield from found
        return
    if argument_of(material.storage) == "water content":
        yield "storage must be a function of humidity or suction, not of water content"
        return
    by_suction = argument_of(material.storage) == "suction"
    grid = _arguments(material.storage, material.saturation, quick)
    w = np.asarray(material.storage(grid), dtype=float)
    x, w = (grid[::-1], w[::-1]) if by_suction else (grid, w)
    if w[0] < 0.0 or not w[-1] > 0.0:
        yield f"storage is {w[0]:.3g} kg/m3 where driest; it must not be negative"
    falls = np.diff(w) < 0.0
    if np.any(falls):
        at = int(np.argmax(falls))
        yield f"storage falls with humidity (at {argument_of(material.storage)} {x[at]:.6g}); it must rise"
        return
    if quick:
        if w[-1] > 1.001 * material.saturation:
            yield (
                f"storage reaches {w[-1]:.4g} kg/m3 at {argument_of(material.storage)} {x[-1]:.4g}, but saturation is "
                f"{material.saturation:.4g} kg/m3"
            )
        return
    if not 0.98 * material.saturation <= w[-1] <= 1.001 * material.saturation:
        yield (
            f"storage ends at {w[-1]:.4g} kg/m3, but saturation is {material.saturation:.4g} kg/m3; "
            "carry the curve on to saturation, e.g. with drydown.materials.curves.WithTail"
        )


def _number(entry: Any, name: str, quick: bool) -> Iterator[str]:
    low, high, unit = LIMITS[name]
    high = QUICK_MOST.get(name, high) if quick else high
    value = getattr(entry, name)
    if not is_number(value) or not low <= value <= high:
        yield f"{name} is {shown(value)}; it must be a number between {low:g} and {high:g} {unit}"


def _factor(law: Any, name: str, quick: bool) -> Iterator[str]:
    if law is None:
        return
    if not callable(law):
        yield f"{name} is {shown(law)}; a function of the temperature [K] that returns a factor is needed"
        return
    t = np.linspace(243.15, 333.15, 4 if quick else 19)
    try:
        y = np.asarray(law(t), dtype=float)
        fits = y.shape == t.shape and bool(np.all(np.isfinite(y)) and np.all(y > 0.0))
    except Exception as error:
        yield f"{name} fails with {type(error).__name__}: {' '.join(str(error).split())[:120]}"
        return
    if not fits:
        yield f"{name} must be finite and positive, and keep the shape, between 243 and 333 K"


def description_problems(entry: Any, known: tuple[str, ...]) -> Iterator[str]:
    """Yield what is wrong with the descriptive fields of an entry; `known`: properties that may have a spread."""
    for source in entry.sources:
        if not isinstance(source, Source):
            yield f"source {shown(source)} is no Source"
        elif not source.authors or not source.where:
            yield "a source needs authors and where (table, page or equation)"
        elif source.kind not in get_args(Kind):
            yield f"a source's kind is {source.kind!r}; use one of {', '.join(get_args(Kind))}"
    for key in ("tags", "aliases"):
        for word in getattr(entry, key):
            if not isinstance(word, str):
                yield f"{key} holds {shown(word)}; words are needed"
    pair = entry.humidity_range
    if len(pair) != 2 or not all(map(is_number, pair)) or not 0.0 <= pair[0] <= pair[1] <= 1.0:
        yield f"humidity_range is {pair}; 0 <= from <= to <= 1 is needed"
    for name, pair in entry.spread.items():
        if name not in known:
            yield f"spread of '{name}'; use {', '.join(known)}"
        sound = isinstance(pair, tuple | list) and len(pair) == 2 and all(map(is_number, pair))
        if not (sound and 0.0 < pair[0] <= 1.0 <= pair[1]):
            yield f"spread of {name} is {shown(pair)}; two factors are needed, one up to 1 and one from 1"


def _between(entry: Any, name: str, low: float, high: float, words: str) -> Iterator[str]:
    value = getattr(entry, name)
    if not is_number(value) or not low < value < high:
        yield f"{name} is {shown(value)}; {words}"


def material_problems(entry: Any, quick: bool = False) -> Iterator[str]:
    """Yield what is wrong with a material; `quick` looks at a handful of points of its curves.

    Parameters
    ----------
    entry : Material
    quick : bool
    """
    numbers = [p for name in ("density", "heat_capacity", "saturation") for p in _number(entry, name, quick)]
    yield from numbers
    yield from description_problems(entry, _MATERIAL_SPREAD)
    if numbers:
        return
    yield from storage_problems(entry, quick)
    for name in ("conductivity", "permeability", "liquid", "diffusivity"):
        curve = getattr(entry, name)
        if curve is not None or name in ("conductivity", "permeability"):
            yield from curve_problems(curve, name, entry.saturation, quick)
    if entry.liquid is not None and entry.diffusivity is not None:
        yield "both liquid and diffusivity are given; give one"
    for name in ("freezing", "sheds_rain"):
        if not isinstance(getattr(entry, name), bool | np.bool_):
            yield f"{name} is {shown(getattr(entry, name))}; True or False is needed"
    if entry.sheds_rain and (entry.liquid is not None or entry.diffusivity is not None):
        yield "it sheds rain and has liquid transport too; leave out one of the two"
    if entry.mould_class and entry.mould_class not in get_args(MouldClass):
        yield f"mould_class is {entry.mould_class!r}; use one of {', '.join(get_args(MouldClass))}"
    critical = entry.critical_saturation
    if critical is not None and not (is_number(critical) and 0.0 < critical <= 1.0):
        yield f"critical_saturation is {critical!r}; a share of the pores above 0 and up to 1 is needed"
    yield from _factor(entry.permeability_temperature, "permeability_temperature", quick)
    yield from _factor(entry.conductivity_temperature, "conductivity_temperature", quick)
    slope, power = "conductivity_temperature_coefficient", "sorption_temperature_exponent"
    yield from _between(entry, slope, -0.05, 0.05, "-0.05 to 0.05 per kelvin is the range")
    yield from _between(entry, power, -5.0, 5.0, "a number between -5 and 5 is needed")
    yield from _between(entry, "frozen_conductivity", 0.0, 10.0, "a factor above 0 and below 10 is needed")
    if entry.at_thickness is not None and not callable(entry.at_thickness):
        yield f"at_thickness is {shown(entry.at_thickness)}; a function of the material and a thickness [m] is needed"


def film_problems(entry: Any, quick: bool = False) -> Iterator[str]:
    """Yield what is wrong with a film; as `material_problems`."""
    yield from description_problems(entry, _FILM_SPREAD)
    for name in ("permeance", "permeance_outward"):
        curve = getattr(entry, name)
        if curve is None and name == "permeance_outward":
            continue
        if argument_of(curve) != "humidity":
            yield f"{name} must be a function of humidity, not of {argument_of(curve)}"
        else:
            yield from curve_problems(curve, name, quick=quick)
    yield from _factor(entry.permeance_temperature, "permeance_temperature", quick)
    thickness = entry.thickness
    if not is_number(thickness) or not 0.0 <= thickness < 0.05:
        shown = f"{thickness:g} m" if is_number(thickness) else repr(thickness)
        yield f"thickness of the film is {shown}; it must lie between 0 and 0.05 m"
