"""Air that leaks through the assembly as a load: water it leaves in a layer, or a flow through all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, Self

import numpy as np

from ..errors import InputError, need
from ..moist_air import STANDARD_PRESSURE
from .air_leakage import (
    OF_WALLS,
    R_AIR,
    SCREENING,
    TEST_PRESSURE,
    WALL_AREA,
    Leakage,
    LeakPath,
    pressure_in_weather,
    screening_class,
    stack_gradient,
)
from .assembly import Assembly
from .keys import Section, keys_of
from .load import Deposit, Load, LoadWords, Lowered, Place, Site, Stream, check_place
from .sides import Side


@dataclass(frozen=True)
class AirLeak(Load):
    """Air that leaks through the assembly, from a blower-door figure, stack and wind.

    Parameters
    ----------
    leakage : Leakage
        Made by `Leakage.from_q` or `Leakage.from_n50`.
    path : LeakPath
        Where the leak lies; used by way 'flow'.
    way : {'screening', 'flow'}
        'screening': indoor air leaves water in `layer` where that is below its dew point, and nothing else (the
        published source model, see `air_leakage.screening_deposit`); 'flow': air passes through the layers as
        a one-dimensional flow that carries heat and vapour, inward and outward.
    layer : str
        'screening': where the air meets its dew point. 'flow': the ventilated layer in which the path ends towards
        outside; empty: the path crosses the whole assembly.
    place, depth : str, float
        'screening': part of the layer, as for `Wetting`.
    connected_height : float
        'screening': height of the air space that is connected inside [m].
    portion : float
        'flow': leakage of a square metre here over that of `leakage` [-]. A case file takes 0.7 of a blower-door figure
        of the house: the walls' mean share of the leakage, 35 % (ASHRAE Handbook Fundamentals 2021, ch. 16), over their
        share of the envelope, a half (assumed).
    of_joint : bool
        The leakage is that of joints that were described, not of a house.
    """

    leakage: Leakage
    path: LeakPath = field(default_factory=LeakPath)
    way: Literal["screening", "flow"] = "screening"
    layer: str = ""
    place: Place = "outer"
    depth: float = 0.005
    connected_height: float = 5.0
    portion: float = 1.0
    of_joint: bool = False

    section: ClassVar[Section] = Section(
        keys_of("""
        way | one of screening, flow | water left in a layer, or air that flows through the layers
        q50 | air_leakage | air through a square metre of envelope at 50 Pa
        n50 | air_change | air change of the house at 50 Pa, instead; with volume and area
        volume | volume | of the house
        area | area | of its envelope; with a joint, of the wall it is in
        joint | one of cellular rubber, foam strip, foamed, taped, bare | what seals a sill or the like, instead of q50
        joint_length | length | of that joint
        exponent | number | of the flow: 0.65 where none was measured
        """),
        "way",
        "screening",
        {
            "screening": keys_of("""
            layer* | text | layer in which the leaking air meets its dew point
            place | one of whole, outer, inner | all of the layer, or its outer or inner edge
            depth | thickness | how deep that edge goes
            connected_height | length | height of the air space that is connected inside
            """),
            "flow": keys_of("""
            layer | text | ventilated layer in which the path ends; left out, it crosses the whole assembly
            height | length | above the neutral level of the house, below it negative
            shelter | fraction | factor on the wind by what stands around: 1 none
            indoor_coefficient | number | wind pressure coefficient of the inside
            orientation | direction | where the leaking surface faces; that of [outside] by default
            wind_factor | number | as in [outside], where it differs
            fan_pressure | pressure | outside minus inside, positive where fans draw air out of the house
            portion | number | leakage of a square metre here over that of the house: 0.7 for walls, 1 measured here
            """),
        },
        {"faces": "orientation"},
    )

    def __post_init__(self) -> None:
        where = "air leak"
        need(self.leakage, Leakage, "leakage", "a Leakage, such as Leakage.from_q(3.0 / 3600.0)", where)
        need(self.path, LeakPath, "path", "a LeakPath", where)
        if self.way not in ("screening", "flow"):
            raise InputError(f"way is '{self.way}'; use 'screening' or 'flow'", where)
        check_place(self.place, self.depth, where)
        if not 0.0 <= self.portion <= 10.0:
            raise InputError(f"portion is {self.portion:g}; it must lie between 0 and 10", where)
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

    @property
    def layers(self) -> tuple[str, ...]:
        """The layer that it names, if it names one."""
        return (self.layer,) if self.layer else ()

    @property
    def words(self) -> LoadWords:
        """A flow that crosses the whole wall ends nowhere in it."""
        return LoadWords(silent_at_zero=self.way == "flow")

    def lower(self, site: Site) -> Sequence[Lowered]:
        """Return the stream, or the deposit.

        Parameters
        ----------
        site : Site
            What it meets: assembly, cells, marks, both sides.
        """
        if self.way == "flow":
            flow, notes = self._flow(site)
            return (Stream(site.at_marks(flow), self.layer, notes=notes),)
        drive = np.maximum(stack_gradient(site.outside.temperature, site.inside.temperature), 0.0)
        coefficient = SCREENING[screening_class(float(self.leakage.flow(50.0)))]
        air = site.at_marks(coefficient * 0.5 * self.connected_height * drive)
        inside = site.inside
        vapour = site.at_marks(inside.vapour_pressure / (site.physics.vapour_gas_constant * inside.temperature))
        cells, fill = site.spot(self.layer, self.place, self.depth)
        return (Deposit(air, vapour, cells, fill=fill),)

    def _flow(self, site: Site) -> tuple[Any, dict[str, str]]:
        """Return the mass flow of dry air at the hours [kg/(m2 s)], and notes."""
        outside, inside = site.outside.temperature, site.inside.temperature
        weather = site.outer.weather(site.hours)
        if weather is None:
            dp = self.path.mechanical - self.path.height * stack_gradient(outside, inside)
            notes = {"leak": "no weather: stack and fan pressure alone drive the leak"}
        else:
            dp, notes = pressure_in_weather(self.path, weather, inside)
        volume = self.portion * self.leakage.flow(dp)
        source = np.where(volume > 0.0, outside, inside)
        return volume * STANDARD_PRESSURE / (R_AIR * source), notes

    @classmethod
    def from_keys(cls, given: dict[str, Any], assembly: Assembly, outside: Side) -> Self:
        """Return the leak of its keys; orientation and wind are those of the outer side where they are left out.

        Parameters
        ----------
        given : mapping
            Values of its keys in a case file, SI.
        assembly : Assembly
        outside : Side
            The outer side.
        """
        ways = [k for k in ("q50", "n50", "joint") if k in given]
        if len(ways) != 1:
            what = f"{' and '.join(ways)} are both there" if ways else "its blower-door figure is missing"
            raise InputError(f'{what}; give one, such as q50 = "3 m3/(m2 h)"')
        needs: tuple[str, ...] = {"q50": (), "n50": ("volume", "area"), "joint": ("joint_length", "area")}[ways[0]]
        for key, words in (
            ("volume", "volume and area go with n50; leave them out"),
            ("area", "volume and area go with n50, an area with a joint; leave it out"),
            ("joint_length", "it goes with a joint; leave it out"),
        ):
            if key in given and key not in needs:
                raise InputError(words, key)
        if not all(key in given for key in needs):
            house = 'n50 needs the volume of the house and the area of its envelope, "400 m3" and "500 m2"'
            sill = 'a joint needs its joint_length and the area of its wall, "10 m" and "25 m2"'
            raise InputError(house if ways[0] == "n50" else sill)
        exponent = {"exponent": given.pop("exponent")} if "exponent" in given else {}
        figures = [given.pop(k) for k in (ways[0], *needs)]
        made: Any = {"q50": Leakage.from_q, "n50": Leakage.from_n50, "joint": Leakage.from_joint}[ways[0]]
        leakage = made(*figures, **exponent)
        facing = outside.facing
        way = {} if facing is None else {"azimuth": facing.azimuth, "wind_factor": facing.wind_factor}
        way |= {f: given.pop(k) for k, f in _PATH.items() if k in given}
        joint = ways[0] == "joint"
        if given.get("way") == "flow":
            given.setdefault("portion", 1.0 if joint else OF_WALLS[1] / WALL_AREA)
        return cls(leakage, LeakPath(**way), of_joint=joint, **given)

    def to_keys(self, given: dict[str, Any], outside: Side) -> dict[str, Any]:
        """Return the keys that state the leak.

        Parameters
        ----------
        given : mapping
            Values of its keys, SI.
        outside : Side
            The outer side.
        """
        keys: dict[str, Any] = {"way": self.way, "q50": float(self.leakage.flow(TEST_PRESSURE))}
        if self.leakage.exponent != Leakage(0.0).exponent:
            keys["exponent"] = self.leakage.exponent
        keys |= {k: v for k, v in given.items() if k != "way"}
        if self.way == "flow":
            keys["portion"] = self.portion
            facing, usual = outside.facing, LeakPath()
            for key, name in _PATH.items():
                value = getattr(self.path, name)
                if key in ("orientation", "wind_factor"):
                    differs = facing is None or value != getattr(facing, name)
                else:
                    differs = value != getattr(usual, name)
                if differs:
                    keys[key] = value
        return keys


#: Keys of the way 'flow' that are fields of the path, by the name of the field.
_PATH = {
    "height": "height",
    "shelter": "shelter",
    "indoor_coefficient": "indoor_coefficient",
    "fan_pressure": "mechanical",
    "orientation": "azimuth",
    "wind_factor": "wind_factor",
}
