"""Running a study: block by block, in threads, on a dask cluster, or a part of it in this process.

The blocks and what is in them do not depend on who runs them: every case is a pure function of its point.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import Any

import numpy as np

from ..errors import InputError
from ..run.many import need_device
from ..run.simulation import SimulationError
from ..systems import processors
from .functions import FunctionFailed
from .locks import Heartbeat, Lock, let_go
from .made import MADE, by_function, of_point
from .on_dask import blocks_on_dask
from .plan import Study
from .progress import Meter
from .store import Block, Damaged, Store


@dataclass
class Summary:
    """What a run did.

    Attributes
    ----------
    cases : int
        Cases of the study, or of the part of it that was to be run.
    present, computed, failed : int
        Cases that were there before, that were run, and that failed now.
    held : dict of int to str
        Blocks that another process works on, and which.
    lost : dict of int to str
        Blocks whose dask workers ended one after the other while running them, and their cases.
    damaged : list of str
        Files that were set aside and computed anew, with the reason.
    reasons : list of str
        The first failures, one line each.
    seconds : float
    """

    cases: int
    present: int = 0
    computed: int = 0
    failed: int = 0
    held: dict[int, str] = field(default_factory=dict)
    lost: dict[int, str] = field(default_factory=dict)
    damaged: list[str] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    seconds: float = 0.0


class Stopped(Exception):
    """A block was left because the run was stopped."""


def evaluate(
    study: Study,
    cases: Iterable[int],
    count: Callable[[int, int], None] | None = None,
    stop: Event | None = None,
    found: Mapping[int, Mapping[str, Any] | Exception] | None = None,
) -> Block:
    """Evaluate cases one after the other.

    Parameters
    ----------
    study : Study
    cases : iterable of int
    count : callable, optional
        Called after each case with 1 and whether it failed.
    stop : Event, optional
        Where it is set, `Stopped` is raised before the next case.
    found : mapping, optional
        Number of each case to its values, or to why there are none, where they have been worked out already.

    Returns
    -------
    Block
        A case that fails has NaN (for integers the lowest value) and its reason.
    """
    cases = list(cases)
    fields, sizes = study.model.fields(), {k: len(v) for k, v in study.model.coordinates().items()}
    values = {}
    for name, f in fields.items():
        empty: Any = np.nan if f.dtype.startswith("f") else np.iinfo(f.dtype).min
        values[name] = np.full((len(cases), *(sizes[d] for d in f.dimensions)), empty, dtype=f.dtype)
    failed = np.zeros(len(cases), dtype=bool)
    made = np.zeros(len(cases), dtype=np.int64)
    reason = [""] * len(cases)
    for row, case in enumerate(cases):
        if stop is not None and stop.is_set():
            raise Stopped
        try:
            got = study.model.evaluate(study.point(case)) if found is None else _had(found[case])
            if by_function(study):
                made[row] = got[MADE] if found is None else of_point(study, case)
            for name, array in values.items():
                new = np.asarray(got[name], dtype=array.dtype)
                if new.shape != array[row].shape:
                    raise InputError(f"it has shape {new.shape}, not {array[row].shape}", f"output '{name}'")
                array[row] = new
        except (OSError, MemoryError):
            raise  # the machine's fault, not that of the case
        except Exception as error:
            for array in values.values():
                array[row] = np.nan if array.dtype.kind == "f" else np.iinfo(array.dtype).min
            failed[row] = True
            ours = isinstance(error, InputError | SimulationError | FunctionFailed)
            said = str(error) if ours else f"{type(error).__name__}: {error}"
            reason[row] = " ".join(said.split())[:500]
        if count is not None:
            count(1, int(failed[row]))
    return Block(values, failed, reason, made if by_function(study) else None)


def _had(found: Mapping[str, Any] | Exception) -> Mapping[str, Any]:
    if isinstance(found, Exception):
        raise found
    return found


def run_block(
    study: Study,
    store: Store,
    block: int,
    heart: Heartbeat,
    count: Callable[[int, int], None] | None = None,
    stop: Event | None = None,
) -> tuple[str, Any]:
    """Run one block and write it, unless it is there or another has it in work.

    Returns
    -------
    word : {"done", "there", "held"}
    about : object
        The failures (number, first reason), None, or who holds it.
    """
    lock = Lock(store.lock_file(block))
    with heart.holding(lock) as mine:
        if not mine:
            from .locks import read_holder

            return "held", str(read_holder(lock.path) or "somebody")
        if store.has(block):
            return "there", None
        found = evaluate(study, study.cases_of(block), count, stop)
        if not lock.mine():  # taken for dead and replaced; the other writes it
            return "held", "another process"
        store.write(block, found)
    first = next((f"case {c}: {r}" for c, r in zip(study.cases_of(block), found.reason, strict=True) if r), "")
    return "done", (len(found.failed), int(found.failed.sum()), first)


def run(
    study: Study,
    path: str | Path,
    *,
    part: tuple[int, int] = (1, 1),
    workers: int | None = None,
    client: Any = None,
    device: str | None = None,
    again: bool = False,
    say: Callable[[str], None] | None = None,
    tick: Callable[[float, str], None] | None = None,
    every: float = 30.0,
) -> Summary:
    """Run what is missing of a study and store it.

    Parameters
    ----------
    study : Study
    path : path-like
        Folder of the results; made where it is not there.
    part : (int, int)
        Run only part i of n (from 1), as a job array does.
    workers : int, optional
        Threads; as many as this process may use processors, by default.
    client : dask.distributed.Client, optional
        Run on its workers instead of threads. They must see the same folder. Workers may be lost: their blocks are run
        by others.
    device : {'cpu', 'cuda'}, optional
        Where the cases are marched; what the study says by default. On a GPU thousands of cases march together.
    again : bool
        Run blocks with failed cases once more.
    say : callable, optional
        Takes one plain line about the progress at most every `every` seconds; the log in the store gets the same.
    tick : callable, optional
        Takes the fraction done and a short text after every case.
    every : float
        [s]

    Returns
    -------
    Summary

    Raises
    ------
    InputError
        If the folder was begun with other inputs, a function makes other cases now than those that were run, a value of
        an axis cannot be read, or there is no GPU where one is asked for, or its outputs are not made there.
    OSError
        If a block cannot be written; what was written stays.
    ConnectionError
        If the scheduler of dask is gone; what was written stays.
    """
    began = time.monotonic()
    device = study.device if device is None else device
    need_device(device)
    if device == "cuda":
        from .on_card import check, run_on_card

        check(study)
        if client is not None:
            raise InputError("a GPU and a dask scheduler do not go together", "device")
    blocks = study.share(*part)
    store = Store(path, study)
    store.begin()
    store.sweep()
    study.check()
    summary = Summary(sum(len(study.cases_of(b)) for b in blocks))
    wanted = _missing(study, store, blocks, again, summary)
    who = f"part {part[0]}/{part[1]}, " if part[1] > 1 else ""

    def line(text: str) -> None:
        store.note(f"{time.strftime('%Y-%m-%d %H:%M:%S')} {who}process {os.getpid()}: {text}")
        if say is not None:
            say(text)

    meter = Meter(summary.cases, summary.present, line, tick, every)
    for text in summary.damaged:
        line(f"set aside and computed anew: {text}")
    if wanted:
        store.note(f"{time.strftime('%Y-%m-%d %H:%M:%S')} {who}process {os.getpid()}: started, {meter.text()}")
        if device == "cuda":
            for block, word, about in run_on_card(study, store, wanted, evaluate, meter.count):
                _take(block, word, about, study, summary)
        elif client is None:
            _in_threads(study, store, wanted, processors() if workers is None else workers, meter, summary)
        else:
            _on_dask(study, store, wanted, client, meter, summary)
    # what another process had in work may be done by now
    for block in [b for b in summary.held if store.has(b)]:
        del summary.held[block]
        summary.present += len(study.cases_of(block))
    meter.done = summary.present + summary.computed
    summary.seconds = time.monotonic() - began
    held = f", {len(summary.held)} blocks are in work elsewhere" if summary.held else ""
    held += f", {len(summary.lost)} blocks lost their workers" if summary.lost else ""
    store.note(
        f"{time.strftime('%Y-%m-%d %H:%M:%S')} {who}process {os.getpid()}: finished, {meter.text()}{held}, "
        f"{summary.computed} run in {summary.seconds:.1f} s"
    )
    return summary


def solve(study: Study, workers: int | None = None, tick: Callable[[float, str], None] | None = None) -> Any:
    """Run a study in memory and return its Dataset, without a store (see `drydown.study.gather`).

    Parameters
    ----------
    study : Study
    workers : int, optional
        Threads; as many as there are processors by default.
    tick : callable, optional
        Takes the fraction done and a short text after every case.
    """
    from .gathering import dataset_of

    study.check()
    meter = Meter(len(study), 0, lambda text: None, tick)
    with ThreadPoolExecutor(processors() if workers is None else max(1, workers)) as pool:
        jobs = [pool.submit(evaluate, study, study.cases_of(b), meter.count) for b in range(study.blocks)]
        try:
            return dataset_of(study, [job.result() for job in jobs])
        except BaseException:
            for job in jobs:
                job.cancel()
            raise


def _missing(study: Study, store: Store, blocks: Sequence[int], again: bool, summary: Summary) -> list[int]:
    """Return the blocks to run; damaged ones are set aside."""
    there: dict[int, Block] = {}
    damaged: dict[int, Damaged] = {}
    for block in blocks:
        if store.has(block):
            try:
                there[block] = store.read(block)._replace(values={})  # their values are not needed
            except Damaged as error:
                damaged[block] = error
    store.compare(there, [b for b in sorted(set(range(study.blocks)) - set(blocks)) if store.has(b)])
    wanted = []
    for block in blocks:
        if block in there:
            if not (again and there[block].failed.any()):
                summary.present += len(study.cases_of(block))
                let_go(store.lock_file(block))
                continue
            store.block_file(block).unlink()
        elif block in damaged:
            aside = store.set_aside(block)
            summary.damaged.append(f"block {block}: {damaged[block]}; kept as {aside.name}")
        wanted.append(block)
    return wanted


def _take(block: int, word: str, about: Any, study: Study, summary: Summary) -> None:
    if word == "held":
        summary.held[block] = about
    elif word == "lost":
        cases = study.cases_of(block)
        summary.lost[block] = f"cases {cases.start} to {cases.stop - 1}"
    elif word == "there":
        summary.present += len(study.cases_of(block))
    else:
        count, failed, first = about
        summary.computed += count
        summary.failed += failed
        if first and len(summary.reasons) < 5:
            summary.reasons.append(first)


def _in_threads(
    study: Study, store: Store, blocks: Sequence[int], workers: int, meter: Meter, summary: Summary
) -> None:
    if workers < 1:
        raise InputError(f"workers is {workers}; at least 1 is needed", "workers")
    stop = Event()
    with Heartbeat() as heart, ThreadPoolExecutor(workers) as pool:
        waiting = list(reversed(blocks))
        running: dict[Future[tuple[str, Any]], int] = {}
        try:
            while waiting or running:
                while waiting and len(running) < workers:
                    block = waiting.pop()
                    running[pool.submit(run_block, study, store, block, heart, meter.count, stop)] = block
                for job in wait(running, return_when=FIRST_COMPLETED).done:
                    _take(running.pop(job), *job.result(), study, summary)
        except BaseException:
            stop.set()  # the cases that run are finished, their blocks are not written
            raise


def _on_dask(study: Study, store: Store, blocks: Sequence[int], client: Any, meter: Meter, summary: Summary) -> None:
    for block, word, about in blocks_on_dask(run_block, study, store, blocks, client, meter.line):
        _take(block, word, about, study, summary)
        if word in ("done", "there"):
            meter.count(len(study.cases_of(block)), about[1] if word == "done" else 0)
