"""How long a run will take, before it begins."""

from __future__ import annotations

import numpy as np

from ..case.case import Case

#: Seconds a cell and a step take (measured with `benchmarks/speed/growth.py`: 0.24 to 0.6 microseconds).
OF_A_CELL_AND_STEP = 0.35e-6
#: Steps of a year at the longest step of the default, and what the error control adds at the default tolerance; it
#: goes with tolerance^-1/2 (23,000 to 28,000 in all were measured).
STEPS_OF_A_YEAR, FOR_THE_ERROR = 18_000.0, 6_000.0
#: Cells that a layer is taken to have where it does not say.
CELLS_OF_A_LAYER = 20


def expected_cells(case: Case) -> float:
    """Return about how many cells a case is cut into."""
    return case.numerics.refine * sum(layer.cells or CELLS_OF_A_LAYER for layer in case.assembly.layers)


def expected_seconds(case: Case) -> float:
    """Return about how many seconds a run of a case takes on a usual processor.

    Parameters
    ----------
    case : Case

    Returns
    -------
    float
        [s]; right within a factor of two or so where no step is hard.
    """
    years = float((case.end - case.start) / np.timedelta64(1, "s")) / (365.25 * 86400.0)
    n = case.numerics
    steps = years * (STEPS_OF_A_YEAR * 1800.0 / n.max_step + FOR_THE_ERROR * n.tolerance**-0.5)
    return float(steps * expected_cells(case) * OF_A_CELL_AND_STEP)
