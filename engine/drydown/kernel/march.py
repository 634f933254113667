"""From mark to mark: two-stage SDIRK of order 2, error control, and the record.

The method (L-stable, stiffly accurate, gamma = 1 - 1/sqrt 2) in conserved form:
    y1 = y0 + gamma h F(y1),  y2 = y0 + (1 - gamma) h F(y1) + gamma h F(y2).
After two failures in a row one step of implicit Euler is taken, which keeps water positive.
The error indicator is the bend of the state over the step, y2 - y0 - (y1 - y0)/gamma, in relative humidity
and temperature: it falls with h^2, as the global error does.
"""

from __future__ import annotations

import math

import numpy as np

from .air import prepare
from .jit import compiled
from .layout import FLOWS, RAIN, SIDE_COLUMNS, WATER
from .step import stage
from .sweep import make_work

GAMMA = 1.0 - math.sqrt(0.5)
DONE, STEP_TOO_SMALL, OUT_OF_RANGE = 0, 1, 2


@compiled(_nrt=False)
def _force(side, k, x, out):
    """Write a side's forcing at fraction x between marks k and k + 1; rain is constant in between."""
    for j in range(SIDE_COLUMNS):
        out[j] = side[k, j] + x * (side[k + 1, j] - side[k, j])
    out[RAIN] = side[k + 1, RAIN]


@compiled(_nrt=False)
def _admit(wall, tables, forcing, k, water, step, admitted, taken):
    """Write the share of every source that each cell, and the whole place, has room for at the start of a step."""
    for s in range(forcing.share.shape[0]):
        rate = forcing.rate[k + 1, s]
        if forcing.limited[s] == 0 or rate <= 0.0:
            taken[s] = 1.0
            continue
        taken[s] = 0.0
        for i in range(wall.dx.shape[0]):
            part = wall.dx[i] * forcing.share[s, i]
            if part > 0.0:
                full = tables.material[tables.offset[wall.material[i]], WATER, 0]
                room = max(wall.dx[i] * full - water[i], 0.0)
                admitted[s, i] = min(1.0, room / (rate * part * step))
                taken[s] += part * admitted[s, i]


@compiled(_nrt=False)
def _sources(wall, forcing, k, x, t, admitted, src_w, src_h):
    """Write the sources of water and heat; water added to a cell arrives at the temperature of the cell."""
    n = wall.dx.shape[0]
    src_w[:] = 0.0
    src_h[:] = 0.0
    for s in range(forcing.share.shape[0]):
        rate = forcing.rate[k + 1, s]
        if rate != 0.0:
            for i in range(n):
                g = rate * forcing.share[s, i] * admitted[s, i]
                src_w[i] += g
                src_h[i] += g * wall.c_water * (t[i] - 273.15)
    if forcing.water_source.shape[0] > 0:
        for i in range(n):
            src_w[i] += (1.0 - x) * forcing.water_source[k, i] + x * forcing.water_source[k + 1, i]
            src_h[i] += (1.0 - x) * forcing.heat_source[k, i] + x * forcing.heat_source[k + 1, i]


@compiled()
def march(wall, tables, forcing, control, state, record, first, last, h):
    """Run from mark `first` to mark `last`; update state and record in place.

    The state at mark `first` is not recorded here, that at `last` is, where kept. Returns (status, mark reached,
    time reached, step in use, cell that failed). record.totals holds: greatest water closure of a step [kg/m2],
    greatest enthalpy closure of a step [J/m2], sum of water closures, greatest error indicator accepted, sum of
    squared indicators, smallest step [s].
    """
    n = state.u.shape[0]
    watched = state.flow.shape[0]
    nsrc = forcing.share.shape[0]
    loads = forcing.loads
    moving = loads.active == 1
    nload = state.load.shape[0]
    work = make_work(n, watched, loads.gap_lift.shape[0], loads.path.shape[0], loads.deposit_cells.shape[0])
    u = state.u
    t = state.temperature
    water = state.water
    heat = state.heat
    u1 = np.empty(n)
    t1 = np.empty(n)
    w1 = np.empty(n)
    q1 = np.empty(n)
    u2 = np.empty(n)
    t2 = np.empty(n)
    w2 = np.empty(n)
    q2 = np.empty(n)
    du = np.zeros(n)  # slope of the last step, for the guess
    dt = np.zeros(n)
    out = np.empty(SIDE_COLUMNS)
    inn = np.empty(SIDE_COLUMNS)
    src_w = np.zeros(n)
    src_h = np.zeros(n)
    busy = nsrc > 0 or forcing.water_source.shape[0] > 0
    flow = state.flow
    flow1 = np.zeros((watched, FLOWS))
    load1 = np.zeros((nload, 2))
    taken = np.ones(nsrc)
    admitted = np.ones((nsrc, n))
    added = state.added
    totals = record.totals
    counters = record.counters
    f_out = 0  # watched rows of the two surfaces
    f_in = watched - 1
    row = 0
    time = forcing.marks[first]
    failed = 0  # failures in a row
    settled = 0  # steps since the last jump
    for k in range(first, last):
        start = forcing.marks[k]
        length = forcing.marks[k + 1] - start
        if forcing.jump[k] == 1:
            settled = 0
            for i in range(n):
                du[i] = 0.0
                dt[i] = 0.0
            if control.fixed == 0:
                h = min(h, 600.0)
        time = start
        done = 0.0  # seconds into the interval
        while done < length:
            rest = length - done
            pieces = math.ceil(rest / min(h, control.max_step) - 1e-9)
            step = rest / max(pieces, 1)
            end = done + step
            if pieces <= 1:
                end = length
                step = length - done
            # what jumps moves far in one step: the first steps after it are solved more closely
            newton = min(control.newton, 1.0) if settled < 2 else control.newton
            # stage 1
            euler = failed > 1
            a = step if euler else GAMMA * step
            x = (done + a) / length
            _force(forcing.outside, k, x, out)
            _force(forcing.inside, k, x, inn)
            if busy:
                _admit(wall, tables, forcing, k, water, step, admitted, taken)
                _sources(wall, forcing, k, x, t, admitted, src_w, src_h)
            for i in range(n):
                u1[i] = u[i] + a * du[i]
                t1[i] = t[i] + a * dt[i]
            if moving:
                prepare(wall, loads, k, x, t1, out, inn, work)
            s1 = stage(
                wall, tables, control, newton, loads, work, u1, t1, water, heat, a, out, inn, src_w, src_h, w1, q1
            )
            ok = s1 > 0
            s2 = 0
            add_w = 0.0
            add_h = 0.0
            if ok and euler:
                # the two-stage step overshoots where a thin cell empties at once; this one cannot
                for i in range(n):
                    u2[i] = u1[i]
                    t2[i] = t1[i]
                    w2[i] = w1[i]
                    q2[i] = q1[i]
            elif ok:
                for j in range(watched):
                    for c in range(FLOWS):
                        flow1[j, c] = work.flow[j, c]
                load1[:] = work.load
                for i in range(n):
                    add_w += (1.0 - GAMMA) * step * wall.dx[i] * src_w[i]
                    add_h += (1.0 - GAMMA) * step * wall.dx[i] * src_h[i]
                    k0 = (1.0 - GAMMA) / GAMMA
                    u2[i] = u[i] + (u1[i] - u[i]) / GAMMA
                    t2[i] = t[i] + (t1[i] - t[i]) / GAMMA
                    if abs(u2[i] - u1[i]) > 1.0:
                        u2[i] = u1[i]
                    w2[i] = water[i] + k0 * (w1[i] - water[i])
                    q2[i] = heat[i] + k0 * (q1[i] - heat[i])
                    u2[i] = min(u2[i], 2.4)
                _force(forcing.outside, k, end / length, out)
                _force(forcing.inside, k, end / length, inn)
                if busy:
                    _sources(wall, forcing, k, end / length, t1, admitted, src_w, src_h)
                if moving:
                    prepare(wall, loads, k, end / length, t2, out, inn, work)
                s2 = stage(
                    wall, tables, control, newton, loads, work, u2, t2, w2, q2, a, out, inn, src_w, src_h, w2, q2
                )
                ok = s2 > 0
            if not ok:
                counters[3] += 1
                counters[2] += control.max_sweeps
                failed += 1
                h = 0.25 * step
                for i in range(n):
                    du[i] = 0.0
                    dt[i] = 0.0
                if h < control.min_step:
                    return STEP_TOO_SMALL, k, start + done, step, _worst_cell(work)
                continue
            counters[2] += s1 + s2
            # error indicator
            total = 0.0
            bad = -1
            for i in range(n):
                e1 = work.store[i, 6] * (u2[i] - u[i] - (u1[i] - u[i]) / GAMMA) / control.tol_phi
                e2 = (t2[i] - t[i] - (t1[i] - t[i]) / GAMMA) / control.tol_temperature
                e3 = (w2[i] - water[i] - (w1[i] - water[i]) / GAMMA) / (control.tol_water * wall.dx[i])
                e2 = max(e1 * e1, e2 * e2, e3 * e3)
                total += e2 * e2
                if not (t2[i] > 190.0 and t2[i] < 410.0):
                    bad = i
            if bad >= 0:
                h = 0.25 * step
                counters[3] += 1
                if h < control.min_step:
                    return OUT_OF_RANGE, k, start + done, step, bad
                continue
            error = math.sqrt(math.sqrt(total / n))
            if control.fixed == 0 and not euler:
                if error > 1.5 and step > 4.0 * control.min_step:
                    counters[1] += 1
                    h = step * max(0.25, 0.85 / math.sqrt(error))
                    continue
                grow = 2.5
                if error > 0.0:
                    grow = min(2.5, max(0.4, 0.9 / math.sqrt(error)))
                if pieces <= 1 and step < 0.99 * min(h, control.max_step):
                    # a short piece up to a mark says little about the step wanted
                    h = max(h, step * grow) if grow > 1.0 else step * grow
                else:
                    h = step * grow
                h = min(h, control.max_step)
            # accept
            counters[0] += 1
            settled += 1
            totals[3] = max(totals[3], error)
            totals[4] += error * error
            totals[5] = min(totals[5], step)
            failed = 0
            k1 = 0.0 if euler else (1.0 - GAMMA) * step
            before_w = 0.0
            after_w = 0.0
            before_h = 0.0
            after_h = 0.0
            for i in range(n):
                before_w += water[i]
                after_w += w2[i]
                before_h += heat[i]
                after_h += q2[i]
                add_w += a * wall.dx[i] * src_w[i]
                add_h += a * wall.dx[i] * src_h[i]
                du[i] = (u2[i] - u[i]) / step
                dt[i] = (t2[i] - t[i]) / step
                if abs(du[i]) * step > 1.0:
                    du[i] = 0.0
                u[i] = u2[i]
                t[i] = t2[i]
                water[i] = w2[i]
                heat[i] = q2[i]
                if u[i] < tables.z0 - 5.0 / tables.overfull:  # over by 5 kg/m3
                    counters[4] += 1
            for j in range(watched):
                for c in range(FLOWS):
                    flow[j, c] += k1 * flow1[j, c] + a * work.flow[j, c]
            net_w = 0.0
            for c in (0, 1, 3):
                net_w += k1 * (flow1[f_out, c] - flow1[f_in, c]) + a * (work.flow[f_out, c] - work.flow[f_in, c])
            for j in range(nload):
                bring_w = k1 * load1[j, 0] + a * work.load[j, 0]
                bring_h = k1 * load1[j, 1] + a * work.load[j, 1]
                state.load[j, 0] += bring_w
                state.load[j, 1] += bring_h
                add_w += bring_w
                add_h += bring_h
            net_h = k1 * (flow1[f_out, 2] - flow1[f_in, 2]) + a * (work.flow[f_out, 2] - work.flow[f_in, 2])
            gap = after_w - before_w - add_w - net_w
            totals[0] = max(totals[0], abs(gap))
            totals[1] = max(totals[1], abs(after_h - before_h - add_h - net_h))
            totals[2] += gap
            for s in range(nsrc):
                added[s] += step * forcing.rate[k + 1, s] * taken[s]
                state.refused[s] += step * forcing.rate[k + 1, s] * max(1.0 - taken[s], 0.0)
            done = end
            time = start + done
        if forcing.keep[k + 1] == 1:
            record.u[row] = u
            record.temperature[row] = t
            record.water[row] = water
            record.flow[row] = flow
            record.added[row] = added
            record.refused[row] = state.refused
            record.load[row] = state.load
            row += 1
    return DONE, last, time, h, -1


@compiled(_nrt=False)
def _worst_cell(work):
    worst = 0
    size = 0.0
    for i in range(work.du.shape[0]):
        if not (abs(work.du[i]) <= size):
            size = abs(work.du[i])
            worst = i
    return worst
