"""The mesh of a case, found from marches of the case itself on coarse ones.

A rule made before the march knows neither how far a front of rain gets nor where dew will lie. So the case is marched
on a coarse mesh with a loose tolerance, and what is seen there says how wide each cell may be: the error that a cell
makes by taking its content as straight, as a humidity, is to be the same everywhere (equidistribution; de Boor 1974,
in: Conference on the numerical solution of differential equations, Lecture Notes in Mathematics 363, from memory).
A front that the first pilot smears over a cell is steeper in truth; a second one, on the mesh that the first asked for,
sees it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..case.assembly import Assembly, Layer
from ..case.case import Case
from ..kernel.bending import squared_bends
from ..kernel.humidity import humidity_of
from ..kernel.layout import DELTA, OVERFLOW
from ..materials.model import Film
from .carried import SHARE, by_air, by_ice, is_blown, may_freeze
from .grid import WATERLESS, Grid, grading_of, layer_cells
from .lowered import Problem
from .marcher import Marcher

#: The pilot takes steps of an hour, cut only where they do not converge.
TOLERANCE, STEP = 100.0, 3600.0
#: The first pilot sees a month. The second sees a year, which has all seasons; an event later than that is followed
#: for two months.
MONTH, YEAR, AFTER_EVENT = 31 * 86400.0, 366 * 86400.0, 60 * 86400.0
#: Marks between two looks at what the pilot has kept.
STRETCH = 732
#: Promised root mean square errors in humidity [-] and temperature [K].
HUMIDITY, TEMPERATURE = 3e-3, 0.1
SMALL = np.array([HUMIDITY, TEMPERATURE])
#: Cells of the second pilot may err by half of `SHARE`.
SHARE_OF_PILOT = 0.5
#: What errs by more than this in the second pilot was smeared in the first: a front. Its error falls with the width,
#: not with its square.
SMEARED = SHARE_OF_PILOT
#: Where one hour holds more than this of all that is seen at a place, the foot of a front has passed it once: a cell is
#: then off by the whole jump for as long as the foot is in it. What the pilot saw of that counts from this error on
#: (tried on the worst of 300 drawn walls: with it 8 of 30 broke the promise instead of 22; 0.12 instead of 0.15 took
#: two of 300 others from 0.33 and 0.31 % to 0.16 and 0.26 %, at 5 % more cells).
SUDDEN, SMEARED_AT_ONCE = 1 / 3, 0.12
#: A front passed where humidity changed by more than this within an hour [-]. Where it stands at the full hour is
#: chance, and on the next mesh it may be elsewhere: no cell that it passed is wider than this share of them are, seen
#: where it stood (tried on six walls that were 0.34 to 0.49 % off, one cell in one hour: four have 0.14 to 0.23 %, at
#: 4 % more cells on walls drawn anew; with the half of them it were 20 %).
PASSED, NO_WIDER = 0.1, 0.75
#: Bound of the growth of the bend from the last but one cell of the pilot to the face.
TOWARD_FACE = 4.0
#: Widest cell at a face [m] and how fast it may grow from there where nothing bends: what is judged at a face is read
#: from the cells next to it.
AT_FACE, FROM_FACE = 2.5e-4, 0.9
#: Resistance of a cell at a face to which water is put that the layer does not conduct [m2 s Pa/kg]: 2 mm of still air.
#: What dries off such a face comes from a skin that is thin at first; a cell of 0.4 mm of extruded polystyrene, its
#: half as tight as 30 mm of air, held a gap beside it 1.6 % drier for days.
SKIN = 1e7
#: Growth of the width by depth [-]. A front seen at one place by the pilot may be beside it on the next mesh. (Of 16
#: drawn walls that broke the promise with 0.5, 0.25 alone mended seven, with as many cells.)
SLOPE = 0.2
#: Widest cell as a share of the layer, fewest cells and most. A front that crosses a layer asks for cells all over it:
#: 12 of 600 drawn walls for more than 400 in one layer, of which firm limestone, 0.4 m, was 0.48 % off with 400 and has
#: 0.23 % with 600; the twelve have a fifth more cells with this.
WIDEST, LEAST, MOST = 0.2, 4, 800
#: Most cells of a layer that holds next to nothing (`grid.WATERLESS`). A front that creeps through a thick sheet of
#: zinc or asphalt is some grams of water, and every cell that it fills costs steps: drawn walls of a month took one to
#: two minutes with 800, 12 s with this. On six of them other layers moved by 0.02 % at most, the sheet itself where
#: the front is by 4 %. Of 800 practice walls one asks for more (cellular glass; 0.07 and 0.11 %).
MOST_WATERLESS = 300
#: Narrowest cell [m], and as a share of the layer's thickness where that is less. On a layer that holds next to nothing
#: (`grid.WATERLESS`) the hour at which dew is gone hangs on it: vacuum insulation under a film was 2.4 % off with 3e-5,
#: and 0.2 to 1 %, as the hour fell, with 1e-5 and 3e-6; with the last of these three walls had 0.21 % at most.
NARROWEST, NARROWEST_WATERLESS, NARROWEST_SHARE = 1e-5, 1e-6, 1 / 1000
#: Narrowest cell where full pores freeze [m]. Narrower ones freeze within a step, and they and their neighbours turn to
#: ice and back by turns (117 mm of full pumice concrete in cells of 6e-5: ten times the steps). With 2.5e-4 aerogel
#: plaster under bitumen paper was 0.39 % off, with this 0.17 %; 120 drawn walls took as many steps. At a bare outer
#: face, where rain freezes and thaws by the hour, few do, and must be thin (with 2.5e-4 four of 300 drawn walls were
#: off by 0.3 to 0.7 %, with 6e-5 by 0.07 to 0.17 %, but others, aerogel plaster and stucco, by 0.26 to 0.34 %; those
#: are at 0.12 to 0.17 % with this).
NARROWEST_IN_ICE, NARROWEST_IN_ICE_BARE = 1e-4, 3e-5
#: Pores count as full from this humidity on [-].
FULL = 0.9999
#: Widest cell at a face on which dew was seen, as a share of the thickness of a layer that conducts no liquid. Dew lies
#: at the face; in the cell it is half a cell away from there, and what dries off it has that much less of the layer to
#: pass: the hour at which it is gone is missed (gaps of 10 mm behind sheets of zinc and aluminium, cells of 0.37 and
#: 0.32 mm there: 0.95 and 0.50 % off, one hour of all; with this 0.04 and 0.05 %, at some ten cells more; with twice it
#: gaps behind aluminium and copper had 0.81 and 0.46 % instead of 0.39 and 0.35).
DEW_SHARE = 2.5e-4
#: Bounds of places closer to each other, or to a face, than this share of the thickness get no cell between them.
NEAREST = 0.01


class Bend(NamedTuple):
    """How strongly a layer bends: at depths x [m] from its outer face, error over promise per width squared [1/m2].

    by_width : root mean square over the hours; sudden : share of its square that the greatest hour alone holds [-];
    icy : 1 where full pores were seen to freeze, else 0; change : greatest change of humidity within an hour [-];
    wet : whether the outermost and the innermost cell were seen full.
    """

    x: Array
    by_width: Array
    sudden: Array
    icy: Array
    change: Array
    wet: tuple[bool, bool] = (False, False)


def bends(problem: Problem, until: float) -> list[Bend]:
    """March a problem on its own mesh for so many seconds and return what is seen of every layer.

    Where the march cannot go on, what it saw until then counts.
    """
    grid, marks = problem.grid, problem.forcing.marks
    last = int(np.searchsorted(marks, min(until, marks[-1])))
    squares, most, seen = np.zeros((2, len(grid.dx))), np.zeros(len(grid.dx)), 0
    icy, freezes = np.zeros(len(grid.dx)), problem.wall.freeze[problem.wall.material] == 1
    change, wettest = np.zeros((2, len(grid.dx)))
    blown = is_blown(problem)
    bounds = np.array([grid.cells(j)[[0, -1]] for j in range(len(problem.case.assembly.layers))])
    gap = np.diff(grid.x, prepend=np.nan, append=np.nan)
    per = 1.0 / np.stack([grid.dx, gap[1:], gap[:-1], 0.5 * (gap[1:] + gap[:-1])])
    marcher = Marcher(problem._replace(forcing=problem.forcing._replace(keep=np.ones_like(problem.forcing.keep))))
    while marcher.here < last:
        before = marcher.here
        record, trouble = marcher.run_to(min(before + STRETCH, last))
        rows = marcher.here - before
        if not rows:  # the first step of this stretch was its last
            break
        phi = humidity_of(record.u[:rows])
        more, hour = np.empty((2, len(grid.dx))), np.empty(len(grid.dx))
        temperature, water = record.temperature[:rows], record.water[:rows]
        squared_bends(bounds, per, phi, temperature, water, SMALL, more, hour)
        squares += more
        if blown:
            after = slice(before + 1, marcher.here + 1)
            squares += by_air(problem, after, record.u[:rows], phi, temperature, per, SMALL)
        if may_freeze(problem, temperature).any():
            squares[1] += by_ice(problem, phi, temperature, water, per, SMALL)
        most = np.maximum(most, hour)
        frozen = temperature < problem.wall.melting
        icy[(frozen & (phi > FULL)).any(axis=0) & freezes] = 1.0
        change = np.maximum(change, np.abs(np.diff(phi, axis=0)).max(axis=0, initial=0.0))
        wettest = np.maximum(wettest, phi.max(axis=0, initial=0.0))
        seen += rows
        if trouble:
            break
    found = np.sqrt(squares / max(seen, 1)).max(axis=0)
    out = []
    for j in range(len(problem.case.assembly.layers)):
        cells = grid.cells(j)
        bend = found[cells]
        if len(cells) >= 5:
            bend[0] = bend[1] * np.clip(bend[1] / max(bend[2], 1e-30), 1.0, TOWARD_FACE)
            bend[-1] = bend[-2] * np.clip(bend[-2] / max(bend[-3], 1e-30), 1.0, TOWARD_FACE)
        sudden = most[cells] / np.maximum(squares[0, cells], 1e-30)
        x = grid.x[cells] - grid.x[cells[0]] + 0.5 * grid.dx[cells[0]]
        wet = bool(wettest[cells[0]] > FULL), bool(wettest[cells[-1]] > FULL)
        out.append(Bend(x, bend, sudden, icy[cells], change[cells], wet))
    return out


def _put(problem: Problem) -> list[Array]:
    """Return where water may be put, per cell, one row a source or deposit that puts any."""
    puts = [row for s, row in enumerate(problem.forcing.share) if row.any() and _may_come(problem, s)]
    return puts + [row / problem.grid.dx for row in problem.forcing.loads.deposit_cells if row.any()]


def skins(problem: Problem) -> list[tuple[float, float]]:
    """Return for every layer the widest cell at its outer and its inner face [m].

    Thin where water is put to the face of a layer that conducts none and lets little vapour through: its resistance is
    then small beside that of the air.
    """
    out = []
    tables = problem.sampled.tables
    put = np.any(np.array(_put(problem) or [np.zeros(len(problem.grid.dx))]) > 0.0, axis=0)
    for j in range(len(problem.case.assembly.layers)):
        of = problem.grid.cells(j)
        m = problem.wall.material[of[0]]
        skin = AT_FACE
        if problem.wall.liquid[m] == 0:
            rows = slice(tables.offset[m], tables.offset[m] + tables.count[m])
            skin = min(AT_FACE, max(NARROWEST, SKIN * float(tables.material[rows, DELTA, 0].min())))
        out.append((skin if put[of[0]] else AT_FACE, skin if put[of[-1]] else AT_FACE))
    return out


def spots(problem: Problem) -> list[Array]:
    """Return where in every layer what is put into it begins and ends [m from its outer face].

    A cell ends there: one that lies in the place with a part of it carries its water over the bound at once, as far as
    it is wide (vacuum insulation with a leak into its outer 5 mm: 0.6 % off, and no mesh nearer to another).
    """
    grid = problem.grid
    puts = _put(problem)
    found: list[list[float]] = [[] for _ in problem.case.assembly.layers]
    places = [(row, int(j)) for row in puts for j in np.unique(grid.layer[row > 0.0]) if j >= 0]
    for row, layer in places:
        of = grid.cells(layer)
        cells = of[row[of] > 0.0]
        edges = np.concatenate([[0.0], np.cumsum(grid.dx[of])])
        first, last = cells[0] - of[0], cells[-1] - of[0]
        inside = row[cells] / row.max()
        if last < len(of) - 1 or (first == 0 and inside[-1] < 1.0):
            found[layer].append(edges[last] + inside[-1] * grid.dx[cells[-1]])
        if first > 0 or (last == len(of) - 1 and inside[0] < 1.0):
            found[layer].append(edges[first + 1] - inside[0] * grid.dx[cells[0]])
    out = []
    for j, layer_ends in enumerate(found):
        thickness = problem.case.assembly.layers[j].thickness
        kept = [0.0]
        for end in sorted(layer_ends):
            if end - kept[-1] > NEAREST * thickness and thickness - end > NEAREST * thickness:
                kept.append(end)
        out.append(np.array(kept[1:]))
    return out


def _may_come(problem: Problem, source: int) -> bool:
    """Whether a source may bring water: not what overflows from a place that has room for all it is offered."""
    forcing = problem.forcing
    whose = int(forcing.limited[source]) - OVERFLOW
    if whose < 0:
        return True
    place = forcing.share[whose] / forcing.share[whose].max()
    room = float(np.sum(place * (problem.grid.dx * problem.saturation - problem.state.water)))
    return float(np.sum(np.diff(forcing.marks) * forcing.rate[1:, whose])) > room


def widths(
    assembly: Assembly,
    seen: list[Bend],
    share: float = SHARE,
    refine: float = 1.0,
    ends: Sequence[Array] | None = None,
    at_faces: Sequence[tuple[float, float]] | None = None,
) -> list[Array]:
    """Return the widths of the cells of every layer [m].

    Parameters
    ----------
    assembly : Assembly
    seen : list of Bend
    share : float
        Of the promise, that the line across a cell may err by.
    refine : float
        Factor on the number of cells; a whole number cuts every cell into that many.
    ends : sequence of array, optional
        Where in every layer a cell must end (`spots`).
    at_faces : sequence of pair of float, optional
        Widest cell at the outer and at the inner face of every layer [m] (`skins`).
    """
    bare = not isinstance(assembly.parts[0], Film)
    ends = [np.zeros(0)] * len(seen) if ends is None else ends
    at_faces = [(AT_FACE, AT_FACE)] * len(seen) if at_faces is None else at_faces
    return [
        _layer(
            part.thickness,
            bend,
            share,
            refine,
            (
                NARROWEST_WATERLESS if part.material.saturation < WATERLESS else NARROWEST,
                NARROWEST_IN_ICE_BARE if bare and j == 0 else NARROWEST_IN_ICE,
            ),
            ends[j],
            _under_dew(part, bend, at_faces[j]),
            MOST_WATERLESS if part.material.saturation < WATERLESS else MOST,
        )
        if part.cells is None
        else layer_cells(part.thickness, part.cells, refine, grading_of(part.material))
        for j, (part, bend) in enumerate(zip(assembly.layers, seen, strict=True))
    ]


def _under_dew(part: Layer, bend: Bend, at_face: tuple[float, float]) -> tuple[float, float]:
    """Return the widest cells at both faces of a layer, thinner where dew was seen that the layer does not draw in."""
    m = part.material
    if m.liquid is not None or m.diffusivity is not None or m.saturation < WATERLESS:
        return at_face
    most = DEW_SHARE * part.thickness
    outer, inner = (min(width, most) if wet else width for width, wet in zip(at_face, bend.wet, strict=True))
    return outer, inner


def _layer(
    thickness: float,
    bend: Bend,
    share: float,
    refine: float,
    least: tuple[float, float],
    ends: Array,
    at_face: tuple[float, float],
    most: int,
) -> Array:
    """Return widths; least : narrowest cell, and where it freezes, at_face : widest at both faces [m]; most cells."""
    near = np.geomspace(1e-3 * min(bend.x[0], 0.01 * thickness), 0.5 * thickness, 300)
    x = np.unique(np.concatenate([[0.0], near, thickness - near, bend.x, [thickness]]))
    wanted = np.sqrt(8.0 * share / np.maximum(bend.by_width, 1e-12))
    width = np.exp(np.interp(x, bend.x, np.log(wanted)))
    # dew lies at a face: within, the narrowest cell is that of any layer
    narrowest = np.clip(0.5 * SLOPE * np.minimum(x, thickness - x), least[0], NARROWEST)
    narrowest = np.minimum(narrowest, NARROWEST_SHARE * thickness)
    narrowest[np.interp(x, bend.x, bend.icy) > 0.0] = min(least[1], thickness / LEAST)
    width = np.clip(width, narrowest, max(WIDEST * thickness, float(narrowest.max())))
    # no wider than the slope allows from any place where it is narrower
    from_left = np.minimum.accumulate(width - SLOPE * x) + SLOPE * x
    from_right = np.minimum.accumulate((width + SLOPE * x)[::-1])[::-1] - SLOPE * x
    width = np.minimum(from_left, from_right)
    width = np.minimum(width, np.minimum(at_face[0] + FROM_FACE * x, at_face[1] + FROM_FACE * (thickness - x)))
    count = np.concatenate([[0.0], np.cumsum(0.5 * (1 / width[1:] + 1 / width[:-1]) * np.diff(x))])
    cells = min(max(LEAST, int(np.ceil(count[-1] - 0.05))), most)
    bounds = np.interp(np.concatenate([[0.0], ends, [thickness]]), x, count)
    edges = [np.zeros(1)]
    for low, high in pairwise(bounds):
        part = max(1, round(max(1, round(cells * (high - low) / count[-1])) * refine))
        edges.append(np.interp(np.linspace(low, high, part + 1)[1:], count, x))
    return np.diff(np.concatenate(edges))


def sharpened(grid: Grid, seen: list[Bend]) -> list[Bend]:
    """Return what the second pilot saw on its mesh, fronts counted as such: of first order in the width."""
    out = []
    for j, bend in enumerate(seen):
        error = grid.dx[grid.cells(j)] ** 2 * bend.by_width / 8.0
        front = np.maximum(1.0, error / np.where(bend.sudden > SUDDEN, SMEARED_AT_ONCE, SMEARED))
        once = np.where(bend.sudden > SUDDEN, bend.by_width * front, 0.0)
        # a pilot places the foot of a front no better than within a cell of its own
        beside = np.maximum(np.concatenate([once[1:], [0.0]]), np.concatenate([[0.0], once[:-1]]))
        by_width = np.maximum(bend.by_width * front, beside)
        passed = bend.change > PASSED
        if passed.any():
            by_width[passed] = np.maximum(by_width[passed], np.quantile(by_width[passed], 1.0 - NO_WIDER))
        out.append(bend._replace(by_width=by_width))
    return out


def until(case: Case) -> float:
    """Return how long the second pilot marches [s]."""
    begins = [float((w.start - case.start) / np.timedelta64(1, "s")) for w in case.wettings]
    return max([YEAR, *(b + AFTER_EVENT for b in begins)])
