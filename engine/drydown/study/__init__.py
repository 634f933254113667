"""Studies: many cases from one description, run anywhere, stored block by block, read as one Dataset.

`Study` holds axes, a design and a model; `run` runs what is missing of it and `gather` returns the Dataset.
`read_study` takes all of it from a TOML file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..lazy import public

if TYPE_CHECKING:
    from .axes import Axis as Axis
    from .axes import Distribution as Distribution
    from .designs import Grid as Grid
    from .designs import Listed as Listed
    from .designs import Sampled as Sampled
    from .gathering import gather as gather
    from .models import CaseFileModel as CaseFileModel
    from .models import FunctionModel as FunctionModel
    from .models import VariedCase as VariedCase
    from .outputs import Output as Output
    from .plan import Study as Study
    from .reading import best as best
    from .reading import map_over as map_over
    from .reading import on_grid as on_grid
    from .ready import write_cases as write_cases
    from .running import Summary as Summary
    from .running import run as run
    from .running import solve as solve
    from .sensitivity import elementary_effects as elementary_effects
    from .sensitivity import main_effects as main_effects
    from .sensitivity import sobol_indices as sobol_indices
    from .store import Store as Store
    from .study_file import read_study as read_study

_HOME = {
    "Axis": "axes",
    "Distribution": "axes",
    "Grid": "designs",
    "Listed": "designs",
    "Sampled": "designs",
    "Output": "outputs",
    "CaseFileModel": "models",
    "FunctionModel": "models",
    "VariedCase": "models",
    "Study": "plan",
    "read_study": "study_file",
    "Summary": "running",
    "run": "running",
    "solve": "running",
    "Store": "store",
    "gather": "gathering",
    "best": "reading",
    "elementary_effects": "sensitivity",
    "main_effects": "sensitivity",
    "map_over": "reading",
    "on_grid": "reading",
    "sobol_indices": "sensitivity",
    "write_cases": "ready",
}

__all__ = sorted(_HOME)

if not TYPE_CHECKING:  # a checker knows the names above and refuses others
    __getattr__, __dir__ = public(__name__, _HOME)
