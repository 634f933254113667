"""A case run for the outputs that a study wants of it; what runs have in common is run once."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ..case.case import Case
from . import outputs
from .observe import Labelled, Records, remembering
from .outputs import Output

#: The last run without wettings of each thread.
_LAST = threading.local()


def evaluate_case(
    case: Case, wanted: Sequence[Output], dry: Any = None, limits: Mapping[str, float] | None = None
) -> Mapping[str, Any]:
    """Run a case and return the outputs wanted, by name.

    Parameters
    ----------
    case : Case
    wanted : sequence of Output
    dry : object, optional
        What the case is without its wettings. The next of this thread with an equal `dry` and mesh takes over that run.
    limits : mapping, optional
        Limits of criteria by name [SI] instead of their own.
    """
    from ..lowering.problem import mesh_of
    from ..run.simulation import simulate
    from ..trial.dryout import account

    case = remembering(case)
    need = outputs.sources(wanted)
    findings: dict[str, Any] = {}
    if "function" in need:
        from .. import accessor  # noqa: F401 - a function of the Dataset finds `results.drydown`
    if need <= {"run"}:
        return outputs.read(wanted, marched(case, wanted), None, findings)
    trial = None
    if "trial" in need:
        key = (grid := mesh_of(case)).dx.tobytes()  # the run without water is another one on another mesh
        if dry is None or getattr(_LAST, "dry", None) != (dry, key):
            _LAST.reference = simulate(replace(case, wettings=()), grid=grid)
            _LAST.dry = (dry, key)
        dataset = simulate(case, grid=grid)
        trial = account(case, _LAST.reference, dataset)
    else:
        dataset = simulate(case)
    if "criterion" in need:
        from ..criteria import assess

        asked = list(dict.fromkeys(o.criterion for o in wanted if o.criterion))
        findings = dict(zip(asked, assess(dataset, limits, asked), strict=True))
    return outputs.read(wanted, Labelled(dataset), trial, findings, dataset)


def marched(case: Case, wanted: Sequence[Output]) -> Records:
    """Run a case and return what outputs of the run read of it."""
    from ..lowering.problem import lower, without_faces
    from ..run.simulation import chunks

    problem = without_faces(lower(case, told=False))  # nothing reads them; a tenth of a small march
    records = Records(problem)
    records.keep_only(*outputs.cells_read(wanted, records))
    for marks, record in chunks(problem):
        records.append(marks, record)
    return records
