"""The flat arrays that make a wall, its climate and its record (see `drydown.lowering.problem` for the lowering)."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
I = NDArray[np.int64]  # noqa: E741

# columns of a material's table, over z = ln(suction / (rho_w R_v T_ref))
WATER, DELTA, PSI, LIQUID_POTENTIAL, LAMBDA = 0, 1, 2, 3, 4
MATERIAL_COLUMNS = 5
# columns of a film's table, over relative humidity
PERM_IN, POT_IN, PERM_OUT, POT_OUT = 0, 1, 2, 3
FILM_COLUMNS = 4
# columns of the temperature table; from LAWS on: factors of temperature
P_SAT, LN_T, LAWS = 0, 1, 2
# columns of a side's forcing
T_AIR, P_AIR, H_CONV, BETA, RADIATION, EMISSIVITY, RAIN = 0, 1, 2, 3, 4, 5, 6
SIDE_COLUMNS = 7
# columns of the flux record: vapour by diffusion, liquid, enthalpy, vapour carried by air
VAPOUR, LIQUID, HEAT, CONVECTED = 0, 1, 2, 3
FLOWS = 4
# columns of what loads bring
LOAD_WATER, LOAD_HEAT = 0, 1
LOAD_COLUMNS = 2
# columns of the state of a face that is kept: temperature [K], relative humidity on its outer and on its inner side
FACE_T, FACE_OUTER, FACE_INNER = 0, 1, 2
FACE_STATES = 3
# record.totals: greatest water closure of a step [kg/m2], greatest enthalpy closure of a step [J/m2], sum of the water
# closures, greatest error indicator accepted, sum of squared indicators, smallest step [s]
WATER_CLOSURE_MAX, HEAT_CLOSURE_MAX, WATER_CLOSURE_SUM, ERROR_MAX, ERROR_SQUARES, STEP_MIN = 0, 1, 2, 3, 4, 5
TOTALS = 6
# record.counters
STEPS, REJECTED, SWEEPS, FAILED, OVERFULL, SHORT_FACES = 0, 1, 2, 3, 4, 5
COUNTERS = 6
# what stands behind a surface: air with films, an imposed state, nothing
AIR, SURFACE, SEALED = 0, 1, 2
# how a source is taken: by the law of what nearly full cells take (see uptake.py); whole; as far as the pores of its
# place have room; as far as those of each cell have, for no water moves between them; OVERFLOW + s: what source s, of
# the same rate, finds no room for
LAW, FREE, LIMITED, EACH, OVERFLOW = -1, 0, 1, 2, 3
#: Temperature about which the conductivity of a material changes with `slope` [K].
SLOPE_AT = 283.15


class Status(IntEnum):
    """How a march ended."""

    DONE = 0
    STEP_TOO_SMALL = 1
    OUT_OF_RANGE = 2


class Tables(NamedTuple):
    """Property curves as piecewise cubics on uniform grids."""

    material: F  # [interval of all materials, column, 4]
    offset: I  # [material] first interval
    count: I  # type: ignore[assignment]  # [material] number of intervals
    z0: float
    z1: float
    phi: F  # [interval, 1, 4] relative humidity of u
    film: F  # [interval of all films, column, 4]
    film_count: int  # intervals of each film
    air: F  # [interval, column, 4] functions of temperature
    t0: float
    t1: float
    overfull: float  # kg/m3 of water per unit of z beyond full pores


class Wall(NamedTuple):
    """Cells, faces and constants."""

    dx: F  # [cell] m
    material: I  # [cell]
    heat: F  # [material] dry rho c, J/(m3 K)
    kappa: F  # [material] 0: storage of humidity, 1: of suction
    temperature_power: F  # [material] power of temperature in the liquid potential: 1 - kappa with K, 0 with D_w
    kappa_v: F  # [material] same, for the vapour permeability
    temperature_factor: I  # [material] column of the temperature factor of the permeability
    slope: F  # [material] 1/K about 283.15 K
    conductivity_factor: I  # [material] column of the temperature factor of the conductivity, -1: the slope
    liquid: I  # [material] 1: conducts liquid
    freeze: I  # [material] 1: its pore water freezes
    resolve: I  # [material] 1: faces to other materials are resolved (see faces.py)
    film: I  # [cell + 1] film on the face, -1: none
    film_temperature_factor: I  # [film]
    film_mean: int  # 1: permeance at the mean humidity, 0: mean of the permeance
    kind_out: int
    kind_in: int
    latent: float
    c_vapour: float
    c_water: float
    r_vapour: float  # J/(kg K)
    t_ref: float
    melting: float  # K
    fusion: float  # J/kg
    c_ice: float  # J/(kg K)
    frozen: F  # [material] what the conductivity gains when full pores are ice, as a share
    watch: I  # [cell + 1] row of the face in the flux record, -1: not recorded
    faces: I  # faces whose state is recorded, the two surfaces among them; empty: none is


class Loads(NamedTuple):
    """Air that moves: ventilated gaps, streams through the layers, leaking air that condenses (see air.py).

    Loads are numbered gaps first, then streams, then deposits.
    """

    active: int  # 1: there is any
    gap: F  # [mark, gap] constant air change, 1/s
    gap_wind: F  # [mark, gap] square of the air change by wind, 1/s2
    gap_lift: F  # [gap] square of the air change by buoyancy over |T_gap - T_side|/T_side, 1/s2
    gap_cells: I  # [gap, cell] 1: part of the gap
    gap_side: I  # [gap] 0: air from outside, 1: from inside
    stream: F  # [mark, stream] dry air through the faces of the path, positive inward, kg/(m2 s)
    path: F  # [stream, cell + 1] share of the stream that passes a face
    deposit: F  # [mark, deposit] indoor air that meets the place, m3/(m2 s)
    brought: F  # [mark, deposit] its vapour, kg/m3
    deposit_cells: F  # [deposit, cell] shares, sum 1
    ratio: float  # kg of vapour per kg of air and Pa
    c_air: float  # J/(kg K)
    density: float  # kg K/m3: density of air times temperature


class Forcing(NamedTuple):
    """What happens, at marks in seconds from the start."""

    marks: F  # [mark]
    keep: I  # [mark] 1: store the state here
    jump: I  # [mark] 1: rates are discontinuous here
    outside: F  # [mark, SIDE_COLUMNS]
    inside: F  # [mark, SIDE_COLUMNS]
    rate: F  # [mark, source] kg/(m2 s) over the interval that ends at the mark
    share: F  # [source, cell] 1/m, integrates to 1 over the cells
    limited: I  # [source] see LAW, FREE, LIMITED, EACH, OVERFLOW
    water_source: F  # [mark or 0, cell] kg/(m3 s), linear between marks
    heat_source: F  # [mark or 0, cell] W/m3
    loads: Loads


class Control(NamedTuple):
    """Step control."""

    tol_phi: float
    tol_temperature: float
    tol_water: float  # kg/m3
    newton: float  # 1: default; smaller is stricter
    max_step: float
    min_step: float
    fixed: int  # 1: keep max_step, no error control (for convergence studies)
    max_sweeps: int


class State(NamedTuple):
    """What is carried from step to step."""

    u: F  # ln(-ln phi)
    temperature: F  # K
    water: F  # kg/m2 per cell, conserved
    heat: F  # J/m2 per cell, conserved
    flow: F  # [watched face, FLOWS] cumulative flux, positive from outside to inside
    added: F  # [source] cumulative kg/m2
    refused: F  # [source] cumulative kg/m2
    load: F  # [load, 2] cumulative water kg/m2 and enthalpy J/m2 brought in


class Record(NamedTuple):
    """What a march leaves behind (one row per kept mark of this stretch)."""

    u: F  # [kept, cell]
    temperature: F
    water: F  # [kept, cell] kg/m2
    flow: F  # [kept, watched face, FLOWS] cumulative, positive from outside to inside
    added: F  # [kept, source] cumulative kg/m2
    refused: F  # [kept, source]
    load: F  # [kept, load, 2]
    faces: F  # [kept, face of wall.faces, FACE_STATES]
    totals: F  # [TOTALS]
    counters: I  # [COUNTERS]
