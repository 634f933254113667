"""How long a run will take, in words."""

from __future__ import annotations

from ..case.case import Case
from ..run.effort import expected_cells, expected_seconds

#: A run that takes longer is spoken of before it begins [s].
LONG = 180.0


def long_run(case: Case, runs: int = 1) -> str:
    """Return a line on a run that will take more than minutes; empty: it will not.

    Parameters
    ----------
    case : Case
    runs : int
        How often the case is run.
    """
    seconds = runs * expected_seconds(case)
    if seconds < LONG:
        return ""
    if seconds < 5400.0:
        long = f"{seconds / 60.0:.0f} minutes"
    elif seconds < 3.0 * 86400.0:
        long = f"{seconds / 3600.0:.0f} hours"
    else:
        long = f"{seconds / 86400.0:.3g} days"
    years = (case.end - case.start).astype("timedelta64[s]").astype(float) / (365.25 * 86400.0)
    return (
        f"this will take about {long}: {expected_cells(case):.0f} cells, {years:.3g} years, tolerance "
        f"{case.numerics.tolerance:g}; Ctrl-C stops it"
    )
