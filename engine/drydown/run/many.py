"""`simulate_many(cases) -> Datasets`: many cases, one after the other or on a GPU all at once."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from ..case.case import Case
from ..errors import InputError
from ..kernel.layout import Record
from ..systems import processors
from .simulation import Progress, SimulationError, simulate

if TYPE_CHECKING:
    import xarray as xr

    from .keep import Keep

DEVICES = ("cpu", "cuda")


def need_device(device: str) -> None:
    """Raise InputError for a device that is not known, or a GPU that cannot be used."""
    if device not in DEVICES:
        raise InputError(f"device is '{device}'; use 'cpu' or 'cuda'", "device")
    if device == "cuda":
        from ..gpu.card import need_card

        need_card()


def simulate_many(
    cases: Sequence[Case], device: str = "cpu", progress: Progress | None = None, keep: Keep | None = None
) -> list[xr.Dataset]:
    """Run many cases.

    Parameters
    ----------
    cases : sequence of Case
    device : {'cpu', 'cuda'}
        Where they are marched. On a GPU all cases of one period, tolerance and way of reading films march together;
        it pays from some thousands on (`docs/gpu.md`).
    progress : callable, optional
        Called with the fraction done.
    keep : Keep, optional
        What of each is kept, as for `simulate`. Every variable of every hour of thousands of walls fills any memory:
        name what is wanted.

    Returns
    -------
    list of xarray.Dataset
        As `simulate` returns them, in the order of the cases.

    Raises
    ------
    InputError
        If a case cannot be lowered, or there is no GPU where one is asked for.
    SimulationError
        If a step cannot be solved; the message says of which case, `partial` holds what was reached of it.
    """
    need_device(device)
    if device == "cpu":
        out = []
        for i, case in enumerate(cases):
            try:
                out.append(simulate(case, keep=keep))
            except SimulationError as error:
                raise SimulationError(f"case {i}: {error}", error.partial) from None
            if progress is not None:
                progress((i + 1) / len(cases))
        return out
    from ..gpu.together import march_all
    from .keep import ALL_OF_IT, lowered
    from .results import MemorySink

    kept = ALL_OF_IT if keep is None else keep
    with ThreadPoolExecutor(processors()) as pool:
        problems = list(pool.map(lambda case: lowered(case, kept), cases))
    sinks = [MemorySink(p, kept) for p in problems]

    def take(i: int, marks: slice, record: Record) -> None:
        sinks[i].append(marks, record)

    for i, said in enumerate(march_all(problems, take, progress)):
        if said:
            raise SimulationError(f"case {i}: {said}", sinks[i].abandon())
    return [sink.close() for sink in sinks]
