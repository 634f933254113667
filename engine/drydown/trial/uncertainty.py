"""How sure the answer of a trial is: against finer cells and steps, and over what is known of the materials."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..materials.model import Argument, CurveLike, Film, argument_of
from ..text import plain, share
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


def numerical_error(trial: xr.Dataset, finer: xr.Dataset) -> str:
    """Return how far a trial is from that in finer cells and steps."""

    def days(value: float) -> str:
        return "never" if math.isnan(value) else f"{value:.1f}"

    a, b = trial.attrs, finer.attrs
    tenth, inward = "days_to_90_percent_dry", "share_inward"
    return (
        f"Numerical error: in twice as many cells and at a third of the tolerance nine tenths leave after "
        f"{days(float(b[tenth]))} days instead of {days(float(a[tenth]))}, and "
        f"{100 * float(b[inward]):.1f} % instead of {100 * float(a[inward]):.1f} % go inward."
    )


def spread_words(spread: Sequence[Spread], trial: xr.Dataset) -> list[str]:
    """Return what the spread of the material data does to the answer."""
    if not spread:
        return [
            "Spread of the materials: the library states none for these layers and films; that does not make them sure."
        ]
    own = float(trial.attrs["days_to_90_percent_dry"])
    days = [own, *(d for s in spread for d in s.days)]
    inward = [float(trial.attrs["share_inward"]), *(x for s in spread for x in s.inward)]
    known = [d for d in days if not math.isnan(d)]

    def text(value: float) -> str:
        return "not within the run" if math.isnan(value) else f"{value:.0f} days"

    longest = text(float("nan")) if len(known) < len(days) else text(max(known))
    shortest = f"{min(known):.0f}" if known else "-"
    lines = [
        f"Spread of the materials, one at a time: nine tenths leave after {shortest} days up to {longest}; "
        f"{share(max(0.0, min(inward)))} to {share(min(1.0, max(inward)))} go inward"
    ]

    def size(s: Spread) -> float:
        ends = [d if not math.isnan(d) else 10.0 * max(known, default=1.0) for d in s.days]
        return abs(ends[1] - ends[0])

    for s in sorted(spread, key=size, reverse=True)[:3]:
        low, high = (f"x {plain(f)}: {text(d)}" for f, d in zip(s.factors, s.days, strict=True))
        lines.append(f"{s.property} of '{s.part}' {low}, {high}")
    return lines
