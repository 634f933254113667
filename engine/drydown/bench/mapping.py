"""A map of the dry-out trial over two parameters of a membrane."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.case import Case
from ..errors import InputError, nearest
from ..materials.model import CurveLike
from ..trial.tries import ANSWERS, Direction, changed, film_of, tried, with_film

if TYPE_CHECKING:
    import xarray as xr

#: Unit of a parameter of a curve, by its name; the others have none.
UNITS = dict.fromkeys(("closed", "open", "dry", "rise", "value"), "kg m-2 s-1 Pa-1")


def membrane_map(
    case: Case,
    film: str,
    axes: Mapping[str, Sequence[float]],
    *,
    curve: CurveLike | None = None,
    direction: Direction = "both",
    workers: int = 2,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Run the dry-out trial of a case for every pair of two membrane parameters.

    Parameters
    ----------
    case : Case
        With at least one wetting.
    film : str
        Name of the film in the wall that is varied.
    axes : mapping of str to sequence of float
        Two fields of the curve and their values in SI, e.g. ``{"closed": (1e-12, 1e-11), "open": (1e-9, 2e-9)}``
        or ``{"closed": ..., "middle": (0.5, 0.6, 0.7)}`` for a `drydown.materials.curves.Logistic`.
    curve : Curve, optional
        A frozen dataclass of `drydown.materials.curves` from which the fields not on the axes are taken; the film's own
        where not given.
    direction : {'both', 'inward', 'outward'}
        Of the flow that gets the curve. Both: one curve for both, also where the film has two; inward or outward: the
        other keeps its own.
    workers : int
        Threads; the results do not depend on it.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        Over the two axes: `days_to_90_percent_dry` [days] (NaN where not reached), `share_inward` [-], `remaining` [-],
        `closure_max` [kg m-2], as `drydown.dryout` gives them.

    Raises
    ------
    InputError
        If the wall has no such film, the curve no such field, or a value does not suit it.
    """
    import xarray as xr

    found = film_of(case, film)
    own = found.permeance_outward if direction == "outward" and found.permeance_outward is not None else found.permeance
    base: Any = own if curve is None else curve
    if not is_dataclass(base) or isinstance(base, type):
        raise InputError(
            f"the permeance of '{film}' has no parameters to vary; give `curve`, such as Logistic(1e-11, 2e-9)",
            "membrane map",
        )
    if len(axes) != 2:
        raise InputError(f"{len(axes)} axes are given; give two, such as 'closed' and 'open'", "membrane map")
    known = [f.name for f in fields(base) if f.name != "of"]
    for name, values in axes.items():
        if name not in known:
            raise InputError(f"{type(base).__name__} has no '{name}'; {nearest(name, known)}", "membrane map")
        if len(values) == 0:
            raise InputError(f"no value is given for '{name}'", "membrane map")
    (first, rows), (second, columns) = axes.items()
    curves: list[Any] = [replace(base, **{first: float(a), second: float(b)}) for a in rows for b in columns]
    bare = replace(found, permeance_outward=None) if direction == "both" else found

    def variant(new: CurveLike) -> Case:
        return with_film(case, found, changed(bare, lambda _: new, direction))

    cases = [variant(c) for c in curves]
    answers = tried(cases, workers, progress)
    shape = len(rows), len(columns)
    data = {
        key: ((first, second), np.reshape([a[key] for a in answers], shape), {"units": unit, "long_name": words})
        for key, (unit, words) in ANSWERS.items()
    }
    coords = {
        name: (name, np.asarray(values, dtype=float), {"units": UNITS.get(name, "1"), "long_name": name})
        for name, values in axes.items()
    }
    attrs = {
        "title": f"drydown membrane map: {case.name}",
        "case": case.name,
        "film": found.name,
        "curve": repr(base),
        "direction": direction,
        "amount": float(sum(w.amount for w in case.wettings)),
        "film_reading": case.numerics.film_reading,
    }
    return xr.Dataset(data, coords, attrs)
