"""How inputs show themselves in a notebook: their ``_repr_html_``, given to them from the side of the report."""

from __future__ import annotations

from typing import Any

from ..case.assembly import Assembly
from ..case.case import Case
from ..climate.model import Climate
from ..materials.model import Film, Material


def _assembly(self: Any) -> str:
    """Return the assembly drawn to scale, for a notebook."""
    from .notebook import assembly_html

    return assembly_html(self)


def _case(self: Any) -> str:
    """Return the case drawn, for a notebook."""
    from .notebook import case_html

    return case_html(self)


def _entry(self: Any) -> str:
    """Return a material or film with its values, curves and sources, for a notebook."""
    from .notebook import entry_html

    return entry_html(self)


def _climate(self: Any) -> str:
    """Return a climate with its place, period and figure, for a notebook."""
    from .notebook import climate_html

    return climate_html(self)


def register() -> None:
    """Let an assembly, a case, a material, a film and a climate show themselves in a notebook."""
    for kind, drawn in (
        (Assembly, _assembly), (Case, _case), (Material, _entry), (Film, _entry), (Climate, _climate)
    ):  # fmt: skip
        setattr(kind, "_repr_html_", drawn)  # noqa: B010 - a class has it only from here on
