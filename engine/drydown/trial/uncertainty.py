"""How sure the answer of a trial is: against finer cells and steps, and over what is known of the materials."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..materials.model import Argument, CurveLike, Film, argument_of
from .dryout import dryout

if TYPE_CHECKING:
    import xarray as xr

#: The finer run: twice the cells, a third of the tolerance.
FINER, TIGHTER = 2.0, 0.3
#: Properties whose spread can be tried, by the field that holds their curve.
PROPERTIES = {"permeance": ("permeance", "permeance_outward"), "permeability": ("permeability",), "liquid": ("liquid",)}


@dataclass(frozen=True)
class Scaled:
    """A curve times a factor."""

    curve: CurveLike
    factor: float

    @property
    def of(self) -> Argument:
        """What the curve is a function of."""
        return argument_of(self.curve)

    def __call__(self, x: Array, /) -> Array:
        """Return the scaled values."""
        return self.factor * self.curve(x)


@dataclass(frozen=True)
class Spread:
    """What one doubtful property does to a trial: factors tried, and days and shares at the lower and the upper."""

    part: str
    property: str
    factors: tuple[float, float]
    days: tuple[float, float]  # until nine tenths have left, NaN if not reached
    inward: tuple[float, float]


def finer_trial(case: Case, progress: Callable[[float], None] | None = None) -> xr.Dataset:
    """Return the trial of a case in twice as many cells and at a third of the tolerance."""
    n = case.numerics
    finer = replace(n, refine=FINER * n.refine, tolerance=TIGHTER * n.tolerance)
    return dryout(replace(case, numerics=finer), progress=progress)


def spread_of_materials(case: Case, progress: Callable[[float], None] | None = None) -> list[Spread]:
    """Try every property whose spread its source states, one at a time, at its lower and its upper end.

    Parameters
    ----------
    case : Case
        With a wetting.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    list of Spread
        From outside to inside; empty where no material or film of the case states a spread.
    """
    from .tries import tried

    doubts: list[tuple[int, str, tuple[float, float]]] = []
    for i, part in enumerate(case.assembly.parts):
        entry: Any = part.material if isinstance(part, Layer) else part
        for name, factors in entry.spread.items():
            fields = PROPERTIES.get(name, ())
            if any(getattr(entry, f, None) is not None for f in fields) and factors != (1.0, 1.0):
                doubts.append((i, name, factors))
    cases = [scaled(case, i, name, factor) for i, name, factors in doubts for factor in factors]
    found = tried(cases, progress=progress) if cases else []
    out = []
    for k, (i, name, factors) in enumerate(doubts):
        low, high = found[2 * k], found[2 * k + 1]
        out.append(
            Spread(
                case.assembly.parts[i].name,
                name,
                factors,
                (low["days_to_90_percent_dry"], high["days_to_90_percent_dry"]),
                (low["share_inward"], high["share_inward"]),
            )
        )
    return out


def scaled(case: Case, position: int, name: str, factor: float) -> Case:
    """Return the case with one property of one part times a factor."""
    parts = list(case.assembly.parts)
    part = parts[position]
    entry: Any = part.material if isinstance(part, Layer) else part
    new = {f: Scaled(getattr(entry, f), factor) for f in PROPERTIES[name] if getattr(entry, f, None) is not None}
    entry = replace(entry, **new)
    parts[position] = entry if isinstance(entry, Film) else replace(part, material=entry)
    return replace(case, assembly=Assembly(tuple(parts), case.assembly.name))
