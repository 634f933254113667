"""The posterior of a fit in a small file, and cases drawn from it.

The file is JSON: inputs with path, median, standard deviation, transform and name; coordinates of the fit; their
covariance; and draws of the sampler where there are some.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..files import write_text
from ..trial.tries import tried
from .fitting import CLOCK, Fit
from .free import Free, put_all
from .sampling import Sampled

#: What the file says it is, and of which form.
KIND, FORM = "drydown posterior", 1
#: Draws of the sampler that are kept in the file; trials that a spread is told by.
KEPT, TRIED = 200, 12


@dataclass(frozen=True)
class Posterior:
    """What is known of the inputs of a case after a fit.

    Parameters
    ----------
    free : tuple of Free
    z : array of shape (free,)
        Coordinates of the fit.
    covariance : array of shape (free, free)
    draws : array of shape (draw, free)
        Of the sampler; empty where there are none.
    """

    free: tuple[Free, ...]
    z: Array
    covariance: Array
    draws: Array

    def drawn(self, number: int, seed: int = 0) -> Array:
        """Return coordinates drawn from it, shape (number, free).

        Parameters
        ----------
        number : int
        seed : int
        """
        rng = np.random.default_rng(seed)
        if len(self.draws):
            return self.draws[rng.choice(len(self.draws), number, replace=number > len(self.draws))]
        return rng.multivariate_normal(self.z, self.covariance, size=number)

    def cases(self, case: Case, number: int, seed: int = 0) -> list[Case]:
        """Return the case with its inputs drawn; what belongs to sensors is left out.

        Parameters
        ----------
        case : Case
            That of the fit, or another that has the same inputs.
        number : int
        seed : int

        Raises
        ------
        InputError
            If the case lacks one of the inputs.
        """
        return [put_all(case, self.free, z) for z in self.drawn(number, seed)]


def write_posterior(path: Path, fit: Fit, sampled: Sampled | None = None) -> None:
    """Write the posterior of a fit to a file.

    Parameters
    ----------
    path : Path
    fit : Fit
    sampled : Sampled, optional
        Draws of the sampler.
    """
    given: dict[str, Any] = {
        "kind": KIND,
        "form": FORM,
        "case": fit.case.name,
        "inputs": [
            {"path": x.path, "median": x.median, "sd": x.sd, "transform": x.transform, "name": x.name} for x in fit.free
        ],
        "z": fit.z.tolist(),
        "covariance": fit.covariance.tolist(),
        "draws": [] if sampled is None else sampled.z[:KEPT].tolist(),
    }
    write_text(path, json.dumps(given, indent=1) + "\n")


def read_posterior(path: Path) -> Posterior:
    """Read a posterior from a file.

    Raises
    ------
    InputError
        If it is no such file, or its numbers cannot be.
    """
    where = str(path)
    if not path.is_file():
        raise InputError("there is no such file; `drydown fit ... --posterior FILE` writes one", where)
    try:
        given = json.loads(path.read_text(encoding="utf-8"))
        if given["kind"] != KIND or given["form"] != FORM:
            raise InputError("it is no posterior of this version", where)
        inputs = tuple(
            Free(str(x["path"]), float(x["median"]), float(x["sd"]), x["transform"], str(x["name"]))
            for x in given["inputs"]
        )
        n = len(inputs)
        z = np.array(given["z"], dtype=float)
        covariance = np.array(given["covariance"], dtype=float)
        draws = np.array(given["draws"], dtype=float).reshape(-1, n)
    except (KeyError, TypeError, ValueError, UnicodeDecodeError, RecursionError) as error:
        if isinstance(error, InputError):
            raise error.at(where) from None
        raise InputError("it is no posterior that `drydown fit` writes, or is damaged", where) from None
    bad = [x.path for x in inputs if x.transform not in ("log", "logit", "linear")]
    if bad or z.shape != (n,) or covariance.shape != (n, n) or not np.all(np.isfinite(covariance)):
        raise InputError("its numbers do not belong together; write it again with `drydown fit`", where)
    if not (np.all(np.isfinite(z)) and np.all(np.isfinite(draws)) and math.isfinite(float(np.trace(covariance)))):
        raise InputError("a number in it is not finite; write it again with `drydown fit`", where)
    return Posterior(inputs, z, covariance, draws)


def of_wall(posterior: Posterior) -> tuple[str, ...]:
    """Return the names of the inputs that belong to the wall and not to its sensors."""
    return tuple(x.name for x in posterior.free if not x.of_sensor and not x.path.endswith(CLOCK))


def spread_of_posterior(
    case: Case, posterior: Posterior, number: int = TRIED, progress: Callable[[float], None] | None = None
) -> list[dict[str, float]]:
    """Return the answers of trials of the case with its inputs drawn from a posterior.

    Parameters
    ----------
    case : Case
        With a wetting.
    posterior : Posterior
    number : int
        Trials.
    progress : callable, optional
        Called with the fraction done.
    """
    return tried(posterior.cases(case, number), progress=progress)
