"""What `drydown validate` needs of this package; the entry point of the group ``drydown.validation``."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from .cases import CASES, NOT_RUN, case
from .report import text_table
from .runner import run


def describe() -> dict[str, str]:
    """Return the title of every case by its name."""
    return {name: case(name).ABOUT.title for name in CASES}


def accuracy(progress: Callable[[float], None] | None = None) -> tuple[str, bool]:
    """Measure the default settings on the twelve assemblies; return the table and whether all promises hold."""
    from .accuracy import measure_all, table

    found = measure_all(progress=progress)
    return table(found), all(a.kept for a in found)


def field(
    names: Iterable[str] = (), processes: int = 2, progress: Callable[[float], None] | None = None
) -> tuple[str, bool]:
    """Ask about the walls whose fate is known; return the table and whether enough of them agree."""
    from .field import ask, table

    return table(ask(names, processes, progress))


def measured(
    folder: Path, out: Path | None = None, progress: Callable[[float], None] | None = None
) -> tuple[str, bool]:
    """Predict a logged wall whose data are in a folder; return the table and whether the promise is kept."""
    from .measured_wall import measured as predicted

    return predicted(folder, out, progress)


def measured_fitted(
    folder: Path, out: Path | None = None, progress: Callable[[float], None] | None = None
) -> tuple[str, bool]:
    """Fit the logged wall to the first half of its data, predict the second; return the table and whether it holds."""
    from .measured_fit import fitted

    return fitted(folder, out, progress)


def field_walls() -> dict[str, str]:
    """Return what each wall of the panel is, by its name."""
    from .field import walls

    return {wall.name: f"{wall.about}: {wall.expected}" for wall in walls()}


__all__ = [
    "CASES",
    "NOT_RUN",
    "accuracy",
    "case",
    "describe",
    "field",
    "field_walls",
    "measured",
    "measured_fitted",
    "run",
    "text_table",
]
