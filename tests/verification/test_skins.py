"""Water put to the face of a layer that conducts none, or dew there: what dries off comes from a thin skin of cells."""

from dataclasses import replace

import numpy as np
import pytest
from drydown import Assembly, Chamber, Layer, simulate
from drydown.case.loads import RainShare
from drydown.lowering import pilot
from drydown.lowering.grid import pilot_grid
from drydown.lowering.problem import lower, mesh_of
from drydown.plugins import material
from drydown_validation.accuracy import FINER, TIGHT, at_centres, march, rms
from drydown_validation.practice_walls import drawn
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
    case = _wall(kind, days=1)
    widest = pilot.skins(lower(case, grid=pilot_grid(case.assembly)))[2][0]
    assert (widest < 2.5e-5) == thin
    grid = mesh_of(case)
    assert grid.dx[grid.cells(2)[0]] < 2.0 * widest  # wider by 0.9 of the depth of its middle


def test_dew_behind_metal_is_gone_when_it_is_gone_on_a_mesh_of_a_quarter(monkeypatch):
    """A drawn roof: dew in a gap of 10 mm under zinc. In a cell of 0.4 mm it was gone a minute too early."""
    case = drawn(28137003, 87, 30)
    truth = march(case, **TIGHT, refine=FINER)

    def off():
        run = march(case)
        return len(run.x), float(rms(run.humidity, at_centres(run, truth, truth.humidity)).max())

    cells, error = off()
    assert error < 1e-3
    monkeypatch.setattr(pilot, "DEW_SHARE", 1.0)
    fewer, before = off()
    assert before > 5e-3 and fewer > cells - 30
