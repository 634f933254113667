"""The contract of a catalogue, as one line in a plugin author's tests; it needs nothing but drydown.

::

    from drydown.testing import check_catalogue
    from my_plugin import catalogue

    def test_catalogue():
        check_catalogue(catalogue())
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from .arrays import Array
from .materials.contract import problems
from .materials.model import CurveLike, Film, Material, argument_of

__all__ = ["check_catalogue", "check_film", "check_material"]

_MATERIAL_CURVES = ("storage", "conductivity", "permeability", "liquid", "diffusivity")
_FILM_CURVES = ("permeance", "permeance_outward")


def check_material(entry: Material, name: str = "", examples: int = 20) -> None:
    """Check one material against the contract.

    Parameters
    ----------
    entry : Material
    name : str
        What it is called in the error; its own name where empty.
    examples : int
        Number of random argument arrays.

    Raises
    ------
    AssertionError
        Names the entry, the property and what is wrong.

    Notes
    -----
    Numbers in a sensible range; at least one source with a kind; curves that are finite, positive, within
    `drydown.materials.contract.LIMITS`, keep the shape of their argument, do not change it, answer twice alike and
    answer each element for itself; storage that never falls with humidity and ends at saturation.
    """
    _check(entry, Material, name or getattr(entry, "name", ""), examples)


def check_film(entry: Film, name: str = "", examples: int = 20) -> None:
    """Check one film against the contract; see `check_material`.

    Parameters
    ----------
    entry : Film
    name : str
        What it is called in the error; its own name where empty.
    examples : int
        Number of random argument arrays.

    Raises
    ------
    AssertionError
        Names the entry, the property and what is wrong.
    """
    _check(entry, Film, name or getattr(entry, "name", ""), examples)


def check_catalogue(catalogue: Mapping[str, Any], examples: int = 20) -> None:
    """Check every entry of a catalogue, without exceptions.

    Parameters
    ----------
    catalogue : mapping of str to Material, Film or function
        What the entry point function returns.
    examples : int
        Number of random argument arrays for each entry.

    Raises
    ------
    AssertionError
        One line for every entry that fails.
    """
    if not isinstance(catalogue, Mapping) or not catalogue:
        raise AssertionError(f"a catalogue is a mapping with at least one name, not {type(catalogue).__name__}")
    failed = []
    for name, given in catalogue.items():
        try:
            entry = given() if callable(given) else given
        except Exception as error:
            failed.append(f"'{name}' cannot be built: {type(error).__name__}: {error}")
            continue
        try:
            _check(entry, Film if isinstance(entry, Film) else Material, str(name), examples)
        except AssertionError as error:
            failed.append(str(error))
    if failed:
        raise AssertionError(f"{len(failed)} of {len(catalogue)} entries break the contract:\n" + "\n".join(failed))


def _check(entry: Any, kind: type[Material] | type[Film], name: str, examples: int) -> None:
    if not isinstance(entry, kind):
        raise AssertionError(f"'{name}' is {type(entry).__name__}, not a {kind.__name__}")
    wrong = problems(entry) or list(_random_problems(entry, examples))
    if wrong:
        raise AssertionError(f"'{name}': " + "; ".join(wrong))


def _random_problems(entry: Material | Film, examples: int) -> Iterator[str]:
    """Yield the first breach that random arguments of random shape bring out."""
    try:
        for places in _places(examples):
            for name in _FILM_CURVES if isinstance(entry, Film) else _MATERIAL_CURVES:
                curve = getattr(entry, name)
                if curve is not None:
                    _elementwise(curve, name, places, getattr(entry, "saturation", 1.0))
            if isinstance(entry, Material):
                _rises(entry, places.ravel())
    except AssertionError as error:
        yield str(error).splitlines()[0]
    except Exception as error:
        yield f"fails with {type(error).__name__}: {error}"


def _places(examples: int) -> Iterator[Array]:
    """Yield numbers from 0 to 1, the same each time: both ends, alone and together, then blocks of random shape."""
    yield from (np.array([[0.0]]), np.array([[1.0]]), np.array([[0.0, 1.0, 0.5]]))
    rng = np.random.default_rng(20260101)
    for _ in range(examples):
        block = rng.random((int(rng.integers(1, 13)), int(rng.integers(1, 4))))
        block[rng.random(block.shape) < 0.1] = rng.choice([0.0, 1.0, 1e-9, 1.0 - 1e-9])
        yield block


def _spread_out(curve: CurveLike, place: Array, saturation: float) -> Array:
    """Turn numbers from 0 to 1 into arguments of a curve, even where the engine will ask."""
    match argument_of(curve):
        case "suction":
            return 10.0 ** (-1.0 + 10.3 * place)
        case "water content":
            return saturation * place
        case _:
            return np.exp(-np.exp(2.5 - 22.5 * place))


def _elementwise(curve: CurveLike, name: str, block: Array, saturation: float) -> None:
    x = _spread_out(curve, block, saturation)
    kept = x.copy()
    y = np.asarray(curve(x), dtype=float)
    assert np.array_equal(x, kept), f"{name} changes the array it is given"
    assert y.shape == x.shape, f"{name} does not keep the shape: {x.shape} became {y.shape}"
    assert np.all(np.isfinite(y)), f"{name} is not finite at {argument_of(curve)} {x[~np.isfinite(y)][0]:.6g}"
    again = np.asarray(curve(x), dtype=float)
    assert np.array_equal(y, again), f"{name} answers differently when asked twice"
    single = np.array([float(np.asarray(curve(np.array([v])))[0]) for v in x.ravel()]).reshape(x.shape)
    assert np.allclose(y, single, rtol=1e-12, atol=0.0), f"{name} of one element depends on the others"


def _rises(entry: Material, place: Array) -> None:
    near = np.add.outer(np.array([0.0, 1e-4, 3e-4, 1e-3]), place)  # a dip hides between distant points
    place = np.unique(np.clip(near, 0.0, 1.0))
    x = _spread_out(entry.storage, place, entry.saturation)
    w = np.asarray(entry.storage(x), dtype=float)
    step = np.diff(w) if argument_of(entry.storage) == "humidity" else -np.diff(w)
    assert np.all(step >= -1e-12 * entry.saturation), "storage falls with humidity; it must rise"
