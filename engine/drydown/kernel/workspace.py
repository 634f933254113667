"""The scratch arrays of a march, made once and handed in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from . import columns as at
from .faces import FACE_COLUMNS
from .layout import FLOWS, LOAD_COLUMNS, SIDE_COLUMNS, F, Forcing, I, State, Wall
from .lines import zeros


class AirWork(NamedTuple):
    """Air that moves, in one stage."""

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


class Stage(NamedTuple):
    """State and conserved amounts at the end of a stage."""

    u: F  # [cell]
    t: F
    water: F  # kg/m2
    heat: F  # J/m2


class Work(NamedTuple):
    """Everything a march writes to besides state and record.

    A field more costs dear: the compiler loses track of so many arrays, and with one more than today a sweep was seen
    to take a quarter longer. Measure before and after.
    """

    rows: F  # see columns.py
    runs: I  # [run of faces inside a layer, 2] first face, number of faces
    single: I  # faces inside the wall that are computed one by one
    faces: F  # [cell + 1, FACE_COLUMNS] see faces.py
    held: F  # the same, put by while the states of faces are read
    watched: F  # [watched face, FLOWS, 5] flux of the last sweep with its derivatives, positive inward
    du: F  # [cell] correction of the last sweep
    dt: F
    flow: F  # [watched face, FLOWS] flux of the last linearised sweep
    flow_one: F  # the same of the first stage
    load: F  # [load, LOAD_COLUMNS] what loads bring in the last linearised sweep
    load_one: F
    out: F  # [SIDE_COLUMNS] forcing of the stage
    inn: F
    src_w: F  # [cell] sources of the stage, kg/(m3 s)
    src_h: F  # W/m3
    admitted: F  # [source, cell] share of a source that finds room
    taken: F  # [source] the same of its whole place
    one: Stage
    two: Stage
    slope: F  # [2, cell] change of u and of T per second in the last step, for the guess
    bend: F  # [1] how much second sweeps correct, over the square of the first correction; see stage.py
    air: AirWork


def _faces_of(wall: Wall) -> tuple[I, I]:
    """Return runs of faces that are alike and lie in one block, and the faces that are neither."""
    runs: list[list[int]] = []
    single = []
    for i in range(1, len(wall.dx)):
        alike = wall.material[i] == wall.material[i - 1] and wall.film[i] < 0 and wall.watch[i] < 0
        if not alike or i % at.BLOCK == 0:
            single.append(i)
        elif runs and sum(runs[-1]) == i:
            runs[-1][1] += 1
        else:
            runs.append([i, 1])
    return np.array(runs, dtype=np.int64).reshape(-1, 2), np.array(single, dtype=np.int64)


def workspace(wall: Wall, forcing: Forcing, state: State) -> Work:
    """Return the scratch arrays that fit a wall, its forcing and its state."""
    n = len(wall.dx)
    watched = state.flow.shape[0]
    sources = forcing.share.shape[0]
    loads = forcing.loads
    deposits = loads.deposit_cells.shape[0]
    runs, single = _faces_of(wall)

    def stage() -> Stage:
        return Stage(u=zeros(n), t=zeros(n), water=zeros(n), heat=zeros(n))

    return Work(
        rows=zeros((n // at.BLOCK + 1) * at.SIZE),
        runs=runs,
        single=single,
        faces=np.zeros((n + 1, FACE_COLUMNS)),
        held=np.zeros((n + 1, FACE_COLUMNS)),
        watched=np.zeros((watched, FLOWS, 5)),
        du=zeros(n),
        dt=zeros(n),
        flow=np.zeros((watched, FLOWS)),
        flow_one=np.zeros((watched, FLOWS)),
        load=np.zeros((state.load.shape[0], LOAD_COLUMNS)),
        load_one=np.zeros((state.load.shape[0], LOAD_COLUMNS)),
        out=np.zeros(SIDE_COLUMNS),
        inn=np.zeros(SIDE_COLUMNS),
        src_w=np.zeros(n),
        src_h=np.zeros(n),
        admitted=np.ones((sources, n)),
        taken=np.ones(sources),
        one=stage(),
        two=stage(),
        slope=np.zeros((2, n)),
        bend=np.ones(1),
        air=AirWork(
            face_air=np.zeros(n + 1),
            lose=np.zeros(n),
            gain_out=np.zeros(n),
            gain_in=np.zeros(n),
            meet=np.zeros(n),
            meet_c=np.zeros(n),
            gap_rate=np.zeros(loads.gap_lift.shape[0]),
            stream_rate=np.zeros(loads.path.shape[0]),
            meet_rate=np.zeros(deposits),
            meet_brought=np.zeros(deposits),
        ),
    )
