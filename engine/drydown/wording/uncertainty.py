"""How sure an answer is, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..text import paragraph, plain, share
from ..trial.uncertainty import Spread
from .verdict import remaining_of_last

if TYPE_CHECKING:
    import xarray as xr


_TOLD = ("days_to_90_percent_dry", "share_inward")


def numerical_error(trial: xr.Dataset, finer: xr.Dataset) -> str:
    """Return how far a trial is from that in finer cells and steps."""
    tenth, inward = (tuple(float(x.attrs[k]) for x in (finer, trial)) for k in _TOLD)
    if any(map(math.isfinite, tenth)):
        one, other = ("not within the run" if math.isnan(d) else f"after {d:.1f} days" for d in tenth)
        left = f"nine tenths leave {one} instead of {other}"
    else:
        one, other = (f"{100.0 * remaining_of_last(x):.1f} %" for x in (finer, trial))
        left = f"{one} instead of {other} is still there at the end"
    ways = [f"{100.0 * x:.1f} %" for x in inward if math.isfinite(x)]
    sides = f", and {ways[0]} instead of {ways[1]} go inward" if len(ways) == 2 else ""
    return f"Numerical error: in twice as many cells and at a third of the tolerance {left}{sides}."


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


def spread_answer(spread: Sequence[Spread], trial: xr.Dataset) -> list[str]:
    """Return the paragraphs on the spread of the materials."""
    first, *rest = spread_words(spread, trial)
    return [paragraph(first.removesuffix(".") + "."), *(paragraph(f"- {text}", " ").lstrip() for text in rest)]


def error_of_the_mesh(found: dict[str, float | str]) -> str:
    """Return the estimate of `drydown.run.mesh_error` in one sentence."""
    rms, hour = 100 * float(found["mesh_error_humidity"]), 100 * float(found["mesh_error_humidity_hour"])
    warm, warm_hour = float(found["mesh_error_temperature"]), float(found["mesh_error_temperature_hour"])
    return (
        f"Error of the mesh, estimated by a run in {found['mesh_error_cells']} cells: root mean square over the hours "
        f"in the worst cell {rms:.2g} % relative humidity (in '{found['mesh_error_humidity_in']}') and {warm:.2g} K; "
        f"greatest single hour after the first two days {hour:.2g} % and {warm_hour:.2g} K."
    )
