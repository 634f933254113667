"""Manufactured solution across two layers whose properties differ a thousandfold."""

from __future__ import annotations

from ..made import two_layers
from ..references.manufactured import Manufactured, Medium
from ..report import About, Result

ABOUT = About(
    "manufactured-contrast",
    "Manufactured solution, two layers a thousandfold apart",
    "method of manufactured solutions (Roache, J. Fluids Engineering 124, 2002; from memory); curves and fields: demo",
    "chosen fields with continuous fluxes at the face, and the sources that make them exact",
    "Vapour permeability differs a thousandfold between the layers.",
)
EXACT = Manufactured(
    media=(
        Medium(permeability_dry=1e-13, liquid=2e-18, linear=20.0, steep=30.0),
        Medium(permeability_dry=1e-10, permeability_wet=0.5, conductivity_dry=0.6),
    ),
    thickness=(0.03, 0.05),
    period=40 * 86400.0,
    swing_phi=0.05,
    swing_T=3.0,
)


def run() -> Result:
    """Measure the error against cells."""
    return two_layers(EXACT)
