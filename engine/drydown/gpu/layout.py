"""How many walls lie in the memory of a GPU.

A wall belongs to a few neighbouring threads (lanes), each with a run of its cells. What a thread has of a cell stands
beside what the other threads of its block have of theirs, so that a block reads and writes whole lines:
``[block, cell of the thread, column, thread]``. Faces that have a state of their own are dealt out to the lanes in
turn: ``[block, face of the thread, column, thread]``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..kernel.layout import SIDE_COLUMNS
from .card import simulated

F = NDArray[np.float64]
N = NDArray[np.int32]
L = NDArray[np.int64]

#: Threads of a block: one warp; few where the processor plays the GPU, for every thread is one of its own.
THREADS = 4 if simulated() else 32


def _columns(*numbers: int) -> tuple[np.uint64, ...]:
    """Return where columns begin in a row of columns; unsigned, so that no index is asked whether it is negative."""
    return tuple(np.uint64(i * THREADS) for i in numbers)


ZERO, ONE, TWO, THREE = (np.uint64(i) for i in range(4))
WIDTH = np.uint64(THREADS)
(FOUR,) = _columns(4)
# columns of a cell: the state; the iterate of each stage and its amounts
(
    U0, T0, W0, H0, U1, T1, W1, H1, U2, T2, W2, H2,
) = _columns(*range(12))  # fmt: skip
#: From the columns of the state to those of a stage: times the number of the stage.
STAGE = U1 - U0
# change per second in the last step; factors: x = F - E x_right - S x_of_the_lane_on_the_left
(
    SLOPE_U, SLOPE_T, E_UU, E_UT, E_TU, E_TT, F_U, F_T, S_UU, S_UT, S_TU, S_TT,
) = _columns(*range(12, 24))  # fmt: skip
# what the cell holds at the state of the sweep, its derivatives; corrections
WATER, WATER_U, HEAT, HEAT_U, HEAT_T, PHI_U, DU, DT = _columns(*range(24, 32))
# sources and moving air of a stage (see `kernel.workspace`)
(
    SRC_W, SRC_H, FACE_AIR, LOSE, GAIN_OUT, GAIN_IN, MEET, MEET_C,
) = _columns(*range(32, 40))  # fmt: skip
# share that is liquid, where there may be ice; amounts known of a second stage; the iterate before its sweep
OPEN, KNOWN_W, KNOWN_H, WAS_U, WAS_T = _columns(*range(40, 45))
# what limited sources offer a cell, less what it has taken, the piece of the law, what it takes up, the enthalpy that
# comes with it (see `kernel.uptake`); length of a row
OFFER, LESS, PIECE, UPTAKE, ARRIVES, CELL = _columns(*range(45, 51))
# columns of a face: four flows with their derivatives; the flow of a stage and of the first; cumulative; what is kept
VAPOUR, LIQUID, HEAT_FLOW, CONVECTED, FLOW, FLOW_ONE, FLOW_SUM, OF_LEFT, OF_RIGHT, SHORT, FACE = _columns(
    0, 5, 10, 15, 20, 24, 28, 32, 33, 34, 35
)
# whole numbers of a face: places of its cells (within a wall), their materials, film, row in the record of fluxes
PLACE_LEFT, PLACE_RIGHT, M_LEFT, M_RIGHT, FILM, WATCH, FACE_WHOLE = _columns(*range(7))
# lengths of a face: distances to its cells
H_LEFT, H_RIGHT, FACE_LENGTH = _columns(0, 1, 2)
# what is carried of a load: in the last sweep, in the first stage, cumulative; water and enthalpy
LOAD_NOW, LOAD_ONE, LOAD_SUM, LOAD = _columns(0, 2, 4, 6)
# where a wall stands in its march, the same in all its lanes but for the sums: mark, step wanted, interval, seconds
# into it, rows kept, failures in a row; whether a new interval begins, which stage begins (0: none, 3: that in work,
# anew), the stage in work; what the step is; sums of the step and of the march; `kernel.workspace.Work.bend`; how often
# the stage was solved again
(
    ALIVE, MARK, WANTED, LENGTH, DONE, ROW, FAILURES, ENTERS, STARTS, PHASE, EULER, ROUND, TRIED, BEFORE,
    NEWTON, STEP, UPTO, A, STILL, PIECES, SHORT_NOW, ADDED_W, ADDED_H, FRACTION, SHORT_SUM, OVER_SUM, WORST,
    CLIPPED, UNSETTLED, BEND, LIFTED, OUTSIDE,
) = _columns(*range(32))  # fmt: skip
# forcing of both sides in the stage; of a march whose stages are solved closely (see `closely`): whether the next try
# is a looser one, whether a try failed before, steps taken in the stretch
INSIDE, LOOSE, AFRESH, TAKEN, MARCH = _columns(31 + SIDE_COLUMNS, *range(31 + 2 * SIDE_COLUMNS, 35 + 2 * SIDE_COLUMNS))
# what is told of a wall's march: time, step, status, cell that failed
TIME, LAST_STEP, STATUS, CELL_OF, ENDS = (np.uint64(i) for i in range(5))
#: Rows of values that threads of a block hand to each other.
EXCHANGED = 10


class Many(NamedTuple):
    """Walls of one launch: what does not change."""

    lanes: int  # threads of a wall
    longest: int  # cells of a thread, at most
    blocks: int
    most_slots: int  # faces of a thread, at most
    sources: int  # of a wall, at most; likewise gaps, streams, deposits
    law: int  # 1: a source is taken by the law of what nearly full cells take
    gaps: int
    streams: int
    deposits: int
    cells: N  # [wall]; 0: nobody's lanes
    faces: N  # [wall] faces with a state of their own, the two surfaces first and last
    outside: L  # [wall] first row of its forcing in `Weather`
    inside: L
    marks: L
    jump: L
    rate: L
    air: L
    last: L  # [wall] its last mark
    control: F  # [wall, fields of Control]
    kind_out: N  # [wall]
    kind_in: N
    dx: F  # [block, cell, thread] m
    material: N
    joint: N  # number of the face on the left where it has a state of its own, -1: it has none
    face_whole: N  # [block, face, 6, thread]
    face_length: F  # [block, face, 2, thread] m
    share: F  # [block, source, cell, thread] 1/m
    limited: N  # [wall, source]
    gap_cells: N  # [block, gap, cell, thread]
    gap_side: N  # [wall, gap]
    gap_lift: F  # [wall, gap]
    path_left: F  # [block, stream, cell, thread] share of a stream through the face on the left
    path_right: F
    path_face: F  # [block, stream, face, thread]
    deposit_cells: F  # [block, deposit, cell, thread]


class Weather(NamedTuple):
    """What happens at the marks; walls that share it share its rows. The air that moves stands in `Loads`."""

    marks: F  # [rows]
    keep: N  # [rows]
    jump: N  # [rows]
    side: F  # [rows, SIDE_COLUMNS]
    rate: F  # [rows, source] kg/(m2 s)


class Scratch(NamedTuple):
    """What is written to."""

    cells: F  # [block, cell, CELL]
    faces: F  # [block, face, FACE]
    admitted: F  # [block, source, cell, thread]
    sources: F  # [block, source, 3, thread]: taken; added and refused, cumulative
    air: F  # [block, gap, stream, twice deposit, thread] rates of the stage
    loads: F  # [block, load, LOAD]
    totals: F  # [wall, TOTALS]
    counters: L  # [wall, COUNTERS]
    ends: F  # [wall, 4] time, step, status, cell that failed
    reached: L  # [wall] mark
    march: F  # [block, MARCH]
    alive: L  # [1] walls that are on their way


class Steps(NamedTuple):
    """Steps of a stretch: written by walls that choose them, or followed by walls that march in step with those."""

    given: int  # 1: they are followed
    room: int  # for steps of a wall
    end: F  # [wall, step] s into its interval
    kind: NDArray[np.int8]  # [wall, step] 1: implicit Euler, 2: a try failed before, so that its guess is the state
    written: L  # [wall] how many
    of: L  # [wall] whose steps are followed, or written


class Kept(NamedTuple):
    """The record: one row per kept mark; of no rows where nothing is kept."""

    u: F  # [row, block, cell, thread]
    temperature: F
    water: F
    flow: F  # [row, block, face, FLOWS, thread]
    sources: F  # [row, block, source, 2, thread] added, refused
    loads: F  # [row, block, load, 2, thread]
    held: F  # [row, block, face, 2, thread] what is kept of a face


class Lane(NamedTuple):
    """Where a thread finds what is its own; all unsigned."""

    block: int
    t: int  # thread in the block
    w: int  # wall
    q: int  # lane of the wall
    lanes: int
    home: int  # thread of the wall's first lane
    count: int  # type: ignore[assignment]  # cells
    slots: int  # faces
    faces: int  # of the wall
    o: int  # columns of the first cell
    at: int  # columns of cell 0 of lane 0 of the wall: places of cells are counted from here
    c: int  # the first cell in arrays of one number a cell
    before: int  # columns of the cell on the left of the first
    before_c: int
    f: int  # columns of the first face
    face0: int  # columns of face 0 of the wall
    fw: int
    fl: int
    s: int  # first cell of the first source
    taken: int
    air: int
    load: int
    z: int  # rows of its march
