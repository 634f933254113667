"""What a march with tangents is given and writes to: inputs that differ a little, and derivatives by them.

An input is told by the wall with its value changed by a small step: other columns of material, other widths, another
film on a face, other forcing. Where nothing differs the arrays of the wall itself serve.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from . import columns as at
from .layout import F, Forcing, I, State, Tables, Wall
from .workspace import AirWork, workspace

#: Columns of `Inputs.touches`: first cell, cell after the last whose own properties differ (the faces of both are
#: touched too; -1: none), row of `Others` or -1, and whether sides, sources and moving air differ there.
FIRST, AFTER, OTHER, OUTSIDE, INSIDE, SOURCES, AIR_MOVES = 0, 1, 2, 3, 4, 5, 6
TOUCHES = 7
#: Columns of `TangentWork.own`: 1 where it is known in this stage, moisture [kg/(m2 s)], enthalpy [W/m2].
KNOWN, OWN_G, OWN_Q = 0, 1, 2
OWN = 3
#: Columns of what passed a face: moisture [kg/m2], enthalpy [J/m2].
MOISTURE, ENTHALPY = 0, 1


class Others(NamedTuple):
    """Forcing that differs, one row an input that touches it; fields as in `Forcing` and `Loads`."""

    outside: F  # [row, mark, SIDE_COLUMNS]
    inside: F
    rate: F  # [row, mark, source]
    share: F  # [row, source, cell]
    gap: F  # [row, mark, gap]
    gap_wind: F
    gap_lift: F  # [row, gap]
    stream: F  # [row, mark, stream]
    path: F  # [row, stream, cell + 1]
    deposit: F  # [row, mark, deposit]
    brought: F
    deposit_cells: F  # [row, deposit, cell]


class Inputs(NamedTuple):
    """Free inputs of a march: what differs when each is changed by `step`."""

    wall: Wall  # as that of the march, with the materials and films that differ after its own
    tables: Tables
    step: F  # [input] change of the input, in its own units
    touches: I  # [input, TOUCHES]
    material: I  # [input, cell]
    dx: F  # [input, cell] m
    film: I  # [input, cell + 1]
    runs: I  # [input, run, 2] faces inside a layer: first one less the first cell touched, number; (0, 0): no more
    single: I  # [input, face] faces that no run holds; -1: no more
    others: Others


class Tangent(NamedTuple):
    """Derivatives of the state by every input, the input last."""

    u: F  # [cell, input]
    t: F  # K
    water: F  # kg/m2
    heat: F  # J/m2
    passed: F  # [watched face, 2, input] moisture kg/m2 and enthalpy J/m2, positive inward


class TangentRecord(NamedTuple):
    """Derivatives at kept marks, the input last."""

    cells: I  # [observed] cells of which the state is kept
    layer: I  # [cell] row of the sum that a cell belongs to, -1: none
    u: F  # [kept, observed, input]
    t: F
    water: F  # [kept, observed, input] kg/m2 of the cell
    layer_water: F  # [kept, layer, input] kg/m2
    passed: F  # [kept, watched face, 2, input]


class SourceWork(NamedTuple):
    """Sources of a changed wall; fields as in `Work`, and the water that the wall held at the start of the step."""

    rows: F
    src_w: F
    src_h: F
    admitted: F
    taken: F
    water: F


class AirRows(NamedTuple):
    """What `air_pass` writes to for a changed wall."""

    rows: F
    air: AirWork
    watched: F


class Lift(NamedTuple):
    """What gaps bring more with a kelvin of their mean temperature, what that moves the state by; a column a gap."""

    right_w: F  # [cell, gap]
    right_h: F
    u: F
    t: F


class TangentWork(NamedTuple):
    """Scratch of a march with tangents."""

    one: Tangent  # end of the first stage
    two: Tangent
    right_w: F  # [cell, input] right-hand sides
    right_h: F
    held_w: F  # [cell, input] change of what a touched cell holds, its state unchanged
    held_h: F
    flow: F  # [watched face, 2, input] flux of the stage
    flow_one: F
    through: F  # [watched face, 2, input] change of the flux, the state unchanged
    rows: F  # properties of a changed wall
    kept: F  # [FACE_COLUMNS] face of a changed wall
    taken: F  # [source, input] change of the part of a source that its place takes
    uptake: F  # [cell, input] change of what limited sources give a cell in the stage, kg/(m2 s)
    own: F  # [face, OWN] flux through a face of the wall itself, found as that of a changed wall
    out: F  # [SIDE_COLUMNS]
    inn: F
    sources: SourceWork
    lift: Lift
    plain_air: AirRows  # moving air of the wall itself
    other_air: AirRows  # of a changed wall


def tangent_of(cells: int, faces: int, inputs: int) -> Tangent:
    """Return derivatives that are all nothing.

    Parameters
    ----------
    cells, faces, inputs : int
        Cells, watched faces, inputs.
    """
    return Tangent(
        **{name: np.zeros((cells, inputs)) for name in ("u", "t", "water", "heat")},
        passed=np.zeros((faces, 2, inputs)),
    )


def tangent_work(wall: Wall, forcing: Forcing, state: State, inputs: int) -> TangentWork:
    """Return the scratch arrays of a march with tangents."""
    n, faces = len(wall.dx), state.flow.shape[0]
    plain = workspace(wall, forcing, state)
    size = (n // at.BLOCK + 1) * at.SIZE

    def wide() -> F:
        return np.zeros((n, inputs))

    def air() -> AirRows:
        return AirRows(np.zeros(size), workspace(wall, forcing, state).air, np.zeros_like(plain.watched))

    return TangentWork(
        one=tangent_of(n, faces, inputs),
        two=tangent_of(n, faces, inputs),
        right_w=wide(),
        right_h=wide(),
        held_w=wide(),
        held_h=wide(),
        flow=np.zeros((faces, 2, inputs)),
        flow_one=np.zeros((faces, 2, inputs)),
        through=np.zeros((faces, 2, inputs)),
        rows=np.zeros(size),
        kept=np.zeros(plain.faces.shape[1]),
        taken=np.zeros((forcing.share.shape[0], inputs)),
        uptake=wide(),
        own=np.zeros((n + 1, OWN)),
        out=np.zeros_like(plain.out),
        inn=np.zeros_like(plain.inn),
        sources=SourceWork(plain.rows, plain.src_w, plain.src_h, plain.admitted, plain.taken, np.zeros(n)),
        lift=Lift(*(np.zeros((n, forcing.loads.gap_lift.shape[0])) for _ in range(4))),
        plain_air=air(),
        other_air=air(),
    )
