"""Materials of published benchmark cases, as `drydown` inputs. Source: facts of the cases, from memory where marked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from drydown import Material


@dataclass(frozen=True)
class Of:
    """A function that says what it is a function of."""

    of: str
    f: Callable[[Any], Any]

    def __call__(self, x: Any) -> Any:
        return self.f(x)


def _en15026_liquid(w: Any) -> Any:
    y = w - 73.0
    return np.exp(-39.2619 + 0.0704 * y - 1.7420e-4 * y**2 - 2.7953e-6 * y**3 - 1.1566e-7 * y**4 + 2.5969e-9 * y**5)


def _en15026_vapour(w: Any) -> Any:
    s = 1.0 - w / 146.0
    return 26.1e-6 / 200.0 / (461.5 * 296.15) * s / (0.503 * s * s + 0.497)


#: EN 15026:2007 annex A (from memory).
EN15026 = Material(
    name="load bearing, EN 15026 annex A",
    density=1824.0,
    heat_capacity=1000.0,
    conductivity=Of("water content", lambda w: 1.5 + 15.8e-3 * w),
    storage=Of("suction", lambda p: 146.0 / (1.0 + (8e-8 * p) ** 1.6) ** 0.375),
    permeability=Of("water content", _en15026_vapour),
    permeability_temperature=lambda t: 296.15 / t,
    liquid=Of("water content", _en15026_liquid),
    saturation=146.0,
)

#: HAMSTAD work package 2, case 2 (Hagentoft et al. 2004).
HAMSTAD_2 = Material(
    name="HAMSTAD case 2",
    density=525.0,
    heat_capacity=800.0,
    conductivity=Of("water content", lambda w: 0.15 + 0.0 * w),
    storage=Of("humidity", lambda phi: 116.0 / (1.0 - np.log(phi) / 0.118) ** 0.869),
    permeability=Of("humidity", lambda phi: 1e-15 + 0.0 * phi),
    diffusivity=Of("water content", lambda w: 6e-10 + 0.0 * w),
    saturation=116.0,
)
