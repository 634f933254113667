"""HAMSTAD case 5: capillary-active insulation inside a brick wall, by the method of lines on a fine mesh.

Brick 365 mm (outside), mortar 15 mm, insulation 40 mm (inside); 25 degC and 60 % at the start; outside
0 degC, 80 %, 25 W/(m2 K), 1.8382e-7 s/m; inside 20 degC, 60 %, 8 W/(m2 K), 5.8823e-8 s/m;
state after 60 days.

Source: HAMSTAD work package 2 (Hagentoft et al., J. Thermal Envelope & Building Science 27, 2004, 327-352):
geometry and conditions [M, surely], functions [M, fairly surely]. The brick polynomial of ln K is too
large near saturation; the case does not go there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from . import method_of_lines as mol
from .wall_parts import T_REF, Layer, Material, Side, Wall
from .water import R_VAPOUR, RHO_WATER, saturation_hamstad

Array = np.ndarray
GRAVITY = 9.81
DAY = 86400.0


@dataclass(frozen=True)
class Stuff:
    """One column of the case's table.

    Thickness [m]; w_s [kg/m3]; l, a [1/m], n of the retention curve; ln K [K in s] as a polynomial in w/1000, lowest
    power first; mu; p; lambda dry; rho; c.
    """

    thickness: float
    w_s: float
    share: tuple[float, ...]
    a: tuple[float, ...]
    n: tuple[float, ...]
    ln_k: tuple[float, ...]
    mu: float
    conductivity_dry: float
    density: float
    heat_capacity: float
    p: float = 0.2

    def water_content(self, suction: Any) -> Any:
        """[kg/m3] of suction [Pa]: w_s sum l (1 + (a h)^n)^-(1 - 1/n), h = suction/(1000 g)."""
        head = np.asarray(suction) / (RHO_WATER * GRAVITY)
        terms = zip(self.share, self.a, self.n, strict=True)
        return self.w_s * sum(s * (1.0 + (a * head) ** n) ** -(1.0 - 1.0 / n) for s, a, n in terms)

    def liquid(self, suction: Any, w: Any) -> Any:
        """K [s] of water content [kg/m3]."""
        return np.exp(np.polyval(self.ln_k[::-1], np.asarray(w) / 1000.0))

    def permeability(self, phi: Any, w: Any) -> Any:
        """[kg/(m s Pa)] at 296.15 K of water content; falls with temperature as 1/T."""
        s = 1.0 - np.asarray(w) / self.w_s
        return 26.1e-6 / self.mu / (R_VAPOUR * T_REF) * s / ((1.0 - self.p) * s * s + self.p)

    def conductivity(self, w: Any, T: Any = None) -> Any:
        """[W/(m K)] of water content."""
        return self.conductivity_dry + 0.56 * np.asarray(w) / 1000.0

    def material(self) -> Material:
        """The same for `method_of_lines`."""
        factor: Callable[[Any], Any] = lambda T: T_REF / T  # noqa: E731
        return Material(
            self.density * self.heat_capacity,
            self.conductivity,
            self.water_content,
            self.permeability,
            storage_of="suction",
            liquid=self.liquid,
            permeability_factor=factor,
        )


BRICK = Stuff(
    0.365,
    373.5,
    (0.46, 0.54),
    (0.47, 0.2),
    (1.5, 3.8),
    (-36.484, 461.325, -5240.0, 2.907e4, -7.41e4, 6.997e4),
    7.5,
    0.682,
    1600.0,
    1000.0,
)
MORTAR = Stuff(
    0.015,
    700.0,
    (0.2, 0.8),
    (0.5, 0.004),
    (1.5, 3.8),
    (-40.425, 83.319, -175.961, 123.863),
    50.0,
    0.6,
    230.0,
    920.0,
)
INSULATION = Stuff(
    0.040,
    871.0,
    (0.41, 0.59),
    (0.006, 0.012),
    (2.5, 2.4),
    (-46.245, 294.506, -1439.0, 3249.0, -3370.0, 1305.0),
    5.6,
    0.06,
    212.0,
    1000.0,
)
STUFFS = (BRICK, MORTAR, INSULATION)
#: Constants of the package [M].
PACKAGE = mol.Constants(saturation_pressure=saturation_hamstad, latent_heat=2.5e6, c_vapour=0.0, c_water=4187.0)


def graded(thickness: float, cells: int) -> tuple[float, ...]:
    """Widths [m] that shrink towards both faces as a cosine."""
    edges = (1.0 - np.cos(np.pi * np.linspace(0.0, 1.0, cells + 1))) / 2.0 * thickness
    return tuple(np.diff(edges))


def solve(
    days: int = 60,
    cells: tuple[int, int, int] = (60, 20, 40),
    constants: mol.Constants = PACKAGE,
) -> tuple[Array, mol.Trace]:
    """Depth of the cell centres from outside [m] and the state at the start and after every day."""
    wall = Wall(tuple(Layer(s.material(), graded(s.thickness, n)) for s, n in zip(STUFFS, cells, strict=True)))
    one = np.ones(days + 1)
    psat = constants.saturation_pressure

    def side(T: float, phi: float, h: float, beta: float) -> Side:
        return Side(T * one, phi * float(psat(T)) * one, h * one, beta * one, 0.0 * one)

    n = sum(cells)
    trace = mol.solve(
        wall,
        side(273.15, 0.8, 25.0, 1.8382e-7),
        side(293.15, 0.6, 8.0, 5.8823e-8),
        np.full(n, 298.15),
        np.full(n, 0.6),
        constants=constants,
        tolerance=mol.Tolerance("BDF", 1e-8, 1e-6, 1e-7, 1e-10),
        interval=DAY,
    )
    return np.cumsum(trace.width) - trace.width / 2.0, trace
