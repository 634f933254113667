"""What a film does to one wall of a set: how near its limits, how wet in winter, how long water stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

import numpy as np

from ..arrays import Array
from ..case.assembly import Layer
from ..case.case import Case
from ..criteria import Finding, assess
from ..errors import InputError
from ..lowering.grid import Grid
from ..lowering.problem import mesh_of
from ..materials.model import Film
from ..run.simulation import simulate
from ..trial.dryout import account
from ..trial.judging import judge_trial
from ..trial.remedies import sheathing
from ..trial.tries import film_of, with_film

if TYPE_CHECKING:
    import xarray as xr

#: The wettest stretch of the year is a mean over so many days.
STRETCH = 30
#: A design is looked for with steps of up to an hour and half the cells; what is found is checked without.
COARSE: dict[str, Any] = {"tolerance": 6.0, "max_step": 3600.0, "refine": 0.5}


class Guarded(NamedTuple):
    """What a film does to a wall.

    loads : value over limit of every criterion that decides, by ('dry' or 'wetted', criterion, layer); wettest : of the
    layer that is to be kept dry, without the water, the mean of its wettest 30 days [kg/kg]; stay : how long the water
    that got in stays on average, up to the end of the run [d], NaN without any; days : until a tenth is left [d], NaN:
    not reached; inward : share of what left that left inward; exceeded : titles of the limits that are passed.
    """

    loads: Mapping[tuple[str, str, str], float]
    wettest: float
    stay: float
    days: float
    inward: float
    exceeded: tuple[str, ...]

    @property
    def load(self) -> float:
        """The greatest value over its limit."""
        return max(self.loads.values(), default=0.0)


class Runs(Protocol):
    """A wall that can be run with any film."""

    @property
    def name(self) -> str:
        """Name of the wall."""
        ...

    def measured(self, film: Film) -> Guarded:
        """Return what a film does to it."""
        ...


@dataclass(frozen=True)
class Guard:
    """A wall of the set.

    Parameters
    ----------
    name : str
    case : Case
    film : Film
        That of the wall whose place is taken.
    grid : Grid
        Mesh of all its runs: two films are told apart on one mesh.
    limits : mapping
        That its case file states, by name.
    """

    name: str
    case: Case
    film: Film
    grid: Grid = field(repr=False)
    limits: Mapping[str, float] = field(default_factory=dict)

    def with_curve(self, film: Film) -> Case:
        """Return the case with another film.

        Parameters
        ----------
        film : Film
        """
        return with_film(self.case, self.film, replace(film, name=self.film.name, thickness=self.film.thickness))

    def measured(self, film: Film) -> Guarded:
        """Run the wall with a film, with its water and without.

        Parameters
        ----------
        film : Film
        """
        case = self.with_curve(film)
        dry = simulate(replace(case, wettings=()), grid=self.grid)
        before = assess(dry, self.limits)
        loads, over = _loads(before, "dry")
        days = inward = stay = float("nan")
        if case.wettings:
            wet = simulate(case, grid=self.grid)
            both = judge_trial(case, (dry, wet), before, assess(wet, self.limits), self.limits)
            (loads, over), (more, also) = _loads(both[0], "dry"), _loads(both[1], "wetted")
            loads, over = loads | more, [*over, *also]
            trial = account(case, dry, wet)
            a = trial.attrs
            days, inward = float(a["days_to_90_percent_dry"]), float(a["share_inward"])
            hours = np.diff(trial["time"].values) / np.timedelta64(1, "h")
            excess = np.maximum(trial["excess"].values, 0.0)
            stay = float(np.sum(0.5 * (excess[1:] + excess[:-1]) * hours) / 24.0 / float(a["amount"]))
        return Guarded(loads, _wettest(dry, _kept_dry(case)), stay, days, inward, tuple(dict.fromkeys(over)))


def guard(name: str, case: Case, film: str, limits: Mapping[str, float] | None = None, coarse: bool = False) -> Guard:
    """Return a wall of the set, with its mesh.

    Parameters
    ----------
    name : str
    case : Case
    film : str
        Name of the film whose place is taken.
    limits : mapping, optional
    coarse : bool
        With half the cells and longer steps.

    Raises
    ------
    InputError
        If the wall has no such film, or is run for less than a year.
    """
    if (case.end - case.start) < np.timedelta64(365, "D"):
        raise InputError("a design needs winter and summer; run the wall for a year or longer", name)
    if coarse:
        case = replace(case, numerics=replace(case.numerics, **COARSE))
    found = film_of(case, film)
    return Guard(name, case, found, mesh_of(case), dict(limits or {}))


def _loads(findings: Sequence[Finding], which: str) -> tuple[dict[tuple[str, str, str], float], list[str]]:
    """Return value over limit by criterion and layer, and the titles of what is exceeded.

    findings : those of the dry wall, or of the wetted one as they count (`drydown.criteria.of_trial`).
    """
    out, over = {}, []
    for finding in findings:
        if finding.screening:
            continue
        if finding.verdict == "exceeded":
            over.append(finding.title)
        for row in finding.by_layer or ():
            if row.verdict != "not applicable" and row.limit > 0.0 and np.isfinite(row.value):
                out[(which, finding.criterion, row.layer)] = max(float(row.value), 0.0) / float(row.limit)
    return out, over


def _kept_dry(case: Case) -> Layer:
    part = case.assembly.parts[sheathing(case)]
    assert isinstance(part, Layer)
    return part


def _wettest(dry: xr.Dataset, layer: Layer) -> float:
    """Return the water of a layer over its dry mass [kg/kg], the mean of its wettest 30 days of the last year."""
    water: Array = dry["layer_water"].sel(layer=layer.name).values
    mass = layer.thickness * layer.material.density
    step = (dry["time"].values[1] - dry["time"].values[0]) / np.timedelta64(1, "h")
    last = water[-round(365 * 24 / step) :]
    window = min(max(1, round(STRETCH * 24 / step)), len(last))
    sums = np.cumsum(np.append(0.0, last))
    return float(np.max(sums[window:] - sums[:-window]) / window / mass)
