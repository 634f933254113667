"""Variants side by side, in a table and in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..criteria.model import figure
from ..text import listed, paragraph, share, table
from .answer import CAUTION
from .findings import limits_changed

if TYPE_CHECKING:
    import xarray as xr

    from ..casefile.variants import Variant


def comparison_table(comparison: xr.Dataset) -> str:
    """Return a comparison as a table: one line a variant; a star marks what is past its limit."""
    c = comparison
    shown = [n for n in c["criterion"].values.tolist() if str(c["column"].sel(criterion=n).values)]
    heads = [str(c["column"].sel(criterion=n).values) for n in shown]
    rows = [["variant", "half", "nine tenths", "inward", "still there", *heads, "criteria"], ["", "days", "days"]]
    rows[1] += [""] * (len(rows[0]) - 3)

    def days(value: float) -> str:
        return "never" if np.isnan(value) else f"{value:.0f}"

    for i, name in enumerate(c["variant"].values.tolist()):
        one = c.isel(variant=i)
        if np.isnan(float(one["remaining"])):
            trial = ["-"] * 4
        else:
            inward = float(one["share_inward"])
            trial = [
                days(float(one["days_to_50_percent_dry"])),
                days(float(one["days_to_90_percent_dry"])),
                share(min(max(inward, 0.0), 1.0)) if not np.isnan(inward) else "-",
                share(float(one["remaining"])),
            ]
        of = []
        for criterion in shown:
            cell = one.sel(criterion=criterion)
            value, limit = float(cell["value"]), float(cell["limit"])
            mark = "*" if str(cell["verdict_of"].values) == "exceeded" else ""
            of.append(figure(value, str(cell["unit"].values), limit) + mark)
        rows.append([name, *trial, *of, str(one["verdict"].values)])
    notes = []
    for criterion, head in zip(shown, heads, strict=True):
        cells = c.sel(criterion=criterion)
        if (cells["verdict_of"] == "exceeded").any():
            limit = float(cells["limit"].values[cells["verdict_of"].values == "exceeded"][0])
            notes.append(f"{head} {figure(limit, str(cells['unit'].values))}")
    star = f"* past its limit: {', '.join(notes)}" if notes else ""
    return table(rows) + (f"\n{star}" if star else "")


def comparison_words(comparison: xr.Dataset) -> list[str]:
    """Return what a comparison shows, in sentences."""
    c = comparison
    names = c["variant"].values.tolist()
    lines = []
    days = c["days_to_90_percent_dry"].values
    if np.isfinite(days).any():
        best = int(np.nanargmin(days))
        lines.append(f"'{names[best]}' dries fastest: nine tenths are gone after {days[best]:.0f} days")
    slow = [n for n, d, r in zip(names, days, c["remaining"].values, strict=True) if np.isnan(d) and np.isfinite(r)]
    if slow:
        lines.append(f"Not dry by the end of the run: {', '.join(repr(n) for n in slow)}")
    by = {
        v: [n for n, x in zip(names, c["verdict"].values.tolist(), strict=True) if x == v] for v in ("exceeded", "fine")
    }
    if by["fine"]:
        lines.append(f"Within every limit: {', '.join(repr(n) for n in by['fine'])}")
    if len(by["exceeded"]) == len(names):
        lines.append("Every variant is over a limit (*)")
    elif by["exceeded"]:
        lines.append(f"Past a limit (*): {', '.join(repr(n) for n in by['exceeded'])}")
    for name in names:
        one = c.sel(variant=name)
        worst = str(one["gravest"].values)
        if worst:
            found = one.sel(criterion=worst)
            passed = str(found["verdict_of"].values) == "exceeded"
            near = "" if passed else "within its limits; nearest to one: " if int(found["severity_of"]) > 20 else ""
            told = str(found["harm_of"].values) if passed or not near else str(found["title"].values)
            lines.append(f"'{name}': {near}{told}")
    if "apart" in c:
        of, layer = (str(c["apart"].attrs[k]) for k in ("criterion", "layer"))
        cell = c.sel(criterion=of)
        unit, limit = str(cell["unit"].values), float(cell["limit"].values[0])
        values = [f"{figure(float(x), unit)} ('{n}')" for n, x in zip(names, c["apart"].values, strict=True)]
        lines.append(
            f"In '{layer}' they differ though their worst places do not: {cell['title'].item()} {listed(values)}; the "
            f"limit is {figure(limit, unit)}"
        )
    return lines


def comparison_answer(found: xr.Dataset, variants: Sequence[Variant], limits: dict[str, Any]) -> str:
    """Return all that the command says of a comparison."""
    lines = [variants[0].case.name, "", comparison_table(found), ""]
    lines += [paragraph(text + ".") for text in comparison_words(found)]
    changes = [paragraph(f"{v.name}: {'; '.join(v.changes)}", "  ") for v in variants if v.changes]
    lines += [*limits_changed(limits), "", "What was changed:", *changes, "", paragraph(CAUTION)]
    return "\n".join(lines)
