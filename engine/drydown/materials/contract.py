"""The contract of a catalogue: what every entry must keep to, checked on a fixed grid whenever one is built."""

from __future__ import annotations

import numpy as np

from .checks import LIMITS, film_problems, humidity_grid, material_problems
from .model import Film, Material

__all__ = ["LIMITS", "humidity_grid", "problems"]


def problems(entry: object) -> list[str]:
    """Return every breach of the contract, each in one line; empty where the entry is sound.

    Parameters
    ----------
    entry : Material or Film
    """
    with np.errstate(all="ignore"):
        if isinstance(entry, Material):
            found = list(material_problems(entry))
        elif isinstance(entry, Film):
            found = list(film_problems(entry))
        else:
            return [f"it is {type(entry).__name__}, neither a Material nor a Film"]
    return found if entry.sources else ["no source; give at least one Source(authors, year, where, kind)", *found]
