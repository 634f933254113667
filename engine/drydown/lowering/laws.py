"""Tables that hang on no material: of laws of temperature, of humidity."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from ..arrays import Array
from ..kernel.humidity import humidity_of
from ..materials.model import REFERENCE_TEMPERATURE

#: Range of z = ln(suction / (rho_w R_v T_ref)): about 0.3 Pa to 1.7e9 Pa.
Z_WET, Z_DRY = -20.0, 2.5
#: Range of the temperature tables [K].
T_LOW, T_HIGH = 195.0, 405.0
_TEMPERATURES, _HUMIDITIES = 2100, 4096

Law = Callable[[Array], Array]


def cubic_coefficients(values: Array, slopes: Array, step: float) -> Array:
    """Return coefficients [interval, 4] of the cubic through values and slopes on a uniform grid."""
    a, b = values[:-1], values[1:]
    da, db = slopes[:-1] * step, slopes[1:] * step
    return np.stack([a, da, 3.0 * (b - a) - 2.0 * da - db, 2.0 * (a - b) + da + db], axis=-1)


def monotone_slopes(values: Array, slopes: Array, step: float) -> Array:
    """Limit slopes so that the cubic keeps the direction of the data (Fritsch and Carlson 1980)."""
    secant = np.diff(values) / step
    out = slopes.copy()
    left = np.concatenate([secant[:1], secant])
    right = np.concatenate([secant, secant[-1:]])
    out[(left * right) <= 0.0] = 0.0
    same = left * right > 0.0
    cap = 3.0 * np.minimum(np.abs(left), np.abs(right))
    out = np.where(same, np.sign(left) * np.clip(np.sign(left) * out, 0.0, cap), out)
    return out


def slope_of(f: Law, x: Array, step: float) -> Array:
    """Return the slope of a function at x, by central differences of fourth order."""
    e = step / 16.0
    return (8.0 * (f(x + e) - f(x - e)) - (f(x + 2 * e) - f(x - 2 * e))) / (12.0 * e)


def of_temperature(law: Law) -> Array:
    """Return the table of a law of temperature [K]."""
    t = np.linspace(T_LOW, T_HIGH, _TEMPERATURES + 1)
    step = float(t[1] - t[0])
    y = np.asarray(law(t), dtype=float)
    return cubic_coefficients(y, monotone_slopes(y, slope_of(law, t, step), step), step)


def by_reference(law: Law) -> Law:
    """Return a law of temperature over its value at the reference."""

    def relative(t: Array) -> Array:
        return law(t) / law(np.array([REFERENCE_TEMPERATURE]))

    return relative


def logarithm(t: Array) -> Array:
    """Return ln(T/T_ref)."""
    found: Array = np.log(t / REFERENCE_TEMPERATURE)
    return found


@lru_cache(maxsize=1)
def of_humidity() -> Array:
    """Return the table of relative humidity by u, the same for all walls."""
    z = np.linspace(Z_WET, Z_DRY, _HUMIDITIES + 1)
    phi = cubic_coefficients(humidity_of(z), -np.exp(z) * humidity_of(z), float(z[1] - z[0]))
    return np.ascontiguousarray(phi[:, None, :])
