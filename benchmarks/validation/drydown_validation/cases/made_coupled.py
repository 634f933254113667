"""Manufactured solution: heat and moisture coupled."""

from __future__ import annotations

from ..made import one_layer
from ..references.manufactured import Manufactured
from ..report import About, Result

ABOUT = About(
    "manufactured-coupled",
    "Manufactured solution, heat and moisture coupled",
    "method of manufactured solutions (Roache, J. Fluids Engineering 124, 2002; from memory); curves and fields: demo",
    "chosen fields, and the sources that make them exact",
)


def run() -> Result:
    """Measure the error against cells and against steps."""
    return one_layer(Manufactured())
