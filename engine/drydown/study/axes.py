"""Axes of a study: what is varied, over which values or after which distribution."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..errors import InputError, nearest
from ..frozen import FrozenMap

Array = np.ndarray

#: Parameters of every distribution; those in brackets may be left out.
DISTRIBUTIONS: dict[str, tuple[str, ...]] = {
    "uniform": ("low", "high"),
    "log-uniform": ("low", "high"),
    "normal": ("mean", "sd", "[low]", "[high]"),
    "log-normal": ("median", "factor", "[low]", "[high]"),
    "triangular": ("low", "mode", "high"),
    "beta": ("a", "b", "low", "high"),
    "weibull": ("shape", "scale"),
    "whole": ("low", "high"),
}
_NUMBER = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")


def number_and_unit(given: Any) -> tuple[float, str] | None:
    """Return a number and the unit behind it; None where it is neither a number nor a text that begins with one."""
    if isinstance(given, bool):
        return None
    if isinstance(given, int | float):
        return float(given), ""
    match = _NUMBER.fullmatch(given) if isinstance(given, str) else None
    if match is None or re.match(r"[-\d/]", match[2]):
        return None
    return float(match[1]), match[2]


@dataclass(frozen=True)
class Distribution:
    """A distribution by its name and parameters.

    Parameters
    ----------
    kind : str
        One of `DISTRIBUTIONS`. "normal" and "log-normal" may be cut at `low` and `high`; `factor` is the
        geometric standard deviation; "whole" gives every whole number from `low` to `high` the same weight.
    parameters : mapping of str to float

    Raises
    ------
    InputError
        If the kind is not known, a parameter is missing, or they contradict each other.
    """

    kind: str
    parameters: Mapping[str, float]

    def __post_init__(self) -> None:
        if self.kind not in DISTRIBUTIONS:
            raise InputError(f"no distribution is called '{self.kind}'; {nearest(self.kind, DISTRIBUTIONS)}")
        p, keys = dict(self.parameters), DISTRIBUTIONS[self.kind]
        for key in p:
            if key not in (k.strip("[]") for k in keys):
                raise InputError(f"'{self.kind}' has no parameter '{key}'; it has {', '.join(keys)}")
        for key in keys:
            if not key.startswith("[") and key not in p:
                raise InputError(f"'{self.kind}' needs '{key}'; it has {', '.join(keys)}")
        if "low" in p and "high" in p and not p["low"] < p["high"] + (self.kind == "whole"):
            raise InputError(f"low {p['low']:g} is not below high {p['high']:g}")
        positive = ("sd", "a", "b", "shape", "scale", "median")
        for key in (*positive, "low", "high") if self.kind.startswith("log-") else positive:
            if key in p and not p[key] > 0.0:
                raise InputError(f"{key} is {p[key]:g}; it must be greater than 0")
        if self.kind == "log-normal" and not p["factor"] > 1.0:
            raise InputError(f"factor is {p['factor']:g}; it must be greater than 1")
        if self.kind == "triangular" and not p["low"] <= p["mode"] <= p["high"]:
            raise InputError(f"mode {p['mode']:g} does not lie between low and high")
        if self.kind == "whole" and any(v != round(v) for v in p.values()):
            raise InputError("low and high of 'whole' are whole numbers")
        object.__setattr__(self, "parameters", FrozenMap(p))

    def ppf(self, q: Array) -> Array:
        """Return the quantiles of probabilities between 0 and 1, shape of `q`.

        Parameters
        ----------
        q : array
            Probabilities [-].
        """
        from scipy import stats

        found: Array
        p = self.parameters
        q = np.asarray(q, dtype=float)
        if self.kind == "whole":
            return np.minimum(np.floor(p["low"] + q * (p["high"] - p["low"] + 1.0)), p["high"])
        if self.kind in ("normal", "log-normal"):
            log = np.log if self.kind == "log-normal" else np.asarray
            mean, sd = p.get("mean", 0.0), p.get("sd", 1.0)
            if self.kind == "log-normal":
                mean, sd = float(np.log(p["median"])), float(np.log(p["factor"]))
            a = (log(p["low"]) - mean) / sd if "low" in p else -np.inf
            b = (log(p["high"]) - mean) / sd if "high" in p else np.inf
            x = mean + sd * stats.truncnorm.ppf(q, a, b)
            found = np.exp(x) if self.kind == "log-normal" else x
            return found
        if self.kind == "weibull":
            found = stats.weibull_min.ppf(q, p["shape"], scale=p["scale"])
            return found
        low, span = p["low"], p["high"] - p["low"]
        if self.kind == "log-uniform":
            return low * (p["high"] / low) ** q
        if self.kind == "triangular":
            found = stats.triang.ppf(q, (p["mode"] - low) / span, low, span)
            return found
        if self.kind == "beta":
            found = stats.beta.ppf(q, p["a"], p["b"], low, span)
            return found
        return low + q * span


@dataclass(frozen=True)
class Axis:
    """One thing that is varied.

    Parameters
    ----------
    name : str
        The coordinate in the result.
    values : tuple, optional
        The values, as a case file writes them; a sampled study takes each with the same weight.
    distribution : Distribution, optional
        Instead of values, in a sampled study.
    paths : tuple of str
        Places in the case file that take the value (see `drydown.casefile.paths`). None: the value goes to the
        function that varies the case.
    unit : str
        Written behind numbers of the distribution.
    dates : bool
        The distribution is over seconds since 1970 and gives whole hours.
    """

    name: str
    values: tuple[Any, ...] = ()
    distribution: Distribution | None = None
    paths: tuple[str, ...] = ()
    unit: str = ""
    dates: bool = False

    def __post_init__(self) -> None:
        where = f"axis '{self.name}'"
        object.__setattr__(self, "values", tuple(self.values))
        object.__setattr__(self, "paths", tuple(self.paths))
        if not re.fullmatch(r"[^\W\d]\w*", self.name):
            raise InputError("a name begins with a letter and holds letters, digits and _", where)
        if self.name in ("case", "failed", "reason", "time", "month"):
            raise InputError(f"'{self.name}' is taken; call the axis otherwise", where)
        if bool(self.values) == (self.distribution is not None):
            what = "values and a distribution are both there" if self.values else "it has no values"
            raise InputError(f"{what}; give values = [..] or a distribution", where)

    def levels(self, q: Array) -> list[Any]:
        """Return the values at probabilities `q`, as a case file or a function takes them.

        Parameters
        ----------
        q : array
            Probabilities [-].
        """
        if self.distribution is None:
            index = np.minimum((np.asarray(q) * len(self.values)).astype(int), len(self.values) - 1)
            return [self.values[i] for i in index]
        x = self.distribution.ppf(q)
        if self.dates:
            hours = np.round(x / 3600.0).astype(np.int64)
            return [datetime.datetime(1970, 1, 1) + datetime.timedelta(hours=int(h)) for h in hours]
        if self.distribution.kind == "whole":
            return [int(v) for v in x] if not self.unit else [f"{int(v)} {self.unit}" for v in x]
        return [f"{v!r} {self.unit}" for v in x.tolist()] if self.unit else x.tolist()

    def column(self, values: list[Any]) -> tuple[Array, dict[str, str]]:
        """Return values as a coordinate of the result and its attributes: numbers in their unit, dates or text.

        Parameters
        ----------
        values : list
            As a case file writes them.
        """
        attributes = {"long_name": self.name}
        if all(isinstance(v, datetime.date) for v in values):
            return np.array([np.datetime64(v, "s") for v in values]).astype("datetime64[ns]"), attributes
        read = [number_and_unit(v) for v in values]
        units = {r[1] for r in read if r is not None}
        if all(r is not None for r in read) and len(units) == 1:
            unit = units.pop()
            return np.array([r[0] for r in read if r is not None]), attributes | ({"units": unit} if unit else {})
        return np.array([v if isinstance(v, str) else str(v) for v in values], dtype=object), attributes
