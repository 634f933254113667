"""How inputs show themselves in a notebook: their ``_repr_html_``, given to them from the side of the report."""

from __future__ import annotations

from typing import Any

from ..case.assembly import Assembly
from ..case.case import Case


def _assembly(self: Any) -> str:
    """Return the assembly drawn to scale, for a notebook."""
    from .notebook import assembly_html

    return assembly_html(self)


def _case(self: Any) -> str:
    """Return the case drawn, for a notebook."""
    from .notebook import case_html

    return case_html(self)


def register() -> None:
    """Let an assembly and a case draw themselves in a notebook."""
    for kind, drawn in ((Assembly, _assembly), (Case, _case)):
        setattr(kind, "_repr_html_", drawn)  # noqa: B010 - a class has it only from here on
