"""Draws from what a fit leaves open, as an axis of a study: each value is the number of a draw, counted from 1."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..arrays import Array
from ..case.case import Case
from ..errors import InputError
from ..inverse.fitting import CLOCK
from ..inverse.free import Free, put_all
from ..inverse.posterior import read_posterior

#: Draws of an axis unless it says otherwise, and the most.
DRAWS, MOST = 20, 10_000


@dataclass(frozen=True)
class Drawn:
    """Coordinates of free inputs drawn from the posterior of a fit.

    Parameters
    ----------
    free : tuple of Free
        Of the wall; what belongs to a logger is left out.
    z : array of shape (draw, free)
    """

    free: tuple[Free, ...]
    z: Array

    def case(self, case: Case, number: int) -> Case:
        """Return a case with its inputs as in one draw.

        Parameters
        ----------
        case : Case
        number : int
            From 1.

        Raises
        ------
        InputError
            If the case lacks one of the inputs.
        """
        return put_all(case, self.free, self.z[int(number) - 1])

    def sets(self, path: str) -> bool:
        """Return whether the draws set the number at a path.

        Parameters
        ----------
        path : str
        """
        return _plain(path) in [_plain(x.path) for x in self.free]


def _plain(path: str) -> str:
    return path.replace('"', "").replace("'", "").replace(" ", "")


def read_drawn(table: dict[str, Any], folder: Path, where: str) -> Drawn:
    """Return the draws that an axis of a study file asks for.

    Parameters
    ----------
    table : dict
        With `posterior`, the file that `drydown fit --posterior` writes, seen from the folder; `draws` and `seed` may
        be given.
    folder : Path
        Of the study file.
    where : str
        What errors begin with.

    Raises
    ------
    InputError
        If a key is none of these, the file cannot be read, or all it holds is of loggers.
    """
    for key in table:
        if key not in ("name", "posterior", "draws", "seed"):
            raise InputError(f"an axis of draws does not take '{key}'; it takes name, posterior, draws, seed", where)
    name, draws, seed = table["posterior"], table.get("draws", DRAWS), table.get("seed", 0)
    if not isinstance(name, str) or not name.strip():
        raise InputError('write it as posterior = "fit.json"', f"{where}, posterior")
    for key, value, least in (("draws", draws, 1), ("seed", seed, 0)):
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST:
            raise InputError(f"{value!r}: a whole number from {least} to {MOST} is needed", f"{where}, {key}")
    try:
        found = read_posterior(folder / name)
    except InputError as error:
        raise error.at(where) from None
    wall = [j for j, x in enumerate(found.free) if not x.of_sensor and not x.path.endswith(CLOCK)]
    if not wall:
        raise InputError("everything in it belongs to loggers: no case differs by it", f"{where}, {name}")
    return Drawn(tuple(found.free[j] for j in wall), found.drawn(draws, seed)[:, wall])
