"""What else happens to a wall: ventilated gaps, air through the layers, leaking air that condenses, rain that gets in.

Each load is a frozen dataclass and an entry of `Case.loads`; each appears in the result under its `label` as its
own term of the budget. Wetting events are `drydown.case.Wetting`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

import numpy as np

from ..errors import InputError
from .air_leakage import Leakage, LeakPath, screening_class

Place = Literal["whole", "outer", "inner"]


def check_place(place: str, depth: float, where: str) -> None:
    """Raise InputError unless a place within a layer makes sense."""
    if place not in ("whole", "outer", "inner"):
        raise InputError(f"place is '{place}'; use 'whole', 'outer' or 'inner'", where)
    if not depth > 0.0:
        raise InputError(f"depth is {depth:g} m; it must be greater than 0", where)


@dataclass(frozen=True)
class VentilatedGap:
    """An air layer that exchanges its air with one side.

    Parameters
    ----------
    layer : str
        Name of the air layer.
    air_changes : float
        Constant part [1/s] (10 per hour is 10/3600).
    side : {'outside', 'inside'}
        Whose air comes in.
    height : float
        Between lower and upper opening [m]; greater than 0 adds the part that wind and buoyancy drive.
    pressure_coefficient : float
        Difference of the wind pressure coefficient between the openings [-]; 0.1 to 0.3 (assumed). Needs a
        climate with wind.
    loss_coefficient : float
        Sum of the pressure losses of openings and gap [-], related to the velocity in the gap; 10 is assumed.
    slope : float
        Angle of the gap above the horizontal [degree]; 90 a wall.

    Notes
    -----
    Driven part: v = sqrt(2 dp/(rho zeta)), n = v/length, with dp = dC_p rho U^2/2 + rho g H |T_gap - T_side|/T_side,
    H the height and the length of the gap H/sin(slope). Bernoulli's equation with the stack and wind pressures of
    the ASHRAE Handbook Fundamentals 2021, ch. 16. The air of the gap is taken as mixed.
    """

    layer: str
    air_changes: float = 0.0
    side: Literal["outside", "inside"] = "outside"
    height: float = 0.0
    pressure_coefficient: float = 0.0
    loss_coefficient: float = 10.0
    slope: float = 90.0

    def __post_init__(self) -> None:
        where = f"ventilated gap '{self.layer}'"
        if self.side not in ("outside", "inside"):
            raise InputError(f"side is '{self.side}'; use 'outside' or 'inside'", where)
        for key, low, high in (
            ("air_changes", 0.0, 1.0),
            ("height", 0.0, 200.0),
            ("pressure_coefficient", 0.0, 2.0),
            ("loss_coefficient", 0.1, 1e5),
            ("slope", 0.1, 90.0),
        ):
            value = getattr(self, key)
            if not low <= value <= high:
                unit = " 1/s" if key == "air_changes" else ""
                raise InputError(f"{key} is {value:g}{unit}; it must lie between {low:g} and {high:g}{unit}", where)
        if self.air_changes == 0.0 and self.height == 0.0:
            raise InputError("give air_changes, or a height for wind and buoyancy to drive it", where)

    @property
    def label(self) -> str:
        """Name of the load in results."""
        return f"ventilation of {self.layer}"


@dataclass(frozen=True)
class AirLeak:
    """Air that leaks through the assembly, from a blower-door figure, stack and wind.

    Parameters
    ----------
    leakage : Leakage
        Made by `Leakage.from_q` or `Leakage.from_n50`.
    path : LeakPath
        Where the leak lies; used by way 'flow'.
    way : {'screening', 'flow'}
        'screening': indoor air leaves water in `layer` where that is below its dew point, and nothing else (the
        published source model, see `airtightness.screening_deposit`); 'flow': air passes through the layers as
        a one-dimensional flow that carries heat and vapour, inward and outward.
    layer : str
        'screening': where the air meets its dew point. 'flow': the ventilated layer in which the path ends towards
        outside; empty: the path crosses the whole assembly.
    place, depth
        'screening': part of the layer, as for `Wetting`.
    connected_height : float
        'screening': height of the air space that is connected inside [m].
    """

    leakage: Leakage
    path: LeakPath = field(default_factory=LeakPath)
    way: Literal["screening", "flow"] = "screening"
    layer: str = ""
    place: Place = "outer"
    depth: float = 0.005
    connected_height: float = 5.0

    def __post_init__(self) -> None:
        where = "air leak"
        if self.way not in ("screening", "flow"):
            raise InputError(f"way is '{self.way}'; use 'screening' or 'flow'", where)
        check_place(self.place, self.depth, where)
        if self.way == "screening":
            if not self.layer:
                raise InputError("say in which layer the leaking air meets its dew point", where)
            screening_class(float(self.leakage.flow(50.0)))
            if not 0.0 < self.connected_height <= 200.0:
                raise InputError(
                    f"connected_height is {self.connected_height:g} m; it must be greater than 0 and at most 200", where
                )

    @property
    def label(self) -> str:
        """Name of the load in results."""
        if self.way == "screening":
            return f"leaking air in {self.layer}"
        return f"air flow as far as {self.layer}" if self.layer else "air flow through the assembly"


@dataclass(frozen=True)
class AirStream:
    """A prescribed air flow through the assembly, in time.

    Parameters
    ----------
    points : tuple of (datetime64, float)
        Mass flow of dry air [kg/(m2 s)], positive from outside to inside; linear in between, held beyond the ends.
    layer : str
        Ventilated layer in which the path ends towards outside; empty: the whole assembly.
    """

    points: tuple[tuple[np.datetime64, float], ...]
    layer: str = ""

    def __post_init__(self) -> None:
        points = tuple((np.datetime64(t, "s"), float(g)) for t, g in self.points)  # type: ignore[call-overload]
        object.__setattr__(self, "points", points)
        if not points:
            raise InputError("give at least one point (date, flow)", "air stream")
        if any(np.isnat(t) for t, _ in points):
            raise InputError("a point has no date; write it as 2022-01-15", "air stream")
        for a, b in pairwise(points):
            if not b[0] > a[0]:
                raise InputError(f"{b[0]} does not come after {a[0]}", "air stream")
        for t, g in points:
            if not -0.1 <= g <= 0.1:
                raise InputError(f"the flow at {t} is {g:g} kg/(m2 s); it must lie between -0.1 and 0.1", "air stream")

    @property
    def label(self) -> str:
        """Name of the load in results."""
        return f"air flow as far as {self.layer}" if self.layer else "air flow through the assembly"


@dataclass(frozen=True)
class RainShare:
    """A share of the driving rain that gets past the outer surface to a named place.

    Parameters
    ----------
    layer : str
    share : float
        Of the driving rain on the surface [-]. 0.01 is the share of ASHRAE Standard 160 for the face of the
        water-resistive barrier where no test data exist (from memory).
    place, depth
        Part of the layer, as for `Wetting`.

    Notes
    -----
    What the free pores there cannot hold is refused (it runs off) and recorded. The share is added to what the
    outer surface is offered: the surface sees the whole rain.
    """

    layer: str
    share: float = 0.01
    place: Place = "outer"
    depth: float = 0.005

    def __post_init__(self) -> None:
        where = f"rain share in '{self.layer}'"
        if not 0.0 < self.share <= 1.0:
            raise InputError(f"share is {self.share:g}; it must be greater than 0 and at most 1 (1 % is 0.01)", where)
        check_place(self.place, self.depth, where)

    @property
    def label(self) -> str:
        """Name of the load in results."""
        return f"rain in {self.layer}"


Load = VentilatedGap | AirLeak | AirStream | RainShare
