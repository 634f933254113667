"""A run that will take more than minutes is told before it begins."""

from dataclasses import replace

import numpy as np
from drydown import Assembly, Numerics
from drydown.casefile import read_case
from drydown.kernel.layout import STEPS
from drydown.lowering.problem import lower
from drydown.run.effort import expected_cells, expected_seconds
from drydown.run.simulation import chunks
from drydown.wording.effort import long_run
from small_case import write_case


def test_long_runs_are_told_and_short_ones_not(tmp_path):
    write_case(tmp_path)
    case = read_case(tmp_path / "wall.toml")
    assert long_run(case, 2) == ""
    fine = replace(case, numerics=Numerics(tolerance=1e-12))
    assert long_run(fine).startswith("this will take about ")
    parts = [replace(case.assembly.layers[1], name=f"wool {i}") for i in range(3000)]
    many = replace(case, assembly=Assembly(tuple(parts)), wettings=(), end=case.start + np.timedelta64(365, "D"))
    assert "60000 cells" in long_run(many) and "minutes" in long_run(many)


def test_what_is_expected_is_near_what_a_run_takes_by_its_counters(tmp_path):
    """Cells and steps of the estimate against those of the run; no clock."""
    write_case(tmp_path)
    case = replace(read_case(tmp_path / "wall.toml"), wettings=())
    for numerics in (Numerics(), Numerics(tolerance=0.01), Numerics(refine=3.0)):
        problem = lower(replace(case, numerics=numerics))
        *_, (_, last) = chunks(problem)
        done = last.counters[STEPS] * len(problem.grid.dx)
        told = expected_seconds(problem.case) / 0.35e-6
        assert 0.3 < told / done < 3.0, (numerics, told / done)
        assert 0.3 < expected_cells(problem.case) / len(problem.grid.dx) < 3.0
