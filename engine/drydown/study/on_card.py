"""A study on a GPU: the cases of many blocks march together, then each block is written as everywhere.

What a case keeps is read as it is of a run on the processor. The trial needs a run without the water as well; it is
left to the processor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from typing import Any

from ..errors import InputError
from ..run.simulation import SimulationError
from ..systems import processors
from . import outputs
from .locks import Heartbeat, Lock, read_holder
from .observe import Labelled, Records, remembering
from .plan import Study
from .store import Block, Store

#: Cases that march together, at least where there are so many: what fills a card, and what a killed process loses.
AT_ONCE = 8192

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
                store.write(block, made)
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
    from ..gpu.together import march_all
    from ..lowering.problem import lower, without_faces
    from ..run.keep import ALL_OF_IT
    from ..run.results import MemorySink

    model: Any = study.model
    need = outputs.sources(model.outputs)
    alone = need <= {"run"}

    def lowered(case: int) -> Any:
        try:
            problem = lower(remembering(model.case(study.point(case))))
        except (OSError, MemoryError):
            raise
        except Exception as error:
            return error
        return without_faces(problem) if alone else problem

    with ThreadPoolExecutor(processors()) as pool:
        made = dict(zip(cases, pool.map(lowered, cases), strict=True))
    out: dict[int, Values] = {c: p for c, p in made.items() if isinstance(p, Exception)}
    runs = {c: p for c, p in made.items() if c not in out}
    sinks: dict[int, Any] = {c: Records(problem=p) if alone else MemorySink(p, ALL_OF_IT) for c, p in runs.items()}
    order = list(runs)

    def take(i: int, marks: slice, record: Any) -> None:
        sink = sinks[order[i]]
        (sink.take if alone else sink.append)(marks, record)

    for case, said in zip(order, march_all(list(runs.values()), take), strict=True):
        sink = sinks.pop(case)
        try:
            out[case] = SimulationError(said) if said else _read(model, study.point(case), sink, alone)
        except (OSError, MemoryError):
            raise
        except Exception as error:
            out[case] = error
    return out


def _read(model: Any, point: Any, sink: Any, alone: bool) -> Mapping[str, Any]:
    """Return the outputs of a run."""
    if alone:
        return outputs.read(model.outputs, sink, None, {})
    from .. import accessor  # noqa: F401 - a function of the Dataset finds `results.drydown`
    from ..criteria import assess

    dataset = sink.close()
    asked = list(dict.fromkeys(o.criterion for o in model.outputs if o.criterion))
    findings = dict(zip(asked, assess(dataset, model.limits(point), asked), strict=True)) if asked else {}
    return outputs.read(model.outputs, Labelled(dataset), None, findings, dataset)
