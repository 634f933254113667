"""What every catalogue entry must keep to, checked on a fixed grid whenever one is built."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any, get_args

import numpy as np

from ..arrays import Array
from .model import CurveLike, Film, Kind, Material, MouldClass, Source, argument_of

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
)


@lru_cache(maxsize=1)
def humidity_grid() -> Array:
    """Return humidities [-], rising, even in ln(-ln phi), from 5e-6 to 1 - 2e-9."""
    grid = np.exp(-np.exp(np.linspace(2.5, -20.0, 451)))
    grid.setflags(write=False)
    return grid


def _arguments(curve: CurveLike, saturation: float) -> Array:
    """Return the grid on which a curve is looked at: humidity falls never, suction and water rise."""
    match argument_of(curve):
        case "suction":
            grid = np.geomspace(0.1, 2e9, 451)
        case "water content":
            grid = np.linspace(0.0, saturation, 401)
        case _:
            return humidity_grid()
    grid.setflags(write=False)
    return grid


def curve_problems(curve: CurveLike, name: str, saturation: float = 1.0) -> Iterator[str]:
    """Yield what is wrong with one curve: shape, type, finiteness, range."""
    if argument_of(curve) not in ("humidity", "suction", "water content"):
        yield f"{name}: its `of` is {argument_of(curve)!r}; use 'humidity', 'suction' or 'water content'"
        return
    if not callable(curve):
        yield f"{name} is {type(curve).__name__}, not a curve; a plain number is written Constant(number)"
        return
    grid = _arguments(curve, saturation)
    try:
        y = np.asarray(curve(grid), dtype=float)
        square = np.asarray(curve(grid[:6].reshape(2, 3)), dtype=float)
    except Exception as error:
        yield f"{name} fails with {type(error).__name__}: {' '.join(str(error).split())[:120]}"
        return
    if y.shape != grid.shape or square.shape != (2, 3):
        yield f"{name} does not keep the shape: {grid.shape} became {y.shape}, (2, 3) became {square.shape}"
        return
    if not np.all(np.isfinite(y)):
        yield f"{name} is not finite at {argument_of(curve)} {grid[~np.isfinite(y)][0]:.6g}"
        return
    limits = LIMITS.get(name.removeprefix("permeance_outward "))
    if limits:
        low, high, unit = limits
        bad = (y < low) | (y > high)
        if np.any(bad):
            at = int(np.argmax(bad))
            yield (
                f"{name} is {y[at]:.3g} {unit} at {argument_of(curve)} {grid[at]:.4g}; "
                f"it must lie between {low:g} and {high:g} {unit}"
            )


def storage_problems(material: Material) -> Iterator[str]:
    """Yield what is wrong with a storage curve: not rising, not positive, not ending at saturation."""
    found = list(curve_problems(material.storage, "storage", material.saturation))
    if found:
        yield from found
        return
    if argument_of(material.storage) == "water content":
        yield "storage must be a function of humidity or suction, not of water content"
        return
    by_suction = argument_of(material.storage) == "suction"
    grid = _arguments(material.storage, material.saturation)
    w = np.asarray(material.storage(grid), dtype=float)
    x, w = (grid[::-1], w[::-1]) if by_suction else (grid, w)
    if w[0] < 0.0 or not w[-1] > 0.0:
        yield f"storage is {w[0]:.3g} kg/m3 where driest; it must not be negative"
    falls = np.diff(w) < 0.0
    if np.any(falls):
        at = int(np.argmax(falls))
        yield f"storage falls with humidity (at {argument_of(material.storage)} {x[at]:.6g}); it must rise"
        return
    if not 0.98 * material.saturation <= w[-1] <= 1.001 * material.saturation:
        yield (
            f"storage ends at {w[-1]:.4g} kg/m3, but saturation is {material.saturation:.4g} kg/m3; "
            "carry the curve on to saturation, e.g. with drydown.materials.curves.WithTail"
        )


def _number(entry: Material, name: str) -> Iterator[str]:
    low, high, unit = LIMITS[name]
    value = getattr(entry, name)
    if isinstance(value, bool) or not isinstance(value, int | float | np.floating) or not low <= value <= high:
        yield f"{name} is {value!r}; it must be a number between {low:g} and {high:g} {unit}"


def _factor(law: Callable[[Any], Any] | None, name: str) -> Iterator[str]:
    if law is None:
        return
    t = np.linspace(243.15, 333.15, 19)
    try:
        y = np.asarray(law(t), dtype=float)
        fits = y.shape == t.shape and bool(np.all(np.isfinite(y)) and np.all(y > 0.0))
    except Exception as error:
        yield f"{name} fails with {type(error).__name__}: {' '.join(str(error).split())[:120]}"
        return
    if not fits:
        yield f"{name} must be finite and positive, and keep the shape, between 243 and 333 K"


def source_problems(entry: Material | Film) -> Iterator[str]:
    """Yield what is wrong with the sources and the descriptive fields of an entry."""
    if not entry.sources:
        yield "no source; give at least one Source(authors, year, where, kind)"
    for source in entry.sources:
        if not isinstance(source, Source):
            yield f"source {source!r} is no Source"
        elif not source.authors or not source.where:
            yield "a source needs authors and where (table, page or equation)"
        elif source.kind not in get_args(Kind):
            yield f"a source's kind is {source.kind!r}; use one of {', '.join(get_args(Kind))}"
    low, high = entry.humidity_range
    if not 0.0 <= low <= high <= 1.0:
        yield f"humidity_range is {entry.humidity_range}; 0 <= from <= to <= 1 is needed"
    known = _FILM_SPREAD if isinstance(entry, Film) else _MATERIAL_SPREAD
    for name, pair in entry.spread.items():
        if name not in known:
            yield f"spread of '{name}'; use {', '.join(known)}"
        if not (len(pair) == 2 and 0.0 < pair[0] <= 1.0 <= pair[1]):
            yield f"spread of {name} is {pair}; two factors are needed, one up to 1 and one from 1"


def problems(entry: object) -> list[str]:
    """Return every breach of the contract, each in one line; empty where the entry is sound.

    Parameters
    ----------
    entry : Material or Film
    """
    with np.errstate(all="ignore"):
        if isinstance(entry, Material):
            return list(_material_problems(entry))
        if isinstance(entry, Film):
            return list(_film_problems(entry))
    return [f"it is {type(entry).__name__}, neither a Material nor a Film"]


def _material_problems(entry: Material) -> Iterator[str]:
    numbers = [p for name in ("density", "heat_capacity", "saturation") for p in _number(entry, name)]
    yield from numbers
    yield from source_problems(entry)
    if numbers:
        return
    yield from storage_problems(entry)
    for name in ("conductivity", "permeability", "liquid", "diffusivity"):
        curve = getattr(entry, name)
        if curve is not None:
            yield from curve_problems(curve, name, entry.saturation)
    if entry.liquid is not None and entry.diffusivity is not None:
        yield "both liquid and diffusivity are given; give one"
    if entry.sheds_rain and (entry.liquid is not None or entry.diffusivity is not None):
        yield "it sheds rain and has liquid transport too; leave out one of the two"
    if entry.mould_class and entry.mould_class not in get_args(MouldClass):
        yield f"mould_class is {entry.mould_class!r}; use one of {', '.join(get_args(MouldClass))}"
    critical = entry.critical_saturation
    if critical is not None and not 0.0 < critical <= 1.0:
        yield f"critical_saturation is {critical!r}; a share of the pores above 0 and up to 1 is needed"
    yield from _factor(entry.permeability_temperature, "permeability_temperature")
    if not -0.05 < entry.conductivity_temperature_coefficient < 0.05:
        slope = entry.conductivity_temperature_coefficient
        yield f"conductivity_temperature_coefficient is {slope:g}; -0.05 to 0.05 per kelvin is the range"
    if not -5.0 < entry.sorption_temperature_exponent < 5.0:
        power = entry.sorption_temperature_exponent
        yield f"sorption_temperature_exponent is {power:g}; a number between -5 and 5 is needed"


def _film_problems(entry: Film) -> Iterator[str]:
    yield from source_problems(entry)
    for name, curve in (("permeance", entry.permeance), ("reverse permeance", entry.permeance_outward)):
        if curve is None:
            continue
        if argument_of(curve) != "humidity":
            yield f"{name} must be a function of humidity, not of {argument_of(curve)}"
        else:
            yield from curve_problems(curve, name)
    yield from _factor(entry.permeance_temperature, "permeance_temperature")
    if not 0.0 <= entry.thickness < 0.05:
        yield f"thickness of the film is {entry.thickness:g} m; it must lie between 0 and 0.05 m"
