"""What drives the air of a stage: forcing at its time, buoyancy at the temperatures that it begins from or found."""

from __future__ import annotations

import math

from .jit import compiled
from .layout import T_AIR

#: By how much buoyancy drives a gap otherwise counts against its air change and this [kg/(m3 s)]: a tenth of an air
#: change an hour. Beside still air none can be told from rounding.
STILL = 3.4e-5
#: By which part buoyancy may drive a gap otherwise at the temperatures that a stage found (at newton = 1), and how
#: often the stage is solved again at most. Taken at the guess alone, the air change lags behind a light sheet that
#: follows the kinks of weather: dew behind aluminium was 1 % off, and gone at another time.
LIFT, TRIES = 0.02, 20


@compiled(_nrt=False)
def air_change(loads, j, k, x, lift, mean, side_t):
    """Return the air that gap j of temperature `mean` exchanges with air of `side_t` [kg/(m3 s)]; lift: its own."""
    squared = (1.0 - x) * loads.gap_wind[k, j] + x * loads.gap_wind[k + 1, j]
    squared += lift * abs(mean - side_t) / side_t
    rate = (1.0 - x) * loads.gap[k, j] + x * loads.gap[k + 1, j] + math.sqrt(max(squared, 0.0))
    return rate * (loads.density / side_t)


@compiled(_nrt=False, forceinline=True)
def mean_of(wall, loads, j, t):
    """Return the mean of t over gap j."""
    mean = 0.0
    width = 0.0
    for i in range(t.shape[0]):
        if loads.gap_cells[j, i] == 1:
            mean += wall.dx[i] * t[i]
            width += wall.dx[i]
    return mean / width


@compiled(_nrt=False)
def gap_air(wall, loads, j, k, x, t, sides):
    """Return the air that gap j exchanges at the temperatures t [kg/(m3 s)]."""
    out, inn = sides
    side_t = inn[T_AIR] if loads.gap_side[j] == 1 else out[T_AIR]
    return air_change(loads, j, k, x, loads.gap_lift[j], mean_of(wall, loads, j, t), side_t)


@compiled(_nrt=False, forceinline=True)
def otherwise(rate, taken):
    """Return by which part of itself an air change is another than the one that was taken."""
    return abs(rate - taken) / (rate + STILL)


@compiled(_nrt=False)
def lift_off(wall, loads, k, x, t, sides, air):
    """Return by which part buoyancy would drive a gap otherwise at the temperatures t, at most; 0 where it drives none.

    air : with what `prepare` last took.
    """
    most = 0.0
    for j in range(loads.gap_lift.shape[0]):
        if loads.gap_lift[j] > 0.0:
            most = max(most, otherwise(gap_air(wall, loads, j, k, x, t, sides), air.gap_rate[j]))
    return most


@compiled(_nrt=False)
def prepare(wall, loads, k, x, t, sides, air):
    """Fill the coefficients of a stage at fraction x between marks k and k + 1; t is the guess of its temperature.

    The air change by buoyancy is that of the guess until the stage is solved, then that of what was found (`aired`).
    """
    n = t.shape[0]
    air.face_air[:] = 0.0
    air.lose[:] = 0.0
    air.gain_out[:] = 0.0
    air.gain_in[:] = 0.0
    air.meet[:] = 0.0
    air.meet_c[:] = 0.0
    for j in range(loads.gap_lift.shape[0]):
        rate = gap_air(wall, loads, j, k, x, t, sides)
        air.gap_rate[j] = rate
        for i in range(n):
            if loads.gap_cells[j, i] == 1:
                m = rate * wall.dx[i]
                air.lose[i] += m
                if loads.gap_side[j] == 1:
                    air.gain_in[i] += m
                else:
                    air.gain_out[i] += m
    for j in range(loads.path.shape[0]):
        g = (1.0 - x) * loads.stream[k, j] + x * loads.stream[k + 1, j]
        air.stream_rate[j] = g
        for i in range(n):
            air.face_air[i] += g * loads.path[j, i]
            surplus = g * (loads.path[j, i] - loads.path[j, i + 1])
            if surplus > 0.0:
                air.lose[i] += surplus
            else:
                air.gain_out[i] -= surplus
        air.face_air[n] += g * loads.path[j, n]
    for j in range(loads.deposit_cells.shape[0]):
        v = (1.0 - x) * loads.deposit[k, j] + x * loads.deposit[k + 1, j]
        c = (1.0 - x) * loads.brought[k, j] + x * loads.brought[k + 1, j]
        air.meet_rate[j] = v
        air.meet_brought[j] = c
        for i in range(n):
            air.meet[i] += v * loads.deposit_cells[j, i]
            air.meet_c[i] += v * c * loads.deposit_cells[j, i]


@compiled(_nrt=False)
def aired(wall, loads, k, x, t, newton, sides, air):
    """Return whether air moves as the temperatures t that a stage found ask for; where not, it does from now on.

    newton : how closely the stage was solved.
    """
    good = lift_off(wall, loads, k, x, t, sides, air) <= LIFT * newton
    if not good:
        prepare(wall, loads, k, x, t, sides, air)
    return good
