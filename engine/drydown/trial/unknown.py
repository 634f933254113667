"""What an answer does not know: gaps in the weather, in the data of layers, in what could be judged.

Read before the answer itself, as structure; `drydown.wording.unknown` tells it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ..case.assembly import Layer
from ..case.case import Case
from ..criteria import Finding
from ..materials.kinds import kind_of

if TYPE_CHECKING:
    import xarray as xr

#: Share of the driving rain that runs off from which a layer without liquid transport is told.
ALL = 0.999


class Unknown(NamedTuple):
    """One thing that is not known.

    Parameters
    ----------
    kind : str
        ``"no rain"``, ``"no liquid"``, ``"closed gap"``, ``"left out"``, ``"not judged"`` or ``"short"``.
    facts : mapping
        Names and numbers of the sentence.
    """

    kind: str
    facts: Mapping[str, Any]


def unknowns(case: Case, results: xr.Dataset, findings: Sequence[Finding] = ()) -> list[Unknown]:
    """Return what is not known, in the order of its weight.

    Parameters
    ----------
    case : Case
    results : Dataset
        Of `drydown.simulate`, with the water where there is any.
    findings : sequence of Finding
        Of that run.
    """
    out = []
    climate = getattr(case.outside, "climate", None)
    offered = float(results["rain_offered"].values[-1])
    lost = float(results["rain_run_off"].values[-1])
    shares = [load.label for load in case.loads if getattr(load, "share", None) is not None]
    rainless = climate is not None and (climate.rain is None or not np.any(np.nan_to_num(climate.rain) > 0.0))
    if climate is not None and rainless and offered == 0.0:
        out.append(Unknown("no rain", {"climate": climate.name, "shares": shares}))
    first = case.assembly.parts[0]
    if offered > 0.0 and lost > ALL * offered and isinstance(first, Layer):
        material = first.material
        if material.liquid is None and not material.sheds_rain:
            out.append(Unknown("no liquid", {"layer": first.name, "offered": offered, "lost": lost}))
    closed = _closed_gap(case) if climate is not None else ""
    if closed:
        out.append(Unknown("closed gap", {"layer": closed}))
    left_out = [layer.name for layer in case.assembly.layers if not layer.judged]
    if left_out:
        out.append(Unknown("left out", {"layers": left_out}))
    for kind, cases in (("not judged", ("unknown",)), ("short", ("short",))):
        titles = [f.title for f in findings if not f.screening and f.verdict == "not applicable" and f.case in cases]
        if titles:
            out.append(Unknown(kind, {"titles": titles}))
    return out


def _closed_gap(case: Case) -> str:
    """Return the name of an air layer right behind a cladding that no load ventilates; empty: there is none."""
    layers = case.assembly.layers
    for outer, gap in pairwise(layers):
        if kind_of(gap.material.tags, gap.material.name) == "air" and outer is layers[0]:
            moved = any(getattr(load, "layer", "") == gap.name for load in case.loads)
            return "" if moved else gap.name
    return ""
