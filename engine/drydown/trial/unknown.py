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
from ..case.wetting import Wetting
from ..criteria import Finding, Place
from ..criteria.reading import LEFT, SKIN, in_the_weather
from ..materials.kinds import kind_of
from ..sides.ground import Ground

if TYPE_CHECKING:
    import xarray as xr

#: Relative humidity of the pore air below which soil is told to be dry [-]: a suction of 0.7 MPa, half way to where
#: plants wilt; loam and clay under a house stay below (common practice).
DRY_SOIL = 0.995
#: Moisture content up to which a floor of wood is laid [share of dry mass]: 7 to 11 %. Source: EN 13226 (from memory).
LAID = 0.11
#: Share of the driving rain that runs off from which a layer without liquid transport is told.
ALL = 0.999
#: Share of the water of a wetting in the part that is left to the weather, from which it is said.
HALF = 0.5
#: Tilt from which a surface is the underside of a floor [degree].
UNDERSIDE = 135.0


class Unknown(NamedTuple):
    """One thing that is not known.

    Parameters
    ----------
    kind : str
        ``"weathered"``, ``"no rain"``, ``"no liquid"``, ``"dry soil"``, ``"closed gap"``, ``"floor"``, ``"left out"``,
        ``"not judged"`` or ``"short"``.
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
    weathered = wet_weathered(case, results)
    left = results.attrs.get(LEFT)
    if weathered is not None and left != "":
        out.append(Unknown("weathered", {"place": weathered, "titles": left.split("; ") if left else []}))
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
    if isinstance(case.outside, Ground) and case.outside.humidity < DRY_SOIL and case.outside.conductance is None:
        out.append(Unknown("dry soil", {"humidity": case.outside.humidity, "layer": case.assembly.layers[0].name}))
    closed = _closed_gap(case) if climate is not None else ""
    if closed:
        out.append(Unknown("closed gap", {"layer": closed}))
    floor = _floor(case, results)
    if floor is not None:
        out.append(floor)
    left_out = [layer.name for layer in case.assembly.layers if not layer.judged]
    if left_out:
        out.append(Unknown("left out", {"layers": left_out}))
    for kind, cases in (("not judged", ("unknown",)), ("short", ("short",))):
        titles = [f.title for f in findings if not f.screening and f.verdict == "not applicable" and f.case in cases]
        if titles:
            out.append(Unknown(kind, {"titles": titles}))
    return out


def wet_weathered(case: Case, results: xr.Dataset) -> Place | None:
    """Return the part that rain wets as a matter of course, where a wetting puts most of its water into that.

    A run by itself judges but frost there.

    Parameters
    ----------
    case : Case
    results : Dataset
        Of `drydown.simulate`, with the water or without.
    """
    left = in_the_weather(results)
    outermost = case.assembly.layers[0]

    def inside(w: Wetting) -> float:
        depth = outermost.thickness if w.place == "whole" else min(w.depth, outermost.thickness)
        begin = outermost.thickness - depth if w.place == "inner" else 0.0
        return max(min(SKIN, begin + depth) - begin, 0.0) / depth

    wet = [w for w in case.wettings if w.layer == outermost.name and inside(w) > HALF]
    return left[0] if left and wet else None


def _closed_gap(case: Case) -> str:
    """Return the name of an air layer right behind a cladding that no load ventilates; empty: there is none."""
    layers = case.assembly.layers
    for outer, gap in pairwise(layers):
        if kind_of(gap.material.tags, gap.material.name) == "air" and outer is layers[0]:
            moved = any(getattr(load, "layer", "") == gap.name for load in case.loads)
            return "" if moved else gap.name
    return ""


def _floor(case: Case, results: xr.Dataset) -> Unknown | None:
    """Return what the wood of a floor on concrete or screed goes through, where it gets wetter than it is laid."""
    exposure = getattr(case.outside, "exposure", None)
    if exposure is not None and exposure.tilt < UNDERSIDE:
        return None  # a wall or a roof
    kinds = [kind_of(x.material.tags, x.material.name) for x in case.assembly.layers]
    last = case.assembly.layers[-1]
    if kinds[-1] not in ("wood", "panel") or not {"concrete", "plaster"} & set(kinds[:-1]):
        return None
    share = results["layer_water"].values[:, -1] / (last.thickness * last.material.density)
    if share.max() <= LAID:
        return None
    return Unknown("floor", {"layer": last.name, "first": float(share[0]), "most": float(share.max())})
