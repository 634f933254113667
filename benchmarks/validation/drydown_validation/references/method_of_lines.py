"""The coupled equations of a layered wall by the method of lines, for a general-purpose ODE solver.

    dw/dt = -dg/dx + s_w,   dH/dt = -dq/dx + s_h,   H = (rho c + c_w w) theta,   theta = T - 273.15
    g = g_v + g_l,  g_v = -delta(phi, T) dp_v/dx,  g_l = K dp_c/dx,  p_c = -rho_w R_v T ln phi
    q = -lambda dT/dx + (L0 + c_v theta) g_v + c_w theta g_l

Finite volumes on given cells, unknowns T and u = ln(-ln phi) in each; storage is inverted cell by cell,

    dT/dt = (H' - c_w theta w') / (rho c + c_w w),   du/dt = w'/(dw/dz) - kappa T'/T.

Two more unknowns add up the water that entered through both surfaces. The system is handed to
`scipy.integrate.solve_ivp` and restarted at every hour mark, where the forcing has a kink.

Mean values at a face, the common interface and the film follow the description of the scheme in
`face_fluxes` and `junction`; this code was written from the equations and shares nothing with the engine.
Equations: EN 15026:2007 section 4 [V by quotation], extended by the sensible heat the water carries.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
from scipy.integrate import solve_ivp

from .junctions import film_flux, interface_liquid
from .wall_parts import T_REF, Film, Layer, Material, Side, Wall
from .water import (
    R_VAPOUR,
    RHO_WATER,
    STEFAN_BOLTZMANN,
    ZERO_CELSIUS,
    permeability_din52615,
    saturation_iso13788,
)

Array = np.ndarray
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


@dataclass(frozen=True, eq=False)
class Constants:
    """Constants and laws of air and water [SI]; the same names as in the equations."""

    saturation_pressure: Callable[[Any], Any] = saturation_iso13788
    air_permeability: Callable[[Any], Any] = permeability_din52615
    latent_heat: float = 2.5008e6
    c_vapour: float = 1860.0
    c_water: float = 4182.0
    rho_water: float = RHO_WATER
    r_vapour: float = R_VAPOUR
    film_reading: Literal["integral", "mean"] = "integral"


@dataclass(frozen=True, eq=False)
class Tolerance:
    """What `solve_ivp` is asked for."""

    method: Literal["LSODA", "BDF", "Radau"] = "LSODA"
    relative: float = 1e-9
    temperature: float = 1e-7
    humidity: float = 1e-8
    entered: float = 1e-11


@dataclass(frozen=True, eq=False)
class Trace:
    """State at the marks: temperature [K], humidity [-], water [kg/m3] as (marks, cells); width [m] of the
    cells; entered [kg/m2] as (marks, 2): water gone in through the outer and the inner surface."""

    temperature: Array
    humidity: Array
    water: Array
    width: Array
    entered: Array
    evaluations: int


@dataclass(frozen=True, eq=False)
class _Cells:
    """Cell properties of one layer at one instant."""

    T: Array
    phi: Array
    z: Array
    w: Array
    perm: Array
    psi: Array
    K: Array
    big_theta: Array
    slope: Array
    lam: Array
    factor: Array
    psat: Array


class _Problem:
    """The right-hand side; holds what does not change during a run."""

    def __init__(self, wall: Wall, outside: Side, inside: Side, constants: Constants) -> None:
        self.wall, self.sides, self.c = wall, (outside, inside), constants
        self.width = np.concatenate([np.asarray(layer.widths, dtype=float) for layer in wall.layers])
        ends = np.cumsum([0, *(len(layer.widths) for layer in wall.layers)])
        self.spans = [slice(a, b) for a, b in pairwise(ends)]
        self.air_ref = float(constants.air_permeability(T_REF))

    def cells(self, layer: Layer, T: Array, u: Array) -> _Cells:
        m = layer.material
        z = u + m.kappa * np.log(T / T_REF)
        w, K, big_theta = m.table(z).T
        perm, psi = m.vapour(u + m.kappa_vapour * np.log(T / T_REF)).T
        lam = m.conductivity(w, T) + 0.0 * T
        psat = self.c.saturation_pressure(T)
        factor = self._factor(m, T)
        return _Cells(T, np.exp(-np.exp(u)), z, w, perm, psi, K, big_theta, m.capacity(z), lam, factor, psat)

    def _factor(self, m: Material, T: Array) -> Array:
        if m.permeability_factor is None:
            return self.c.air_permeability(T) / self.air_ref
        return m.permeability_factor(T) + 0.0 * T

    def suction(self, T: Any, phi: Any) -> Any:
        return -self.c.rho_water * self.c.r_vapour * T * np.log(phi)

    def within(self, m: Material, a: _Cells, b: _Cells, d: Array) -> tuple[Array, Array, Array]:
        """g_v, g_l, q conducted between states a and b of one material, a distance d apart."""
        fm, psat_m = (a.factor + b.factor) / 2, (a.psat + b.psat) / 2
        m_m = (a.perm * a.phi + b.perm * b.phi) / 2
        g_v = -fm / d * (psat_m * self._psi_step(m, a, b) + m_m * (b.psat - a.psat))
        q = -(a.lam + b.lam) / 2 * (b.T - a.T) / d
        if not m.conducts:
            return g_v, 0.0 * g_v, q
        tm = ((a.T + b.T) / 2 / T_REF) ** m.rest
        per_kelvin = [K * self.suction(s.T, s.phi) / s.T for K, s in ((a.K, a), (b.K, b))]
        drift = m.rest * (per_kelvin[0] + per_kelvin[1]) / 2 * (b.T - a.T)
        return g_v, (tm * (b.big_theta - a.big_theta) + drift) / d, q

    def _psi_step(self, m: Material, a: _Cells, b: _Cells) -> Array:
        """Integral of the permeability over humidity from a to b."""
        if m.kappa_vapour == 0.0:
            return b.psi - a.psi
        # the permeability follows the suction: integrate over humidity at the mean temperature
        ua, ub = np.log(-np.log(a.phi)), np.log(-np.log(b.phi))
        u = (ua + ub)[:, None] / 2 + (ub - ua)[:, None] / 2 * _NODES
        perm = m.vapour(u + np.log((a.T + b.T) / 2 / T_REF)[:, None])[..., 0]
        return (perm * -np.exp(u - np.exp(u))) @ _WEIGHTS * (ub - ua) / 2

    def fluxes(self, T: Array, u: Array, forcing: Array) -> tuple[Array, Array, Array, Array]:
        """Moisture and heat flux at all faces, and w and dw/dz of all cells."""
        n, c = T.size, self.c
        g, q, w, slope = np.empty(n + 1), np.empty(n + 1), np.empty(n), np.empty(n)
        parts = []
        for layer, span in zip(self.wall.layers, self.spans, strict=True):
            s = self.cells(layer, T[span], u[span])
            parts.append(s)
            w[span], slope[span] = s.w, s.slope
            a, b = _take(s, slice(None, -1)), _take(s, slice(1, None))
            dx = self.width[span]
            g_v, g_l, q_c = self.within(layer.material, a, b, (dx[:-1] + dx[1:]) / 2)
            theta = (a.T + b.T) / 2 - ZERO_CELSIUS
            inner = slice(span.start + 1, span.stop)
            g[inner] = g_v + g_l
            q[inner] = q_c + (c.latent_heat + c.c_vapour * theta) * g_v + c.c_water * theta * g_l
        for i in range(1, len(parts)):
            face = self.spans[i].start
            g[face], q[face] = self.junction(i, parts[i - 1], parts[i])
        g[0], q[0] = self.boundary(0, parts[0], forcing[0])
        g_in, q_in = self.boundary(1, parts[-1], forcing[1])
        g[n], q[n] = -g_in, -q_in
        return g, q, w, slope

    def junction(self, i: int, left: _Cells, right: _Cells) -> tuple[float, float]:
        """Fluxes between layer i-1 and layer i: resistances in series, a film if one lies there."""
        a, b = _last(left), _first(right)
        ha, hb = self.width[self.spans[i].start - 1] / 2, self.width[self.spans[i].start] / 2
        ra, rb = ha / (a.perm * a.factor), hb / (b.perm * b.factor)
        pa, pb = a.phi * a.psat, b.phi * b.psat
        ka, kb = a.lam / ha, b.lam / hb
        film = self.wall.films.get(i)
        g_l = 0.0
        if film is None:
            g_v = (pa - pb) / (ra + rb)
            ma, mb = self.wall.layers[i - 1].material, self.wall.layers[i].material
            if ma.conducts and mb.conducts:
                g_l = interface_liquid(ma, mb, (a.T, a.phi), (b.T, b.phi), ha, hb)
        else:
            g_v = self.through(film, pa, pb, ra, rb, (ka * a.T + kb * b.T) / (ka + kb), 1)
        theta = (a.T + b.T) / 2 - ZERO_CELSIUS
        c = self.c
        conducted = (a.T - b.T) * ka * kb / (ka + kb)
        enthalpy = (c.latent_heat + c.c_vapour * theta) * g_v + c.c_water * theta * g_l
        return g_v + g_l, conducted + enthalpy

    def through(self, film: Film, pa: float, pb: float, ra: float, rb: float, T: float, way: int) -> float:
        psat = float(self.c.saturation_pressure(T))
        return film_flux(film, pa, pb, ra, rb, psat, T, self.c.film_reading, outside_first=way > 0)

    def boundary(self, k: int, part: _Cells, forcing: Array) -> tuple[float, float]:
        """Fluxes INTO the wall through its outer (k = 0) or inner (k = 1) surface."""
        side, c = self.sides[k], self.c
        layer = self.wall.layers[0 if k == 0 else -1]
        cell = _first(part) if k == 0 else _last(part)
        h = self.width[0 if k == 0 else -1] / 2
        film = self.wall.films.get(0 if k == 0 else len(self.wall.layers))
        t_air, p_air, conv, beta, radiation = (float(v) for v in forcing)
        if side.kind == "surface":
            if film is None:
                return self._imposed(layer, cell, h, t_air, p_air)
            t_s, r_air = t_air, 0.0
        else:
            radiative = side.emissivity * STEFAN_BOLTZMANN * cell.T**3
            into = cell.lam / h
            # emitted: eps sigma (T_c^4 + 4 T_c^3 (T_s - T_c)), linear about the cell
            t_s = conv * t_air + radiation + 3 * radiative * cell.T + into * cell.T
            t_s /= conv + 4 * radiative + into
            r_air = 1.0 / beta if beta > 0.0 else np.inf
        q = cell.lam / h * (t_s - cell.T)
        if side.kind == "sealed" or not np.isfinite(r_air):
            return 0.0, float(q)
        r_cell, p_cell = h / (cell.perm * cell.factor), cell.phi * cell.psat
        if film is None:
            g = (p_air - p_cell) / (r_air + r_cell)
        else:
            g = self.through(film, p_air, p_cell, r_air, r_cell, t_s, 1 if k == 0 else -1)
        theta = (cell.T + t_air) / 2 - ZERO_CELSIUS
        return float(g), float(q + (c.latent_heat + c.c_vapour * theta) * g)

    def _imposed(self, layer: Layer, cell: _Cells, h: float, t_s: float, p_s: float) -> tuple[float, float]:
        """The state of the surface itself is given: the flux law of the material over half a cell."""
        phi = p_s / float(self.c.saturation_pressure(t_s))
        face = self.cells(layer, np.array([t_s]), np.log(-np.log(np.array([phi]))))
        g_v, g_l, q = (float(v[0]) for v in self.within(layer.material, face, _lift(cell), np.array([h])))
        theta = (t_s + cell.T) / 2 - ZERO_CELSIUS
        c = self.c
        return g_v + g_l, float(q + (c.latent_heat + c.c_vapour * theta) * g_v + c.c_water * theta * g_l)

    def rhs(self, y: Array, forcing: Array, source: Array | None) -> Array:
        """dy/dt of y = [entered outside, T_0, u_0, T_1, u_1, ..., entered inside]."""
        T, u, c = y[1:-1:2], y[2:-1:2], self.c
        g, q, w, slope = self.fluxes(T, u, forcing)
        dw, dh = -np.diff(g) / self.width, -np.diff(q) / self.width
        if source is not None:
            dw, dh = dw + source[0], dh + source[1]
        dry = np.concatenate([np.full(len(x.widths), x.material.dry_capacity) for x in self.wall.layers])
        kappa = np.concatenate([np.full(len(x.widths), x.material.kappa) for x in self.wall.layers])
        dT = (dh - c.c_water * (T - ZERO_CELSIUS) * dw) / (dry + c.c_water * w)
        out = np.empty_like(y)
        out[0], out[-1] = g[0], -g[-1]
        out[1:-1:2], out[2:-1:2] = dT, dw / slope - kappa * dT / T
        return out


def _take(s: _Cells, index: Any) -> _Cells:
    return _Cells(*(getattr(s, name)[index] for name in _Cells.__dataclass_fields__))


def _first(s: _Cells) -> Any:
    return _Cells(*(getattr(s, name).item(0) for name in _Cells.__dataclass_fields__))


def _last(s: _Cells) -> Any:
    return _Cells(*(getattr(s, name).item(-1) for name in _Cells.__dataclass_fields__))


def _lift(s: _Cells) -> _Cells:
    return _Cells(*(np.array([getattr(s, name)]) for name in _Cells.__dataclass_fields__))


def solve(
    wall: Wall,
    outside: Side,
    inside: Side,
    temperature: Array,
    humidity: Array,
    *,
    constants: Constants = Constants(),
    tolerance: Tolerance = Tolerance(),
    interval: float = 3600.0,
    sources: tuple[Array, Array] | None = None,
) -> Trace:
    """March the wall over the marks of its sides.

    Parameters
    ----------
    wall : Wall
    outside, inside : Side
        Forcing at n marks, linear between them.
    temperature, humidity : ndarray (cells,)
        State at the first mark, [K] and [-].
    constants : Constants
    tolerance : Tolerance
    interval : float
        Time between marks [s].
    sources : (ndarray, ndarray) or None
        Water [kg/(m3 s)] and heat [W/m3] put into every cell, as (marks, cells), linear between marks.

    Returns
    -------
    Trace

    Raises
    ------
    RuntimeError
        If the ODE solver gives up.
    """
    problem = _Problem(wall, outside, inside, constants)
    n = problem.width.size
    y = np.zeros(2 * n + 2)
    y[1:-1:2], y[2:-1:2] = temperature, np.log(-np.log(humidity))
    atol = np.full(y.size, tolerance.entered)
    atol[1:-1:2], atol[2:-1:2] = tolerance.temperature, tolerance.humidity
    options: dict[str, Any] = {"method": tolerance.method, "rtol": tolerance.relative, "atol": atol}
    if tolerance.method == "LSODA":
        options |= {"lband": 3, "uband": 3}
    else:
        band = np.abs(np.subtract.outer(np.arange(y.size), np.arange(y.size))) <= 3
        options["jac_sparsity"] = band.astype(int)
    rows, count = [y], 0
    columns = (outside.columns, inside.columns)
    for k in range(columns[0].shape[0] - 1):
        ends = np.stack([[c[k], c[k + 1]] for c in columns])
        both = None if sources is None else np.stack([[s[k], s[k + 1]] for s in sources])

        def rhs(t: float, y: Array, ends: Array = ends, both: Array | None = both) -> Array:
            a = t / interval
            source = None if both is None else (1 - a) * both[:, 0] + a * both[:, 1]
            return problem.rhs(y, (1 - a) * ends[:, 0] + a * ends[:, 1], source)

        result = solve_ivp(rhs, (0.0, interval), y, **options)
        if not result.success:
            raise RuntimeError(f"the ODE solver stopped in interval {k}: {result.message}")
        y = result.y[:, -1]
        count += result.nfev
        rows.append(y)
    states = np.stack(rows)
    T, u = states[:, 1:-1:2], states[:, 2:-1:2]
    w = np.empty_like(T)
    for layer, span in zip(wall.layers, problem.spans, strict=True):
        z = u[:, span] + layer.material.kappa * np.log(T[:, span] / T_REF)
        w[:, span] = layer.material.table(z)[..., 0]
    return Trace(T, np.exp(-np.exp(u)), w, problem.width, states[:, [0, -1]], count)
