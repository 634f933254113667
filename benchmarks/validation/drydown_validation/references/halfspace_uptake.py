"""EN 15026:2007 annex A: heat and moisture uptake of a half space, as a similarity solution.

With eta = x/sqrt(t) the two conservation laws become ordinary differential equations,

    G' = (eta/2) W',     Q' = (eta/2) H'  (or (eta/2) C T' in the form of the standard),

where g = G(eta)/sqrt(t) is the moisture flux and q = Q(eta)/sqrt(t) the heat flux. They are solved for
(T, ln p, G, Q), p the suction, by collocation (`scipy.integrate.solve_bvp`) in s = arcsinh(eta/eta0),
which resolves the wetting front (microns per root second) and the heat wave (millimetres) alike.

Source: EN 15026:2007, annex A, material functions and conditions [M]; the similarity solution itself:
Claesson, Chalmers, 2002/2012 [V].
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from scipy.integrate import solve_bvp
from scipy.special import erfc

from .water import R_VAPOUR, RHO_WATER, ZERO_CELSIUS, saturation_iso13788

Array = np.ndarray


@dataclass(frozen=True)
class HalfSpace:
    """Definition of the case.

    Parameters
    ----------
    form : {'standard', 'conservative'}
        'standard': (rho c + c_w w) dT/dt = -d/dx(-lambda dT/dx + L g_v).
        'conservative': d/dt[(rho c + c_w w) theta] = -d/dx[-lambda dT/dx + (L + c_v theta) g_v
        + c_w theta g_l], theta = T - 273.15.
    saturation_pressure : callable
        [Pa] of temperature [K]; must accept complex numbers.
    r_vapour : float
        Gas constant of water vapour [J/(kg K)].
    latent_heat : float
        L [J/kg].
    c_vapour, c_water : float
        [J/(kg K)]; `c_vapour` is used by the conservative form only.
    dry_capacity : float
        rho c [J/(m3 K)].
    t_start, t_face : float
        [K].
    phi_start, phi_face : float
        Relative humidity [-].
    """

    form: Literal["standard", "conservative"] = "standard"
    saturation_pressure: Callable[[Any], Any] = saturation_iso13788
    r_vapour: float = R_VAPOUR
    latent_heat: float = 2.5e6
    c_vapour: float = 0.0
    c_water: float = 4187.0
    dry_capacity: float = 1.824e6
    t_start: float = 293.15
    t_face: float = 303.15
    phi_start: float = 0.50
    phi_face: float = 0.95


def water_content(p: Any) -> Any:
    """Water content [kg/m3] of suction [Pa]: 146 / (1 + (8e-8 p)^1.6)^0.375."""
    return 146.0 * (1.0 + (8e-8 * p) ** 1.6) ** -0.375


def log_slope(p: Any) -> Any:
    """dw / d ln p [kg/m3] of suction [Pa]."""
    a = (8e-8 * p) ** 1.6
    return -0.6 * a / (1.0 + a) * water_content(p)


def liquid_conductivity(w: Any) -> Any:
    """Liquid conductivity K [s] of water content [kg/m3]."""
    y = w - 73.0
    poly = -39.2619 + y * (0.0704 + y * (-1.7420e-4 + y * (-2.7953e-6 + y * (-1.1566e-7 + y * 2.5969e-9))))
    return np.exp(poly)


def permeability(w: Any, temperature: Any, r_vapour: float = R_VAPOUR) -> Any:
    """Vapour permeability [kg/(m s Pa)] of water content [kg/m3] and temperature [K]."""
    s = 1.0 - w / 146.0
    return 26.1e-6 / 200.0 / (r_vapour * temperature) * s / (0.503 * s * s + 0.497)


def conductivity(w: Any) -> Any:
    """Thermal conductivity [W/(m K)] of water content [kg/m3]."""
    return 1.5 + 15.8e-3 * w


def suction(phi: Any, temperature: Any, r_vapour: float = R_VAPOUR) -> Any:
    """Suction [Pa] of humidity [-] and temperature [K] (Kelvin)."""
    return -RHO_WATER * r_vapour * temperature * np.log(phi)


@dataclass(frozen=True)
class Profile:
    """The similarity solution; every method takes depth [m] and time [s] (arrays that broadcast).

    Attributes
    ----------
    case : HalfSpace
    error : float
        Largest relative residual of the collocation.
    """

    case: HalfSpace
    error: float
    _solution: Any
    _eta0: float
    _eta_end: float

    def _state(self, x: Any, t: Any) -> Array:
        eta = np.minimum(np.asarray(x, dtype=float) / np.sqrt(t), self._eta_end)
        found: Array = self._solution(np.arcsinh(eta / self._eta0))
        return found

    def temperature(self, x: Any, t: Any) -> Array:
        """[K]."""
        found: Array = self.case.t_start + (self.case.t_face - self.case.t_start) * self._state(x, t)[0]
        return found

    def suction(self, x: Any, t: Any) -> Array:
        """[Pa]."""
        found: Array = np.exp(self._state(x, t)[1])
        return found

    def water_content(self, x: Any, t: Any) -> Array:
        """[kg/m3]."""
        found: Array = water_content(self.suction(x, t))
        return found

    def humidity(self, x: Any, t: Any) -> Array:
        """Relative humidity [-]."""
        return np.exp(-self.suction(x, t) / (RHO_WATER * self.case.r_vapour * self.temperature(x, t)))

    def uptake(self, t: Any) -> Array:
        """Water [kg/m2] that has entered through the face: the integral of the flux, 2 G(0) sqrt(t)."""
        found: Array = 2.0 * _G_SCALE * self._state(0.0, 1.0)[2] * np.sqrt(t)
        return found


_G_SCALE, _Q_SCALE = 1e-3, 1e4


def _gradients(case: HalfSpace, T: Array, p: Array, G: Array, Q: Array) -> tuple[Array, Array, Array]:
    """dT/d eta, d ln p/d eta, and dw/d ln p from the fluxes: a 2x2 linear system at each point."""
    w, psat_of = water_content(p), case.saturation_pressure
    psat = psat_of(T)
    dpsat = np.imag(psat_of(T + 1e-20j)) / 1e-20
    rt = RHO_WATER * case.r_vapour * T
    phi = np.exp(-p / rt)
    delta, K, lam = permeability(w, T, case.r_vapour), liquid_conductivity(w), conductivity(w)
    # g_v = a_z (ln p)' + a_T T';  g_l = b (ln p)'
    a_z = delta * psat * phi * p / rt
    a_T = -delta * (phi * dpsat + psat * phi * p / (rt * T))
    b = K * p
    if case.form == "standard":
        h_v, h_l = case.latent_heat + 0.0 * T, 0.0 * T
    else:
        theta = T - ZERO_CELSIUS
        h_v, h_l = case.latent_heat + case.c_vapour * theta, case.c_water * theta
    m11, m12 = a_z + b, a_T
    m21, m22 = h_v * a_z + h_l * b, h_v * a_T - lam
    det = m11 * m22 - m12 * m21
    return (m11 * Q - m21 * G) / det, (m22 * G - m12 * Q) / det, log_slope(p)


@lru_cache(maxsize=8)
def solve(case: HalfSpace = HalfSpace(), tol: float = 1e-8, eta0: float = 2e-5, eta_end: float = 0.02) -> Profile:
    """Solve the case.

    Parameters
    ----------
    case : HalfSpace
    tol : float
        Relative residual allowed to the collocation.
    eta0 : float
        Scale of the stretched coordinate [m/s^0.5].
    eta_end : float
        Where the undisturbed half space is imposed [m/s^0.5]; 0.02 is 112 m at one year.

    Returns
    -------
    Profile

    Raises
    ------
    RuntimeError
        If the collocation does not converge.
    """
    dT = case.t_face - case.t_start
    z_face = np.log(suction(case.phi_face, case.t_face, case.r_vapour))
    z_start = np.log(suction(case.phi_start, case.t_start, case.r_vapour))

    def rhs(s: Array, y: Array) -> Array:
        eta, stretch = eta0 * np.sinh(s), eta0 * np.cosh(s)
        T, p = case.t_start + dT * y[0], np.exp(y[1])
        T_eta, z_eta, w_z = _gradients(case, T, p, _G_SCALE * y[2], _Q_SCALE * y[3])
        w_eta = w_z * z_eta
        capacity = case.dry_capacity + case.c_water * water_content(p)
        heat = capacity * T_eta
        if case.form == "conservative":
            heat = heat + case.c_water * (T - ZERO_CELSIUS) * w_eta
        found: Array = stretch * np.vstack([T_eta / dT, z_eta, eta / 2 * w_eta / _G_SCALE, eta / 2 * heat / _Q_SCALE])
        return found

    def ends(a: Array, b: Array) -> Array:
        return np.array([a[0] - 1.0, a[1] - z_face, b[0], b[1] - z_start])

    s = np.linspace(0.0, np.arcsinh(eta_end / eta0), 400)
    guess = _guess(s, eta0, z_face, z_start)
    result: Any = None
    for step in (1e-3, 1e-5, tol):
        result = solve_bvp(rhs, ends, s, guess, tol=step, max_nodes=200_000, bc_tol=1e-11)
        if result.status != 0:
            raise RuntimeError(f"similarity solution did not converge: {result.message}")
        s, guess = result.x, result.y
    return Profile(case, float(np.max(result.rms_residuals)), result.sol, eta0, eta_end)


def _guess(s: Array, eta0: float, z_face: float, z_start: float) -> Array:
    """Start values: an error function of heat, a sharp front of moisture."""
    eta = eta0 * np.sinh(s)
    heat = erfc(eta / 2.0 / np.sqrt(1.2e-6))
    wet = erfc(eta / 2.0 / 3e-5)
    z = z_start + (z_face - z_start) * wet
    G = 0.5 * 85.0 * 3e-5 * np.exp(-((eta / 6e-5) ** 2))
    Q = 2.2 * 10.0 / np.sqrt(np.pi * 1.2e-6) * np.exp(-(eta**2) / 4.8e-6)
    return np.vstack([heat, z, G / _G_SCALE, Q / _Q_SCALE])
