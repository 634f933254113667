"""Is there a GPU? Said in one line where there is none."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from ..errors import InputError


def simulated() -> bool:
    """Return whether a GPU is played by the processor (``NUMBA_ENABLE_CUDASIM=1``)."""
    return os.environ.get("NUMBA_ENABLE_CUDASIM") == "1"


def trouble() -> str:
    """Return why no GPU can be used, in one line; empty where one can."""
    if simulated():
        return ""
    try:
        import numba_cuda  # noqa: F401
    except ImportError:
        return "numba-cuda is not installed; pip install 'drydown[cuda]', or use device = 'cpu'"
    from numba import cuda

    try:
        found = len(cuda.gpus)
    except Exception as error:
        said = " ".join(str(error).split())[:160] or type(error).__name__
        return f"no GPU can be used here ({said}); use device = 'cpu'"
    return "" if found else "there is no GPU here; use device = 'cpu'"


def need_card() -> None:
    """Raise InputError where no GPU can be used."""
    if said := trouble():
        raise InputError(said, "device")


def how_many() -> int:
    """Return how many cards this process may use (``CUDA_VISIBLE_DEVICES``)."""
    if simulated():
        return 1
    from numba import cuda

    return len(cuda.gpus)


@contextmanager
def using(card: int) -> Iterator[None]:
    """Let this thread march on a card."""
    if simulated():
        yield
        return
    from numba import cuda

    with cuda.gpus[card]:
        yield


def about() -> dict[str, Any]:
    """Return name and versions of the card in use."""
    from importlib import metadata

    import numba
    from numba import cuda

    out: dict[str, Any] = {"numba": numba.__version__}
    with suppress(metadata.PackageNotFoundError):  # a card played by the processor needs numba alone
        out["numba-cuda"] = metadata.version("numba-cuda")
    if simulated():
        out["card"] = "none, played by the processor"
    else:
        seen: Any = cuda
        device = seen.get_current_device()
        name = device.name
        out |= {
            "card": name.decode() if isinstance(name, bytes) else str(name),
            "compute capability": ".".join(map(str, device.compute_capability)),
            "multiprocessors": device.MULTIPROCESSOR_COUNT,
            "CUDA runtime": ".".join(map(str, seen.runtime.get_version())),
        }
    return out


def free_memory() -> float:
    """Return the free memory of the card in use [bytes]."""
    if simulated():
        return 1e9
    from numba import cuda

    return float(cuda.current_context().get_memory_info().free)
