"""Variants side by side: the dry-out trial of each, and what every criterion says of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.case import Case
from ..casefile.variants import Variant
from ..criteria import Finding, assess, without_wetted, worst_of
from ..errors import InputError
from ..run.simulation import simulate
from .dryout import account, held_twins

if TYPE_CHECKING:
    import xarray as xr

#: What is taken over from a trial.
ANSWERS = ("days_to_50_percent_dry", "days_to_90_percent_dry", "share_inward", "remaining")


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
        `verdict_of`, `place`, `severity_of`, `harm_of` (what it means, where it is near its limit or past it),
        `reference` (the value without the wettings); `gravest` names the gravest of what is past its limit, or else
        near it; over (variant, time), once a day: `excess`, `outward`, `inward`
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
    wetted = [[w.layer for w in v.case.wettings] for v in variants]
    findings = [without_wetted(row, layers) for row, layers in zip(findings, wetted, strict=True)]
    dry = [without_wetted(row, layers) for (_, _, row), layers in zip(rows, wetted, strict=True)]
    names = [f.criterion for f in findings[0]]

    def grid(take: Callable[[Finding], Any], of: Sequence[Sequence[Finding]] = findings) -> Any:
        return ("variant", "criterion"), [[take(f) for f in row] for row in of]

    data: dict[str, Any] = {k: ("variant", np.array([r[0][k] for r in rows], dtype=float)) for k in ANSWERS}
    data |= {
        "verdict": ("variant", [worst_of(f, w) for f, w in zip(findings, wetted, strict=True)]),
        "value": grid(lambda f: f.value),
        "limit": grid(lambda f: f.limit),
        "verdict_of": grid(lambda f: f.verdict),
        "place": grid(lambda f: str(f.place or "")),
        "severity_of": grid(lambda f: int(f.severity)),
        "harm_of": grid(lambda f: f.harm if f.verdict in ("watch", "exceeded") else ""),
        "gravest": ("variant", [gravest(f) for f in findings]),
        "reference": grid(lambda f: f.value, dry),
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
            "column": ("criterion", ["" if f.screening else f.terms.column for f in findings[0]]),
            "time": rows[0][0]["time"],
        },
        {"title": f"drydown comparison: {first.name}", "case": first.name},
    )


def gravest(findings: Sequence[Finding]) -> str:
    """Return the name of the gravest of those that are past their limits, or else near them; empty: none."""
    for verdict in ("exceeded", "watch"):
        found = [f for f in findings if not f.screening and f.verdict == verdict]
        if found:
            return max(found, key=lambda f: f.severity).criterion
    return ""


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
    with held_twins(case, progress=progress) as (reference, wetted):
        trial = account(case, reference, wetted)
        with_it, without = assess(wetted, limits), assess(reference, limits)
    outward = trial["outward"].values.astype(bool)
    left = trial["left"].values[::every]
    answers = {k: float(trial.attrs[k]) for k in ANSWERS} | {
        "time": trial["time"].values[::every],
        "excess": trial["excess"].values[::every],
        "outward": left[:, outward].sum(axis=1),
        "inward": left[:, ~outward].sum(axis=1),
    }
    return answers, with_it, without
