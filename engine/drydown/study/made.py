"""Cases that a function of the user made: whether it makes the same ones now as those that the results are of.

What such a function reads - a table, a module, a plugin - cannot be seen from outside. So each case is hashed as it was
run, the hash is kept beside its results, and cases are made and hashed again before results are taken over.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from ..errors import InputError
from .functions import FileFunction, FunctionFailed

#: Most cases that `run` compares, and `look`, which also opens so many blocks at most.
RUN, LOOK, BLOCKS = 10_000, 100, 20
#: The name of the hash of its case beside the values of the outputs; no output can be called so.
MADE = "made of"


def of_point(study: Any, case: int) -> int:
    """Return the hash of a case as it is made now; 0 where no function makes it."""
    told = getattr(study.model, "made", None)
    return 0 if told is None else int(told(study.point(case)))


def by_function(study: Any, unasked: bool = False) -> bool:
    """Return whether a function makes the cases; not one in a file that was not run yet, where nobody asked for it."""
    vary = getattr(study.model, "vary", None)
    return vary is not None and not (unasked and isinstance(vary, FileFunction) and not vary.loaded)


def spread(cases: int, most: int) -> np.ndarray:
    """Return the numbers of all of so many things, or of `most` of them from the first to the last."""
    return np.arange(cases) if cases <= most else np.linspace(0, cases - 1, most).astype(np.int64)


def changed(study: Any, blocks: Iterable[tuple[int, Any]], most: int) -> str:
    """Return what to say of the first case of blocks that is made otherwise now, with its point; empty where none is.

    Cases that failed, and those of a store from before cases were hashed, are not compared.

    Parameters
    ----------
    study : Study
    blocks : iterable of (int, Block)
        Each with its number.
    most : int
        Of more cases, so many are compared, spread evenly.
    """
    cases, due = [], []
    for number, block in blocks:
        if block.made is not None:
            there = (block.made != 0) & ~block.failed
            cases.append(np.array(study.cases_of(number))[there])
            due.append(block.made[there])
    if not cases:
        return ""
    numbers, hashes = np.concatenate(cases), np.concatenate(due)
    for i in spread(len(numbers), most):
        case = int(numbers[i])
        if said := _differs(study, case, int(hashes[i])):
            return f"{study.words(case)} {said}"
    return ""


def _differs(study: Any, case: int, due: int) -> str:
    vary = getattr(study.model, "vary", None)
    name = getattr(vary, "name", None) or getattr(vary, "__name__", type(vary).__name__)
    try:
        now = of_point(study, case)
        if now == due:
            return ""
        if of_point(study, case) != now:
            return f"is another one whenever '{name}' makes it, so results cannot be told to be of it"
    except (InputError, FunctionFailed) as error:
        return f"cannot be made any more ({error}): a file, a module or a plugin that '{name}' reads has changed"
    return f"is not what its results are of: a file, a module or a plugin that '{name}' reads has changed"
