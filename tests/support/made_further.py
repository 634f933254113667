"""What may be asked beside a trial, made up: no runs."""

import numpy as np
import xarray as xr
from drydown.criteria import catalogue
from drydown.criteria.model import Outcome, Place
from drydown.report import further
from drydown.trial.leaks import LeakBounds
from drydown.trial.reserve import Reserve, Why
from drydown.trial.uncertainty import Spread


def a_calendar() -> xr.Dataset:
    """Return a calendar of two layers and one criterion."""
    days = np.stack([np.linspace(40.0, 200.0, 12), np.full(12, np.nan)], axis=1)
    table = dict.fromkeys(("days_to_50_percent_dry", "days_to_90_percent_dry"), (("month", "layer"), days))
    table["share_inward"] = (("month", "layer"), np.full((12, 2), 0.3))
    of = ("month", "layer", "criterion")
    table |= {"value": (of, np.full((12, 2, 1), 2.0)), "without": (of, np.full((12, 2, 1), 0.5))}
    coords = {
        "month": np.arange(1, 13), "layer": ["OSB", "mineral wool"], "criterion": ["mould"],
        "title": ("criterion", ["mould index"]), "unit": ("criterion", ["index"]), "limit": ("criterion", [3.0]),
    }  # fmt: skip
    return xr.Dataset(table, coords, {"amount": 0.6, "follow": 730, "left_out": "gypsum board", "case": "a wall"})


def a_reserve() -> Reserve:
    """Return a reserve that held."""
    first, end = np.datetime64("2022-01-15"), np.datetime64("2025-01-15")
    found = catalogue()["accumulation"].finding(Outcome(0.2, 0.1, "fine", Place("OSB")))
    return Reserve(0.2, 0.25, Why("gain", ()), "OSB", 1, 15, 3, first, end, (), found)


def all_of_them(trial: xr.Dataset, built: xr.Dataset | None = None) -> list[further.Further]:
    """Return every block that the page can have."""
    out = [
        further.of_leaks([LeakBounds("leaking air in OSB", "screening", 0.37, (1.2, 2.3, 3.3), 0.7)]),
        further.of_calendar(a_calendar()),
        further.of_reserve(a_reserve()),
        further.of_spread([Spread("OSB", "permeability", (0.7, 1.4), (150.0, 90.0), (0.4, 0.3))], trial),
    ]
    return out if built is None else [*out, further.of_built_in(built)]
