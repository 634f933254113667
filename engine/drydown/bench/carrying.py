"""What a fitted curve leaves open, carried into a dry-out trial."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..case.case import Case
from ..errors import InputError
from ..systems import processors
from .fitting import Fit

if TYPE_CHECKING:
    import xarray as xr

#: Numbers of a trial that are carried: unit, in words.
NUMBERS = {
    "days_to_50_percent_dry": ("days", "days until half of the wetting has left"),
    "days_to_90_percent_dry": ("days", "days until nine tenths of the wetting have left"),
    "share_inward": ("1", "share of what left that left inward"),
    "share_outward": ("1", "share of what left that left outward"),
    "remaining": ("1", "share of the wetting still there at the end"),
}


def trial_of_fit(fit: Fit, case: Case, film: str, number: int = 20, workers: int | None = None) -> xr.Dataset:
    """Run the dry-out trial of a case with the fitted film, and with draws of what its tests leave open.

    Parameters
    ----------
    fit : Fit
    case : Case
        With a wetting.
    film : str
        Name of the film in its assembly whose place the fitted one takes.
    number : int
        Draws; each is a trial.
    workers : int, optional
        Threads; as many as there are processors by default.

    Returns
    -------
    Dataset
        Over `draw`: `days_to_90_percent_dry` and its like, NaN where the wall never gets there; attributes
        ``best_...``: with the best curve.

    Raises
    ------
    InputError
        If no film has that name, the case has no wetting, or there are fewer draws.
    """
    import xarray as xr

    from ..trial.dryout import dryout

    place = case.assembly.part_index(film)
    old = case.assembly.parts[place]
    if not hasattr(old, "permeance"):
        raise InputError(f"'{film}' is a layer, not a film; name the film that was tested", "trial of a fit")
    films = [fit.film(film, thickness=old.thickness), *fit.films(film, number, thickness=old.thickness)]

    def run(index: int) -> dict[str, float]:
        changed = replace(case, assembly=case.assembly.replace(film, films[index]))
        attributes = dryout(changed).attrs
        return {name: float(attributes[name]) for name in NUMBERS}

    with ThreadPoolExecutor(processors() if workers is None else max(1, workers)) as pool:
        best, *drawn = list(pool.map(run, range(len(films))))
    data = {
        name: ("draw", np.array([d[name] for d in drawn]), {"units": unit, "long_name": words})
        for name, (unit, words) in NUMBERS.items()
    }
    attributes = {"title": f"drydown: {case.name}, {fit.family} curve of '{film}' by its tests", "film": film}
    return xr.Dataset(data, {"draw": np.arange(number)}, attributes | {f"best_{k}": v for k, v in best.items()})
