"""Manufactured solutions of the coupled equations: chosen fields, and the sources that make them exact.

    s_w = dw/dt + dg/dx,     s_h = dH/dt + dq/dx

with the fluxes and storage of `method_of_lines` (EN 15026 form in conservation form). The gradients of the
chosen fields are closed forms; the outer derivatives are taken by the complex step, which has no
cancellation, so the sources are exact to rounding. One layer, or two whose properties may differ a
thousandfold: there the slopes behind the interface are chosen so that both fluxes are continuous.

Method of manufactured solutions: Roache, J. Fluids Engineering 124, 2002, 4-10 [M]; complex step: Squire
and Trapp, SIAM Review 40, 1998, 110-112 [M]. The fields and curves are our own (demo).

Forcing that an engine reads at hour marks, linear between them, differs from the smooth one by
dt^2/8 times its second derivative: measure the order in space with slow fields (a large `period`), and the
order in time against `method_of_lines` fed with the very same marks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from .water import R_VAPOUR, RHO_WATER, ZERO_CELSIUS, permeability_din52615

Array = np.ndarray
T_REF = 296.15
_STEP = 1e-30


def saturation_pressure(temperature: Any) -> Any:
    """Saturation pressure [Pa] of temperature [K], smooth: 610.5 exp(17.269 t/(237.3 + t)).

    The branch over water of ISO 13788:2012, annex E [M], at any temperature.
    """
    t = temperature - ZERO_CELSIUS
    return 610.5 * np.exp(17.269 * t / (237.3 + t))


def saturation_slope(temperature: Any) -> Any:
    """Its derivative [Pa/K]."""
    t = temperature - ZERO_CELSIUS
    return saturation_pressure(temperature) * 17.269 * 237.3 / (237.3 + t) ** 2


@dataclass(frozen=True)
class Medium:
    """Smooth property curves of a layer.

    dry_capacity [J/(m3 K)]; conductivity_dry + conductivity_wet * w [W/(m K)];
    w = linear * phi + steep * phi^6 [kg/m3]; permeability_dry * (1 + permeability_wet * phi^3)
    [kg/(m s Pa)] at 296.15 K, times that of still air relative to 296.15 K; K = liquid * (w/100)^3 [s].
    """

    dry_capacity: float = 8e5
    conductivity_dry: float = 0.12
    conductivity_wet: float = 4e-4
    linear: float = 60.0
    steep: float = 80.0
    permeability_dry: float = 4e-12
    permeability_wet: float = 8.0
    liquid: float = 2e-15

    def storage(self, phi: Any) -> Any:
        """[kg/m3] of humidity."""
        return self.linear * phi + self.steep * phi**6

    def conductivity(self, w: Any) -> Any:
        """[W/(m K)] of water content."""
        return self.conductivity_dry + self.conductivity_wet * w

    def permeability(self, phi: Any) -> Any:
        """[kg/(m s Pa)] of humidity, at 296.15 K."""
        return self.permeability_dry * (1.0 + self.permeability_wet * phi**3)

    def liquid_conductivity(self, w: Any) -> Any:
        """[s] of water content."""
        return self.liquid * (w / 100.0) ** 3


class State(NamedTuple):
    """Temperature [K], humidity [-] and their gradients [1/m]."""

    T: Any
    phi: Any
    T_x: Any
    phi_x: Any


@dataclass(frozen=True)
class Manufactured:
    """The chosen solution.

    Parameters
    ----------
    media : tuple of Medium
        One or two layers.
    thickness : tuple of float
        [m], one per layer.
    period : float
        [s].
    swing_T, swing_phi : float
        Amplitudes [K], [-].
    moisture, heat : bool
        False holds the humidity (temperature) field constant: heat alone, moisture alone.
    latent_heat, c_vapour, c_water : float
        [J/kg], [J/(kg K)].
    """

    media: tuple[Medium, ...] = (Medium(),)
    thickness: tuple[float, ...] = (0.1,)
    period: float = 10 * 86400.0
    swing_T: float = 6.0
    swing_phi: float = 0.12
    moisture: bool = True
    heat: bool = True
    latent_heat: float = 2.5008e6
    c_vapour: float = 1860.0
    c_water: float = 4182.0
    r_vapour: float = R_VAPOUR
    rho_water: float = RHO_WATER

    # -- fields ----------------------------------------------------------------------------------

    def _outer(self, x: Any, t: Any) -> State:
        length = self.thickness[0]
        angle = 2.0 * np.pi * t / self.period
        a, b = 1.3 * np.pi / length, 1.7 * np.pi / length
        s_T = self.swing_T if self.heat else 0.0
        s_phi = self.swing_phi if self.moisture else 0.0
        wave_T, wave_phi = np.cos(angle + 0.2), np.sin(angle + 0.9)
        T = 285.15 + s_T * (np.sin(a * x + 0.4) * wave_T + 0.7 * x / length)
        phi = 0.7 + s_phi * np.cos(b * x) * wave_phi
        T_x = s_T * (a * np.cos(a * x + 0.4) * wave_T + 0.7 / length)
        phi_x = -s_phi * b * np.sin(b * x) * wave_phi
        return State(T + 0.0 * t, phi, T_x, phi_x)

    def _inner(self, x: Any, t: Any) -> State:
        """Behind the interface: values as before it, slopes by continuity of both fluxes, and a wave."""
        edge, length = self.thickness[0], self.thickness[1]
        at = self._outer(edge, t)
        g, q = self.fluxes(self.media[0], at)
        g_T, q_T = self.fluxes(self.media[1], State(at.T, at.phi, 1.0, 0.0))
        g_p, q_p = self.fluxes(self.media[1], State(at.T, at.phi, 0.0, 1.0))
        det = g_T * q_p - g_p * q_T
        slope_T, slope_phi = (g * q_p - q * g_p) / det, (q * g_T - g * q_T) / det
        y, k = x - edge, np.pi / length
        angle = 2.0 * np.pi * t / self.period
        wave_T = (self.swing_T if self.heat else 0.0) * 0.5 * np.cos(angle - 0.5)
        wave_phi = (self.swing_phi if self.moisture else 0.0) * 0.5 * np.sin(angle + 2.0)
        rise, rise_x = np.sin(k * y / 2.0) * 2.0 / k, np.cos(k * y / 2.0)
        bump, bump_x = 1.0 - np.cos(k * y), k * np.sin(k * y)
        return State(
            at.T + slope_T * rise + wave_T * bump,
            at.phi + slope_phi * rise + wave_phi * bump,
            slope_T * rise_x + wave_T * bump_x,
            slope_phi * rise_x + wave_phi * bump_x,
        )

    # -- equations -------------------------------------------------------------------------------

    def fluxes(self, m: Medium, s: State) -> tuple[Any, Any]:
        """Moisture flux [kg/(m2 s)] and heat flux with the enthalpy carried [W/m2]."""
        w = m.storage(s.phi)
        delta = m.permeability(s.phi) * permeability_din52615(s.T) / permeability_din52615(T_REF)
        g_v = -delta * (s.phi_x * saturation_pressure(s.T) + s.phi * saturation_slope(s.T) * s.T_x)
        p_c_x = -self.rho_water * self.r_vapour * (s.T_x * np.log(s.phi) + s.T * s.phi_x / s.phi)
        g_l = m.liquid_conductivity(w) * p_c_x
        theta = s.T - ZERO_CELSIUS
        carried = (self.latent_heat + self.c_vapour * theta) * g_v + self.c_water * theta * g_l
        return g_v + g_l, -m.conductivity(w) * s.T_x + carried

    def stored(self, m: Medium, s: State) -> tuple[Any, Any]:
        """Water [kg/m3] and enthalpy [J/m3]."""
        w = m.storage(s.phi)
        return w, (m.dry_capacity + self.c_water * w) * (s.T - ZERO_CELSIUS)

    # -- what a test asks for --------------------------------------------------------------------

    def _by_layer(self, x: Any, t: Any, what: Any, count: int) -> tuple[Array, ...]:
        x, t = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(t, dtype=float))
        behind = x > self.thickness[0] if len(self.media) > 1 else np.zeros(x.shape, bool)
        out = tuple(np.empty(x.shape) for _ in range(count))
        for k, here in ((0, ~behind), (1, behind)):
            if here.any():
                for row, value in zip(out, what(k, x[here], t[here]), strict=True):
                    row[here] = value
        return out

    def _field(self, k: int, x: Any, t: Any) -> State:
        return self._inner(x, t) if k else self._outer(x, t)

    def state(self, x: Any, t: Any) -> tuple[Array, Array]:
        """Temperature [K] and humidity [-] at depth x [m] and time t [s] (arrays that broadcast)."""
        T, phi = self._by_layer(x, t, lambda k, x, t: self._field(k, x, t)[:2], 2)
        return T, phi

    def flux(self, x: Any, t: Any) -> tuple[Array, Array]:
        """Moisture [kg/(m2 s)] and heat flux [W/m2]."""
        g, q = self._by_layer(x, t, lambda k, x, t: self.fluxes(self.media[k], self._field(k, x, t)), 2)
        return g, q

    def sources(self, x: Any, t: Any) -> tuple[Array, Array]:
        """Water [kg/(m3 s)] and heat [W/m3] that make the fields exact, at points x [m] and times t [s].

        Notes
        -----
        The value at a cell's centre stands for its mean to second order, as the state does.
        """

        def rows(k: int, x: Array, t: Array) -> tuple[Array, Array]:
            m = self.media[k]
            now = self.stored(m, self._field(k, x, t + 1j * _STEP))
            here = self.fluxes(m, self._field(k, x + 1j * _STEP, t))
            return tuple(np.imag(a) / _STEP + np.imag(b) / _STEP for a, b in zip(now, here, strict=True))

        s_w, s_h = self._by_layer(x, t, rows, 2)
        return s_w, s_h

    def vapour_pressure(self, x: Any, t: Any) -> Array:
        """[Pa], for the imposed state of a surface."""
        T, phi = self.state(x, t)
        found: Array = phi * saturation_pressure(T)
        return found


#: A tight board before a layer a thousand times more open to vapour (and a hundredth of its storage).
CONTRAST = Manufactured(
    media=(
        Medium(permeability_dry=2e-13, liquid=1e-17),
        Medium(
            dry_capacity=3e4,
            conductivity_dry=0.10,
            linear=0.6,
            steep=0.8,
            permeability_dry=2e-10,
            permeability_wet=0.5,
            liquid=1e-10,
        ),
    ),
    thickness=(0.05, 0.04),
    swing_T=3.0,
)
