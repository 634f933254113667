"""Moisture buffering under a square wave of humidity: the ideal value of NORDTEST and the exact linear cycle.

NORDTEST: 8 h at 75 %, 16 h at 33 %, 23 degC, MBV_ideal = 0.00568 p_s b_m sqrt(t_p) in kg/(m2 % RH), with
b_m = sqrt(delta (dw/dphi)/p_s) and t_p the whole period of 24 h.
Source: Rode et al., Moisture Buffering of Building Materials, DTU BYG R-126, 2005 [M].

The constant is h(alpha)/(100 sqrt(pi)), h(alpha) = (2/pi) sum sin^2(n pi alpha) n^(-3/2), alpha = 1/3: the
exact cycle of a half space (0.0056829, printed 0.00568). `cycle` gives it also with a surface film and for
a finite thickness.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import zeta

Array = np.ndarray


@dataclass(frozen=True)
class Buffer:
    """A linear hygroscopic slab and its cycle.

    permeability delta [kg/(m s Pa)]; slope dw/dphi [kg/m3]; p_sat [Pa]; thickness [m] (sealed behind;
    infinite: half space); beta [kg/(m2 s Pa)] (infinite: no film); period [s]; high, low [-];
    share of the period at `high` [-].
    """

    permeability: float
    slope: float
    p_sat: float = 2808.0
    thickness: float = np.inf
    beta: float = np.inf
    period: float = 86400.0
    high: float = 0.75
    low: float = 0.33
    share: float = 1.0 / 3.0

    @property
    def effusivity(self) -> float:
        """b_m [kg/(m2 Pa s^0.5)]."""
        return float(np.sqrt(self.permeability * self.slope / self.p_sat))


def ideal_value(case: Buffer) -> float:
    """MBV_ideal [kg/(m2 % RH)] with the printed constant."""
    return float(0.00568 * case.p_sat * case.effusivity * np.sqrt(case.period))


def wave_factor(share: float) -> float:
    """h(alpha) = (2/pi) sum_{n>=1} sin^2(n pi alpha) n^(-3/2).

    Summed with the polylogarithm split by residues when alpha is a fraction with a small denominator.
    """
    for q in range(1, 200):
        if abs(share * q - round(share * q)) < 1e-12:
            p = round(share * q)
            parts = [np.sin(np.pi * r * p / q) ** 2 * zeta(1.5, r / q) for r in range(1, q + 1)]
            return float(2.0 / np.pi * q**-1.5 * np.sum(parts))
    raise ValueError(f"share {share} is not a fraction with a denominator below 200")


def _harmonics(case: Buffer, terms: int) -> tuple[Array, Array, Array]:
    """Number n, angular frequency [1/s] and flux per pressure swing 1/Z [kg/(m2 s Pa)] of the harmonics."""
    n = np.arange(1, terms + 1)
    omega = 2.0 * np.pi * n / case.period
    admittance = case.effusivity * np.sqrt(1j * omega)
    if np.isfinite(case.thickness):
        depth = case.thickness * np.sqrt(1j * omega * case.slope / (case.permeability * case.p_sat))
        admittance = admittance * np.tanh(depth)
    return n, omega, 1.0 / (1.0 / case.beta + 1.0 / admittance)


def cycle(case: Buffer, t: Any, terms: int = 4000, ramp: float = 0.0) -> Array:
    """Water above its mean [kg/m2] in the periodic state at time t [s]; `high` starts at t = 0.

    With `ramp` [s] each change takes that long, in a straight line, and the old jump lies in its middle.

    Notes
    -----
    Fourier series of the square wave; every harmonic meets 1/beta in series with the admittance of the
    slab, b_m sqrt(i omega) tanh(d sqrt(i omega/D)), D = delta p_sat/(dw/dphi). Without a film the series
    falls only as n^-1.5 at the two jumps (1 % with 4000 terms); `exchanged` sums the tail exactly.
    """
    n, omega, answer = _harmonics(case, terms)
    wave = (1.0 - np.exp(-2j * np.pi * n * case.share)) / (2j * np.pi * n)
    wave = wave * np.sinc(n * ramp / case.period)
    amount = 2.0 * (case.high - case.low) * case.p_sat * wave * answer / (1j * omega)
    phase = np.exp(1j * omega * np.asarray(t, dtype=float)[..., None])
    return np.real(phase @ amount)


def exchanged(case: Buffer, terms: int = 20_000) -> float:
    """Water taken up and given back each period [kg/m2]; over 100 (high - low) it is the buffer value.

    Notes
    -----
    sum_n 4 dp sin^2(n pi alpha)/(pi n omega_n) Re(1/Z_n). The limit of 1/Z at high frequency (the film
    alone, or the half space alone) is summed in closed form and only the difference term by term, as far
    as twenty times the harmonic at which film and slab resist alike, and as the back of the slab is felt.

    Raises
    ------
    ValueError
        If the film or the slab is so thin that more than ten million terms would be needed.
    """
    per_radian = case.period / (2.0 * np.pi)
    if np.isfinite(case.beta):
        terms = max(terms, int(min(20 * (case.beta / case.effusivity) ** 2 * per_radian, 1e9)))
    if np.isfinite(case.thickness):
        diffusivity = case.permeability * case.p_sat / case.slope
        terms = max(terms, int(min(162.0 * diffusivity / case.thickness**2 * per_radian, 1e9)))
    if terms > 10_000_000:
        raise ValueError(f"beta {case.beta:g} or thickness {case.thickness:g}: as good as none")
    n, omega, answer = _harmonics(case, terms)
    step = (case.high - case.low) * case.p_sat
    if np.isfinite(case.beta):
        limit = np.full(n.size, case.beta, dtype=complex)
        closed = step * case.beta * case.period * case.share * (1.0 - case.share)
    else:
        limit = case.effusivity * np.sqrt(1j * omega)
        closed = step * case.effusivity * wave_factor(case.share) * np.sqrt(case.period / np.pi)
    rest = 4.0 * step * np.sin(np.pi * n * case.share) ** 2 / (np.pi * n * omega) * np.real(answer - limit)
    return float(closed + np.sum(rest))
