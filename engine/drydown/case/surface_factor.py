"""Surface temperature factor: how warm the inner surface stays, and how warm it must be against mould (ISO 13788).

The factor f_Rsi of an assembly is that of an even wall; at a corner, behind a cupboard or at a thermal bridge the
surface is colder. The film resistance of 0.25 m2 K/W, in place of 0.13, stands for the corners and what stands before
the wall. A thermal bridge needs a calculation in two or three dimensions (ISO 10211).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..arrays import Array, Marks
from ..climate.model import dew_point
from ..materials.curves import by_humidity
from ..moist_air import saturation_pressure_iso13788
from ..text import day
from .assembly import Assembly, Layer
from .load import Load
from .sides import AIR, SideForcing

#: Resistance of the inner film for mould on opaque surfaces, and of the outer one [m2 K/W]: ISO 13788 (from memory).
R_SI, R_SE = 0.25, 0.04
#: Relative humidity at the surface from which on mould is to be feared [-], monthly means: ISO 13788 (from memory).
MOULD = 0.8


#: Hours of a month below which it is left out of what is needed.
MONTH = 25 * 24


def thermal_resistance(layers: Sequence[Layer], humidity: float = 0.5) -> float:
    """Thermal resistance of layers [m2 K/W], each d/lambda at a relative humidity [-].

    Parameters
    ----------
    layers : sequence of Layer
    humidity : float

    Notes
    -----
    R = sum d/lambda. Source: ISO 6946. Films have none.
    """
    at = np.array([humidity])
    each = [
        layer.thickness / by_humidity(layer.material.conductivity, layer.material.storage)(at)[0] for layer in layers
    ]
    return float(sum(each))


def warm_layers(assembly: Assembly, loads: Sequence[Load] = ()) -> tuple[Layer, ...]:
    """Return the layers that keep warm: those inside of the innermost one that holds outdoor air (ISO 6946)."""
    vented = {name for load in loads if load.ventilates and not load.inward for name in load.layers}
    layers = assembly.layers
    last = max((i for i, layer in enumerate(layers) if layer.name in vented), default=-1)
    return layers[last + 1 :]


def surface_factor(resistance: float, r_si: float = R_SI, r_se: float = R_SE) -> float:
    """Temperature factor f_Rsi of a plain assembly [-] of its thermal resistance [m2 K/W].

    Notes
    -----
    f_Rsi = (T_si - T_e)/(T_i - T_e) = 1 - U R_si with 1/U = R_si + R + R_se. Source: ISO 13788 (from memory).
    """
    return 1.0 - r_si / (r_si + resistance + r_se)


def surface_temperature(factor: float, indoors: Array | float, outdoors: Array | float) -> Array:
    """Temperature of the inner surface [K], T_e + f (T_i - T_e)."""
    out = np.asarray(outdoors, dtype=float)
    return np.asarray(out + factor * (np.asarray(indoors, dtype=float) - out))


def needed_factor(indoors: Array, vapour_pressure: Array, outdoors: Array, highest: float = MOULD) -> Array:
    """Temperature factor that keeps the humidity at the inner surface below a limit [-].

    Parameters
    ----------
    indoors, outdoors : array
        Monthly mean temperatures [K].
    vapour_pressure : array
        Indoors [Pa].
    highest : float
        Relative humidity at the surface [-].

    Returns
    -------
    array
        Minus infinity where it is as warm outdoors as indoors, as no surface is colder than both then.

    Notes
    -----
    p_sat(T_si,min) = p_i/0.8; f_Rsi,min = (T_si,min - T_e)/(T_i - T_e), month by month; the greatest decides.
    Source: ISO 13788 (from memory).
    """
    inside, outside = np.asarray(indoors, dtype=float), np.asarray(outdoors, dtype=float)
    least = dew_point(np.asarray(vapour_pressure, dtype=float) / highest)
    apart = inside - outside
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(apart > 1e-9, (least - outside) / apart, -np.inf)


def surface_humidity(vapour_pressure: Array, temperature: Array) -> Array:
    """Relative humidity at a surface [-] of the vapour pressure indoors [Pa] and its temperature [K], at most 1."""
    found = np.asarray(vapour_pressure, dtype=float) / np.asarray(saturation_pressure_iso13788(temperature))
    return np.asarray(np.minimum(found, 1.0))


def surface_note(
    assembly: Assembly, loads: Sequence[Load], hours: Marks, outside: SideForcing, inside: SideForcing
) -> dict[str, str]:
    """Return what is said of the inner surface, by a short name; nothing for a run without a whole month of two airs.

    Parameters
    ----------
    assembly : Assembly
    loads : sequence of Load
    hours : array of datetime64, shape (hour,)
    outside, inside : SideForcing
        At the hours.
    """
    layers = warm_layers(assembly, loads)
    if outside.kind != AIR or inside.kind != AIR or not layers:
        return {}
    month = np.asarray(hours, dtype="datetime64[M]")
    found: list[tuple[float, np.datetime64]] = []
    for m in np.unique(month):
        here = month == m
        if here.sum() >= MONTH:
            t, p, out = (x[here].mean() for x in (inside.temperature, inside.vapour_pressure, outside.temperature))
            found.append((float(needed_factor(np.array([t]), np.array([p]), np.array([out]))[0]), m))
    if not found:
        return {}
    needed, when = max(found)
    have = surface_factor(thermal_resistance(layers))
    text = f"f_Rsi {have:.2f} in corners and behind furniture, {R_SI:g} m2 K/W"
    if not np.isfinite(needed) or needed <= 0.0:
        return {"surface": f"{text}; ISO 13788 asks for none in this weather (from memory)"}
    name = day(when.astype("datetime64[D]")).partition(" ")[2]
    word = "meets" if have >= needed else "falls short of"
    return {"surface": f"{text}; it {word} {needed:.2f}, which ISO 13788 asks for in {name} (from memory)"}
