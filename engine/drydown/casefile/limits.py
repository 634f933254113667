"""The section `[limits]` of a case file: thresholds of the criteria that differ from what they bring."""

from __future__ import annotations

from pathlib import Path

from .reading import limits_of, load


def read_limits(path: str | Path) -> dict[str, float]:
    """Return the limits that a case file sets, by name, in SI; empty where it sets none.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    InputError
        A limit that no criterion has, or a value that cannot be read.
    """
    path = Path(path)
    return limits_of(load(path), path)
