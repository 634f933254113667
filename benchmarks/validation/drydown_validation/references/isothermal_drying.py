"""HAMSTAD case 2: isothermal drying of a slab, an exact Fourier series in the water content.

dw/dt = D_w d2w/dx2 with constant D_w, uniform at the start, both faces imposed at different humidities.
The vapour flow (delta = 1e-15 s) is left out: `vapour_share` says how little it is.

Source: HAMSTAD work package 2, case 2 (Hagentoft et al., J. Thermal Envelope & Building Science 27, 2004,
327-352) [V]; the series: Carslaw and Jaeger, Conduction of Heat in Solids, 1959, section 3.4 [M].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .water import saturation_hamstad

Array = np.ndarray


@dataclass(frozen=True)
class DryingSlab:
    """Definition: thickness [m], D_w [m2/s], humidities [-], temperature [K], delta [kg/(m s Pa)]."""

    thickness: float = 0.2
    diffusivity: float = 6e-10
    phi_start: float = 0.95
    phi_left: float = 0.45
    phi_right: float = 0.65
    temperature: float = 293.15
    permeability: float = 1e-15


def water_content(phi: Any) -> Any:
    """Water content [kg/m3] of humidity: 116 / (1 - ln(phi)/0.118)^0.869."""
    return 116.0 * (1.0 - np.log(phi) / 0.118) ** -0.869


def humidity(w: Any) -> Any:
    """Humidity [-] of water content [kg/m3], the inverse of `water_content`."""
    return np.exp(0.118 * (1.0 - (116.0 / np.asarray(w)) ** (1.0 / 0.869)))


def water_profile(x: Any, t: float, case: DryingSlab = DryingSlab()) -> Array:
    """Water content [kg/m3] at depths x [m] from the left face after t [s], t > 0.

    Notes
    -----
    w = w_l + (w_r - w_l) x/L
        + sum_n (2/(n pi)) [(w_0 - w_l) - (-1)^n (w_0 - w_r)] sin(n pi x/L) exp(-(n pi/L)^2 D t);
    as many terms as the exponential needs to fall below 1e-18.
    """
    w0, wl, wr = (float(water_content(p)) for p in (case.phi_start, case.phi_left, case.phi_right))
    xi = np.asarray(x, dtype=float) / case.thickness
    fourier = case.diffusivity * t / case.thickness**2
    n = np.arange(1, int(np.ceil(np.sqrt(41.5 / fourier) / np.pi)) + 2)
    decay = np.exp(-((n * np.pi) ** 2) * fourier)
    amplitude = 2.0 / (n * np.pi) * ((w0 - wl) - (-1.0) ** n * (w0 - wr)) * decay
    found: Array = wl + (wr - wl) * xi + np.sin(np.pi * xi[..., None] * n) @ amplitude
    return found


def mean_water(t: float, case: DryingSlab = DryingSlab()) -> float:
    """Mean water content of the slab [kg/m3] after t [s], the same series integrated term by term."""
    w0, wl, wr = (float(water_content(p)) for p in (case.phi_start, case.phi_left, case.phi_right))
    fourier = case.diffusivity * t / case.thickness**2
    n = np.arange(1, int(np.ceil(np.sqrt(41.5 / fourier) / np.pi)) + 3, 2)
    series = 4.0 / (n * np.pi) ** 2 * ((w0 - wl) + (w0 - wr)) * np.exp(-((n * np.pi) ** 2) * fourier)
    return float(0.5 * (wl + wr) + series.sum())


def vapour_share(case: DryingSlab = DryingSlab()) -> float:
    """Largest ratio of vapour to liquid diffusivity over the humidities met: what is left out."""
    phi = np.linspace(case.phi_left, case.phi_start, 200)
    slope = np.gradient(water_content(phi), phi)
    psat = float(saturation_hamstad(case.temperature))
    return float(np.max(case.permeability * psat / slope / case.diffusivity))
