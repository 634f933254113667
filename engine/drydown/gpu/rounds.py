"""Rounds of the march, launched until every wall is there."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any

from .card import simulated
from .layout import THREADS
from .march import CLOSELY, PLAIN, set_out

#: Rounds launched before it is asked whether a wall is still on its way; together they are one graph of launches,
#: which costs the processor what one launch does.
AT_A_TIME = 16


def run(parts: tuple[Any, ...], kept: Any, begin: int, end: int, stretch: int, steps: Any = ()) -> None:
    """Take every wall from mark `begin` to mark `end`; each `stretch` of marks it starts from its state alone.

    With `Steps` stages are solved closely, and steps kept or followed (see `closely`).
    """
    from numba import cuda

    wall, tables, loads, many, weather, scratch = parts
    blocks = many.blocks
    kernels = CLOSELY if steps else PLAIN
    of_faces = (-(-blocks // many.lanes), many.most_slots * many.lanes)  # a thread is a wall there
    if end <= begin:
        return
    stream = cuda.stream()

    def one_round() -> None:
        kernels.begins[blocks, THREADS, stream](wall, tables, loads, many, weather, scratch, begin, stretch, steps)
        kernels.at_faces[of_faces, THREADS, stream](wall, tables, loads, many, scratch)
        kernels.over_cells[blocks, THREADS, stream](wall, tables, loads, many, scratch)
        kernels.ends[blocks, THREADS, stream](wall, tables, loads, many, weather, scratch, kept, end, steps)

    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*Grid size")  # few walls fill no card: the caller knows
        set_out[blocks, THREADS, stream](many, scratch, begin)
        one_round()  # compiled before it is captured
        stream.synchronize()
        rounds = one_round if simulated() else _graph(one_round, stream)
    while scratch.alive.copy_to_host(stream=stream)[0] > 0:
        rounds()
    stream.synchronize()


def _graph(one_round: Callable[[], None], stream: Any) -> Callable[[], None]:
    """Return what launches rounds as one graph."""
    from cuda.bindings import driver

    def checked(found: tuple[Any, ...]) -> Any:
        if int(found[0]) != 0:
            raise RuntimeError(f"the GPU's driver refused a graph of launches ({found[0]!s})")
        return found[1] if len(found) > 1 else None

    handle = driver.CUstream(int(stream))
    mode = driver.CUstreamCaptureMode.CU_STREAM_CAPTURE_MODE_RELAXED
    checked(driver.cuStreamBeginCapture(handle, mode))
    for _ in range(AT_A_TIME):
        one_round()
    graph = checked(driver.cuStreamEndCapture(handle))
    made = checked(driver.cuGraphInstantiate(graph, 0))

    def rounds() -> None:
        checked(driver.cuGraphLaunch(made, handle))

    return rounds
