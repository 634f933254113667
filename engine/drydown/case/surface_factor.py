"""Surface temperature factor: how warm the inner surface stays, and how warm it must be against mould (ISO 13788).

The factor f_Rsi of an assembly is that of an even wall; at a corner, behind a cupboard or at a thermal bridge the
surface is colder. The film resistance of 0.25 m2 K/W, in place of 0.13, stands for the corners and what stands before
the wall. A thermal bridge needs a calculation in two or three dimensions (ISO 10211).
"""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..climate.model import dew_point
from ..materials.curves import by_humidity
from ..moist_air import saturation_pressure_iso13788
from .assembly import Assembly

#: Resistance of the inner film for mould on opaque surfaces, and of the outer one [m2 K/W]: ISO 13788 (from memory).
R_SI, R_SE = 0.25, 0.04
#: Relative humidity at the surface from which on mould is to be feared [-], monthly means: ISO 13788 (from memory).
MOULD = 0.8


def thermal_resistance(assembly: Assembly, humidity: float = 0.5) -> float:
    """Thermal resistance of the layers [m2 K/W], each d/lambda at a relative humidity [-] and 10 degC.

    Parameters
    ----------
    assembly : Assembly
    humidity : float

    Notes
    -----
    R = sum d/lambda. Source: ISO 6946. Films have none.
    """
    at = np.array([humidity])
    return float(
        sum(
            layer.thickness / by_humidity(layer.material.conductivity, layer.material.storage)(at)[0]
            for layer in assembly.layers
        )
    )


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
