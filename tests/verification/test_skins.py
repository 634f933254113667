"""Water put to the face of a layer that conducts none: what dries off it comes from a thin skin, which cells show."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Chamber, Layer, simulate
from drydown.case.loads import RainShare
from drydown.lowering.problem import mesh_of
from drydown.plugins import material
from small_wall import small_wall


def _wall(kind, days=4):
    """Return a pane, a gap and a layer of which the outer 5 mm take what rain gets past the pane."""
    parts = (
        Layer(material("glass pane"), 0.02),
        Layer(material("air gap 25 mm"), 0.014),
        Layer(material(kind), 0.05),
        Layer(material("gypsum plaster"), 0.019),
    )
    return small_wall(
        days=days,
        assembly=Assembly(parts),
        wettings=(),
        loads=(RainShare(kind, 0.01, "outer", depth=0.005),),
        outside=Chamber(276.15, 0.8, rain=1e-3),
    )


def _gap(case):
    """Return depths within the gap [m] and its humidities [-] by hour."""
    grid = mesh_of(case)
    inside = grid.cells(1)
    return grid.x[inside], simulate(case)["relative_humidity"].values[:, inside]


def test_a_gap_beside_wet_foam_is_as_humid_as_on_a_mesh_of_a_quarter():
    case = _wall("extruded polystyrene 35")
    x, usual = _gap(case)
    there, fine = _gap(replace(case, numerics=replace(case.numerics, refine=4.0, tolerance=0.1)))
    expected = np.array([np.interp(x, there, row) for row in fine])
    assert fine.max() > 0.95  # the face is wet
    assert np.sqrt(np.mean((usual - expected) ** 2, axis=0)).max() < 3e-3


@pytest.mark.parametrize(("kind", "thin"), [("extruded polystyrene 35", True), ("mineral wool", False)])
def test_the_first_cell_there_is_as_tight_as_a_little_air(kind, thin):
    grid = mesh_of(_wall(kind, days=1))
    first = grid.dx[grid.cells(2)[0]]
    assert (first < 2.5e-5) == thin
