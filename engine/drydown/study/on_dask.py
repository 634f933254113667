"""A study on the workers of a dask cluster, any of which may be lost at any time: one, all, or the scheduler itself."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Event, Thread
from typing import Any

from .functions import by_value
from .locks import Heartbeat
from .plan import Study
from .store import Store

#: Seconds between two looks at whether any worker is there.
LOOK = 30.0
#: Stores of the studies that this process was sent, so that weather and materials are read once.
_STORES: dict[str, tuple[Store, Heartbeat]] = {}

Work = Callable[[Study, Store, int, Heartbeat], tuple[str, Any]]


@dataclass(frozen=True)
class Sent:
    """A study as other processes get it: pickled with its functions, and what its results depend on."""

    study: bytes
    inputs: dict[str, str]


def _given(sent: Sent) -> Sent:
    """Return the study: as a task, and not as data, it can be had again when all who held it are lost."""
    return sent


def _remote(work: Work, sent: Sent, path: str, identity: str, block: int) -> tuple[str, Any]:
    """Run one block in a worker of a cluster.

    What the results depend on was worked out where the run was begun, and comes along: here a function of a script is
    another one by its module.
    """
    key = f"{path} {identity}"
    if key not in _STORES:
        import pickle

        heart = Heartbeat()
        heart.__enter__()
        _STORES[key] = (Store(path, pickle.loads(sent.study), sent.inputs), heart)
    store, heart = _STORES[key]
    return work(store.study, store, block, heart)


def blocks_on_dask(
    work: Work, study: Study, store: Store, blocks: Sequence[int], client: Any, say: Callable[[str], None]
) -> Iterator[tuple[int, str, Any]]:
    """Run blocks on the workers of a client and give each as it is done.

    Parameters
    ----------
    work : callable
        Runs one block: `drydown.study.running.run_block`.
    study : Study
    store : Store
    blocks : sequence of int
    client : dask.distributed.Client
    say : callable
        Takes a line where no worker is there.

    Yields
    ------
    block : int
    word : {"done", "there", "held", "lost"}
        As `run_block`; lost where worker after worker ended while running it alone.
    about : object
        As `run_block`; None where it was lost.

    Raises
    ------
    ConnectionError
        The scheduler is gone. What was finished is kept.
    """
    from concurrent.futures import CancelledError

    from distributed import KilledWorker, as_completed

    who = f"drydown-{store.hash[:8]}-{os.getpid()}"
    path = str(store.path.resolve())

    def submit(block: int, sent: Any, name: str = "") -> Any:
        key = f"{who}-{block}{name}"
        return client.submit(_remote, work, sent, path, store.hash, block, pure=False, retries=2, key=key)

    whole = Sent(by_value(study), store.inputs)

    def send(name: str = "") -> Any:
        return client.submit(_given, whole, pure=False, key=f"{who}-study{name}")

    sent = send()
    jobs = {submit(block, sent): block for block in blocks}
    suspects = []
    gone = ConnectionError("the scheduler of dask is gone; what was finished is kept, the same command goes on from it")
    try:
        with _watched(client, say):
            for job in as_completed(jobs):
                try:
                    yield jobs[job], *job.result()
                except KilledWorker:
                    suspects.append(jobs[job])
                job.release()  # its block is written; a worker that is lost with the answer loses nothing
            for block in suspects:  # alone: beside another that ended its worker, it may have been blamed for it
                jobs[last := submit(block, send(f"-{block}"), "-alone")] = block
                try:
                    yield block, *last.result()
                except KilledWorker:
                    yield block, "lost", None
    except CancelledError:
        raise gone from None
    except BaseException:
        if client.status == "running":
            client.cancel(list(jobs))
        raise


@contextmanager
def _watched(client: Any, say: Callable[[str], None]) -> Iterator[None]:
    """Say now and then that no worker is there: a run then waits, and would seem to hang."""
    end = Event()

    def watch() -> None:
        while not end.wait(LOOK):
            try:
                if not client.nthreads():
                    say("no worker of dask is there; waiting for one")
            except Exception:  # the scheduler is gone, which the jobs tell
                return

    thread = Thread(target=watch, name="drydown watch", daemon=True)
    thread.start()
    try:
        yield
    finally:
        end.set()
