"""Free inputs: numbers of a case that are not known, each with what is held of it beforehand.

Every input has a coordinate z in which its prior is the standard normal distribution: the logarithm of what is
positive, the logit of a share, else the number itself, less its median and over its standard deviation there. Fits and
designs work in z; steps of differences are taken in it too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..arrays import Array
from ..case.assembly import Layer
from ..case.case import Case
from ..errors import InputError
from ..materials.model import Film, Material
from .setting import FACTORS, number

Transform = Literal["log", "logit", "linear"]
#: Standard deviations from the middle of a normal distribution to the edge of what nine of ten lie in.
TO_EDGE = 1.6449
#: Path of what belongs to a logger and not to the wall.
SENSOR = "sensor."

#: Keys that are shares, between 0 and 1, and keys that may be negative or whose zero means nothing.
_SHARES = (
    "share",
    "absorptance",
    "emissivity",
    "start_humidity",
    "humidity",
    "portion",
    "splash",
    "rain_wall",
    "margin",
)
_LINEAR = (
    "temperature",
    "orientation",
    "tilt",
    "mean",
    "amplitude",
    "offset",
    "depth_offset",
    "start",
    "end",
    "middle",
)
#: Half widths of what nine of ten lie in, in the coordinate of the transform, where nothing else is known (common
#: practice: what is built differs from what is drawn by about as much).
_USUAL = {
    "thickness": math.log(1.1), "conductivity_factor": math.log(1.15), "permeability_factor": math.log(2.0),
    "permeance_factor": math.log(2.0), "liquid_factor": math.log(5.0), "storage_factor": math.log(1.3),
    "q50": math.log(5.0), "share": math.log(10.0), "start_water": math.log(2.0), "amount": math.log(3.0),
    "start_humidity": 2.0, "rain_exposure": math.log(1.5), "temperature": 2.0, "offset": 2.0,
}  # fmt: skip
_OTHERWISE = math.log(2.0)


@dataclass(frozen=True)
class Free:
    """A number of a case that is free.

    Parameters
    ----------
    path : str
        Where it stands, see `drydown.inverse.setting`; ``sensor.NAME.offset`` and ``sensor.NAME.depth`` are of a
        sensor (`drydown.inverse.sensors`).
    median : float
        Middle of the prior, SI.
    sd : float
        Standard deviation of the prior in the coordinate of the transform: of the logarithm, the logit, or the number.
    transform : {'log', 'logit', 'linear'}
    name : str
        What it is called; its path where empty.

    Raises
    ------
    InputError
        If median or spread cannot be.
    """

    path: str
    median: float
    sd: float
    transform: Transform = "log"
    name: str = ""

    def __post_init__(self) -> None:
        if not self.name:
            object.__setattr__(self, "name", self.path)
        if not (math.isfinite(self.sd) and self.sd > 0.0):
            raise InputError(f"the spread of its prior is {self.sd:g}; it must be greater than 0", self.path)
        if self.transform == "log" and not self.median > 0.0:
            raise InputError(f"its median is {self.median:g}; it must be greater than 0", self.path)
        if self.transform == "logit" and not 0.0 < self.median < 1.0:
            raise InputError(f"its median is {self.median:g}; a share between 0 and 1 is needed", self.path)

    @property
    def of_sensor(self) -> bool:
        """Whether it belongs to a sensor and leaves the wall as it is."""
        return self.path.startswith(SENSOR)

    def value(self, z: float) -> float:
        """Return the number at a coordinate, SI.

        Parameters
        ----------
        z : float
            0 is the median of the prior, 1 a standard deviation above it.
        """
        at = self._forth(self.median) + self.sd * float(z)
        if self.transform == "log":
            return math.exp(at)
        return 1.0 / (1.0 + math.exp(-at)) if self.transform == "logit" else at

    def values(self, z: Array) -> Array:
        """Return the numbers at coordinates, SI, as `value` does one.

        Parameters
        ----------
        z : array
        """
        at = self._forth(self.median) + self.sd * np.asarray(z, dtype=float)
        if self.transform == "log":
            return np.asarray(np.exp(at))
        return np.asarray(1.0 / (1.0 + np.exp(-at))) if self.transform == "logit" else at

    def coordinate(self, value: float) -> float:
        """Return the coordinate of a number.

        Parameters
        ----------
        value : float
            SI.
        """
        return (self._forth(value) - self._forth(self.median)) / self.sd

    def slope(self, z: float) -> float:
        """Return d(number)/dz at a coordinate.

        Parameters
        ----------
        z : float
        """
        x = self.value(z)
        by_t = {"log": x, "logit": x * (1.0 - x), "linear": 1.0}[self.transform]
        return by_t * self.sd

    def _forth(self, x: float) -> float:
        if self.transform == "log":
            return math.log(x)
        return math.log(x / (1.0 - x)) if self.transform == "logit" else x


def free(
    case: Case,
    path: str,
    *,
    factor: float | None = None,
    within: tuple[float, float] | None = None,
    transform: Transform | None = None,
    name: str = "",
) -> Free:
    """Return a number of a case as a free input.

    Parameters
    ----------
    case : Case
        Its value there is the median of the prior, unless `within` says otherwise.
    path : str
    factor : float, optional
        Nine of ten lie between the median over and times this factor.
    within : (float, float), optional
        Nine of ten lie between these two, SI.
    transform : {'log', 'logit', 'linear'}, optional
        Shares have logits, what is positive logarithms by default.
    name : str

    Returns
    -------
    Free
        Its prior is, in this order: as given; the spread that the library states for the property; what is usual.

    Raises
    ------
    InputError
        If the path leads to no number that can be free.
    """
    key = path.rpartition(".")[2].strip("\"' ")
    found = None if path.startswith(SENSOR) else number(case, path)
    value = 0.0 if found is None else found.value
    kind: Transform = transform or ("logit" if key in _SHARES else "linear" if key in _LINEAR else "log")
    if kind == "logit" and not 0.0 < value < 1.0 and within is None:
        raise InputError(
            f"it stands at an end of what it can be, {value:g}; say between which two values it lies", path
        )
    if kind == "log" and not value > 0.0 and within is None:
        kind = "linear"
    spread = within or _of_library(case, path)
    if spread is not None:
        a, b = (Free(path, x, 1.0, kind)._forth(x) for x in spread)
        if not b > a:
            raise InputError(f"its prior lies between {spread[0]:g} and {spread[1]:g}; the first must be less", path)
        middle = Free(path, 0.5 if kind == "logit" else 1.0, 1.0, kind)
        return Free(
            path, middle.value(0.5 * (a + b) - middle._forth(middle.median)), 0.5 * (b - a) / TO_EDGE, kind, name
        )
    half = _USUAL.get(key, _OTHERWISE) if factor is None else math.log(factor)
    return Free(path, value, half / TO_EDGE, kind, name)


def _of_library(case: Case, path: str) -> tuple[float, float] | None:
    """Return the factors that a source states for a property, for a path that ends in a factor."""
    if not path.endswith("_factor"):
        return None
    name = path.rpartition(".")[2].removesuffix("_factor")
    at = number(case, path).put(2.0).assembly.parts
    for old, new in zip(case.assembly.parts, at, strict=True):
        if old is not new and name in FACTORS:
            entry: Material | Film = old.material if isinstance(old, Layer) else old
            pair = entry.spread.get(name)
            return pair if pair is not None and pair[1] > pair[0] > 0.0 else None
    return None


def put_all(case: Case, frees: Sequence[Free], z: Array) -> Case:
    """Return the case with its free inputs at coordinates.

    Parameters
    ----------
    case : Case
    frees : sequence of Free
    z : array of shape (free,)
        Those of sensors leave the case as it is.
    """
    for x, at in zip(frees, np.asarray(z, dtype=float), strict=True):
        if not x.of_sensor:
            case = number(case, x.path).put(x.value(float(at)))
    return case
