"""A laminate of two plies that answers differently to vapour from its two sides.

The outer ply is a plain open fleece, the inner one swells and opens when damp. How damp the inner ply is
depends on which side the vapour comes from, so the permeance against the mean humidity has two courses.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from drydown.materials.model import Film, Source

FLEECE = 8e-10
"""Permeance of the outer ply [kg/(m2 s Pa)]."""


def swelling_ply(humidity: Any) -> Any:
    """Permeance of the inner ply [kg/(m2 s Pa)] of its own humidity [-]: 5e-12 dry, 4e-9 soaked."""
    return 5e-12 * (4e-9 / 5e-12) ** (1.0 / (1.0 + np.exp(-(humidity - 0.7) / 0.07)))


def inward(humidity: Any) -> Any:
    """Permeance of both plies for vapour from outside [kg/(m2 s Pa)], of the humidity in the film [-]."""
    return 1.0 / (1.0 / FLEECE + 1.0 / swelling_ply(np.asarray(humidity) - 0.05))


def outward(humidity: Any) -> Any:
    """Permeance for vapour from inside, which meets the swelling ply first and dampens it."""
    return 1.0 / (1.0 / FLEECE + 1.0 / swelling_ply(np.asarray(humidity) + 0.05))


def laminate() -> Film:
    """Return the film; `permeance` is for flow from outside to inside, `permeance_outward` for the other way."""
    return Film(
        "estuary laminate",
        permeance=inward,
        permeance_outward=outward,
        permeance_temperature=lambda kelvin: np.exp(0.01 * (np.asarray(kelvin) - 296.15)),
        thickness=0.0004,
        sources=(Source("the authors of this example", 2026, "invented for the example", "demo"),),
        humidity_range=(0.1, 0.95),
        spread={"permeance": (0.7, 1.4)},
        tags=("membrane", "humidity-dependent", "direction-dependent"),
    )
