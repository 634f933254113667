"""The coupled equations of a layered wall by the method of lines, for a general-purpose ODE solver.

    dw/dt = -dg/dx + s_w,   dH/dt = -dq/dx + s_h,   H = (rho c + c_w w) theta,   theta = T - 273.15
    g = g_v + g_l,  g_v = -delta(phi, T) dp_v/dx,  g_l = K dp_c/dx,  p_c = -rho_w R_v T ln phi
    q = -lambda dT/dx + (L0 + c_v theta) g_v + c_w theta g_l

Finite volumes on given cells, unknowns T and u = ln(-ln phi) in each; storage is inverted cell by cell,

    dT/dt = (H' - c_w theta w') / (rho c + c_w w),   du/dt = w'/(dw/dz) - kappa T'/T.

Two more unknowns add up the water that entered through both surfaces. The system is handed to
`scipy.integrate.solve_ivp` and restarted at every hour mark, where the forcing has a kink.

At every face between two materials, at a film and at a surface stands a face state: its temperature from heat
conduction alone, its humidity from the balance of moisture (`junctions`). Only a plain vapour resistance, a
material without liquid transport and with a constant permeability, has none and is put in series.
This code was written from the equations and shares nothing with the engine.
Equations: EN 15026:2007 section 4 [V by quotation], extended by the sensible heat the water carries.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from .junctions import (
    HalfCell,
    Passage,
    State,
    film_flux,
    leave,
    meet,
    meet_at_film,
    pick,
    rained_on,
    state,
    within,
)
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
    """State at the marks.

    Temperature [K], humidity [-], water [kg/m3] as (marks, cells); width [m] of the cells; entered [kg/m2] as (marks,
    2): water gone in through the outer and the inner surface.
    """

    temperature: Array
    humidity: Array
    water: Array
    width: Array
    entered: Array
    evaluations: int


class _Cells(NamedTuple):
    """Cell properties of one layer at one instant: storage, heat conduction, and what the flux law reads."""

    w: Array
    slope: Array
    lam: Array
    state: State


class _End(NamedTuple):
    """A cell at a face: material, half its width [m], conductivity [W/(m K)], state in floats."""

    m: Material
    half: float
    lam: float
    state: State

    @property
    def conductance(self) -> float:
        """From the centre to the face [W/(m2 K)]."""
        return self.lam / self.half

    @property
    def resistance(self) -> float:
        """Vapour resistance of a plain half cell [m2 s Pa/kg]."""
        return float(self.half / (self.state.perm * self.state.factor))

    @property
    def pressure(self) -> float:
        """Vapour pressure in the cell [Pa]."""
        return float(self.state.phi * self.state.psat)


class _Problem:
    """The right-hand side; holds what does not change during a run, and the last face states as first guesses."""

    def __init__(self, wall: Wall, outside: Side, inside: Side, constants: Constants) -> None:
        self.wall, self.sides, self.c = wall, (outside, inside), constants
        self.width = np.concatenate([np.asarray(layer.widths, dtype=float) for layer in wall.layers])
        ends = np.cumsum([0, *(len(layer.widths) for layer in wall.layers)])
        self.spans = [slice(a, b) for a, b in pairwise(ends)]
        self.air_ref = float(constants.air_permeability(T_REF))
        self.r_w = constants.rho_water * constants.r_vapour
        self.guess: dict[tuple[int, int], float] = {}

    def cells(self, layer: Layer, T: Array, u: Array) -> _Cells:
        m = layer.material
        z = u + m.kappa * np.log(T / T_REF)
        columns = m.table(z)
        psat = self.c.saturation_pressure(T)
        s = state(m, T, u, columns, self._factor(m, T), psat, self.r_w)
        return _Cells(columns[..., 0], m.capacity(z), m.conductivity(columns[..., 0], T) + 0.0 * T, s)

    def _factor(self, m: Material, T: Any) -> Any:
        if m.permeability_factor is None:
            return self.c.air_permeability(T) / self.air_ref
        return m.permeability_factor(T) + 0.0 * T

    def carried(self, T_a: Any, T_b: Any, g_v: Any, g_l: Any) -> Any:
        """Enthalpy [W/m2] that moisture takes along between places at T_a and T_b."""
        c, theta = self.c, (T_a + T_b) / 2 - ZERO_CELSIUS
        return (c.latent_heat + c.c_vapour * theta) * g_v + c.c_water * theta * g_l

    def half_cell(self, end: _End, T_s: float) -> HalfCell:
        psat, factor = float(self.c.saturation_pressure(T_s)), float(self._factor(end.m, T_s))
        return HalfCell(end.m, end.state, end.half, T_s, factor, psat, self.r_w)

    def fluxes(self, T: Array, u: Array, forcing: Array) -> tuple[Array, Array, Array, Array]:
        """Moisture and heat flux at all faces, and w and dw/dz of all cells."""
        n = T.size
        g, q, w, slope = np.empty(n + 1), np.empty(n + 1), np.empty(n), np.empty(n)
        ends = []
        for layer, span in zip(self.wall.layers, self.spans, strict=True):
            c = self.cells(layer, T[span], u[span])
            w[span], slope[span] = c.w, c.slope
            a = State(*(x[:-1] for x in c.state))
            b = State(*(x[1:] for x in c.state))
            dx, m = self.width[span], layer.material
            d = (dx[:-1] + dx[1:]) / 2
            g_v, g_l = within(m, a, b, d)
            inner = slice(span.start + 1, span.stop)
            g[inner] = g_v + g_l
            q[inner] = (c.lam[:-1] + c.lam[1:]) / 2 * (a.T - b.T) / d + self.carried(a.T, b.T, g_v, g_l)
            ends.append([_End(m, float(dx[i]) / 2, c.lam.item(i), pick(c.state, i)) for i in (0, -1)])
        for i in range(1, len(ends)):
            face = self.spans[i].start
            g[face], q[face] = self.junction(i, ends[i - 1][1], ends[i][0])
        g[0], q[0] = self.boundary(0, ends[0][0], forcing[0])
        g_in, q_in = self.boundary(1, ends[-1][1], forcing[1])
        g[n], q[n] = -g_in, -q_in
        return g, q, w, slope

    def junction(self, i: int, a: _End, b: _End) -> tuple[float, float]:
        """Fluxes between layer i-1 and layer i, through a film if one lies there."""
        ka, kb = a.conductance, b.conductance
        T_a, T_b = a.state.T, b.state.T
        g_v, g_l = self.crossing(i, a, b, (ka * T_a + kb * T_b) / (ka + kb))
        return g_v + g_l, (T_a - T_b) * ka * kb / (ka + kb) + self.carried(T_a, T_b, g_v, g_l)

    def crossing(self, i: int, a: _End, b: _End, T_s: float) -> tuple[float, float]:
        """Vapour and liquid flux between two layers, from a to b."""
        film, reading = self.wall.films.get(i), self.c.film_reading
        guess = [self.guess.get((i, k), (a.state.u + b.state.u) / 2) for k in (0, 1)]
        if a.m.resolved and b.m.resolved:
            left, right = self.half_cell(a, T_s), self.half_cell(b, T_s)
            if film is None:
                g_v, g_l, self.guess[i, 0] = meet(left, right, guess[0])
                return g_v, g_l
            g_v, self.guess[i, 0], self.guess[i, 1] = meet_at_film(left, right, film, reading, (guess[0], guess[1]))
            return g_v, 0.0
        if a.m.resolved:
            g_v = self.leave(i, a, T_s, Passage(film, b.resistance, b.pressure, 1))
        elif b.m.resolved:
            g_v = -self.leave(i, b, T_s, Passage(film, a.resistance, a.pressure, -1))
        else:
            g_v = self.through(film, a.pressure, b.pressure, a.resistance, b.resistance, T_s, 1)
        return g_v, 0.0

    def leave(self, i: int, end: _End, T_s: float, other: Passage) -> float:
        """Flux out of a resolved half cell."""
        guess = self.guess.get((i, 0), end.state.u)
        g, self.guess[i, 0] = leave(self.half_cell(end, T_s), other, self.c.film_reading, guess)
        return g

    def through(self, film: Film | None, pa: float, pb: float, ra: float, rb: float, T: float, way: int) -> float:
        """Vapour flux from a to b between plain resistances."""
        if film is None:
            return (pa - pb) / (ra + rb)
        psat = float(self.c.saturation_pressure(T))
        return film_flux(film, pa, pb, ra, rb, psat, T, self.c.film_reading, outside_first=way > 0)

    def boundary(self, k: int, end: _End, forcing: Array) -> tuple[float, float]:
        """Fluxes INTO the wall through its outer (k = 0) or inner (k = 1) surface."""
        side, i, cell = self.sides[k], (0 if k == 0 else len(self.wall.layers)), end.state
        film = self.wall.films.get(i)
        t_air, p_air, conv, beta, radiation, rain = forcing.tolist()
        if side.kind == "surface":
            t_s, r_air = t_air, 0.0
            if film is None:
                g_v, g_l = self._imposed(end, t_s, p_air)
                q = end.conductance * (t_s - cell.T)
                return g_v + g_l, q + self.carried(t_s, cell.T, g_v, g_l)
        else:
            radiative = side.emissivity * STEFAN_BOLTZMANN * cell.T**3
            into = end.conductance
            # emitted: eps sigma (T_c^4 + 4 T_c^3 (T_s - T_c)), linear about the cell
            t_s = conv * t_air + radiation + 3 * radiative * cell.T + into * cell.T
            t_s /= conv + 4 * radiative + into
            r_air = 1.0 / beta if beta > 0.0 else np.inf
        q = end.conductance * (t_s - cell.T)
        if side.kind == "sealed" or not np.isfinite(r_air):
            return 0.0, q
        g_l = 0.0
        if k == 0 and film is None and end.m.conducts:
            guess = self.guess.get((i, 0), cell.u)
            g_v, g_l, self.guess[i, 0] = rained_on(self.half_cell(end, t_s), r_air, p_air, rain, guess)
        elif end.m.resolved:
            g_v = -self.leave(i, end, t_s, Passage(film, r_air, p_air, -1 if k == 0 else 1))
        else:
            way = 1 if k == 0 else -1
            g_v = self.through(film, p_air, end.pressure, r_air, end.resistance, t_s, way)
        return g_v + g_l, q + self.carried(t_air, cell.T, g_v, g_l)

    def _imposed(self, end: _End, t_s: float, p_s: float) -> tuple[float, float]:
        """The state of the surface itself is given: the flux law of the material over half a cell."""
        face = self.half_cell(end, t_s)
        g_v, g_l = face.out(float(np.log(-np.log(p_s / face.psat))))
        return -g_v, -g_l

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
        Forcing at n marks, linear between them; rain constant over the interval that ends at a mark.
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
            now = (1 - a) * ends[:, 0] + a * ends[:, 1]
            now[:, -1] = ends[:, 1, -1]
            return problem.rhs(y, now, source)

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
