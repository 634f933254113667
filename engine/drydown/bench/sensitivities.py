"""At which humidities the permeance of a membrane matters to the dry-out trial."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..materials.model import Argument, CurveLike
from ..trial.tries import Direction, changed, film_of, tried, with_film

if TYPE_CHECKING:
    import xarray as xr


@dataclass(frozen=True)
class Raised:
    """A curve with ln P raised near one point of humidity.

    Parameters
    ----------
    curve : Curve
    points : tuple of float
        Humidities [-], rising.
    which : int
        The point about which it is raised; -1: everywhere.
    by : float
        Rise of ln P at the point [-].

    Notes
    -----
    The rise falls to nothing at the neighbouring points as cos^2, and stays at its height beyond the first and
    the last point. The rises of all points add up to an even rise, so their effects add up to its effect.
    """

    curve: CurveLike
    points: tuple[float, ...]
    which: int
    by: float
    of: Argument = "humidity"

    def weight(self, humidity: Array) -> Array:
        """Return the share of the rise [-] at humidities."""
        if self.which < 0:
            return np.ones_like(humidity)
        place = np.interp(humidity, self.points, np.arange(len(self.points)))
        gap = np.minimum(np.abs(place - self.which), 1.0)
        return np.cos(0.5 * np.pi * gap) ** 2

    def __call__(self, humidity: Array, /) -> Array:
        """Return the raised permeance in the shape of the humidity."""
        phi = np.asarray(humidity, dtype=float)
        return np.asarray(self.curve(phi)) * np.exp(self.by * self.weight(phi))


def sensitivity(
    case: Case,
    film: str,
    points: Sequence[float] = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9),
    *,
    by: float = 0.2,
    direction: Direction = "both",
    workers: int = 2,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Change the permeance of a film about each of several humidities and see what the dry-out trial does.

    Parameters
    ----------
    case : Case
        With at least one wetting.
    film : str
        Name of the film in the wall.
    points : sequence of float
        Humidities [-], rising.
    by : float
        ln P is raised and lowered by this much.
    direction : {'both', 'inward', 'outward'}
        Of the flow whose permeance is changed; the other keeps its own.
    workers : int
        Threads; the results do not depend on it.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        Over `humidity`, by central differences: `days_to_90_percent_dry` and `share_inward`, relative change of
        the result per relative change of the permeance, d ln(result)/d ln P [-] (NaN where the result is not positive
        or
        not reached); `share_inward_change`, d(share inward)/d ln P [-], which always exists. `permeance`
        [kg m-2 s-1 Pa-1] is the curve itself at the points, and `permeance_outward` that
        outward, where it differs.
        Attributes ``even_*`` hold the same with ln P
        raised evenly: the sum over the points comes near it, the rest is the bend of the response.

    Raises
    ------
    InputError
        If the wall has no such film, or the points do not rise within 0 to 1.

    """
    import xarray as xr

    at = tuple(float(p) for p in points)
    if len(at) < 2 or not (at[0] >= 0.0 and at[-1] <= 1.0 and all(np.diff(at) > 0.0)):
        raise InputError("points must be two or more humidities that rise within 0 to 1", "sensitivity")
    if not 0.0 < by <= 1.0:
        raise InputError(f"by is {by:g}; it must lie between 0 and 1, such as 0.2", "sensitivity")
    found = film_of(case, film)
    rises = [(k, s * by) for k in range(-1, len(at)) for s in (1.0, -1.0)]

    def raised(k: int, rise: float) -> Case:
        return with_film(case, found, changed(found, lambda curve: Raised(curve, at, k, rise), direction))

    cases = [case, *(raised(k, rise) for k, rise in rises)]
    answers = tried(cases, workers, progress)
    base, up, down = answers[0], answers[1::2], answers[2::2]

    def slope(key: str, log: bool) -> Array:
        high, low = (np.array([a[key] for a in side]) for side in (up, down))
        with np.errstate(invalid="ignore", divide="ignore"):
            if log:
                high, low = (np.log(np.where(x > 0.0, x, np.nan)) for x in (high, low))
            found: Array = (high - low) / (2.0 * by)
            return found

    found_slopes = {
        "days_to_90_percent_dry": (
            slope("days_to_90_percent_dry", True),
            "d ln(days until a tenth is left) / d ln(permeance)",
        ),
        "share_inward": (slope("share_inward", True), "d ln(share inward) / d ln(permeance)"),
        "share_inward_change": (slope("share_inward", False), "d(share inward) / d ln(permeance)"),
    }
    data = {k: ("humidity", v[1:], {"units": "1", "long_name": words}) for k, (v, words) in found_slopes.items()}
    for name, curve in (("permeance", found.permeance), ("permeance_outward", found.permeance_outward)):
        if curve is not None:
            words = "permeance of the film" + (" for flow outward" if name != "permeance" else "")
            values = np.asarray(curve(np.array(at)), dtype=float)
            data[name] = ("humidity", values, {"units": "kg m-2 s-1 Pa-1", "long_name": words})
    attrs = {
        "title": f"drydown sensitivity to a membrane: {case.name}",
        "case": case.name,
        "film": found.name,
        "by": by,
        "direction": direction,
        **{f"even_{k}": float(v[0]) for k, (v, _) in found_slopes.items()},
        **{f"base_{k}": base[k] for k in ("days_to_90_percent_dry", "share_inward", "remaining")},
        "closure_max": max(a["closure_max"] for a in answers),
    }
    coords = {"humidity": ("humidity", np.array(at), {"units": "1", "long_name": "relative humidity"})}
    return xr.Dataset(data, coords, attrs)
