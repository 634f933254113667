"""When built-in water has left: dry by when, and to which side."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..text import day, layers_named, paragraph, plain, share

if TYPE_CHECKING:
    import xarray as xr


def built_in_words(found: xr.Dataset) -> list[str]:
    """Return the answer on built-in water as paragraphs."""
    return [paragraph(line) for line in built_in_sentences(found)]


def built_in_sentences(found: xr.Dataset) -> list[str]:
    """Return the answer on built-in water, one text each; `found` is of `drydown.trial.built_in.built_in`."""
    a = found.attrs
    began = found["time"].values[0]
    lines = []
    tenth = float(a["days_to_90_percent_dry"])
    if math.isnan(tenth):
        lines.append(f"Dry by when? Not within this run: at its end {share(float(a['remaining']))} is still there.")
    else:
        when = day(began + np.timedelta64(math.ceil(tenth), "D"))
        lines.append(f"Dry by when? By {when}, {math.ceil(tenth)} days on, nine tenths have left.")
    lines.append(f"{plain(float(a['amount']))} kg/m2 of water more than usual was built in, in {a['wet_layers']}.")
    for name in layers_named(a["wet_layers"], found["layer"].values):
        days = float(found["days_to_90_percent_dry"].sel(layer=name))
        if math.isnan(days):
            lines.append(f"'{name}' is not dry within this run: do not close it in, or lay a floor on it, by its end.")
        else:
            when = day(began + np.timedelta64(math.ceil(days), "D"))
            lines.append(f"'{name}' has lost nine tenths of what it held above the usual by {when}.")
    inward = float(a["share_inward"])
    if float(a["remaining"]) < 0.995 and 0.0 <= inward <= 1.0:
        lines.append(f"Of what left, {share(1.0 - inward)} went outward and {share(inward)} inward.")
    lines.append(f"The water is counted, not estimated: its balance closes to {float(a['closure_max']):.1g} kg/m2.")
    return lines
