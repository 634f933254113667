"""One linearised sweep: assemble the 2x2 block tridiagonal system of a wall and eliminate it in the same pass."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .air import exchanged, through, through_surface
from .cell import cell_at
from .faces import boundary, joint
from .fluxes import bulk
from .ice import ice_enthalpy
from .jit import compiled
from .layout import FLOWS, F


class Work(NamedTuple):
    """Scratch arrays of one wall."""

    e: F  # [cell, 4] eliminated upper blocks
    f: F  # [cell, 2] eliminated right-hand sides
    store: F  # [cell, 13] storage, vapour pressure and their derivatives
    du: F
    dt: F
    faces: F  # [watched face, 20]
    guess: F  # [cell + 1, 2] u of both sides of a resolved face less that of its cell, from the last sweep
    flow: F  # [watched face, FLOWS] flux of the last linearised sweep
    face_air: F  # [cell + 1] air through the face, positive inward, kg/(m2 s)
    lose: F  # [cell] air that leaves to a side, kg/(m2 s)
    gain_out: F  # [cell] air that comes from outside
    gain_in: F  # [cell] from inside
    meet: F  # [cell] indoor air that meets the cell, m3/(m2 s)
    meet_c: F  # [cell] the vapour in it, kg/(m2 s)
    gap_rate: F  # [gap] air exchanged, kg/(m3 s)
    stream_rate: F  # [stream] kg/(m2 s)
    meet_rate: F  # [deposit] m3/(m2 s)
    meet_brought: F  # [deposit] kg/m3
    load: F  # [load, 2] water and enthalpy that loads bring in the last linearised sweep


@compiled()
def make_work(n, watched, gaps, streams, deposits):
    """Return scratch arrays."""
    return Work(
        np.zeros((n, 4)),
        np.zeros((n, 2)),
        np.zeros((n, 13)),
        np.zeros(n),
        np.zeros(n),
        np.zeros((watched, 20)),
        np.zeros((n + 1, 2)),
        np.zeros((watched, FLOWS)),
        np.zeros(n + 1),
        np.zeros(n),
        np.zeros(n),
        np.zeros(n),
        np.zeros(n),
        np.zeros(n),
        np.zeros(gaps),
        np.zeros(streams),
        np.zeros(deposits),
        np.zeros(deposits),
        np.zeros((gaps + streams + deposits, 2)),
    )


@compiled(_nrt=False, forceinline=True)
def _keep_face(faces, k, x):
    faces[k, 0] = x.v
    faces[k, 1] = x.v_ul
    faces[k, 2] = x.v_tl
    faces[k, 3] = x.v_ur
    faces[k, 4] = x.v_tr
    faces[k, 5] = x.l
    faces[k, 6] = x.l_ul
    faces[k, 7] = x.l_tl
    faces[k, 8] = x.l_ur
    faces[k, 9] = x.l_tr
    faces[k, 10] = x.q
    faces[k, 11] = x.q_ul
    faces[k, 12] = x.q_tl
    faces[k, 13] = x.q_ur
    faces[k, 14] = x.q_tr
    for j in range(15, 20):
        faces[k, j] = 0.0


@compiled(_nrt=False)
def _keep_air(faces, k, sign, g, g_ul, g_tl, g_ur, g_tr, q, q_ul, q_tl, q_ur, q_tr):
    faces[k, 10] += sign * q
    faces[k, 11] += sign * q_ul
    faces[k, 12] += sign * q_tl
    faces[k, 13] += sign * q_ur
    faces[k, 14] += sign * q_tr
    faces[k, 15] = sign * g
    faces[k, 16] = sign * g_ul
    faces[k, 17] = sign * g_tl
    faces[k, 18] = sign * g_ur
    faces[k, 19] = sign * g_tr


@compiled(_nrt=False)
def sweep(wall, tables, loads, work, u, t, water, heat, a, out, inn, src_w, src_h):
    """Assemble and solve one linearised system; the corrections are in work.du, work.dt.

    water, heat : y* [kg/m2, J/m2]; a : gamma h [s]; out, inn : forcing of the sides at the stage's time;
    src_w [kg/(m3 s)], src_h [W/m3] : sources per cell.
    """
    n = u.shape[0]
    e = work.e
    f = work.f
    store = work.store
    m = wall.material[0]
    c = cell_at(tables, wall, m, u[0], t[0])
    x = boundary(tables, wall, m, wall.film[0], wall.kind_out, wall.eps_out, 1, c, wall.dx[0], out, work.guess[0])
    if wall.watch[0] >= 0:
        _keep_face(work.faces, wall.watch[0], x)
    # flux entering the cell from the left and its derivatives
    g = x.v + x.l
    g_ul = 0.0
    g_tl = 0.0
    g_ur = x.v_ur + x.l_ur
    g_tr = x.v_tr + x.l_tr
    q = x.q
    q_ul = 0.0
    q_tl = 0.0
    q_ur = x.q_ur
    q_tr = x.q_tr
    moving = loads.active == 1
    if moving and work.face_air[0] != 0.0:
        ag, ag_ur, ag_tr, aq, aq_ur, aq_tr = through_surface(
            wall, loads, work.face_air[0], wall.film[0], wall.kind_out, out, c, 0.5 * wall.dx[0]
        )
        _keep_air(work.faces, wall.watch[0], 1.0, ag, 0.0, 0.0, ag_ur, ag_tr, aq, 0.0, 0.0, aq_ur, aq_tr)
        g += ag
        g_ur += ag_ur
        g_tr += ag_tr
        q += aq
        q_ur += aq_ur
        q_tr += aq_tr
    for i in range(n):
        dx = wall.dx[i]
        last = i == n - 1
        if last:
            b = c
            mb = m
            y = boundary(tables, wall, m, wall.film[n], wall.kind_in, wall.eps_in, 0, c, dx, inn, work.guess[n])
            # leaving flux is minus what comes in
            k_g = -(y.v + y.l)
            k_g_ul = -(y.v_ur + y.l_ur)
            k_g_tl = -(y.v_tr + y.l_tr)
            k_g_ur = 0.0
            k_g_tr = 0.0
            k_q = -y.q
            k_q_ul = -y.q_ur
            k_q_tl = -y.q_tr
            k_q_ur = 0.0
            k_q_tr = 0.0
            if wall.watch[n] >= 0:
                _keep_face(work.faces, wall.watch[n], y)
            if moving and work.face_air[n] != 0.0:
                # as the other surface: into the wall is positive
                ag, ag_ur, ag_tr, aq, aq_ur, aq_tr = through_surface(
                    wall, loads, -work.face_air[n], wall.film[n], wall.kind_in, inn, c, 0.5 * dx
                )
                _keep_air(work.faces, wall.watch[n], 1.0, ag, 0.0, 0.0, ag_ur, ag_tr, aq, 0.0, 0.0, aq_ur, aq_tr)
                k_g -= ag
                k_g_ul -= ag_ur
                k_g_tl -= ag_tr
                k_q -= aq
                k_q_ul -= aq_ur
                k_q_tl -= aq_tr
        else:
            mb = wall.material[i + 1]
            b = cell_at(tables, wall, mb, u[i + 1], t[i + 1])
            if mb == m and wall.film[i + 1] < 0:
                y = bulk(wall, m, c, b, 0.5 * (dx + wall.dx[i + 1]))
            else:
                y = joint(tables, wall, m, mb, wall.film[i + 1], c, b, dx, wall.dx[i + 1], work.guess[i + 1])
            k_g = y.v + y.l
            k_g_ul = y.v_ul + y.l_ul
            k_g_tl = y.v_tl + y.l_tl
            k_g_ur = y.v_ur + y.l_ur
            k_g_tr = y.v_tr + y.l_tr
            k_q = y.q
            k_q_ul = y.q_ul
            k_q_tl = y.q_tl
            k_q_ur = y.q_ur
            k_q_tr = y.q_tr
            if wall.watch[i + 1] >= 0:
                _keep_face(work.faces, wall.watch[i + 1], y)
            if moving and work.face_air[i + 1] != 0.0:
                ag, ag_ul, ag_tl, ag_ur, ag_tr, aq, aq_ul, aq_tl, aq_ur, aq_tr = through(
                    wall, loads, work.face_air[i + 1], wall.film[i + 1], c, b, 0.5 * dx, 0.5 * wall.dx[i + 1]
                )
                if wall.watch[i + 1] >= 0:
                    _keep_air(
                        work.faces, wall.watch[i + 1], 1.0, ag, ag_ul, ag_tl, ag_ur, ag_tr,
                        aq, aq_ul, aq_tl, aq_ur, aq_tr,
                    )  # fmt: skip
                k_g += ag
                k_g_ul += ag_ul
                k_g_tl += ag_tl
                k_g_ur += ag_ur
                k_g_tr += ag_tr
                k_q += aq
                k_q_ul += aq_ul
                k_q_tl += aq_tl
                k_q_ur += aq_ur
                k_q_tr += aq_tr
        # storage
        theta = t[i] - 273.15
        rc = wall.heat[m]
        w = dx * c.w
        w_u = dx * c.w_z
        w_t = w_u * wall.kappa[m] / t[i]
        cap = rc + wall.c_water * c.w
        h = dx * cap * theta
        h_u = wall.c_water * theta * w_u
        h_t = dx * cap + wall.c_water * theta * w_t
        if c.ice > 0.0:
            less, less_t = ice_enthalpy(wall, t[i])
            h -= dx * c.ice * less
            h_u -= dx * c.ice_u * less
            h_t -= dx * (c.ice_t * less + c.ice * less_t)
        store[i, 0] = w
        store[i, 1] = w_u
        store[i, 2] = w_t
        store[i, 3] = h
        store[i, 4] = h_u
        store[i, 5] = h_t
        store[i, 6] = c.phi_u
        store[i, 7] = c.w
        add_w = dx * src_w[i]
        add_h = dx * src_h[i]
        add_w_u = 0.0
        add_w_t = 0.0
        add_h_u = 0.0
        add_h_t = 0.0
        if moving:
            store[i, 8] = c.phi * c.ps
            store[i, 9] = c.phi_u * c.ps
            store[i, 10] = c.phi * c.ps_t
            store[i, 11] = c.ps
            store[i, 12] = c.ps_t
            if work.lose[i] > 0.0 or work.gain_out[i] > 0.0 or work.meet[i] > 0.0:
                ag, aq, ag_p, ag_t, aq_p, aq_t = exchanged(
                    wall, loads, work.lose[i], work.gain_out[i], work.gain_in[i], work.meet[i], work.meet_c[i],
                    out, inn, store[i, 8], t[i], c.ps, c.ps_t,
                )  # fmt: skip
                add_w += ag
                add_h += aq
                add_w_u = ag_p * store[i, 9]
                add_w_t = ag_p * store[i, 10] + ag_t
                add_h_u = aq_p * store[i, 9]
                add_h_t = aq_p * store[i, 10] + aq_t
        r0 = w - water[i] - a * (g - k_g + add_w)
        r1 = h - heat[i] - a * (q - k_q + add_h)
        b00 = w_u - a * (g_ur - k_g_ul + add_w_u)
        b01 = w_t - a * (g_tr - k_g_tl + add_w_t)
        b10 = h_u - a * (q_ur - k_q_ul + add_h_u)
        b11 = h_t - a * (q_tr - k_q_tl + add_h_t)
        s0 = -r0
        s1 = -r1
        if i > 0:
            a00 = -a * g_ul
            a01 = -a * g_tl
            a10 = -a * q_ul
            a11 = -a * q_tl
            e00 = e[i - 1, 0]
            e01 = e[i - 1, 1]
            e10 = e[i - 1, 2]
            e11 = e[i - 1, 3]
            b00 -= a00 * e00 + a01 * e10
            b01 -= a00 * e01 + a01 * e11
            b10 -= a10 * e00 + a11 * e10
            b11 -= a10 * e01 + a11 * e11
            s0 -= a00 * f[i - 1, 0] + a01 * f[i - 1, 1]
            s1 -= a10 * f[i - 1, 0] + a11 * f[i - 1, 1]
        det = 1.0 / (b00 * b11 - b01 * b10)
        c00 = a * k_g_ur
        c01 = a * k_g_tr
        c10 = a * k_q_ur
        c11 = a * k_q_tr
        e[i, 0] = det * (b11 * c00 - b01 * c10)
        e[i, 1] = det * (b11 * c01 - b01 * c11)
        e[i, 2] = det * (b00 * c10 - b10 * c00)
        e[i, 3] = det * (b00 * c11 - b10 * c01)
        f[i, 0] = det * (b11 * s0 - b01 * s1)
        f[i, 1] = det * (b00 * s1 - b10 * s0)
        c = b
        m = mb
        g = k_g
        g_ul = k_g_ul
        g_tl = k_g_tl
        g_ur = k_g_ur
        g_tr = k_g_tr
        q = k_q
        q_ul = k_q_ul
        q_tl = k_q_tl
        q_ur = k_q_ur
        q_tr = k_q_tr
    work.du[n - 1] = f[n - 1, 0]
    work.dt[n - 1] = f[n - 1, 1]
    for i in range(n - 2, -1, -1):
        work.du[i] = f[i, 0] - e[i, 0] * work.du[i + 1] - e[i, 1] * work.dt[i + 1]
        work.dt[i] = f[i, 1] - e[i, 2] * work.du[i + 1] - e[i, 3] * work.dt[i + 1]


@compiled(_nrt=False)
def linear_flow(wall, work):
    """Write the flux of the last linearised sweep through every watched face to work.flow."""
    n = wall.dx.shape[0]
    for i in range(n + 1):
        k = wall.watch[i]
        if k < 0:
            continue
        x = work.faces[k]
        if i == 0:
            ul = 0.0
            tl = 0.0
            ur = work.du[0]
            tr = work.dt[0]
        elif i == n:
            ul = 0.0
            tl = 0.0
            ur = work.du[n - 1]
            tr = work.dt[n - 1]
        else:
            ul = work.du[i - 1]
            tl = work.dt[i - 1]
            ur = work.du[i]
            tr = work.dt[i]
        sign = -1.0 if i == n else 1.0
        for j in range(FLOWS):
            o = 5 * j
            work.flow[k, j] = sign * (x[o] + x[o + 1] * ul + x[o + 2] * tl + x[o + 3] * ur + x[o + 4] * tr)
