"""No verdict hangs on a cell: judged numbers of walls drawn anew each time, on the mesh and on it halved twice.

    DRYDOWN_WALLS=30 DRYDOWN_SEED=5 pytest -s tests/verification/test_mesh_of_verdict.py

asks about thirty, and prints each.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest
from drawn_frames import drawn
from drydown import simulate
from drydown.criteria import Finding, assess, catalogue

#: Share of its limit by which a judged number may move.
MOVES = 0.02


#: Units of limits in those of a finding.
SCALE = {"d": 1.0 / 86400.0, "h/a": 1.0 / 3600.0}


def steps(found: Finding) -> list[float]:
    """Return the values at which a verdict changes: limits, those to watch from, a tenth of the limit on free water."""
    criterion = catalogue()[found.criterion]
    own = [SCALE.get(found.unit, 1.0) * limit.value for limit in criterion.limits]
    return [0.0, found.limit, 0.1 * found.limit, *own]


def moved(
    seed: int, refine: tuple[float, ...] = (1.0, 2.0, 4.0)
) -> list[tuple[str, float, tuple[float, ...], tuple[str, ...]]]:
    """Return criterion, greatest move as a share of the limit, values, and verdicts that change for nothing."""
    case = drawn(seed)
    runs = [assess(simulate(replace(case, numerics=replace(case.numerics, refine=r)))) for r in refine]
    out = []
    for found in zip(*runs, strict=True):
        if found[0].verdict == "not applicable":
            continue
        values = tuple(f.value for f in found)
        limit = found[0].limit
        verdicts = tuple(f"{f.verdict} ({f.case})" for f in found)
        low, high = min(values) - MOVES * limit, max(values) + MOVES * limit
        near = any(low <= step <= high for step in steps(found[0]))
        changed = len({f.verdict for f in found}) > 1 and not near
        out.append((found[0].criterion, (max(values) - min(values)) / limit, values, verdicts if changed else ()))
    return out


@pytest.mark.slow
def test_judged_numbers_do_not_hang_on_the_mesh():
    seed = int(os.environ.get("DRYDOWN_SEED", "26112600"))
    rows = []
    for k in range(int(os.environ.get("DRYDOWN_WALLS", "3"))):
        found = moved(seed + k)
        most = max(found, key=lambda row: row[1])
        print(f"wall {seed + k}: {most[0]} moves most, by {100 * most[1]:.2f} % of its limit", flush=True)
        rows += [(seed + k, *row) for row in found]
    rows.sort(key=lambda r: -r[2])
    for wall, name, share, values, _ in rows[:8]:
        print(f"wall {wall}: {name} moves by {100 * share:.2f} % of its limit: {', '.join(f'{v:.4g}' for v in values)}")
    assert rows[0][2] < MOVES, rows[0]
    assert not [r for r in rows if r[4]]
