"""Variants side by side: the dry-out trial of each, and what every criterion says of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.case import Case
from ..casefile.variants import Variant
from ..criteria import Finding, assess, worst_of
from ..errors import InputError
from ..run.simulation import simulate
from ..text import share, table
from .dryout import account, twins

if TYPE_CHECKING:
    import xarray as xr

#: What is taken over from a trial.
ANSWERS = ("days_to_50_percent_dry", "days_to_90_percent_dry", "share_inward", "remaining")
#: Criteria in the table: name, head of the column, how its value is shown, unit.
SHOWN: tuple[tuple[str, str, Callable[[float], str], str], ...] = (
    ("mould", "mould", lambda v: f"{v:.1f}", "index"),
    ("wood moisture", "wet wood", lambda v: f"{v:.0f}", "days"),
    ("decay", "to rot", share, ""),
)


def compare(
    variants: Sequence[Variant],
    limits: Mapping[str, float] | None = None,
    progress: Callable[[float], None] | None = None,
) -> xr.Dataset:
    """Run every variant and put the answers side by side.

    Parameters
    ----------
    variants : sequence of Variant
        Of one period. One without a wetting is run once, without a trial.
    limits : mapping, optional
        As for `drydown.criteria.assess`.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    xarray.Dataset
        Over `variant`: `days_to_50_percent_dry`, `days_to_90_percent_dry` [d], `share_inward`, `remaining` [-] (NaN
        without a trial), `verdict`; over (variant, criterion): `value`, `limit` (unit in the coordinate `unit`),
        `verdict_of`, `place`,
        `reference` (the value without the wettings); over (variant, time), once a day: `excess`, `outward`, `inward`
        [kg m-2], water of the trial that is in the wall, and that has left.

    Raises
    ------
    InputError
        If the periods differ.
    SimulationError
        If a run fails.
    """
    import xarray as xr

    first = variants[0].case
    for v in variants:
        if (v.case.start, v.case.end, v.case.numerics.output_every) != (
            first.start,
            first.end,
            first.numerics.output_every,
        ):
            raise InputError(
                "its period differs from that of the others; compare over one period", f"variant '{v.name}'"
            )
    rows = []
    for i, variant in enumerate(variants):

        def part(x: float, i: int = i) -> None:
            if progress is not None:
                progress((i + x) / len(variants))

        rows.append(_one(variant.case, limits, part))
    findings = [with_water for _, with_water, _ in rows]
    names = [f.criterion for f in findings[0]]
    wetted = [[w.layer for w in v.case.wettings] for v in variants]

    def grid(take: Callable[[Finding], Any], of: Sequence[Sequence[Finding]] = findings) -> Any:
        return ("variant", "criterion"), [[take(f) for f in row] for row in of]

    data: dict[str, Any] = {k: ("variant", np.array([r[0][k] for r in rows], dtype=float)) for k in ANSWERS}
    data |= {
        "verdict": ("variant", [worst_of(f, w) for f, w in zip(findings, wetted, strict=True)]),
        "value": grid(lambda f: f.value),
        "limit": grid(lambda f: f.limit),
        "verdict_of": grid(lambda f: f.verdict),
        "place": grid(lambda f: str(f.place or "")),
        "reference": grid(lambda f: f.value, [dry for _, _, dry in rows]),
    }
    for key in ("excess", "outward", "inward"):
        data[key] = ("variant", "time"), np.stack([r[0][key] for r in rows]), {"units": "kg m-2"}
    return xr.Dataset(
        data,
        {
            "variant": [v.name for v in variants],
            "changes": ("variant", ["; ".join(v.changes) for v in variants]),
            "criterion": names,
            "title": ("criterion", [f.title for f in findings[0]]),
            "unit": ("criterion", [f.unit for f in findings[0]]),
            "time": rows[0][0]["time"],
        },
        {"title": f"drydown comparison: {first.name}", "case": first.name},
    )


def _one(
    case: Case, limits: Mapping[str, float] | None, progress: Callable[[float], None]
) -> tuple[dict[str, Any], list[Finding], list[Finding]]:
    """Return the answers of one variant, its findings, and those without its wettings."""
    every = max(1, round(24 * 3600.0 / case.numerics.output_every))
    if not case.wettings:
        run = simulate(case, progress)
        time = run["time"].values[::every]
        nothing = np.full(len(time), np.nan)
        found = assess(run, limits)
        return dict.fromkeys(ANSWERS, np.nan) | {
            "time": time, "excess": nothing, "outward": nothing, "inward": nothing
        }, found, found  # fmt: skip
    reference, wetted = twins(case, progress=progress)
    trial = account(case, reference, wetted)
    outward = trial["outward"].values.astype(bool)
    left = trial["left"].values[::every]
    answers = {k: float(trial.attrs[k]) for k in ANSWERS} | {
        "time": trial["time"].values[::every],
        "excess": trial["excess"].values[::every],
        "outward": left[:, outward].sum(axis=1),
        "inward": left[:, ~outward].sum(axis=1),
    }
    return answers, assess(wetted, limits), assess(reference, limits)


def comparison_table(comparison: xr.Dataset) -> str:
    """Return a comparison as a table: one line a variant; a star marks what is past its limit."""
    c = comparison
    present = [row for row in SHOWN if row[0] in c["criterion"].values]
    rows = [
        ["variant", "half", "nine tenths", "inward", "still there", *(h for _, h, *_ in present), "criteria"],
        ["", "days", "days", "", "", *(unit for *_, unit in present), ""],
    ]

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
        for criterion, _, shown, _ in present:
            cell = one.sel(criterion=criterion)
            value = float(cell["value"])
            mark = "*" if str(cell["verdict_of"].values) == "exceeded" else ""
            of.append("-" if np.isnan(value) else shown(value) + mark)
        rows.append([name, *trial, *of, str(one["verdict"].values)])
    notes = []
    for criterion, head, shown, unit in present:
        cells = c.sel(criterion=criterion)
        if (cells["verdict_of"] == "exceeded").any():
            notes.append(f"{head} {shown(float(cells['limit'][0]))} {unit if unit == 'days' else ''}".strip())
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
        lines.append("Every variant passes a limit (*)")
    elif by["exceeded"]:
        lines.append(f"Past a limit (*): {', '.join(repr(n) for n in by['exceeded'])}")
    return lines
