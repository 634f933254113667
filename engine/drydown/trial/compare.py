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
from .dryout import account, held_twins, of_both
from .judging import judge_trial

if TYPE_CHECKING:
    import xarray as xr

#: Of one variant: its answers, its findings, and those without its wettings.
Row = tuple[dict[str, Any], list[Finding], list[Finding]]
#: Share of a limit by which variants differ in a layer, from which it is told.
APART = 0.05
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
        near it; `apart`: where the worst places hide how far the variants are apart, the value of a criterion in the
        layer in which they are, both named in its attributes; over (variant, time), once a day: `excess`, `outward`,
        `inward` [kg m-2], water of the trial that is in the wall, and that has left.

    Raises
    ------
    InputError
        If the periods differ.
    SimulationError
        If a run fails.
    """
    one_period(variants)
    rows = []
    for i, variant in enumerate(variants):

        def part(x: float, i: int = i) -> None:
            if progress is not None:
                progress((i + x) / len(variants))

        rows.append(_one(variant.case, limits, part))
    return side_by_side(variants, rows)


def one_period(variants: Sequence[Variant]) -> None:
    """Raise InputError where a variant runs over another period than the first."""
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


def side_by_side(variants: Sequence[Variant], rows: Sequence[Row]) -> xr.Dataset:
    """Return the comparison of variants of one period that have been run, as `compare`."""
    import xarray as xr

    first = variants[0].case
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
    hidden = apart(findings)
    if hidden is not None:
        layer, at, values = hidden
        data["apart"] = ("variant", values, {"layer": layer, "criterion": names[at]})
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


def apart(findings: Sequence[Sequence[Finding]]) -> tuple[str, int, list[float]] | None:
    """Return where variants differ most and their worst places do not tell: layer, number of the criterion, values.

    None: they differ nowhere by a twentieth of a limit, or the worst places tell as much.

    Parameters
    ----------
    findings : sequence of sequence of Finding
        Of each variant, the same criteria in the same order.
    """
    found, most = None, APART
    for at, of in enumerate(zip(*findings, strict=True)):
        if of[0].screening or not of[0].terms.column:
            continue
        rows = [{r.layer: (r.value, r.limit) for r in f.by_layer if np.isfinite(r.value) and r.limit > 0.0} for f in of]
        told = np.ptp([f.value / f.limit if f.limit > 0.0 else np.nan for f in of])
        for layer in rows[0]:
            if all(layer in row for row in rows):
                values, limits = zip(*(row[layer] for row in rows), strict=True)
                spread = float(np.ptp(np.array(values) / np.array(limits)))
                if spread > max(most, 2.0 * (0.0 if np.isnan(told) else told)):
                    found, most = (layer, at, list(values)), spread
    return found


def gravest(findings: Sequence[Finding]) -> str:
    """Return the name of the gravest of those that are past their limits, or else near them; empty: none."""
    for verdict in ("exceeded", "watch"):
        found = [f for f in findings if not f.screening and f.verdict == verdict]
        if found:
            return max(found, key=lambda f: f.severity).criterion
    return ""


def _one(case: Case, limits: Mapping[str, float] | None, progress: Callable[[float], None]) -> Row:
    if not case.wettings:
        run = simulate(case, progress)
        return untried(case, run["time"].values, assess(run, limits))
    with held_twins(case, progress=progress) as (reference, wetted):
        trial = account(case, reference, wetted)
        both = reference, wetted
        without, with_it = judge_trial(case, both, *of_both(lambda run: assess(run, limits), both), limits)
    return tried(case, trial, with_it, without)


def _every(case: Case) -> int:
    return max(1, round(24 * 3600.0 / case.numerics.output_every))


def untried(case: Case, time: np.ndarray, findings: Sequence[Finding]) -> Row:
    """Return what a comparison takes of a run without a trial; `time` at its marks."""
    time = time[:: _every(case)]
    nothing = np.full(len(time), np.nan)
    answers = dict.fromkeys(ANSWERS, np.nan) | {"time": time, "excess": nothing, "outward": nothing, "inward": nothing}
    return answers, list(findings), list(findings)


def tried(case: Case, trial: xr.Dataset, with_it: Sequence[Finding], without: Sequence[Finding]) -> Row:
    """Return what a comparison takes of a trial: its answers, once a day, and the findings with the water and without.

    Parameters
    ----------
    case : Case
    trial : Dataset
        Of `drydown.dryout`.
    with_it, without : sequence of Finding
    """
    every = _every(case)
    outward = trial["outward"].values.astype(bool)
    left = trial["left"].values[::every]
    answers = {k: float(trial.attrs[k]) for k in ANSWERS} | {
        "time": trial["time"].values[::every],
        "excess": trial["excess"].values[::every],
        "outward": left[:, outward].sum(axis=1),
        "inward": left[:, ~outward].sum(axis=1),
    }
    return answers, list(with_it), list(without)
