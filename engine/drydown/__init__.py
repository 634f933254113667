"""drydown: does this wall dry, how fast, and to which side?

The package root holds the plain nouns and the verbs. Everything heavy is imported when first used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .lazy import public
from .version import __version__ as __version__

if TYPE_CHECKING:
    from .case.assembly import Assembly as Assembly
    from .case.assembly import Layer as Layer
    from .case.case import Case as Case
    from .case.case import Initial as Initial
    from .case.case import Numerics as Numerics
    from .case.sides import Chamber as Chamber
    from .case.sides import Physics as Physics
    from .case.wetting import Wetting as Wetting
    from .errors import InputError as InputError
    from .materials.model import Film as Film
    from .materials.model import Material as Material
    from .materials.model import Source as Source
    from .run.simulation import SimulationError as SimulationError
    from .run.simulation import simulate as simulate
    from .trial.dryout import dryout as dryout

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
