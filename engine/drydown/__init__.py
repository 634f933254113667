"""drydown: does this wall dry, how fast, and to which side?

The package root holds the plain nouns and the one verb. Everything heavy is imported when first used.
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

_HOME = {
    "Assembly": "assembly",
    "Layer": "assembly",
    "Material": "materials",
    "Film": "materials",
    "Source": "materials",
    "Case": "case",
    "Chamber": "case",
    "Initial": "case",
    "Numerics": "case",
    "Physics": "case",
    "Wetting": "case",
    "InputError": "errors",
    "simulate": "simulation",
    "SimulationError": "simulation",
    "dryout": "trial",
}

__all__ = [
    "Assembly",
    "Case",
    "Chamber",
    "Film",
    "Initial",
    "InputError",
    "Layer",
    "Material",
    "Numerics",
    "Physics",
    "SimulationError",
    "Source",
    "Wetting",
    "__version__",
    "dryout",
    "simulate",
]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        if name in ("simulate", "dryout"):
            # What they return can draw itself: ``results.drydown.plot``.
            import_module(f"{__name__}.accessor")
        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    raise AttributeError(f"module 'drydown' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
