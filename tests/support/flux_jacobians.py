"""Derivatives of the kernel's fluxes against central differences, on drawn states; run with NUMBA_DISABLE_JIT=1.

Without the compiler every kernel function is plain Python: each can be called alone, and the tolerance of the faces can
be set. Prints, for every flux function, the median and the worst relative error of its derivatives with faces solved
tightly, and how far the flux is off where a face is left at its usual tolerance, as one line of JSON.

    NUMBA_DISABLE_JIT=1 python tests/support/flux_jacobians.py SEED DRAWS
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace

import numpy as np
from drydown import Assembly, Case, Chamber, Layer
from drydown.kernel import air, elimination, faces, film, fluxes, surfaces
from drydown.kernel import columns as at
from drydown.kernel.cell import cell_at
from drydown.kernel.faces import FACE_COLUMNS, Half
from drydown.kernel.layout import AIR, BETA, EMISSIVITY, H_CONV, P_AIR, RADIATION, RAIN, SIDE_COLUMNS, SURFACE, T_AIR
from drydown.lowering.problem import lower
from drydown.plugins import film as film_named
from drydown.plugins import material

#: Of the same kind as the first, its pore water freezing and conducting three times as well then.
FREEZING = 3.0
MATERIALS = ("clay brick", "lime plaster", "OSB", "mineral wool", "gypsum board", "aerated concrete", "EPS", "spruce")
STEP_U, STEP_T = 1e-5, 1e-4
TIGHT = 1e-13


def walls(names):
    """Return wall and tables of every pair of materials, with a film on the face and without."""
    out = []
    made = [material(name) for name in names]
    made.append(replace(made[0], name="freezing", freezing=True, frozen_conductivity=FREEZING))
    for k, a in enumerate(made):
        b = made[(k + 3) % len(made)]
        for sheet in (False, True):
            first = Layer(a, 0.02, name="first", cells=2)
            parts = (first, film_named("polyamide film 0.05 mm"), Layer(b, 0.02, name="second", cells=2))
            assembly = Assembly(parts if sheet else (parts[0], parts[2]))
            start = np.datetime64("2021-01-01T00:00:00")
            chamber = Chamber(290.0, 0.5, surface=False)
            p = lower(Case(assembly, chamber, chamber, start, start + np.timedelta64(2, "h")))
            out.append((p.wall, p.sampled.tables))
    return out


def differences(f, x, analytic):
    """Return relative errors of analytic[output][input] of f(x) -> outputs; those that are nearly zero are left out."""
    steps = np.array([STEP_U, STEP_T] * (len(x) // 2))
    found = np.empty_like(analytic)
    for j, h in enumerate(steps):
        up, down = np.array(x), np.array(x)
        up[j] += h
        down[j] -= h
        found[:, j] = (np.array(f(up)) - np.array(f(down))) / (2.0 * h)
    size = np.max(np.abs(found) * steps, axis=1, keepdims=True)
    seen = np.abs(found) * steps > 1e-3 * size
    return (np.abs(analytic - found) / np.maximum(np.abs(found), 1e-300))[seen]


def of_flux(x):
    """Return total moisture and enthalpy of a Flux with their derivatives."""
    g = np.array(x.vapour) + np.array(x.liquid)
    return np.array([g[0], x.heat[0]]), np.array([g[1:], x.heat[1:]])


def state(rng):
    """Draw u and T: 10 to 99.9 % relative humidity, -15 to 45 degC."""
    phi = rng.choice([rng.uniform(0.1, 0.95), 1.0 - 10.0 ** rng.uniform(-3.0, -1.3)])
    return float(np.log(-np.log(phi))), float(rng.uniform(258.0, 318.0))


def near(rng, s):
    """Draw a state not far from another."""
    return s[0] + float(rng.normal(0.0, 0.2)), s[1] + float(rng.normal(0.0, 2.0))


def side(rng):
    """Draw the forcing of a side with some rain."""
    out = np.zeros(SIDE_COLUMNS)
    out[T_AIR] = rng.uniform(260.0, 310.0)
    out[P_AIR] = rng.uniform(200.0, 1500.0)
    out[H_CONV], out[BETA] = rng.uniform(3.0, 25.0), rng.uniform(1e-8, 2e-7)
    out[RADIATION] = rng.uniform(200.0, 700.0)
    out[EMISSIVITY] = 0.9
    out[RAIN] = rng.choice([0.0, 1e-5])
    return out


def interior(wall, tables, rng):
    """Two states of one material."""
    a = state(rng)
    x = (*a, *near(rng, a))

    def f(x):
        return fluxes.interior_flux(wall, 0, cell_at(tables, wall, 0, *x[:2]), cell_at(tables, wall, 0, *x[2:]), 0.01)

    return x, lambda x: of_flux(f(x))


def interface(wall, tables, rng):
    """Two half cells of different materials, or with a film between."""
    a = state(rng)
    x = (*a, *near(rng, a))
    ha, hb = 10.0 ** rng.uniform(-4.0, -2.3, 2)

    def f(x):
        left = Half(wall.material[1], cell_at(tables, wall, wall.material[1], *x[:2]), ha)
        right = Half(wall.material[2], cell_at(tables, wall, wall.material[2], *x[2:]), hb)
        return faces.interface_flux(tables, wall, wall.film[2], left, right, np.zeros(FACE_COLUMNS))

    return x, lambda x: of_flux(f(x))


def surface(wall, tables, rng, kind=AIR):
    """A cell and its surroundings."""
    s, h = side(rng), 10.0 ** rng.uniform(-4.5, -2.3)
    where = surfaces.Surface(-1, kind, 1)

    def f(x):
        half = Half(0, cell_at(tables, wall, 0, *x), h)
        values, slopes = of_flux(surfaces.surface_flux(tables, wall, where, half, s, np.zeros(FACE_COLUMNS)))
        return values, slopes[:, 2:]

    return state(rng), f


def imposed(wall, tables, rng):
    """A cell and an imposed state of the surface."""
    return surface(wall, tables, rng, SURFACE)


def through_film(wall, tables, rng):
    """Vapour through a film between two resistances: by both pressures; both resistances."""
    ends = np.array([rng.uniform(300, 2000), rng.uniform(1e8, 1e10), rng.uniform(300, 2000), rng.uniform(1e8, 1e10)])
    ts = rng.uniform(265.0, 310.0)
    scale = np.array([1.0, 1e6, 1.0, 1e6])

    def f(x):
        y = film.series(tables, wall, wall.film[2], 1, film.Ends(*(ends + scale * x)), ts)
        return np.array([y.g]), np.array([[y.by_pl, y.by_rl, y.by_pr, y.by_rr]]) * scale

    return np.zeros(4), f


def by_air(wall, tables, rng):
    """What an air flow carries between two ends, and what it brings to a cell."""
    loads = LOADS
    a, sides = state(rng), (side(rng), side(rng))
    x = (*a, *near(rng, a))
    g = rng.uniform(-1e-3, 1e-3)
    ex = air.Exchange(*rng.uniform(1e-4, 1e-3, 3), *rng.uniform(1e-5, 1e-4, 1), rng.uniform(0.0, 1e-6))

    def f(x):
        left, right = cell_at(tables, wall, 0, *x[:2]), cell_at(tables, wall, 0, *x[2:])
        y = air.convected(wall, loads, g, 1e8, 0.1, air._end(left), air._end(right))
        e = air.exchanged(wall, loads, ex, sides, left)
        pu, pt = left.phi_u * left.ps, left.phi * left.ps_t
        gains = [[e.g_p * pu, e.g_p * pt + e.g_t, 0.0, 0.0], [e.q_p * pu, e.q_p * pt + e.q_t, 0.0, 0.0]]
        return np.array([y.vapour[0], y.heat[0], e.g, e.q]), np.array([y.vapour[1:], y.heat[1:], *gains])

    return x, f


class LOADS:
    """The constants of the air (see `layout.Loads`)."""

    ratio, c_air, density = 0.622 / 101325.0, 1006.0, 353.0


FUNCTIONS = {f.__name__: f for f in (interior, interface, surface, imposed, through_film, by_air)}


def elimination_is_off(rng, n):
    """Return how far corrections by factors, and by the same factors used again, are from a dense solution."""
    rows, a = np.zeros((n // at.BLOCK + 1) * at.SIZE), 500.0
    blocks = np.zeros((n, 2, n, 2))
    for i in range(n + 1):
        o = at.offset(i)
        for c in (at.G_UL, at.G_TL, at.G_UR, at.G_TR, at.Q_UL, at.Q_TL, at.Q_UR, at.Q_TR):
            rows[o + c] = rng.normal(0.0, 1e-4)
        for c in (at.WATER_U, at.HEAT_T):
            rows[o + c] = rng.uniform(1.0, 2.0)
        left = rows[[o + at.G_UL, o + at.G_TL, o + at.Q_UL, o + at.Q_TL]].reshape(2, 2)
        right = rows[[o + at.G_UR, o + at.G_TR, o + at.Q_UR, o + at.Q_TR]].reshape(2, 2)
        if i < n:
            blocks[i, :, i] += np.diag(rows[[o + at.WATER_U, o + at.HEAT_T]]) - a * right
        if i > 0:
            blocks[i - 1, :, i - 1] += a * left
        if 0 < i < n:
            blocks[i, :, i - 1] -= a * left
            blocks[i - 1, :, i] += a * right
    off = []
    for again in (False, True):
        given = rng.normal(size=(n, 2))
        for i in range(n):
            rows[at.offset(i) + at.R_W], rows[at.offset(i) + at.R_H] = given[i]
        elimination.factor(rows, n, a, False, again)
        du, dt = np.zeros(n), np.zeros(n)
        elimination.substitute(rows, du, dt)
        exact = np.linalg.solve(blocks.reshape(2 * n, 2 * n), given.ravel()).reshape(n, 2)
        off.append(float(np.max(np.abs(np.stack([du, dt], axis=1) - exact)) / np.max(np.abs(exact))))
    return max(off)


def measure(seed, draws):
    """Return for every function: median and worst error of derivatives, and what the usual tolerance leaves."""
    rng = np.random.default_rng(seed)
    usual = faces.CLOSE
    made = walls(MATERIALS)
    out = {}
    for name, draw in FUNCTIONS.items():
        errors, off = [], []
        for _ in range(draws):
            for wall, tables in made:
                if name == "through_film" and wall.film[2] < 0:
                    continue
                x, f = draw(wall, tables, rng)
                faces.CLOSE = TIGHT
                tight, slopes = f(x)
                errors.extend(differences(lambda x, f=f: f(x)[0], x, slopes))
                faces.CLOSE = usual
                off.append(abs(f(x)[0][0] - tight[0]) / max(abs(tight[0]), 1e-12))
        out[name] = {
            "median": float(np.median(errors)),
            "ninth": float(np.quantile(errors, 0.9)),
            "worst": float(np.max(errors)),
            "off_median": float(np.median(off)),
            "off_99": float(np.quantile(off, 0.99)),
            "off_worst": float(np.max(off)),
        }
    out["elimination"] = {"off": elimination_is_off(rng, 150)}
    return out


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]), int(sys.argv[2]))))
