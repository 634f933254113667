"""What is judged at a face is near the state that the kernel finds there, though results hold cells alone.

The kernel finds the state of each face from continuity and keeps it from sweep to sweep; criteria carry the two cells
beside the face on to it (`drydown.criteria.spots.faces`). Here both are taken day by day and held against each other.
"""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from drawn_frames import drawn
from drydown import Assembly, Layer
from drydown.case.case import Case
from drydown.criteria.spots import faces
from drydown.kernel.faces import OF_LEFT, OF_RIGHT
from drydown.kernel.humidity import humidity_of
from drydown.lowering.problem import lower
from drydown.plugins import film, material
from drydown.run.simulation import Marcher
from drydown.trial.watch import wall_of

DAY = np.timedelta64(1, "D")


def masonry(seed: int) -> Case:
    """Return a rained wall of brick, insulated inside."""
    parts = (
        Layer(material("clay brick"), 0.24),
        Layer(material("lime plaster"), 0.015),
        Layer(material("wood fibre insulation"), 0.06),
        film("humidity-dependent vapour retarder"),
        Layer(material("gypsum board"), 0.0125),
    )
    case = drawn(seed)
    return replace(case, assembly=Assembly(parts, "masonry"), wettings=())


def both(case: Case, days: int) -> tuple[list[str], np.ndarray, np.ndarray, np.ndarray]:
    """Return names of faces, their humidity by kernel and criteria day by day, and jumps of temperature there."""
    case = replace(case, end=case.start + days * DAY, wettings=())
    problem = lower(case)
    marcher, grid, wall = Marcher(problem), problem.grid, wall_of(case, problem)
    marcher.begin()
    spots, edges = faces(wall), np.concatenate([[0.0], np.cumsum(grid.dx)])
    names, kernel, told, jumps = [], [], [], []
    at = []
    for k, (x, what) in enumerate(zip(spots.x, spots.what, strict=True)):
        i = int(np.argmin(abs(edges - x)))
        cell, side = (i, OF_RIGHT) if what == "outer face" else (i - 1, OF_LEFT)
        side = OF_LEFT if i in (0, len(grid.dx)) else side  # a surface keeps its one side there
        if problem.wall.resolve[problem.wall.material[cell]] == 1:
            at.append((k, i, cell, side))
            names.append(f"{what} of {wall.names[spots.layer[k]]}")
    for mark in np.flatnonzero(problem.forcing.marks % 86400.0 == 0.0)[3:]:
        marcher.run_to(int(mark))
        state = problem.state
        kernel.append([float(humidity_of(state.u[c] + marcher.work.faces[i, s])) for _, i, c, s in at])
        read = spots.humidity(humidity_of(state.u)[None, :])[0]
        told.append([read[k] for k, *_ in at])
        warm = spots.read(state.temperature[None, :])[0]
        inner = [k for k, what in enumerate(spots.what) if what == "inner face"][:-1]
        jumps.append([warm[k] - warm[k + 1] for k in inner])
    judged = np.array([bool(spots.sheltered[k]) for k, *_ in at])
    return (
        [n for n, j in zip(names, judged, strict=True) if j],
        *(np.array(x)[:, judged] for x in (kernel, told)),
        np.array(jumps),
    )


@pytest.mark.parametrize("seed", [int(s) for s in os.environ.get("DRYDOWN_SEED", "12 13 1126").split()])
@pytest.mark.parametrize("made", [drawn, masonry])
def test_a_face_as_it_is_judged_is_the_face_of_the_kernel(made, seed):
    """Root mean square over days and faces; the face that the rain wets is not judged, and left out.

    Single days behind a front are off by more: up to 2.1 % at the inner face of wet brick (seed 903), which is more
    than 2 % of a limit of 80 %. Results that hold the face itself would mend that.
    """
    names, kernel, told, jumps = both(made(seed), 90)
    off = abs(told - kernel)
    worst = np.unravel_index(off.argmax(), off.shape)
    print(
        f"seed {seed}: humidity of {off.size} face-days off by {100 * np.sqrt((off**2).mean()):.4f} % rms, at most "
        f"{100 * off.max():.3f} % ({names[worst[1]]}); temperatures of both sides of a face differ by at most "
        f"{abs(jumps).max():.3f} K"
    )
    assert len(names) >= 4
    assert np.sqrt((off**2).mean()) < 0.002, names[worst[1]]
    assert abs(jumps).max() < 0.3
