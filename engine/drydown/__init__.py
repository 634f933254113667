"""drydown: does this wall dry, how fast, and to which side?

The package root holds the plain nouns and the verbs. Everything heavy is imported when first used.
"""

from __future__ import annotations

from typing import Any

from .lazy import public
from .version import __version__ as __version__

_HOME = {
    "Assembly": "case.assembly",
    "Layer": "case.assembly",
    "Material": "materials.model",
    "Film": "materials.model",
    "Source": "materials.model",
    "Case": "case.case",
    "Chamber": "case.sides",
    "Initial": "case.case",
    "Numerics": "case.case",
    "Physics": "case.sides",
    "Wetting": "case.wetting",
    "InputError": "errors",
    "simulate": "run.simulation",
    "SimulationError": "run.simulation",
    "dryout": "trial.dryout",
}

__all__ = sorted([*_HOME, "__version__"])

_get, __dir__ = public(__name__, _HOME)


def __getattr__(name: str) -> Any:
    value = _get(name)
    if name in ("Assembly", "Case"):  # they can draw themselves in a notebook
        from .report.display import register

        register()
    elif name in ("simulate", "dryout"):  # what they return can: ``results.drydown.plot``
        from . import accessor as accessor
    return value
