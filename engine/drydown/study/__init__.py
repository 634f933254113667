"""Studies: many cases from one description, run anywhere, stored block by block, read as one Dataset.

`Study` holds axes, a design and a model; `run` runs what is missing of it and `gather` returns the Dataset.
`read_study` takes all of it from a TOML file.
"""

from __future__ import annotations

from ..lazy import public

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
    "main_effects": "reading",
    "map_over": "reading",
    "on_grid": "reading",
    "sobol_indices": "reading",
    "write_cases": "ready",
}

__all__ = sorted(_HOME)

__getattr__, __dir__ = public(__name__, _HOME)
