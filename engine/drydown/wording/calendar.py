"""What a calendar of wettings says, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..criteria.model import figure
from ..text import MONTHS, paragraph, plain, share

if TYPE_CHECKING:
    import xarray as xr

#: Share of its limit from which what a wetting does to a criterion is worth a word.
WORTH = 0.15


def calendar_answer(found: xr.Dataset) -> str:
    """Return the paragraph on the months."""
    lines = [calendar_about(found)]
    lines += [paragraph(f"- {text}.", " ").lstrip() for text in calendar_words(found)]
    lines += [paragraph(text) for text in no_room(found)]
    return "\n".join(lines)


def no_room(found: xr.Dataset) -> list[str]:
    """Return which layers have no room for that much; empty: all have."""
    left_out = found.attrs["left_out"]
    return [f"That much does not fit into {left_out}."] if left_out else []


def calendar_about(found: xr.Dataset) -> str:
    """Return what a calendar asks."""
    return f"When {plain(found.attrs['amount'])} kg/m2 of water gets in on the first of a month:"


def calendar_words(calendar: xr.Dataset) -> list[str]:
    """Return what a calendar says, one sentence a layer: the worst and the best month, and what the worst does."""
    lines = []
    follow = calendar.attrs["follow"]
    for name in calendar["layer"].values.tolist():
        one = calendar.sel(layer=name)
        days, inward = one["days_to_90_percent_dry"].values, one["share_inward"].values
        months = [MONTHS[m - 1] for m in one["month"].values]
        never = [m for m, d in zip(months, days, strict=True) if np.isnan(d)]
        if len(never) == len(days):
            lines.append(f"'{name}': in no month do nine tenths leave within {follow} days{_harm(one)}")
            continue
        best, worst = int(np.nanargmin(days)), int(np.nanargmax(days))
        if never:
            bad = f"what gets in in {', '.join(never)} is not gone in {follow} days"
        else:
            bad = f"it takes longest in {months[worst]}, {days[worst]:.0f} days until nine tenths have left"
        low, high = share(float(np.nanmin(inward))), share(float(np.nanmax(inward)))
        span = low if low == high else f"{low} to {high}"
        lines.append(
            f"'{name}': {bad}; it is quickest in {months[best]}, {days[best]:.0f} days; {span} of it go "
            f"inward{_harm(one)}"
        )
    return lines


def _harm(one: xr.Dataset) -> str:
    """Return after which month a wetting does most harm, and how much; empty where it does none."""
    found = []
    for name in one["criterion"].values.tolist():
        of = one.sel(criterion=name)
        values, dry, limit = of["value"].values, of["without"].values, float(of["limit"])
        if not np.isfinite(values).any() or not np.nanmax(values) > WORTH * limit:
            continue
        i = int(np.nanargmax(values))
        unit = str(of["unit"].values)
        past = f"past its limit of {figure(limit, unit)}" if values[i] > limit else f"limit {figure(limit, unit)}"
        alike = ", and no less without the water" if dry[i] >= 0.999 * values[i] else ""
        title, month = str(of["title"].values), MONTHS[int(of["month"].values[i]) - 1]
        found.append(f"{title} {figure(float(values[i]), unit, limit)} ({month}; {past}{alike})")
    return f"; at worst {', '.join(found)}" if found else ""
