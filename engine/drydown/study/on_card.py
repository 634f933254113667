"""A study on a GPU: the cases of many blocks march together, then each block is written as everywhere.

What a case keeps is read as it is of a run on the processor. The trial needs a run without the water as well; it is
left to the processor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from typing import Any

import numpy as np

from ..errors import InputError
from ..lowering.lowered import Problem
from ..lowering.problem import lower, without_faces
from ..run.keep import ALL_OF_IT, Keep, lowered
from ..run.results import MemorySink
from ..run.simulation import SimulationError
from ..systems import free_memory, processors
from . import outputs
from .locks import Heartbeat, Lock, read_holder
from .observe import Labelled, Records, remembering
from .plan import Study
from .store import Block, Store

#: Cases that march together, at least where there are so many: what fills a card, and what a killed process loses.
AT_ONCE = 8192
#: Share of the memory that is free which the records of cases that march together may take, and about how many numbers
#: of a cell stand there at once: three of the record, as many of the Dataset made of it.
SHARE, NUMBERS = 0.4, 6
#: What criteria read of a run (`drydown.criteria.reading`).
READ = (
    "temperature",
    "relative_humidity",
    "water_content",
    "layer_water",
    "face_temperature",
    "face_humidity_outer_side",
    "face_humidity_inner_side",
    "water_added",
    "load_water",
    "load_passed_on",
    "load_refused",
    "rain_offered",
    "rain_run_off",
)

Values = Mapping[str, Any] | Exception
Evaluate = Callable[..., Block]


def check(study: Study) -> None:
    """Raise InputError where a study is of something that a GPU does not march."""
    where = f"study '{study.name}'"
    wanted = getattr(study.model, "outputs", None)
    if wanted is None:
        raise InputError("it is of a plain function; a GPU marches cases. Use device = 'cpu'", where)
    for o in wanted:
        if o.kind.source == "trial":
            raise InputError(
                f"the output '{o.name}' is of a trial, which is not run on a GPU; use device = 'cpu'", where
            )


def run_on_card(
    study: Study, store: Store, blocks: Sequence[int], evaluate: Evaluate, count: Callable[[int, int], None]
) -> Iterator[tuple[int, str, Any]]:
    """Run blocks and write them; yield each with what came of it, as `running.run_block` says it."""
    from ..gpu.card import about

    marched = {name: str(value) for name, value in about().items() if name in ("card", "numba-cuda", "CUDA runtime")}
    waiting = list(blocks)
    while waiting:
        some: list[int] = []
        while waiting and sum(len(study.cases_of(b)) for b in some) < AT_ONCE:
            some.append(waiting.pop(0))
        with Heartbeat() as heart, ExitStack() as stack:
            locks = {}
            for block in some:
                lock = Lock(store.lock_file(block))
                if not stack.enter_context(heart.holding(lock)):
                    yield block, "held", str(read_holder(lock.path) or "somebody")
                elif store.has(block):
                    yield block, "there", None
                else:
                    locks[block] = lock
            found = values_of(study, [case for block in locks for case in study.cases_of(block)])
            for block, lock in locks.items():
                made = evaluate(study, study.cases_of(block), count, None, found)
                if not lock.mine():  # taken for dead and replaced; the other writes it
                    yield block, "held", "another process"
                    continue
                store.write(block, made, marched)
                reasons = zip(study.cases_of(block), made.reason, strict=True)
                first = next((f"case {c}: {r}" for c, r in reasons if r), "")
                yield block, "done", (len(made.failed), int(made.failed.sum()), first)


def values_of(study: Study, cases: Sequence[int]) -> dict[int, Values]:
    """Return the outputs of cases of a study by name, or why there are none.

    Parameters
    ----------
    study : Study
        One that `check` lets pass.
    cases : sequence of int
    """
    from .. import accessor  # noqa: F401 - a function of the Dataset finds `results.drydown`
    from ..gpu.together import march_all

    model: Any = study.model
    keep = _kept(model)
    with ThreadPoolExecutor(processors()) as pool:
        made = dict(zip(cases, pool.map(lambda case: _lowered(study, case, keep), cases), strict=True))
        out: dict[int, Values] = {c: p for c, p in made.items() if isinstance(p, Exception)}
        for some in list(_portions({c: p for c, p in made.items() if c not in out})):
            problems = [made.pop(c) for c in some]
            sinks = {c: _sink(model, p, keep) for c, p in zip(some, problems, strict=True)}

            def take(i: int, marks: slice, record: Any, some: list[int] = some, sinks: dict[int, Any] = sinks) -> None:
                sinks[some[i]].append(marks, record)

            why = dict(zip(some, march_all(problems, take), strict=True))

            def read(case: int, why: dict[int, str] = why, sinks: dict[int, Any] = sinks) -> Values:
                return _read(study, case, why[case], sinks.pop(case))  # what was read is let go

            out |= zip(some, pool.map(read, some), strict=True)
    return out


def _kept(model: Any) -> Keep | None:
    """Return what of every case is kept; None: the cells alone that its outputs read."""
    from ..criteria import Criterion
    from ..plugins import criterion

    need = outputs.sources(model.outputs)
    if need <= {"run"}:
        return None
    if "function" not in need and all(
        isinstance(criterion(o.criterion), Criterion) for o in model.outputs if o.criterion
    ):
        return Keep(variables=READ)
    return ALL_OF_IT  # a function, or a criterion from outside that judges by itself, may read anything


def _lowered(study: Study, case: int, keep: Keep | None) -> Any:
    """Return a case lowered, or why it cannot be."""
    model: Any = study.model
    try:
        made = remembering(model.case(study.point(case)))
        return without_faces(lower(made, told=False)) if keep is None else lowered(made, keep)
    except (OSError, MemoryError):
        raise
    except Exception as error:
        return error


def _portions(problems: Mapping[int, Problem]) -> Iterator[list[int]]:
    """Yield the numbers of problems whose records have room beside each other in the memory of this machine."""
    room = SHARE * free_memory()
    some: list[int] = []
    taken = 0.0
    for case, p in problems.items():
        size = 8.0 * NUMBERS * np.sum(p.forcing.keep) * (len(p.wall.dx) + len(p.interfaces))
        if some and taken + size > room:
            yield some
            some, taken = [], 0.0
        some.append(case)
        taken += size
    if some:
        yield some


def _sink(model: Any, problem: Problem, keep: Keep | None) -> Any:
    """Return what takes the records of a case."""
    if keep is not None:
        return MemorySink(problem, keep)
    records = Records(problem)
    records.keep_only(*outputs.cells_read(model.outputs, records))
    return records


def _read(study: Study, case: int, said: str, sink: Any) -> Values:
    """Return the outputs of a case by name, or why there are none."""
    from ..criteria import assess

    model: Any = study.model
    if said:
        return SimulationError(said)
    try:
        if isinstance(sink, Records):
            return outputs.read(model.outputs, sink, None, {})
        dataset = sink.close()
        asked = list(dict.fromkeys(o.criterion for o in model.outputs if o.criterion))
        limits = model.limits(study.point(case))
        findings = dict(zip(asked, assess(dataset, limits, asked), strict=True)) if asked else {}
        return outputs.read(model.outputs, Labelled(dataset), None, findings, dataset)
    except (OSError, MemoryError):
        raise
    except Exception as error:
        return error
