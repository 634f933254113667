"""Compilation with a disk cache that a change of any kernel file makes new.

A cached caller does not notice that a function in another file has changed; the cache folder
therefore carries a hash of all kernel sources.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba


def _cache_folder() -> str:
    here = Path(__file__).parent
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(here.glob("*.py")):
        digest.update(path.read_bytes())
    base = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    folder = os.path.join(base, "drydown", "kernel-" + digest.hexdigest()[:16])
    try:
        os.makedirs(folder, exist_ok=True)
        if os.access(folder, os.W_OK):
            return folder
    except OSError:
        pass
    return os.path.join(tempfile.gettempdir(), "drydown-kernel-" + digest.hexdigest()[:16])


_FOLDER = _cache_folder()


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Return a decorator like `numba.njit`, cached in a folder of our own.

    Functions that allocate nothing are compiled without reference counting (``_nrt=False``): passing the
    tuples of arrays about would otherwise cost more than the arithmetic. They are called from the kernel only and get
    no wrapper for Python, which takes longer to compile than they do; ``no_cpython_wrapper=False`` gives one.
    """

    def decorate(function: Callable[..., Any]) -> Any:
        before = numba.config.CACHE_DIR  # type: ignore[attr-defined]
        numba.config.CACHE_DIR = _FOLDER  # type: ignore[attr-defined]
        try:
            if options.get("_nrt", True) is False:
                options.setdefault("no_cpython_wrapper", True)
                options.setdefault("no_cfunc_wrapper", True)
            return numba.njit(  # a fused multiply-add rounds once
                cache=True, nogil=True, error_model="numpy", fastmath={"contract"}, **options
            )(function)
        finally:
            numba.config.CACHE_DIR = before  # type: ignore[attr-defined]

    return decorate
