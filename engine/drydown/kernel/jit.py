"""Compilation with a private disk cache that a change of any kernel file makes new.

A cached caller does not notice that a function in another file has changed; the cache folder
therefore carries a hash of all kernel sources. It is looked for and made when a function is first compiled, not when
a module is imported.
"""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import numba
from numba.core.caching import FunctionCache, NullCache

from ..systems import cache_home, private_folder


@lru_cache(maxsize=1)
def cache_folder() -> str:
    """Return the folder of this version of the kernel; empty where there is none that only this user can change.

    What lies in it is run: a folder that others may write to would run their code.
    """
    here = Path(__file__).parent
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(here.glob("*.py")):
        digest.update(path.read_bytes())
    base = cache_home()
    trouble = "no folder for it is named by HOME or XDG_CACHE_HOME"
    if base is not None:
        folder = base / "drydown" / f"kernel-{digest.hexdigest()[:16]}"
        trouble = private_folder(folder.parent) or private_folder(folder)
        if not trouble:
            return str(folder)
        trouble = f"{folder.parent}: {trouble}"
    warnings.warn(f"the compiled kernel is not kept, each run compiles it anew ({trouble})", stacklevel=2)
    return ""


class _OnDemand:
    """Numba's disk cache of one function, opened when it is first asked for: an import makes no folder."""

    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function
        self._opened: Any = None

    def __getattr__(self, name: str) -> Any:
        if self._opened is None and not cache_folder():
            self._opened = NullCache()
        if self._opened is None:
            before = numba.config.CACHE_DIR  # type: ignore[attr-defined]
            numba.config.CACHE_DIR = cache_folder()  # type: ignore[attr-defined]
            try:
                self._opened = FunctionCache(self._function)
            finally:
                numba.config.CACHE_DIR = before  # type: ignore[attr-defined]
        return getattr(self._opened, name)


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Return a decorator like `numba.njit`, cached in a folder of our own.

    Functions that allocate nothing are compiled without reference counting (``_nrt=False``): passing the
    tuples of arrays about would otherwise cost more than the arithmetic. They are called from the kernel only and get
    no wrapper for Python, which takes longer to compile than they do; ``no_cpython_wrapper=False`` gives one. What is
    called from one place of the march is inlined (``forceinline=True``): a call hands over some four hundred numbers.
    """

    def decorate(function: Callable[..., Any]) -> Any:
        if options.get("_nrt", True) is False:
            options.setdefault("no_cpython_wrapper", True)
            options.setdefault("no_cfunc_wrapper", True)
        options.setdefault("fastmath", {"contract"})  # a fused multiply-add rounds once
        made = numba.njit(nogil=True, error_model="numpy", **options)(function)
        made._cache = _OnDemand(function)  # what ``cache=True`` does, but later
        return made

    return decorate
