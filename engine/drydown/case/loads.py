"""The loads that come with the engine: ventilated gaps, air through the layers, leaking air, rain that gets in.

What a load is stands in `drydown.case.load`; wetting events are `drydown.case.wetting.Wetting`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, ClassVar, Literal, Self

import numpy as np

from ..errors import InputError
from ..times import local_time
from .air_leak import AirLeak
from .air_leakage import GRAVITY
from .assembly import Assembly
from .drainage import held_back
from .keys import Section, keys_of
from .load import Exchange, Load, LoadWords, Lowered, Place, Site, Source, Stream, check_place
from .sides import Side
from .wind_wash import WindWash

__all__ = ["AirLeak", "AirStream", "Load", "RainShare", "VentilatedGap", "WindWash", "catalogue"]

#: Density above which a layer is no gap [kg/m3]; open fibres are lighter (assumed).
SOLID = 200.0

#: Air change behind a cladding [1/s]: brick veneer with open head joints 1 to 10 an hour, open siding 100 to 1000
#: (Langmans et al. 2015-16, Build. Environ. 87:177); the value within these ranges is assumed.
CAVITY = {
    "brick": 5.0 / 3600.0,
    "vertical battens": 200.0 / 3600.0,
    "horizontal battens": 20.0 / 3600.0,
    "contact": 1.0 / 3600.0,
}


@dataclass(frozen=True)
class VentilatedGap(Load):
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

    ventilates: ClassVar[bool] = True
    section: ClassVar[Section] = Section(
        keys_of("""
        layer* | text | name of the air layer
        air_changes | air_change | constant air change
        cladding | one of brick, vertical battens, horizontal battens, contact | what stands before it, instead
        side | one of outside, inside | whose air comes in
        height | length | between the openings; wind and warmth then drive air through it
        pressure_coefficient | number | difference of wind pressure coefficient between the openings
        loss_coefficient | number | sum of the pressure losses, on the velocity in the gap
        slope | angle | of the gap above the horizontal
        """)
    )

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

    @property
    def layers(self) -> tuple[str, ...]:
        """The air layer."""
        return (self.layer,)

    @property
    def inward(self) -> bool:
        """Whether the gap is open to the room."""
        return self.side == "inside"

    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return the exchange of the layer's air.

        Parameters
        ----------
        site : Site
            What it meets: assembly, cells, marks, both sides.
        """
        length = self.height / np.sin(np.radians(self.slope)) if self.height > 0.0 else 1.0
        lift = 2.0 * GRAVITY * self.height / (self.loss_coefficient * length**2)
        squared = np.zeros(len(site.hours))
        if self.height > 0.0 and self.pressure_coefficient > 0.0:
            wind = site.outer.wind(site.hours)
            if wind is None:
                raise InputError(
                    "pressure_coefficient needs a climate with wind; set it to 0 to leave buoyancy alone",
                    f"ventilated gap '{self.layer}'",
                )
            squared = self.pressure_coefficient * wind**2 / (self.loss_coefficient * length**2)
        constant = np.full(len(site.marks), self.air_changes)
        return (Exchange(self.layer, constant, self.side, site.at_marks(squared), lift),)

    @classmethod
    def from_keys(cls, given: dict[str, Any], assembly: Assembly, outside: Side) -> Self:
        """Return the gap of its keys; a board or a wall is refused.

        Parameters
        ----------
        given : mapping
            Values of its keys in a case file, SI.
        assembly : Assembly
        outside : Side
            The outer side.
        """
        layer = assembly.layers[assembly.layer_index(given["layer"])]
        if layer.material.density > SOLID:
            what = f"'{layer.name}' is solid, {layer.material.density:g} kg/m3; a ventilated gap is a layer of air"
            raise InputError(f"{what}, such as 'air gap 25 mm'", "layer")
        if "cladding" in given and "air_changes" in given:
            raise InputError("cladding and air_changes are both there; give one", "cladding")
        if "cladding" in given:
            given["air_changes"] = CAVITY[given.pop("cladding")]
        return cls(**given)


@dataclass(frozen=True)
class AirStream(Load):
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

    section: ClassVar[Section] = Section(
        keys_of("""
        points* | points | dates and flows of air: [[2022-01-01, '1e-4 kg/(m2 s)']], positive inward
        layer | text | ventilated layer in which the path ends; left out, it crosses the whole assembly
        """)
    )

    def __post_init__(self) -> None:
        points = tuple((local_time(t, None, "air stream, points"), float(g)) for t, g in self.points)
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

    @property
    def layers(self) -> tuple[str, ...]:
        """The layer in which its path ends, if it ends in one."""
        return (self.layer,) if self.layer else ()

    @property
    def words(self) -> LoadWords:
        """A flow that crosses the whole wall ends nowhere in it."""
        return LoadWords(silent_at_zero=True)

    def times(self) -> Sequence[np.datetime64]:
        """Return its points."""
        return [t for t, _ in self.points]

    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return the stream.

        Parameters
        ----------
        site : Site
            What it meets: assembly, cells, marks, both sides.
        """
        when = [(t - site.start) / np.timedelta64(1, "s") for t, _ in self.points]
        return (Stream(np.interp(site.marks, when, [g for _, g in self.points]), self.layer),)


@dataclass(frozen=True)
class RainShare(Load):
    """A share of the driving rain that gets past the outer surface to a named place.

    Parameters
    ----------
    layer : str
    share : float
        Of the driving rain on the surface [-]. 0.01 is the share of ASHRAE Standard 160 for the face of the
        water-resistive barrier where no test data exist (from memory).
    place, depth : str, float
        Part of the layer, as for `Wetting`.
    holds : float or None
        Where the water gets into a gap that drains: what its surfaces hold back of one spell of rain [kg/m2]; the rest
        runs out below (`drydown.case.drainage`). None: all of it stays.

    Notes
    -----
    It is led evenly over the place. What the free pores of a spot cannot hold there is refused (it runs off) and
    recorded; a layer beside the place that draws water drinks it first. The share is added to what the
    outer surface is offered: the surface sees the whole rain.
    """

    layer: str
    share: float = 0.01
    place: Place = "outer"
    depth: float = 0.005
    holds: float | None = None

    section: ClassVar[Section] = Section(
        keys_of("""
        layer* | text | layer that the water gets to
        share | share | of the driving rain on the surface
        place | one of whole, outer, inner | all of the layer, or its outer or inner edge
        depth | thickness | how deep that edge goes
        holds | water_mass | what a drained gap holds back of one spell of rain; the rest drains
        """)
    )

    def __post_init__(self) -> None:
        where = f"rain share in '{self.layer}'"
        if not 0.0 < self.share <= 1.0:
            raise InputError(f"share is {self.share:g}; it must be greater than 0 and at most 1 (1 % is 0.01)", where)
        if self.holds is not None and not 0.0 < self.holds <= 100.0:
            raise InputError(f"holds is {self.holds:g} kg/m2; it must be greater than 0 and at most 100", where)
        check_place(self.place, self.depth, where)

    @property
    def label(self) -> str:
        """Name of the load in results."""
        return f"rain in {self.layer}"

    @property
    def layers(self) -> tuple[str, ...]:
        """The layer that the water gets to."""
        return (self.layer,)

    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return the source.

        Parameters
        ----------
        site : Site
            What it meets: assembly, cells, marks, both sides.
        """
        rain = site.outside.rain
        notes = {} if np.any(rain > 0.0) else {"rain share": "no driving rain reaches the surface in this run"}
        entering = self.share * np.asarray(rain, dtype=float)
        if self.holds is not None:
            stays = held_back(3600.0 * entering, self.holds) / 3600.0
            if entering.sum() > 0.0:
                notes["drainage"] = f"{1.0 - stays.sum() / entering.sum():.0%} of the rain behind the cladding drained"
            entering = stays
        rate = site.over_marks(entering)
        cells, fill = site.spot(self.layer, self.place, self.depth)
        return (Source(rate, cells, notes=notes, fill=fill),)


def catalogue() -> dict[str, type[Load]]:
    """Return the loads of the engine by the name of their section in a case file."""
    return {
        "ventilated_gap": VentilatedGap,
        "air_leak": AirLeak,
        "air_stream": AirStream,
        "rain_share": RainShare,
        "wind_wash": WindWash,
    }
