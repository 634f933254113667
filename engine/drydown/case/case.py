"""One simulation, described: what stands where, between which climates, and what happens to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from ..arrays import Marks
from ..errors import InputError, need, need_number, shown
from ..frozen import FrozenMap
from ..times import local_time
from .assembly import Assembly, Layer
from .load import Load
from .profile import Profile
from .sides import Physics, Side, check_humidity, check_side, check_temperature, looks_indoor
from .wetting import Wetting

#: Rows of an assembly that a printed case has at most.
MOST_ROWS = 10


@dataclass(frozen=True)
class Initial:
    """State at the start.

    Parameters
    ----------
    temperature : float
        [K].
    humidity : float
        Relative humidity [-] of every layer not named in `layers`.
    layers : mapping of str to float
        Relative humidity [-] by layer name (built-in moisture).
    profile : Profile, optional
        Temperature and humidity by depth instead of the other two, such as `Profile.of` another run; layers named in
        `layers` have their own humidity all the same.
    """

    temperature: float = 283.15
    humidity: float = 0.8
    layers: Mapping[str, float] = FrozenMap()
    profile: Profile | None = None

    def __post_init__(self) -> None:
        need(self.layers, Mapping, "its layers", "a mapping of layer names to humidities", "initial state")
        object.__setattr__(self, "layers", FrozenMap(self.layers))
        if self.profile is not None:
            need(self.profile, Profile, "its profile", "a Profile(depth, temperature, humidity)", "initial state")
        check_temperature(self.temperature, "initial temperature")
        check_humidity(self.humidity, "initial humidity")
        for name, value in self.layers.items():
            check_humidity(value, f"initial humidity of '{name}'")


@dataclass(frozen=True)
class Numerics:
    """How finely space and time are cut.

    Parameters
    ----------
    tolerance : float
        What the error indicator of a step is held to, as a multiple of 0.32 % relative humidity and 0.16 K; the error
        of time itself, root mean square over the hours, is several times smaller. Smaller is tighter and slower.
    max_step, min_step : float
        [s]; a step never passes an hour mark or an event. One that cannot be solved is tried again shorter, down to a
        hundred-thousandth of `min_step`.
    refine : float
        Factor on the number of cells of every layer.
    film_reading : {'integral', 'mean'}
        How a permeance that varies with humidity is read across its film: mean of the permeance over the
        humidities between both sides, or the permeance at the mean humidity.
    output_every : float
        Interval of the stored results [s]; a whole number of hours.
    """

    tolerance: float = 1.0
    max_step: float = 1800.0
    min_step: float = 0.05
    refine: float = 1.0
    film_reading: Literal["integral", "mean"] = "integral"
    output_every: float = 3600.0

    def __post_init__(self) -> None:
        for key in ("tolerance", "max_step", "min_step", "refine", "output_every"):
            need_number(getattr(self, key), key, "numerics")
        if not (self.tolerance > 0 and np.isfinite(self.tolerance)):
            raise InputError(f"tolerance is {self.tolerance}; it must be greater than 0", "numerics")
        if not 0 < self.min_step <= self.max_step <= 3600.0:
            raise InputError("steps must obey 0 < min_step <= max_step <= 3600 s", "numerics")
        if not 0.0 < self.refine <= 100.0:
            raise InputError(f"refine is {self.refine}; it must be greater than 0 and at most 100", "numerics")
        if self.film_reading not in ("integral", "mean"):
            raise InputError(f"film_reading is '{self.film_reading}'; use 'integral' or 'mean'", "numerics")
        if self.output_every < 3600.0 or self.output_every % 3600.0:
            raise InputError("output_every must be a whole number of hours", "numerics")


#: Thickness beyond which a layer is a slip of the pen [m], by the first tag that is named here (common practice: three
#: times what is built; a half-space of a calculation has no tag).
THICKEST = {
    "panel": 0.3, "sheathing": 0.3, "lining": 0.3, "cladding": 0.6, "air": 1.0, "metal": 0.3, "plaster": 0.5,
    "wood": 1.5, "insulation": 2.0, "masonry": 5.0, "concrete": 5.0,
}  # fmt: skip


def check_thickness(layer: Layer) -> None:
    """Raise InputError where a layer is thicker than anything of its kind is built."""
    tag = next((t for t in THICKEST if t in layer.material.tags), None)
    if tag is None or layer.thickness <= THICKEST[tag]:
        return
    raise InputError(
        f"{layer.thickness:g} m of '{layer.material.name}' is more than is ever built ({THICKEST[tag]:g} m); "
        f"is it {layer.thickness:g} mm?",
        f"layer '{layer.name}'",
    )


@dataclass(frozen=True)
class Case:
    """One simulation.

    Parameters
    ----------
    assembly : Assembly
    outside, inside : Side
    start, end : datetime64
        Period, whole hours.
    wettings : tuple of Wetting
    loads : tuple of Load
        See `drydown.case.loads`.
    initial : Initial
    physics : Physics
    numerics : Numerics
    name : str
    """

    assembly: Assembly
    outside: Side
    inside: Side
    start: np.datetime64
    end: np.datetime64
    wettings: tuple[Wetting, ...] = ()
    initial: Initial = Initial()
    physics: Physics = field(default_factory=Physics)
    numerics: Numerics = Numerics()
    name: str = "case"
    loads: tuple[Load, ...] = ()

    def __post_init__(self) -> None:
        self._check_types()
        for key in ("start", "end"):
            value = local_time(getattr(self, key), self.outside.utc_offset, f"period, {key}")
            if np.isnat(value):
                raise InputError(f"the {key} is no date; write it as 2022-01-15", "period")
            if value.astype("datetime64[h]").astype("datetime64[s]") != value:
                raise InputError(f"{key} is {value}; it must be a whole hour", "period")
            object.__setattr__(self, key, value)
        if not self.end > self.start:
            raise InputError(f"the end {self.end} is not after the start {self.start}", "period")
        for load in self.loads:
            for layer in load.layers:
                self.assembly.layer_index(layer)
        for part in self.assembly.layers:
            check_thickness(part)
        ventilated = {name for load in self.loads if load.ventilates for name in load.layers}
        for w in self.wettings:
            wet = self.assembly.layers[self.assembly.layer_index(w.layer)]
            if "air" in wet.material.tags and w.layer not in ventilated:
                raise InputError(
                    "it is closed air, which holds no water; wet the layer that the water runs to, or give the gap a "
                    "[[ventilated_gap]]",
                    f"wetting of '{w.layer}'",
                )
            stop = w.start + np.timedelta64(round(w.duration), "s")
            if w.start < self.start or stop > self.end:
                raise InputError(
                    f"it runs from {w.start} to {stop}, outside the period {self.start} to {self.end}",
                    f"wetting of '{w.layer}'",
                )
        for name in self.initial.layers:
            self.assembly.layer_index(name)

    def _check_types(self) -> None:
        """Refuse what is of another type than a case is made of; hold events and loads as tuples."""
        where = f"case '{self.name}'" if isinstance(self.name, str) else "case"
        need(self.name, str, "its name", "a text", where)
        need(self.assembly, Assembly, "its assembly", "an Assembly", where)
        for key in ("outside", "inside"):
            check_side(getattr(self, key), key, where)
        if looks_indoor(self.outside) and self.inside.facing is not None:
            raise InputError("its sides are swapped: the outer one comes first, then the inner one", where)
        need(self.initial, Initial, "its initial state", "an Initial(temperature, humidity)", where)
        need(self.physics, Physics, "its physics", "a Physics", where)
        need(self.numerics, Numerics, "its numerics", "a Numerics", where)
        for key, kind in (("wettings", Wetting), ("loads", Load)):
            given = getattr(self, key)
            if isinstance(given, kind) or not isinstance(given, Iterable):
                raise InputError(f"{key} is {shown(given)}; a tuple is needed, such as (it,)", where)
            object.__setattr__(self, key, tuple(given))
            for item in getattr(self, key):
                need(item, kind, f"one of its {key}", f"a {kind.__name__}", where)

    @property
    def marks(self) -> Marks:
        """Hour marks of the run, start and end included (datetime64[s])."""
        return np.arange(self.start, self.end + np.timedelta64(1, "h"), np.timedelta64(3600, "s"))

    def __str__(self) -> str:
        """Return what it is in some twenty lines."""
        days = (self.end - self.start) / np.timedelta64(1, "D")
        start = f"{self.initial.temperature - 273.15:.4g} degC, {100.0 * self.initial.humidity:.4g} %"
        if self.initial.profile is not None:
            start = f"a profile of {len(self.initial.profile.depth)} depths"
        start += "".join(f"; {name} {100.0 * value:.4g} %" for name, value in self.initial.layers.items())
        layers = str(self.assembly).splitlines()
        if len(layers) > MOST_ROWS:
            layers = [*layers[:MOST_ROWS], f"  and {len(layers) - MOST_ROWS} more"]
        happens = [f"{w.amount:.4g} kg/m2 of water into {w.layer}, {w.start}" for w in self.wettings]
        happens += [load.label for load in self.loads]
        if len(happens) > 4:
            happens = [*happens[:3], f"and {len(happens) - 3} more"]
        rows = [
            self.name,
            f"period   {self.start} to {self.end}, {days:.6g} days",
            f"outside  {self.outside.describe()}",
            f"inside   {self.inside.describe()}",
            f"start    {start}",
            *(f"{'' if i else 'happens':9}{line}" for i, line in enumerate(happens)),
            *layers,
        ]
        return "\n".join(rows)
